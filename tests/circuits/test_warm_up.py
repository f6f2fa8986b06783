from __future__ import annotations

import math
from dataclasses import astuple, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits.warm_up import (
    AirStream,
    ChokeCoil,
    ChokePlate,
    ElectricAssist,
    VacuumBreak,
    choke_of,
    coil_warming,
    plate_angle,
    seconds_to_open,
)
from grader.items.specimen_file import load_specimen


def si(text: str) -> float:
    return read_quantity(text).si


# The choke of the training carburetor T-1, as its sheet gives it; the heater is invented for these tests.
COIL = ChokeCoil(rate=0.012, turn=math.radians(1.5), shut_at=si("20 degC"), time_constant=110, hot_air_rise=30)
PLATE = ChokePlate(
    bore=si("1.9 in"),
    shaft=si("0.19 in"),
    offset=si("0.08 in"),
    closed_angle=math.radians(15),
    travel=math.radians(73),
    clearance=si("0.012 in^2"),
)
ASSIST = ElectricAssist(resistance=8, rise_per_watt=1.5)
PULL_OFF = VacuumBreak(spring=0.05, opening=math.radians(38), acts_above=si("5 inHg"))
STILL = AirStream(0.0)
COLD = si("5 degC")


@pytest.mark.parametrize(
    ("constants", "share"),
    # 1 - exp(-n), by hand.
    [(0.5, 0.39347), (1, 0.63212), (2, 0.86466), (3, 0.95021), (5, 0.99326)],
)
def test_hot_air_warms_the_coil_as_a_first_order_lag(constants: float, share: float) -> None:
    warmed = coil_warming(COIL, COLD, constants * 110) - COLD
    assert warmed / 30 == pytest.approx(share, abs=5e-6)


def test_part_heat_below_sixty_fahrenheit_and_full_above() -> None:
    # Common practice, no source. Integrated as a balance of heat with a switch in it: an independent way to the same.
    power = 13.8**2 / 8

    def rate(_: float, temperature: np.ndarray) -> np.ndarray:
        share = np.where(temperature < ASSIST.full_heat_above, 0.5, 1.0)
        return np.asarray((COLD + 30 + share * 1.5 * power - temperature) / 110)

    times = np.array([0.0, 10, 20, 30, 60, 120, 300, 900])
    found = solve_ivp(rate, (0, 900), [COLD], max_step=0.5, rtol=1e-8, t_eval=times)
    assert coil_warming(COIL, COLD, times, ASSIST) == pytest.approx(found.y[0], abs=0.02)
    assert pytest.approx(si("60 degF"), abs=0.01) == ASSIST.full_heat_above


def test_above_sixty_fahrenheit_the_whole_heater_is_on_from_the_start() -> None:
    warm = si("70 degF")
    whole = replace(ASSIST, share_when_cold=1.0)
    times = np.linspace(0, 600, 61)
    assert coil_warming(COIL, warm, times, ASSIST) == pytest.approx(coil_warming(COIL, warm, times, whole), rel=1e-12)


def test_a_weak_heater_on_a_bitter_day_never_comes_to_its_second_half() -> None:
    bitter, weak = si("-35 degC"), replace(ASSIST, resistance=60)
    end = bitter + 30 + 0.5 * 1.5 * 13.8**2 / 60
    assert end < weak.full_heat_above
    assert coil_warming(COIL, bitter, 1e5, weak) == pytest.approx(end, rel=1e-9)
    assert math.isnan(seconds_to_open(COIL, PLATE, bitter, weak))


@settings(max_examples=40)
@given(ambient=st.floats(250, 310), time=st.floats(0, 1200), later=st.floats(0.1, 200), volts=st.floats(9, 15))
def test_the_coil_only_ever_warms_and_electric_heat_only_ever_helps(
    ambient: float, time: float, later: float, volts: float
) -> None:
    now, then = coil_warming(COIL, ambient, np.array([time, time + later]), ASSIST, volts)
    assert ambient <= now <= then
    assert coil_warming(COIL, ambient, time) <= now + 1e-9
    assert now <= coil_warming(COIL, ambient, time, ASSIST, volts + 0.5) + 1e-9


def test_electric_assist_opens_the_choke_sooner() -> None:
    hotter = replace(COIL, hot_air_rise=80)
    by_air, assisted = (seconds_to_open(hotter, PLATE, COLD, heater) for heater in (None, ASSIST))
    assert assisted < 0.7 * by_air
    # And a coil that hot air alone never opens is opened with it.
    assert math.isnan(seconds_to_open(COIL, PLATE, COLD))
    assert seconds_to_open(COIL, PLATE, COLD, ASSIST) > 0


@pytest.mark.parametrize("assist", [None, ASSIST])
def test_at_the_time_it_takes_to_open_the_plate_stands_open(assist: ElectricAssist | None) -> None:
    hotter = replace(COIL, hot_air_rise=80)
    seconds = seconds_to_open(hotter, PLATE, COLD, assist)
    for time, opened in ((seconds - 1, False), (seconds + 1, True)):
        angle = plate_angle(hotter, PLATE, STILL, coil_warming(hotter, COLD, time, assist))
        assert (angle == PLATE.travel) == opened
    assert seconds_to_open(hotter, PLATE, si("80 degC")) == 0


def test_with_no_air_the_plate_stands_where_the_coil_lets_it() -> None:
    temperatures = np.array([si("0 degC"), si("20 degC"), si("30 degC"), si("60 degC"), si("90 degC")])
    angles = np.degrees(plate_angle(COIL, PLATE, STILL, temperatures))
    # 1.5° a kelvin from 20 °C, by hand; shut below, on its stop at 73° above 68.7 °C.
    assert angles == pytest.approx([0, 0, 15, 60, 73], abs=1e-6)


def test_a_cover_turned_lean_opens_it_as_many_degrees_more() -> None:
    lean = replace(COIL, index=math.radians(10))
    warm = si("40 degC")
    more = plate_angle(lean, PLATE, STILL, warm) - plate_angle(COIL, PLATE, STILL, warm)
    assert math.degrees(float(more)) == pytest.approx(10, abs=1e-6)


@settings(max_examples=40)
@given(flow=st.floats(0, 0.03), more=st.floats(1e-4, 0.01), temperature=st.floats(255, 330))
def test_air_opens_it_and_cold_shuts_it(flow: float, more: float, temperature: float) -> None:
    here = plate_angle(COIL, PLATE, AirStream(flow), temperature)
    assert plate_angle(COIL, PLATE, AirStream(flow + more), temperature) >= here - 1e-12
    assert plate_angle(COIL, PLATE, AirStream(flow), temperature - 5) <= here + 1e-12
    assert 0 <= here <= PLATE.travel


def test_the_pull_off_opens_a_cold_choke_once_the_engine_runs_and_a_colder_one_less() -> None:
    # The spring in the stem lets the opening follow the coil: very cold means tighter.
    cranking = AirStream(0.004, vacuum=si("2 inHg"))
    running = AirStream(0.004, vacuum=si("16 inHg"))
    cold, colder = si("0 degC"), si("-20 degC")
    at_start = plate_angle(COIL, PLATE, cranking, cold, PULL_OFF)
    pulled = plate_angle(COIL, PLATE, running, cold, PULL_OFF)
    assert at_start < pulled <= PULL_OFF.opening
    assert plate_angle(COIL, PLATE, running, colder, PULL_OFF) < pulled - math.radians(2)
    # A stiff link does not give way.
    stiff = replace(PULL_OFF, spring=50.0)
    assert plate_angle(COIL, PLATE, running, colder, stiff) == pytest.approx(stiff.opening, abs=math.radians(0.1))


def test_an_acceleration_while_cold_closes_the_choke_a_little() -> None:
    # Vacuum falls, the pull-off lets go, and only the air is left to hold the plate open.
    cruise, opened_up = AirStream(0.008, vacuum=si("15 inHg")), AirStream(0.008, vacuum=si("2 inHg"))
    cold = si("0 degC")
    assert plate_angle(COIL, PLATE, opened_up, cold, PULL_OFF) < plate_angle(COIL, PLATE, cruise, cold, PULL_OFF)


def test_the_torques_balance_where_the_plate_rests() -> None:
    from grader.circuits import air, choke

    stream = AirStream(0.010)
    cold = si("5 degC")
    angle = float(plate_angle(COIL, PLATE, stream, cold))
    assert 0 < angle < PLATE.travel
    area = float(air.plate_opening(PLATE.bore, PLATE.shaft, PLATE.closed_angle, angle)) + PLATE.clearance
    drop = stream.pressure - choke.pressure_below_choke(stream.pressure, stream.flow, 0.7, area, stream.density)
    opening = choke.air_torque(drop, PLATE.bore, PLATE.offset, PLATE.closed_angle, angle)
    assert opening == pytest.approx(
        choke.coil_torque(COIL.rate, angle, choke.coil_free_angle(COIL.turn, cold, COIL.shut_at)), rel=1e-6
    )


def test_a_shut_choke_without_clearance_is_torn_open_and_not_divided_by_nothing() -> None:
    tight = replace(PLATE, clearance=0.0)
    assert 0 < float(plate_angle(COIL, tight, AirStream(0.001), si("-20 degC"))) < tight.travel


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="a time before the start"):
        coil_warming(COIL, COLD, -1.0)
    with pytest.raises(RangeError, match=r"share_when_cold is 1\.5"):
        ElectricAssist(resistance=8, rise_per_watt=1.5, share_when_cold=1.5)
    with pytest.raises(RangeError, match="heater_power"):
        coil_warming(COIL, COLD, 1.0, ElectricAssist(resistance=0, rise_per_watt=1.5))


def test_the_choke_of_a_sheet() -> None:
    coil, plate, pull_off = choke_of(load_specimen(Path(__file__).parents[2], "T-1"))
    assert astuple(coil) == pytest.approx(astuple(COIL), rel=1e-9)
    assert astuple(plate) == pytest.approx(astuple(PLATE), rel=1e-9)
    assert astuple(pull_off) == pytest.approx(astuple(PULL_OFF), rel=1e-9)
