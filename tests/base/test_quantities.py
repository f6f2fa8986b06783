"""The table of units, and quantities as authors write them."""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import Any

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.base.quantities import NO_BREAK, UNITS, dimension, fold, read_quantity, show, show_number, unit, with_unit

# Our names where pint 0.25.3 says something else (its `mil` is an angle, its `cfm` a centi-femto-metre).
IN_PINT = {
    "1": "", "%": "percent", "thou": "thou", "floz": "US_fluid_ounce", "gal": "US_liquid_gallon",
    "degC": "degC", "degF": "degF", "dK": "delta_degC", "dF": "delta_degF", "rev/min": "1/min",
    "rev/s": "1/s", "lbf*in": "lbf*in", "lbf*ft": "lbf*ft", "lb/gal": "lb/US_liquid_gallon",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(UNITS))
def test_every_factor_agrees_with_pint(name: str) -> None:
    ours = UNITS[name]
    registry: Any = pint.UnitRegistry()
    registry.define("ozf = lbf / 16")
    registry.define("mmH2O = 9.80665 Pa")
    ones = registry.Quantity(1.0, IN_PINT.get(name, name))
    # inHg and mmHg: pint's mercury is 13595.1 kg/m³ too, printed to seven figures there
    assert ones.to_base_units().magnitude == pytest.approx(ours.to_si(Fraction(1)), rel=1e-6)


@pytest.mark.parametrize(
    ("text", "si", "source"),
    [
        ("1 inHg", 3386.389, "NIST SP 811 app. B, conventional inch of mercury"),
        ("1 inH2O", 249.0889, "NIST SP 811 app. B, conventional inch of water"),
        ("1 psi", scipy.constants.psi, "scipy.constants"),
        ("1 gal", scipy.constants.gallon, "scipy.constants"),
        ("1 floz", scipy.constants.fluid_ounce, "scipy.constants"),
        ("12 lb/h", 0.001511975, "scipy.constants.lb / 3600"),
        ("1 ft^3/min", 4.719474432e-4, "0.3048³/60"),
        ("55 degF", 285.92778, "scipy.constants.convert_temperature"),
        ("5/32 in", 0.00396875, "1 in = 25.4 mm exactly"),
        ("1 1/4 in", 0.03175, "1 in = 25.4 mm exactly"),
    ],
)
def test_quantities_agree_with_published_values(text: str, si: float, source: str) -> None:
    assert source
    assert read_quantity(text).si == pytest.approx(si, rel=1e-6)


def test_no_two_units_share_a_spelling() -> None:
    spelt = Counter(spelling for entry in UNITS.values() for spelling in entry.spelt)
    assert [spelling for spelling, times in spelt.items() if times > 1] == []


@pytest.mark.parametrize("name", sorted(set(UNITS) - {"1", "dK", "dF"}))
def test_a_unit_is_spelt_as_it_is_shown(name: str) -> None:
    assert fold(UNITS[name].shown) in UNITS[name].spelt


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6))
def test_there_and_back_is_the_same(name: str, value: float) -> None:
    assert unit(name).from_si(unit(name).to_si(Fraction(value))) == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_units_made_of_others_have_their_dimension_and_factor() -> None:
    assert unit("kg/(m^2*s)").dimension == dimension(-2, 1, -1)
    assert unit("lbf/in^2").factor == unit("psi").factor
    assert unit("1/m^4").shown == "1/m⁴"


@pytest.mark.parametrize(
    "text", ["", "mm", "1,5 mm", "1/0 in", "5 bananas", "1 2 in", "0x10 mm", "1e9999 mm", "9" * 200, "1 °C/m"]
)
def test_what_is_no_quantity_is_refused_with_the_reason(text: str) -> None:
    with pytest.raises(UseError):
        read_quantity(text)


@pytest.mark.parametrize(
    ("value", "figures", "shown"),
    [
        # NIST SP 811 B.7.1 (seen quoted): half to even on the numeral
        (6.9749515, 3, "6.97"), (6.9749515, 5, "6.9750"), (6.9749515, 7, "6.974952"), (6.9749505, 7, "6.974950"),
        # ties that binary floats get wrong, decimal arithmetic by hand
        (12.35, 3, "12.4"), (2.675, 3, "2.68"), (0.00125, 2, "0.0012"),
        (9.996, 3, "10.0"), (101325.0, 3, "101000"), (-2.5, 1, "-2"), (0.0, 3, "0"),
    ],
)  # fmt: skip
def test_numbers_are_shown_half_to_even(value: float, figures: int, shown: str) -> None:
    assert show_number(value, figures) == shown


@given(st.floats(1e-9, 1e9), st.integers(1, 8))
def test_a_shown_number_is_within_half_a_figure(value: float, figures: int) -> None:
    shown = float(show_number(value, figures))
    assert abs(shown - value) <= 0.5000001 * 10 ** (math.floor(math.log10(max(value, shown))) - figures + 1)


def test_number_and_unit_stay_on_one_line() -> None:
    assert show(2.298434e-6, unit("mm^2"), 3) == f"2.30{NO_BREAK}mm²"
    assert with_unit("30", unit("deg")) == "30°"
    assert with_unit("14.7", unit("1")) == "14.7"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_not_shown(value: float) -> None:
    with pytest.raises(UseError, match="cannot be shown"):
        show_number(value)


@pytest.mark.parametrize(
    ("name", "mend"),
    [
        ("sqmm", "did you mean `mm^2`?"),
        ("litre", "did you mean `L`?"),
        ("inchs", "did you mean `in` or `inH2O`?"),
        ("furlong", "write one such as mm, in, mm^2, cm^3, kPa, inHg, g/s, rev/min or %"),
        ("x" * 5000, "write one such as mm, in, mm^2, cm^3, kPa, inHg, g/s, rev/min or %"),
    ],
)
def test_an_unknown_unit_is_told_with_the_nearest(name: str, mend: str) -> None:
    with pytest.raises(UseError) as caught:
        unit(name)
    assert str(caught.value) == f"`{name[:40]}` is not a unit known here; {mend}"
