"""Rounding, and the sentences' slots."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking.outcome import decimal, figures, outcome, says, shown


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
    assert figures(Fraction(value), count) == Fraction(expected)


@pytest.mark.parametrize(
    ("value", "places", "expected"),
    # computed with decimals; binary floats get all three wrong
    [("12.35", 1, "12.4"), ("2.675", 2, "2.68"), ("0.00125", 4, "0.0012"), ("-0.004", 2, "0"), ("-1.25", 1, "-1.2")],
)
def test_decimals_are_rounded_half_to_even(value: str, places: int, expected: str) -> None:
    assert decimal(Fraction(value), places) == expected


@given(value=st.decimals(-(10**9), 10**9, places=6), count=st.integers(1, 15))
@settings(max_examples=150, deadline=None)
def test_figures_agree_with_the_decimal_module(value: Decimal, count: int) -> None:
    expected = value if not value else value.quantize(Decimal(1).scaleb(value.adjusted() - count + 1), ROUND_HALF_EVEN)
    assert figures(Fraction(value), count) == Fraction(expected)


def test_a_value_is_shown_without_powers_of_ten() -> None:
    values = ("0.000123456", "123456", "2.5", "-0.1")
    assert [shown(Fraction(v)) for v in values] == ["0.0001235", "123500", "2.5", "-0.1"]


def test_thirds_are_written_with_two_places() -> None:
    assert [outcome("part", Fraction(n, 3), "1", "", "").mark for n in (1, 2, 3)] == ["0.33", "0.67", "1"]


def test_what_is_put_into_a_sentence_is_not_looked_at_again() -> None:
    assert says("own", part="{read}", read="{part}") == "{read} = {part}"
