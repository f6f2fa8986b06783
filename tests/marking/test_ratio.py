"""Exact numbers as pairs of whole numbers, against fractions and the decimal module."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking.key import unit_entries
from grader.marking.ratio import SAME, change, figures, nearest, ratio

UNITS = unit_entries()


@pytest.mark.parametrize(
    ("value", "count", "expected"),
    [
        # NIST SP 811 B.7.1, seen quoted in stored public test code, not in the document
        ("6.9749515", 3, "6.97"),
        ("6.9749515", 5, "6.9750"),
        ("6.9749515", 7, "6.974952"),
        ("6.9749505", 7, "6.974950"),
        ("0.00999", 2, "0.010"),
        ("99950", 3, "100000"),
        ("-12.35", 3, "-12.4"),
        ("0", 3, "0"),
    ],
)
def test_figures_are_rounded_half_to_even(value: str, count: int, expected: str) -> None:
    assert Fraction(*figures(Fraction(value).as_integer_ratio(), count)) == Fraction(expected)


@given(value=st.decimals(-(10**9), 10**9, places=6), count=st.integers(1, 15))
@settings(max_examples=150, deadline=None)
def test_figures_agree_with_the_decimal_module(value: Decimal, count: int) -> None:
    expected = value if not value else value.quantize(Decimal(1).scaleb(value.adjusted() - count + 1), ROUND_HALF_EVEN)
    assert Fraction(*figures(Fraction(value).as_integer_ratio(), count)) == Fraction(expected)


@given(value=st.fractions())
@settings(max_examples=150, deadline=None)
def test_the_nearest_whole_number_is_the_one_fractions_find(value: Fraction) -> None:
    assert nearest((value.numerator * 6, value.denominator * 6)) == round(value)


@pytest.mark.parametrize(
    "text", ["0", "-0.0", "19.40", ".5", "5.", "007", "1/60", "-3/8", "2.5e-7", "1E5", " 1.5 ", "1_000.5", "9" * 60 + ".1"]
)
def test_a_text_of_a_key_is_the_number_that_fractions_read(text: str) -> None:
    assert Fraction(*ratio(text)) == Fraction(text)


@given(value=st.one_of(st.decimals(allow_nan=False, allow_infinity=False, places=9), st.fractions()))
@settings(max_examples=150, deadline=None)
def test_any_decimal_or_fraction_is_read_exactly(value: Decimal | Fraction) -> None:
    assert Fraction(*ratio(str(value))) == Fraction(value)


@pytest.mark.parametrize("text", ["", "x", "1.2.3", "1/0", "nan", "1.-5", "--1"])
def test_what_is_no_number_of_a_key_is_refused(text: str) -> None:
    with pytest.raises((ValueError, ZeroDivisionError)):
        ratio(text)


@given(
    number=st.fractions(-1000, 1000),
    names=st.sampled_from([("degF", "degC"), ("K", "degF"), ("in", "mm"), ("psi", "inHg"), ("h", "s")]),
)
@settings(max_examples=100, deadline=None)
def test_a_change_there_and_back_is_none(number: Fraction, names: tuple[str, str]) -> None:
    one, other = (UNITS[name] for name in names)
    there = change(one.factor, one.offset, other.factor, other.offset).of(number.as_integer_ratio())
    back = change(other.factor, other.offset, one.factor, one.offset).of(there)
    assert Fraction(*back) == number
    assert Fraction(*SAME.of(number.as_integer_ratio())) == number


@pytest.mark.parametrize(("one", "other"), [("degF", "degC"), ("degC", "K"), ("psi", "kPa"), ("floz", "cm^3"), ("lb/h", "g/s")])
def test_a_change_is_the_one_that_pint_makes(one: str, other: str) -> None:
    # pint 0.25's own table is the reference
    theirs = {"cm^3": "cm**3", "lb/h": "pound/hour", "floz": "fluid_ounce"}
    registry: Any = pint.UnitRegistry()
    expected = registry.Quantity(12.5, theirs.get(one, one)).to(theirs.get(other, other)).magnitude
    a, b = UNITS[one], UNITS[other]
    above, below = change(a.factor, a.offset, b.factor, b.offset).of((25, 2))
    assert above / below == pytest.approx(expected, rel=1e-12)
