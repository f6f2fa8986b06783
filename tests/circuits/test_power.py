from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import passages, power, principles

INCH = 0.0254


def si(text: str) -> float:
    return read_quantity(text).si


def test_the_ring_a_rod_leaves() -> None:
    # Jet .095 in round a .067 in rod: 2.29843 mm², by hand.
    assert power.open_area(0.095 * INCH, 0.067 * INCH) == pytest.approx(2.29843e-6, abs=5e-12)


@given(bore=st.floats(1e-3, 4e-3), share=st.floats(0, 0.99))
def test_the_ring_is_circle_less_circle(bore: float, share: float) -> None:
    less = principles.disc_area(bore) - principles.disc_area(bore * share)
    assert power.open_area(bore, bore * share) == pytest.approx(less, rel=1e-9, abs=1e-12 * bore**2)


@given(bore=st.floats(1e-3, 4e-3), cruise=st.floats(0.1, 0.99), step=st.floats(0.1, 1))
def test_the_step_ratio_is_that_of_the_two_rings(bore: float, cruise: float, step: float) -> None:
    thick, thin = bore * cruise, bore * cruise * step
    ratio = power.open_area(bore, thin) / power.open_area(bore, thick)
    assert power.open_area_ratio(bore, thick, thin) == pytest.approx(ratio, rel=1e-9)
    assert ratio >= 1


def test_a_rod_as_thick_as_its_jet_is_refused() -> None:
    with pytest.raises(RangeError):
        power.open_area(0.002, 0.002)
    with pytest.raises(RangeError):
        power.open_area_ratio(0.002, 0.0015, 0.0016)


def test_the_pull_of_the_vacuum_piston() -> None:
    # 15 inHg on a 3/8 in piston: 3.61949 N, by hand.
    assert power.piston_force(si("3/8 in"), si("15 inHg")) == pytest.approx(3.61949, abs=5e-6)


@given(spring=st.floats(0.5, 5), weight=st.floats(0, 0.4), bore=st.floats(0.005, 0.02), rate=st.floats(50, 500))
def test_the_rods_begin_to_lift_at_the_lifting_vacuum(spring: float, weight: float, bore: float, rate: float) -> None:
    vacuum = power.lifting_vacuum(spring, weight, bore)
    assert power.piston_force(bore, vacuum) + weight == pytest.approx(spring, rel=1e-12)
    assert power.rod_lift(spring, weight, bore, vacuum * 1.01, rate, 0.004) == 0
    lifted = power.rod_lift(spring, weight, bore, vacuum * 0.99, rate, 0.004)
    assert lifted == pytest.approx(min(0.01 * (spring - weight) / rate, 0.004), rel=1e-6)
    assert power.rod_lift(spring, weight, bore, 0, 1e-3, 0.004) == 0.004


def test_richness_at_four_thousand_feet() -> None:
    # US Standard Atmosphere 1976 at 4000 ft, sigma 0.88809: fuel per air +6.11 %, jet area -5.76 %, bore -2.92 %, by hand.
    sigma = principles.standard_density_ratio(si("4000 ft"))
    assert power.altitude_enrichment(sigma) == pytest.approx(0.0611, abs=5e-5)
    assert power.altitude_jet_area(1, sigma) - 1 == pytest.approx(-0.0576, abs=5e-5)
    assert power.altitude_jet_bore(1, sigma) - 1 == pytest.approx(-0.0292, abs=5e-5)


@pytest.mark.parametrize(
    ("ratio", "height", "ground", "lapse", "per_decade", "wanted"),
    [
        # H. N. Gupta, Fundamentals of Internal Combustion Engines, ex. 9.7: 12.111
        (14.7, 4000, 295, 0.0065, 19200, 12.111),
        # R. K. Rajput, A Textbook of Internal Combustion Engines, ex. 11.11: 11.262, by another pressure formula
        (14.0, 4500, 298, 0.0064, 19300, 11.262),
    ],
)
def test_two_textbook_mixtures_at_altitude(
    ratio: float, height: float, ground: float, lapse: float, per_decade: float, wanted: float
) -> None:
    # Both as worked in open companions to the textbooks: h = constant times log10 of the pressure ratio.
    sigma = principles.density_ratio(10 ** (-height / per_decade), ground - lapse * height, 1.0, ground)
    assert power.altitude_mixture(ratio, sigma) == pytest.approx(wanted, abs=5e-4)


@given(ratio=st.floats(8, 20), sigma=st.floats(0.3, 1))
def test_enrichment_and_correction_fit_together(ratio: float, sigma: float) -> None:
    richer = power.altitude_mixture(ratio, sigma)
    assert ratio / richer - 1 == pytest.approx(power.altitude_enrichment(sigma), abs=1e-12)
    # The area that restores the mixture: less fuel by as much as there was too much.
    assert richer / power.altitude_jet_area(1, sigma) == pytest.approx(ratio, rel=1e-12)
    bore = power.altitude_jet_bore(0.002, sigma)
    assert principles.disc_area(bore) == pytest.approx(power.altitude_jet_area(principles.disc_area(0.002), sigma), rel=1e-12)


def test_a_textbook_spring() -> None:
    # T. Wentzell, Machine Design, ex. 8.2, as worked in an open companion: G 11.85e6 psi, wire 0.105 in, coil 0.620 in,
    # 35 lb at 0.5 in: 70.00 lb/in needs 10.792 coils.
    rate = power.coil_spring_rate(si("11850000 psi"), si("0.105 in"), si("0.620 in"), 10.792)
    assert rate == pytest.approx(si("70 lbf/in"), rel=5e-5)
    # A coil less makes it stiffer.
    assert power.coil_spring_rate(si("11850000 psi"), si("0.105 in"), si("0.620 in"), 9.792) > rate


def test_the_spring_slackens_as_the_rods_rise() -> None:
    force, rate, bore = si("0.45 lbf"), si("1.6 lbf/in"), si("0.375 in")
    vacuum = si("6 inHg")
    lift = power.rod_lift(force, si("0.02 lbf"), bore, vacuum, rate, si("0.14 in"))
    # At that lift the spring carries weight and vacuum, no more.
    assert power.spring_force(force, rate, lift) == pytest.approx(power.piston_force(bore, vacuum) + si("0.02 lbf"), rel=1e-9)
    with pytest.raises(RangeError, match="k y ≤ F₀"):
        power.spring_force(force, rate, si("0.3 in"))


def test_the_linkage_lifts_what_the_piston_does_not() -> None:
    lifter = power.lifter_lift(0, si("0.0028 in") / math.radians(1), math.radians(60), math.radians(25))
    assert lifter == pytest.approx(si("0.098 in"), rel=1e-9)
    assert power.hanger_lift(0, lifter, si("0.14 in")) == lifter
    assert power.hanger_lift(si("0.12 in"), lifter, si("0.14 in")) == si("0.12 in")
    assert power.hanger_lift(si("0.12 in"), si("0.2 in"), si("0.14 in")) == si("0.14 in")
    early = power.lifter_lift(0, si("0.0028 in") / math.radians(1), math.radians(10), math.radians(25))
    assert early < 0
    assert power.hanger_lift(0, early, si("0.14 in")) == 0


@given(lift=st.floats(0, 0.2))
def test_the_rod_is_as_thick_as_its_steps_say(lift: float) -> None:
    thick, thin = 0.070, 0.061
    there = power.rod_diameter_between(lift, 0.06, thick, 0.08, thin)
    assert thin <= there <= thick
    assert there == pytest.approx(thick if lift <= 0.06 else thin if lift >= 0.08 else thick - (lift - 0.06) * 0.45, abs=1e-12)


@given(bleed=st.floats(0, 4e-6), sigma=st.floats(0.6, 1))
def test_the_extra_bleed_brings_the_signal_down_as_far_as_the_air_has_thinned(bleed: float, sigma: float) -> None:
    extra = power.altitude_bleed_area(8e-6, bleed, sigma)
    before, after = passages.bled_signal(1000, 8e-6, bleed), passages.bled_signal(1000, 8e-6, bleed + extra)
    assert after == pytest.approx(sigma * before, rel=1e-9)
    # Fuel with the root of the signal, so the mixture is back where it was.
    fuel = principles.square_root_law(1, before, after)
    assert power.altitude_mixture(14.7, sigma) / fuel == pytest.approx(14.7, rel=1e-9)
