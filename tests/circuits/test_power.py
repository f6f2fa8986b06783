from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import power, principles

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
