from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import passages, principles, pump

INCH = 0.0254


def si(text: str) -> float:
    return read_quantity(text).si


def test_what_a_stroke_and_ten_strokes_give() -> None:
    # Bore 3/4 in, stroke 1/4 in: 1.80990 cm³, ten 18.0990 cm³, by hand.
    bore, stroke = si("3/4 in"), si("1/4 in")
    assert pump.shot_volume(bore, stroke) == pytest.approx(1.80990e-6, abs=5e-12)
    assert pump.shots_volume(10, bore, stroke) == pytest.approx(18.0990e-6, abs=5e-11)
    assert pump.shots_volume(10, bore, stroke, 0.85) == pytest.approx(8.5 * pump.shot_volume(bore, stroke), rel=1e-12)


@pytest.mark.parametrize(
    ("bore", "stroke", "force", "rate", "jet", "jets", "volume", "seconds"),
    # The two training carburetors' pumps, as their model states them: our own figures, to the digits stated.
    [
        ("0.75 in", "0.35 in", "1.9 lbf", "1.5 lbf/in", "0.028 in", 1, 2.15e-6, 1.02),
        ("0.812 in", "0.4 in", "2.4 lbf", "1.6 lbf/in", "0.026 in", 2, 2.89e-6, 0.76),
    ],
)
def test_the_pumps_of_the_training_carburetors(
    bore: str, stroke: str, force: str, rate: str, jet: str, jets: int, volume: float, seconds: float
) -> None:
    assert pump.shot_volume(si(bore), si(stroke), 0.85) == pytest.approx(volume, abs=0.005e-6)
    piston, jet_area = principles.disc_area(si(bore)), jets * principles.disc_area(si(jet))
    time = pump.discharge_time_spring(piston, si(stroke), si(force), si(rate), 736.3, 0.75, jet_area)
    assert time == pytest.approx(seconds, abs=0.005)


@settings(max_examples=40)
@given(stroke=st.floats(2e-3, 12e-3), force=st.floats(4, 20), share=st.floats(0.01, 0.95), jet=st.floats(0.4e-3, 1e-3))
def test_the_time_is_what_adding_up_small_strokes_gives(stroke: float, force: float, share: float, jet: float) -> None:
    rate = share * force / stroke
    piston, area = 2.85e-4, principles.disc_area(jet)
    steps = 4000
    middle = (np.arange(steps) + 0.5) * stroke / steps
    pressure = pump.discharge_pressure(force - rate * middle, piston)
    volume_flow = principles.jet_flow(0.75, area, 740, pressure) / 740
    added = float((piston * stroke / steps / volume_flow).sum())
    assert pump.discharge_time_spring(piston, stroke, force, rate, 740, 0.75, area) == pytest.approx(added, rel=1e-4)


@given(stroke=st.floats(2e-3, 12e-3), force=st.floats(4, 20))
def test_a_soft_spring_is_as_good_as_a_constant_force(stroke: float, force: float) -> None:
    of = (2.85e-4, stroke, force)
    constant = pump.discharge_time(*of, 740, 0.75, 4e-7)
    assert pump.discharge_time_spring(*of, 1e-3 * force / stroke, 740, 0.75, 4e-7) == pytest.approx(constant, rel=3e-4)
    # A whole volume at a constant flow: time is volume over flow.
    flow = principles.jet_flow(0.75, 4e-7, 740, pump.discharge_pressure(force, 2.85e-4)) / 740
    assert constant == pytest.approx(2.85e-4 * stroke / flow, rel=1e-12)


def test_a_spring_that_is_slack_before_the_end_is_refused() -> None:
    with pytest.raises(RangeError, match="k s ≤ F₀"):
        pump.discharge_time_spring(2.85e-4, 0.01, 5.0, 600.0, 740, 0.75, 4e-7)


@pytest.mark.parametrize(
    ("size", "volume", "grams"),
    # Steel balls at 7830 kg/m³, by hand.
    [("1/8 in", 16.758, 0.1312), ("5/32 in", 32.731, 0.2563), ("3/16 in", 56.559, 0.4429), ("1/4 in", 134.066, 1.0497)],
)
def test_the_weight_of_a_check_ball(size: str, volume: float, grams: float) -> None:
    # Weight in air (density 0 left out) over gravity is its mass; a tenth of a milligram as printed.
    mass = pump.ball_weight(si(size), 7830, 0) / 9.80665
    assert mass * 1e3 == pytest.approx(grams, abs=5e-5)
    assert mass / 7830 * 1e9 == pytest.approx(volume, abs=5e-4)


def test_what_lifts_a_discharge_ball() -> None:
    # 5/32 in ball on a 1/8 in seat, in 740 kg/m³: 287.44 Pa net of buoyancy, 317.44 in air, by hand.
    seat = principles.disc_area(si("1/8 in"))
    in_fuel = pump.ball_weight(si("5/32 in"), 7830, 740)
    in_air = pump.ball_weight(si("5/32 in"), 7830, 0)
    assert pump.check_lifting_depression(in_fuel, seat, 740, 0) == pytest.approx(287.44, abs=0.01)
    assert pump.check_lifting_depression(in_air, seat, 740, 0) == pytest.approx(317.44, abs=0.01)
    head = principles.fuel_head(740, 0.0127)
    assert pump.check_lifting_depression(in_fuel, seat, 740, 0.0127) == pytest.approx(287.44 + head, abs=0.01)


@settings(max_examples=40)
@given(stroke=st.floats(2e-3, 12e-3), force=st.floats(4, 20), share=st.floats(0.01, 0.95), jet=st.floats(0.4e-3, 1e-3))
def test_the_flow_of_a_shot_adds_up_to_its_volume(stroke: float, force: float, share: float, jet: float) -> None:
    rate, piston, area = share * force / stroke, 2.85e-4, principles.disc_area(jet)
    whole = pump.discharge_time_spring(piston, stroke, force, rate, 740, 0.75, area)
    times = np.linspace(0, whole, 201)
    flow = pump.shot_flow(times * (1 - 1e-12), piston, force, rate, 740, 0.75, area)
    # It falls on a straight line, so that the trapezoid rule is exact.
    assert np.trapezoid(flow, times) == pytest.approx(740 * piston * stroke, rel=1e-9)
    assert flow[0] == pytest.approx(principles.jet_flow(0.75, area, 740, pump.discharge_pressure(force, piston)), rel=1e-9)
    last = principles.jet_flow(0.75, area, 740, pump.discharge_pressure(force - rate * stroke, piston))
    assert flow[-1] == pytest.approx(last, rel=1e-6)


def test_nothing_is_pulled_over_below_the_check_s_own_weight() -> None:
    assert pump.pull_over_flow(0.75, 4e-7, 740, 400, 475) == 0
    assert pump.pull_over_flow(0.75, 4e-7, 740, 900, 475) == pytest.approx(principles.jet_flow(0.75, 4e-7, 740, 425), rel=1e-12)
    # The bleed behind the jet leaves a third of the depression on T-2 (0.026 and 0.031 in), too little for the check.
    left = passages.bled_signal(900, principles.disc_area(si("0.026 in")), principles.disc_area(si("0.031 in")))
    assert left == pytest.approx(900 / (1 + (31 / 26) ** 4), rel=1e-9)
    assert pump.pull_over_flow(0.75, 4e-7, 740, left, 475) == 0
