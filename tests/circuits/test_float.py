from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import grader.circuits.float as float_circuit
from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import main, principles


def si(text: str) -> float:
    return read_quantity(text).si


# The training carburetor T-1, as its sheet gives it; invented for the course.
SEAT, PRESSURE, WEIGHT = si("0.0935 in"), si("4.5 psi"), si("0.03 lbf")
NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM = si("0.5 in"), si("1.9 in"), si("2.2 in")
PLAN, HEIGHT = si("1.9 in^2"), si("0.8 in")
FUEL = 736.3


def submersion(pressure: float = PRESSURE, weight: float = WEIGHT, fuel: float = FUEL) -> float:
    arms = (NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM)
    return float(float_circuit.closing_submersion(SEAT, pressure, weight, *arms, PLAN, HEIGHT, fuel))


def test_the_force_of_fuel_on_a_needle() -> None:
    # Seat 0.101 in, 5.5 psi: 0.196012 N = 0.0440652 lbf, by hand.
    force = float_circuit.needle_force(si("0.101 in"), si("5.5 psi"))
    assert force == pytest.approx(0.196012, abs=5e-7)
    assert force / si("1 lbf") == pytest.approx(0.0440652, abs=5e-8)


def test_the_lift_of_a_float() -> None:
    # 25 cm³ in 740 kg/m³: 0.181423 N, by hand with g = 9.80665.
    assert float_circuit.buoyancy(si("25 cm^3"), 740) == pytest.approx(0.181423, abs=5e-7)


def test_moments_balance_where_the_needle_just_shuts() -> None:
    lift = float_circuit.buoyancy(PLAN * submersion(), FUEL)
    opening = float_circuit.needle_force(SEAT, PRESSURE) * NEEDLE_ARM + WEIGHT * WEIGHT_ARM
    assert lift * FLOAT_ARM == pytest.approx(opening, rel=1e-12)
    arms = (NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM)
    assert float_circuit.closing_buoyancy(SEAT, PRESSURE, WEIGHT, *arms) == pytest.approx(lift, rel=1e-12)


@given(more=st.floats(1.0001, 3))
def test_pressure_weight_and_thinner_fuel_all_sink_the_float(more: float) -> None:
    healthy = submersion()
    highest = HEIGHT * (1 - 1e-9)
    assert submersion(pressure=more * PRESSURE) > min(healthy, highest)
    assert submersion(weight=more * WEIGHT) > min(healthy, highest)
    assert submersion(fuel=FUEL / more) > min(healthy, highest)
    assert submersion(pressure=more * PRESSURE) <= HEIGHT


def test_at_the_greatest_pressure_the_float_is_wholly_under() -> None:
    arms = (NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM)
    greatest = float_circuit.greatest_fuel_pressure(FUEL, PLAN, HEIGHT, WEIGHT, SEAT, *arms)
    assert submersion(pressure=greatest * (1 - 1e-9)) == pytest.approx(HEIGHT, rel=1e-6)
    assert submersion(pressure=0.9 * greatest) < HEIGHT
    assert submersion(pressure=1.1 * greatest) == HEIGHT
    # By hand in pounds and inches, fuel 0.026600 lb/in³:
    # (0.026600 x 1.9 x 0.8 x 2.2 - 0.03 x 1.9) / (0.0068662 x 0.5) = 9.307 psi.
    assert greatest / si("1 psi") == pytest.approx(9.307, abs=2e-3)
    with pytest.raises(RangeError, match="W l_w ≤"):
        float_circuit.greatest_fuel_pressure(FUEL, PLAN, HEIGHT, si("0.1 lbf"), SEAT, *arms)


def test_a_float_stands_as_deep_as_its_lift_is_wanted() -> None:
    # Handbook law (Archimedes), by hand: 25 cm³ of fuel at 740 kg/m³ weigh 0.181423 N, so that lift takes 25 mm on a plan of
    # 10 cm².
    assert float_circuit.float_depth(0.181423, si("10 cm^2"), 740) == pytest.approx(0.025, rel=5e-6)
    arms = (NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM)
    lift = float_circuit.closing_buoyancy(SEAT, PRESSURE, WEIGHT, *arms)
    assert float_circuit.float_depth(lift, PLAN, FUEL) == pytest.approx(submersion(), rel=1e-12)


def test_at_the_greatest_weight_the_float_holds_just_the_pressure() -> None:
    arms = (NEEDLE_ARM, WEIGHT_ARM, FLOAT_ARM)
    lift = float_circuit.buoyancy(PLAN * HEIGHT, FUEL)
    heaviest = float_circuit.greatest_float_weight(lift, SEAT, PRESSURE, *arms)
    assert float_circuit.greatest_fuel_pressure(FUEL, PLAN, HEIGHT, heaviest, SEAT, *arms) == pytest.approx(PRESSURE, rel=1e-9)
    # By hand in pounds and inches: (0.040432 x 2.2 - 4.5 x 0.0068662 x 0.5) / 1.9 = 0.038685 lbf.
    assert heaviest / si("1 lbf") == pytest.approx(0.038685, abs=5e-6)


def test_what_more_pressure_and_a_heavier_float_do_to_the_level() -> None:
    more = PRESSURE + si("2 psi")
    rise = float_circuit.level_rise_for_pressure(SEAT, PRESSURE, more, NEEDLE_ARM, FLOAT_ARM, PLAN, FUEL)
    assert rise == pytest.approx(submersion(pressure=more) - submersion(), rel=1e-9)
    logged = 1.2 * WEIGHT
    rise = float_circuit.level_rise_for_weight(WEIGHT, logged, WEIGHT_ARM, FLOAT_ARM, PLAN, FUEL)
    assert rise == pytest.approx(submersion(weight=logged) - submersion(), rel=1e-9)


@given(fall=st.floats(0, 8e-3))
def test_the_needle_moves_less_than_the_float_by_the_lever(fall: float) -> None:
    lift = float_circuit.needle_travel(fall, NEEDLE_ARM, FLOAT_ARM)
    assert lift == pytest.approx(fall / 4.4, abs=1e-15)
    # The other way round: a float that hangs lower by that much has the needle open by that much.
    assert float_circuit.level_above_set(0.015, 0.015, lift, FLOAT_ARM, NEEDLE_ARM) == pytest.approx(-fall, abs=1e-15)


@given(flow=st.floats(1e-4, 4e-3))
def test_the_needle_lifts_as_far_as_the_flow_needs(flow: float) -> None:
    lift = float_circuit.needle_lift(flow, 0.65, SEAT, FUEL, PRESSURE, 0.01)
    assert float_circuit.inlet_flow(0.65, SEAT, lift, FUEL, PRESSURE) == pytest.approx(flow, rel=1e-12)


def test_a_needle_far_off_its_seat_gives_no_more_than_the_seat_itself() -> None:
    seat = principles.jet_flow(0.65, principles.disc_area(SEAT), FUEL, PRESSURE)
    assert float_circuit.inlet_flow(0.65, SEAT, SEAT, FUEL, PRESSURE) == pytest.approx(seat, rel=1e-12)
    # The ring is as large as the seat at a quarter of its bore.
    assert float_circuit.inlet_flow(0.65, SEAT, SEAT / 4, FUEL, PRESSURE) == pytest.approx(seat, rel=1e-12)
    assert float_circuit.inlet_flow(0.65, SEAT, SEAT / 8, FUEL, PRESSURE) == pytest.approx(seat / 2, rel=1e-12)
    assert float_circuit.inlet_flow(0.65, SEAT, SEAT, FUEL, PRESSURE, 0.25) == pytest.approx(seat / 4, rel=1e-12)
    assert float_circuit.needle_lift(1, 0.65, SEAT, FUEL, PRESSURE, si("0.045 in")) == si("0.045 in")


def test_a_volume_test_gives_a_mass_flow() -> None:
    # A US pint is 28.875 in³ (NIST SP 811, appendix B.8, from memory: 4.731765e-4 m³).
    # By hand: 473.1765 cm³ of 740 kg/m³ in 30 s are 11.6717 g/s.
    pint = 28.875 * si("1 in^3")
    assert pint == pytest.approx(4.731765e-4, abs=5e-11)
    assert float_circuit.supply_flow(pint, 740, 30) == pytest.approx(11.6717e-3, abs=5e-8)


@given(rise=st.floats(-6e-3, 6e-3), depression=st.floats(200, 5000))
def test_the_level_works_on_the_mixture_through_the_head(rise: float, depression: float) -> None:
    spill = si("0.3 in")
    changed = float_circuit.level_mixture(14.7, depression, 740, spill, rise)
    assert (changed < 14.7) == (rise > 0) or changed == pytest.approx(14.7)
    # The same from the fuel that the jet passes before and after.
    before = main.main_jet_flow(0.78, 2e-6, 740, depression, spill)
    after = main.main_jet_flow(0.78, 2e-6, 740, depression, float_circuit.spill_height(spill, rise))
    assert changed == pytest.approx(14.7 * before / after, rel=1e-9)


def test_the_level_matters_least_where_the_depression_is_great() -> None:
    spill, rise = si("0.3 in"), si("1/8 in")
    changes = [14.7 - float_circuit.level_mixture(14.7, depression, 740, spill, rise) for depression in (300, 1000, 3000, 9000)]
    assert changes == sorted(changes, reverse=True)
    assert changes[-1] < 0.02 * 14.7


def test_a_blocked_vent_draws_the_bowl_down() -> None:
    leak, vent = si("0.0004 in^2"), si("0.05 in^2")
    assert float_circuit.bowl_depression(1500, leak, vent, 200) == pytest.approx(1500 * (0.0004 / 0.05) ** 2, rel=1e-3)
    blocked = float_circuit.bowl_depression(1500, leak, 0.01 * vent, 200)
    assert blocked == pytest.approx(1500 * 0.0004**2 / (0.0004**2 + 0.0005**2), rel=1e-9)
    # A vent that opens outside does not feel the air cleaner: its whole drop then pushes on the fuel.
    assert float_circuit.bowl_depression(0, leak, vent, 200, 1) == -200
