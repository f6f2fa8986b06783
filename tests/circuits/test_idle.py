from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import idle, passages, principles

FUEL, AIR = 736.3, 1.225


def si(text: str) -> float:
    return read_quantity(text).si


def test_how_far_the_plate_s_edge_rises() -> None:
    # The edge is D/(2 cos psi_0) from the shaft; its height is that times the sine of the plate's angle.
    radius = 0.040 / 2 / math.cos(math.radians(12))
    by_hand = radius * (math.sin(math.radians(20)) - math.sin(math.radians(12)))
    assert idle.plate_edge_rise(0.040, si("12 deg"), si("8 deg")) == pytest.approx(by_hand, rel=1e-12)
    assert idle.plate_edge_rise(0.040, si("12 deg"), 0) == 0


@given(opened=st.floats(0, 1), more=st.floats(0.001, 0.2))
def test_opening_the_plate_uncovers_the_slot_from_its_foot(opened: float, more: float) -> None:
    foot, length, width = si("0.04 in"), si("0.16 in"), si("0.03 in")

    def uncovered(angle: float) -> float:
        return float(idle.slot_area_below_plate(idle.plate_edge_rise(0.0429, 0.2, angle), foot, length, width))

    assert 0 <= uncovered(opened) <= uncovered(opened + more) <= length * width
    assert uncovered(0) == 0


def test_half_the_turns_are_half_the_port() -> None:
    whole = principles.disc_area(si("0.0465 in"))
    assert idle.mixture_port_area(3, 3, si("0.0465 in")) == pytest.approx(whole, rel=1e-12)
    assert idle.mixture_port_area(1.5, 3, si("0.0465 in")) == pytest.approx(whole / 2, rel=1e-12)
    with pytest.raises(RangeError, match="n ≤ n"):
        idle.mixture_port_area(3.5, 3, si("0.0465 in"))


def discharge(x: float, depression: float, discharge_area: float, jet: float, bleed: float) -> float:
    """How much more the discharge could carry than jet and bleed let in, at a depression x in the passage; no lift."""
    c = passages.slip_coefficient(FUEL, AIR)
    fuel, air = principles.jet_flow(1, jet, FUEL, x), principles.jet_flow(1, bleed, AIR, x)
    return float(depression - x - passages.two_phase_drop(fuel, air, 1, discharge_area, c, FUEL, AIR))


@settings(max_examples=25, deadline=None)
@given(
    depression=st.floats(1e3, 5e4),
    out=st.floats(2e-7, 2e-6),
    jet=st.floats(5e-8, 1e-6),
    bleed=st.floats(1e-7, 4e-6),
)
def test_the_idle_signal_is_where_what_goes_in_comes_out(depression: float, out: float, jet: float, bleed: float) -> None:
    # Against a plain halving of the balance of flows.
    low, high = 0.0, depression
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if discharge(middle, depression, out, jet, bleed) > 0 else (low, middle)
    signal = idle.idle_signal(depression, out, jet, bleed, passages.slip_coefficient(FUEL, AIR))
    assert signal == pytest.approx(low, rel=1e-9)


def test_a_blocked_bleed_enriches_and_a_blocked_jet_leans_the_idle() -> None:
    c = passages.slip_coefficient(FUEL, AIR)
    out, jet, bleed = 0.6e-6, 0.324e-6, 2.025e-6

    def fuel(jet: float, bleed: float) -> float:
        return float(principles.jet_flow(1, jet, FUEL, idle.idle_signal(4e4, out, jet, bleed, c)))

    assert fuel(jet, bleed / 2) > 1.3 * fuel(jet, bleed)
    assert fuel(jet / 3, bleed) < 0.5 * fuel(jet, bleed)
    # Without fuel the air alone shares the depression as in any bled passage.
    assert idle.idle_signal(4e4, out, 0, bleed, c) == pytest.approx(passages.bled_signal(4e4, out, bleed), rel=1e-12)


def test_idle_fuel_needs_more_than_the_lift() -> None:
    lift = si("0.6 in")
    head = principles.fuel_head(FUEL, lift)
    assert idle.idle_fuel_flow(0.75, 4e-7, FUEL, head, lift) == pytest.approx(0, abs=1e-15)
    assert idle.idle_fuel_flow(0.75, 4e-7, FUEL, head + 1000, lift) == pytest.approx(
        principles.jet_flow(0.75, 4e-7, FUEL, 1000), rel=1e-9
    )
    with pytest.raises(RangeError):
        idle.idle_fuel_flow(0.75, 4e-7, FUEL, 0.99 * head, lift)


def test_the_engine_pulls_best_a_little_rich() -> None:
    # Illustrative coefficients of this course: best at lambda 0.88, nothing left at 1.43 and at 0.28.
    assert idle.burning_share(0.88) == 1
    assert idle.burning_share(1.43) == pytest.approx(0, abs=1e-12)
    assert idle.burning_share(0.28) == pytest.approx(0, abs=1e-12)
    assert idle.burning_share(2.0) == 0
    assert idle.burning_share(0.98) < idle.burning_share(0.78)


def test_friction_by_a_textbook_s_fit() -> None:
    # J. Heywood, Internal Combustion Engine Fundamentals, ch. 13, from memory: 0.97 + 0.15 (n/1000) + 0.05 (n/1000)² bar.
    assert idle.friction_pressure(si("2000 rev/min")) == pytest.approx(1.47e5, rel=1e-9)


def test_what_is_left_at_idle_falls_with_vacuum_and_friction() -> None:
    left = idle.idle_mean_pressure(0.4, 0.9, 1.1e5, 57e3)
    assert left == pytest.approx(0.3 * 2.95e6 * 0.4 * 0.9 - 1.1e5 - 57e3, rel=1e-12)
    assert idle.idle_mean_pressure(0.4, 0.9, 1.1e5, 60e3) == pytest.approx(left - 3e3, rel=1e-12)


# 628.3185 and 0.7629 mm²: a table of Heywood's formula for plate and shaft (Internal Combustion Engine Fundamentals,
# ch. 7), recomputed; 40,8;2,0 as 0.7629, where the shaft takes less than 1 %.
def test_the_opening_near_idle_is_the_circle_less_the_plate_s_shadow() -> None:
    near_idle = idle.plate_opening_near_idle
    assert near_idle(si("40 mm"), 0, si("60 deg")) * 1e6 == pytest.approx(628.3185, abs=5e-5)
    assert near_idle(si("40 mm"), 0, si("2 deg")) * 1e6 == pytest.approx(0.7629, rel=0.01)
    assert near_idle(si("40 mm"), si("7 deg"), 0) == 0


@pytest.mark.parametrize(
    ("bore", "closed", "opening"),
    [("1.69 in", "12 deg", "4 deg"), ("1.56 in", "10 deg", "2.7 deg"), ("1.56 in", "10 deg", "6 deg")],
)
def test_near_idle_the_shaft_takes_less_than_a_hundredth_of_the_opening(bore: str, closed: str, opening: str) -> None:
    with_shaft = passages.plate_opening(si(bore), si("0.312 in"), si(closed), si(opening))
    assert idle.plate_opening_near_idle(si(bore), si(closed), si(opening)) == pytest.approx(with_shaft, rel=0.01)


# Cengel, Cimbala, Fluid Mechanics, example 12-5, as in Python Textbook Companions: a tyre of 314 kPa absolute, 298 K, leaks
# 0.00924 kg/s through a hole of 4 mm; recomputed 0.0092387 kg/s.
def test_choked_air_through_a_hole_in_a_tyre() -> None:
    hole = principles.disc_area(si("4 mm"))
    assert idle.choked_air_flow(1, hole, si("314 kPa"), 298) == pytest.approx(0.0092387, rel=2e-4)


@given(pressure=st.floats(6e4, 1.1e5), temperature=st.floats(250, 330), share=st.floats(0.05, 0.52))
def test_choked_air_is_the_isentropic_flow_whatever_the_vacuum_and_its_opening_its_inverse(
    pressure: float, temperature: float, share: float
) -> None:
    whole = passages.isentropic_flow(0.82, 27.5e-6, pressure, temperature, share * pressure)
    flow = idle.choked_air_flow(0.82, 27.5e-6, pressure, temperature)
    assert flow == pytest.approx(whole, rel=1e-5)
    assert idle.choked_opening(flow, 0.82, pressure, temperature) == pytest.approx(27.5e-6, rel=1e-9)


@given(opening=st.floats(0, 1.2), closed=st.floats(0, 0.3))
def test_the_angle_for_an_edge_s_rise_turns_the_rise_round(opening: float, closed: float) -> None:
    rise = idle.plate_edge_rise(0.0429, closed, opening)
    assert idle.angle_for_edge_rise(rise, 0.0429, closed) == pytest.approx(opening, abs=1e-7)


def test_a_turn_of_the_stop_screw_is_its_pitch_over_the_arm() -> None:
    # By hand: a thread of 32 to the inch moves 1/32 in a turn; on an arm of 3/4 in that is atan(1/24) = 2.3859 degrees.
    assert idle.stop_screw_angle(1, si("1/32 in"), si("0.75 in")) == pytest.approx(math.atan(1 / 24), rel=1e-3)
    assert idle.stop_screw_angle(-2, si("1/32 in"), si("0.75 in")) < 0
    with pytest.raises(RangeError):
        idle.stop_screw_angle(8, si("1/32 in"), si("0.75 in"))


@given(fuel=st.floats(0, 6e-4), signal=st.floats(500, 2e4))
def test_the_idle_circuit_draws_the_main_well_down_by_what_its_jet_leaves(fuel: float, signal: float) -> None:
    lift = si("0.6 in")
    left = idle.well_depression_at_idle(signal, FUEL, lift, fuel, 0.75, 4.32e-7)
    # The other way round: with the well at that depression, the rest of the signal drives just this flow through the jet.
    rest = signal - principles.fuel_head(FUEL, lift) - left
    assert principles.jet_flow(0.75, 4.32e-7, FUEL, max(rest, 0)) == pytest.approx(fuel, rel=1e-6, abs=1e-10)


def test_choked_air_in_round_figures() -> None:
    # In SI for dry air, gamma 1.4 and R 287.053: 0.0404147 p A/sqrt(T), from the closed form.
    assert idle.choked_air_flow(1, 1.0, 1.0, 1.0) == pytest.approx(0.0404147, abs=5e-8)
