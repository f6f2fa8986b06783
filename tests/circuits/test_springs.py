from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import power, springs


def si(text: str) -> float:
    return read_quantity(text).si


@pytest.mark.parametrize(("index", "factor"), [(4, 1.40375), (5, 1.31050), (8, 1.18402), (10, 1.14483)])
def test_wahl_s_factor(index: float, factor: float) -> None:
    # (4C - 1)/(4C - 4) + 0.615/C, by hand.
    assert springs.wahl_factor(index) == pytest.approx(factor, abs=5e-6)


def test_wahl_s_factor_is_that_of_the_curved_bar_as_another_printed_form_has_it() -> None:
    # What A. M. Wahl's form stands for: a curved bar in torsion and shear. Another printed form of it, M. Bergsträsser's
    # (4C + 2)/(4C - 3), from memory, differs by under 1.5 % for an index of 4 to 12.
    for index in (4, 6, 8, 10, 12):
        assert springs.wahl_factor(index) == pytest.approx((4 * index + 2) / (4 * index - 3), rel=0.015)


@settings(max_examples=50, deadline=None)
@given(force=st.floats(0.1, 50), mean=st.floats(3e-3, 30e-3), index=st.floats(50, 1000))
def test_a_wide_coil_s_wire_is_a_straight_bar_in_torsion(force: float, mean: float, index: float) -> None:
    # A round bar under a torque T: 16 T/(pi d³), as machine design texts derive it; the torque is force times mean radius.
    wire = mean / index
    bar = 16 * (force * mean / 2) / (math.pi * wire**3)
    assert bar < springs.spring_stress(force, mean, wire) <= bar * (1 + 1.5 / index)


@settings(max_examples=50, deadline=None)
@given(force=st.floats(0.1, 50), wire=st.floats(0.3e-3, 3e-3), index=st.floats(3, 15), thinner=st.floats(1.01, 2))
def test_a_thinner_wire_is_stressed_more_by_the_same_force_and_makes_a_softer_spring(
    force: float, wire: float, index: float, thinner: float
) -> None:
    mean, thin = index * wire, wire / thinner
    assert springs.spring_stress(force, mean, thin) > springs.spring_stress(force, mean, wire)
    assert power.coil_spring_rate(8e10, thin, mean, 10) < power.coil_spring_rate(8e10, wire, mean, 10)


def test_a_printed_spring() -> None:
    # Wentzell, Machine Design, ex. 8.2, as worked in an open companion: wire .105 in, mean coil .620 in, 35 lbf; its rate is in
    # the power circuit's tests. Its index is 5.905, and by hand 1.2571 x 8 x 35 x .620/(pi x .105³) = 60 000 psi.
    assert springs.wahl_factor(0.620 / 0.105) == pytest.approx(1.2571, abs=1e-4)
    stress = springs.spring_stress(si("35 lbf"), si("0.620 in"), si("0.105 in"))
    assert stress == pytest.approx(si("60000 psi"), rel=1e-3)


def test_a_coil_that_cannot_be_wound_is_refused() -> None:
    with pytest.raises(RangeError):
        springs.wahl_factor(1)
    with pytest.raises(RangeError):
        springs.spring_stress(1.0, 1e-3, 1e-3)
    with pytest.raises(RangeError):
        springs.spring_stress(-1.0, 5e-3, 1e-3)
