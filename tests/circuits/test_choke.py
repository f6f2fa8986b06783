from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import choke, passages


def si(text: str) -> float:
    return read_quantity(text).si


@pytest.mark.parametrize(
    ("volts", "ohms", "watts", "amperes"),
    # By hand. 4 to 12 ohm: common practice, no source.
    [(12, 4, 36, 3), (12, 12, 12, 1), (13.8, 8, 23.805, 1.725)],
)
def test_the_electric_assist(volts: float, ohms: float, watts: float, amperes: float) -> None:
    assert choke.heater_power(volts, ohms) == pytest.approx(watts, rel=1e-12)
    assert choke.heater_current(volts, ohms) == pytest.approx(amperes, rel=1e-12)
    with pytest.raises(RangeError):
        choke.heater_power(volts, 0)


@pytest.mark.parametrize(
    ("constants", "share"),
    # 1 - exp(-n), by hand.
    [(0.5, 0.39347), (1, 0.63212), (2, 0.86466), (3, 0.95021), (5, 0.99326)],
)
def test_a_first_order_lag(constants: float, share: float) -> None:
    cold, hot = si("15 degC"), si("75 degC")
    reached = choke.coil_temperature(constants * 110, cold, hot, 110)
    assert (reached - cold) / (hot - cold) == pytest.approx(share, abs=5e-6)
    assert choke.warm_up_time(reached, cold, hot, 110) == pytest.approx(constants * 110, rel=1e-9)


def test_a_textbook_thermocouple_bead() -> None:
    # Incropera, Fundamentals of Heat and Mass Transfer, ex. 5.1, as worked in an open companion: 25 °C into 200 °C, tau 1 s,
    # to 199 °C: 5.16 s (5.1648); the bead with h 400, rho 8500, c 400 has 7.06e-4 m.
    assert choke.warm_up_time(si("199 degC"), si("25 degC"), si("200 degC"), 1) == pytest.approx(5.1648, abs=5e-5)
    assert pytest.approx(7.06e-4, abs=5e-7) == 6 * 400 * 1 / (8500 * 400)


def test_the_lag_is_what_integrating_the_balance_of_heat_gives() -> None:
    cold, hot, tau = 288.15, 348.15, 110.0
    found = solve_ivp(lambda _, t: (hot - t) / tau, (0, 200), [cold], rtol=1e-10, atol=1e-10, t_eval=[50, 200])
    assert choke.coil_temperature(np.array([50.0, 200.0]), cold, hot, tau) == pytest.approx(found.y[0], rel=1e-8)


def test_two_rises_add() -> None:
    cold = si("15 degC")
    assert choke.coil_end_temperature(cold, 30, 24, 1.25) == pytest.approx(cold + 60, rel=1e-12)
    assert choke.coil_end_temperature(cold, 30, 24, 1.25, 0.5) == pytest.approx(cold + 45, rel=1e-12)
    assert choke.coil_end_temperature(cold, 30, 0, 1.25) == pytest.approx(cold + 30, rel=1e-12)


def test_the_turn_of_a_bimetal_coil() -> None:
    # Flexivity as ASTM B106 defines it, with geometry: 27e-6/K, 0.5 m, 0.5 mm, 40 K: 1.0800 rad = 61.879°.
    turn = choke.bimetal_turn(27e-6, 0.5, 40, 0.5e-3)
    assert turn == pytest.approx(1.08, rel=1e-12)
    assert math.degrees(turn) == pytest.approx(61.879, abs=5e-4)
    # In inches: 150e-7/°F, 12 in, 0.020 in, 60 °F: 30.940°. A difference of 60 °F is 33.3 K, not 15.6.
    turn = choke.bimetal_turn(150e-7 * 9 / 5, si("12 in"), si("60 dF"), si("0.020 in"))
    assert math.degrees(turn) == pytest.approx(30.940, abs=5e-4)


def test_the_torque_of_a_bimetal_coil() -> None:
    # 170 GPa, 6 mm wide: 0.021250 N m/rad; held still through 40 K 0.022950 N m = E b t² F dT/12, by hand.
    rate = choke.bimetal_rate(170e9, 6e-3, 0.5e-3, 0.5)
    assert rate == pytest.approx(0.021250, rel=1e-12)
    held = choke.coil_torque(rate, choke.bimetal_turn(27e-6, 0.5, 40, 0.5e-3), 0)
    assert held == pytest.approx(0.022950, rel=1e-12)
    assert held == pytest.approx(170e9 * 6e-3 * 0.5e-3**2 * 27e-6 * 40 / 12, rel=1e-12)


@pytest.mark.parametrize(
    ("thickness", "stiffness", "factor"),
    # Timoshenko 1925, from memory; checked against the two-layer beam solved directly.
    [(1, 1, 1.5), (1, 2, 1.45455), (2, 1, 1.33333)],
)
def test_the_bend_of_two_layers(thickness: float, stiffness: float, factor: float) -> None:
    assert choke.flexivity(0, 1e-6, thickness, stiffness) == pytest.approx(factor * 1e-6, rel=5e-6)


def test_the_curvature_of_a_strip() -> None:
    # 150 GPa 0.25 mm 1.5e-6, 175 GPa 0.25 mm 19e-6, 50 K: 2.62110 1/m, radius 0.38152 m.
    curvature = choke.flexivity(1.5e-6, 19e-6, 1, 150 / 175) * 50 / 0.5e-3
    assert curvature == pytest.approx(2.62110, rel=2e-6)
    assert 1 / curvature == pytest.approx(0.38152, rel=2e-5)


@given(ratio=st.floats(0.3, 3), stiffness=st.floats(0.3, 3))
def test_the_bend_agrees_with_the_beam_solved_directly(ratio: float, stiffness: float) -> None:
    # Two bonded layers, unknown curvature k and mean strain e: no net force, no net moment. An independent way to the same.
    first, second = ratio / (1 + ratio), 1 / (1 + ratio)
    layers = [(stiffness, 0.0, first, 0.0), (1.0, first, first + second, 1.0)]  # stiffness, from, to, free strain
    force, moment = np.zeros(3), np.zeros(3)
    for e, low, high, free in layers:
        parts = [e * (high**n - low**n) / n for n in (1, 2, 3)]
        force += [parts[0], parts[1], free * parts[0]]
        moment += [parts[1], parts[2], free * parts[1]]
    solved = np.linalg.solve(np.array([force[:2], moment[:2]]), np.array([force[2], moment[2]]))
    assert choke.flexivity(0, 1, ratio, stiffness) == pytest.approx(float(solved[1]), rel=1e-9)


def test_a_colder_coil_closes_harder() -> None:
    warm = choke.coil_free_angle(math.radians(1.5), si("35 degC"), si("20 degC"))
    assert math.degrees(warm) == pytest.approx(22.5)
    cold = choke.coil_free_angle(math.radians(1.5), si("-10 degC"), si("20 degC"))
    assert choke.coil_torque(0.012, 0.3, cold) > choke.coil_torque(0.012, 0.3, warm)
    # The cover turned lean moves the coil's free place open.
    assert choke.coil_free_angle(0.03, 293.15, 293.15, 0.1) == pytest.approx(0.1)


@given(opened=st.floats(0, 1.2), more=st.floats(0.01, 0.1), drop=st.floats(0, 3e3), temperature=st.floats(240, 340))
def test_the_opening_torque_falls_as_the_plate_opens(opened: float, more: float, drop: float, temperature: float) -> None:
    def torque(angle: float) -> float:
        air = choke.air_torque(drop, 0.048, 0.002, 0.26, angle)
        pulled = choke.vacuum_break_torque(0.05, 0.66, angle, 5e4)
        coil = choke.coil_torque(0.012, angle, choke.coil_free_angle(0.026, temperature, 293.15))
        return float(choke.choke_opening_torque(air, pulled, coil))

    assert torque(opened + more) < torque(opened)


def test_the_vacuum_break_pulls_and_never_pushes_and_only_above_its_vacuum() -> None:
    on, off = si("8 inHg"), si("4 inHg")
    assert choke.vacuum_break_torque(0.05, math.radians(38), math.radians(20), on) == pytest.approx(0.05 * math.radians(18))
    assert choke.vacuum_break_torque(0.05, math.radians(38), math.radians(50), on) == 0
    assert choke.vacuum_break_torque(0.05, math.radians(38), math.radians(20), off) == 0


def test_a_plate_without_offset_feels_no_air_torque() -> None:
    assert choke.air_torque(2000, 0.048, 0, 0.26, 0.3) == 0
    # By hand: 1500 Pa on the disc of 1.9 in (1829.2 mm²), arm 0.08 in, cos 35°.
    by_hand = 1500 * math.pi / 4 * 0.04826**2 * 0.002032 * math.cos(math.radians(35))
    assert choke.air_torque(1500, 0.04826, 0.002032, math.radians(15), math.radians(20)) == pytest.approx(by_hand, rel=1e-12)


@given(angle=st.floats(0, 1.3), offset=st.floats(0, 0.004))
def test_gap_and_angle_of_the_vacuum_break_turn_each_other_round(angle: float, offset: float) -> None:
    gap = choke.vacuum_break_gap(0.048, offset, 0.26, angle)
    assert choke.vacuum_break_angle(gap, 0.048, offset, 0.26) == pytest.approx(angle, abs=1e-9)
    assert choke.vacuum_break_gap(0.048, offset, 0.26, 0) == 0


def test_a_thicker_gasket_turns_the_plate() -> None:
    # 1/32 in under a coil well, lever 3/4 in: a twenty-fourth of a radian, 2.387°, by hand.
    assert math.degrees(choke.rod_turn(si("1/32 in"), si("3/4 in"))) == pytest.approx(2.387, abs=5e-4)


@given(share=st.floats(0.001, 0.6))
def test_the_drop_past_the_choke_is_bernoullis_for_a_small_flow_and_more_for_a_great_one(share: float) -> None:
    area, density, upstream = 2.5e-4, 1.225, 101325.0
    flow = 0.7 * area * math.sqrt(2 * density * upstream * share / 2)
    drop = upstream - choke.pressure_below_choke(upstream, flow, 0.7, area, density)
    bernoulli = (flow / (0.7 * area)) ** 2 / (2 * density)
    assert drop >= bernoulli * (1 - 1e-12)
    assert drop == pytest.approx(bernoulli, rel=share)
    # Expansion makes the true flow a little less: by a third of the drop, as a share.
    if drop < 0.1 * upstream:
        exact = passages.isentropic_flow(0.7, area, upstream, 288.15, upstream - drop)
        assert flow == pytest.approx(exact, rel=0.36 * drop / upstream)


@given(opened=st.floats(0, 1.3), index=st.floats(-0.3, 0.3))
def test_opening_and_temperature_of_the_coil_turn_each_other_round(opened: float, index: float) -> None:
    rate, shut = math.radians(1.5), si("20 degC")
    temperature = choke.coil_temperature_for_opening(opened, shut, rate, index)
    assert choke.coil_free_angle(rate, temperature, shut, index) == pytest.approx(opened, abs=1e-9)


def test_the_torque_of_a_pull_off() -> None:
    # By hand: half an inch across, 10 inHg (33863.9 Pa, NIST SP 811), 10 mm of lever: 126.677 mm² x 0.0338639 N/mm² x 10 mm.
    assert choke.pull_off_torque(si("0.5 in"), si("10 inHg"), 0.010) == pytest.approx(0.0428977, rel=1e-5)
    # A leak that leaves half of the vacuum leaves half of the torque.
    assert choke.pull_off_torque(0.02, 2e4, 0.01) == pytest.approx(2 * choke.pull_off_torque(0.02, 1e4, 0.01), rel=1e-12)


def test_two_springs_share_the_way_between_their_ends_in_proportion_to_their_rates() -> None:
    # Two springs in line between two points, by hand: rates 1 and 3, ends at 0 and 40: they meet at 30.
    assert choke.pulled_off_angle(1.0, 0.0, 3.0, 40.0) == pytest.approx(30)


@given(
    coil_rate=st.floats(0.005, 0.03),
    stem_rate=st.floats(0.01, 0.5),
    free=st.floats(-1.2, 0.3),
    share=st.floats(0.01, 0.99),
)
def test_at_the_pulled_off_angle_nothing_is_left_to_move_the_plate(
    coil_rate: float, stem_rate: float, free: float, share: float
) -> None:
    pulled_to = 0.66
    air = share * coil_rate * (pulled_to - free)
    assume(coil_rate * (free - 0.1) + stem_rate * pulled_to + air > 0)  # a colder coil than that holds it shut
    angle = choke.pulled_off_angle(coil_rate, free, stem_rate, pulled_to, air)
    stem = choke.vacuum_break_torque(stem_rate, pulled_to, angle, 5e4)
    left = choke.choke_opening_torque(air, stem, choke.coil_torque(coil_rate, angle, free))
    assert left == pytest.approx(0, abs=1e-12)
    # A colder coil stands tighter.
    assert choke.pulled_off_angle(coil_rate, free - 0.1, stem_rate, pulled_to, air) < angle


def test_an_air_stream_that_leaves_the_stem_behind_is_refused() -> None:
    with pytest.raises(RangeError):
        choke.pulled_off_angle(0.012, 0.0, 0.05, 0.66, 0.02)


def test_a_coil_that_holds_the_plate_shut_against_the_stem_is_refused() -> None:
    with pytest.raises(RangeError):
        choke.pulled_off_angle(0.05, -1.0, 0.05, 0.66)
