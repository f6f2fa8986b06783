"""Rounding, and the sentences' slots."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.marking.outcome import decimal, outcome, says, shown


@pytest.mark.parametrize(
    ("value", "places", "expected"),
    # computed with decimals; binary floats get all three wrong
    [("12.35", 1, "12.4"), ("2.675", 2, "2.68"), ("0.00125", 4, "0.0012"), ("-0.004", 2, "0"), ("-1.25", 1, "-1.2")],
)
def test_decimals_are_rounded_half_to_even(value: str, places: int, expected: str) -> None:
    assert decimal(Fraction(value).as_integer_ratio(), places) == expected


def test_a_value_is_shown_without_powers_of_ten() -> None:
    values = ("0.000123456", "123456", "2.5", "-0.1")
    assert [shown(Fraction(v).as_integer_ratio()) for v in values] == ["0.0001235", "123500", "2.5", "-0.1"]


def test_thirds_are_written_with_two_places() -> None:
    assert [outcome("part", (n, 3), "1", "", "").mark for n in (1, 2, 3)] == ["0.33", "0.67", "1"]


def test_what_is_put_into_a_sentence_is_not_looked_at_again() -> None:
    assert says("own", part="{read}", read="{part}") == "{read} = {part}"
