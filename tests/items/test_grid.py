"""Values are drawn from what can be printed, and printed as they are used."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from grader.base.quantities import read_quantity
from grader.items.grid import as_fraction, decimals_of, grid, rounding


@settings(max_examples=60, deadline=None)
@given(st.integers(-500, 500), st.integers(1, 50), st.integers(1, 40), st.integers(0, 4))
def test_what_is_printed_reads_back_as_what_is_used(low: int, step: int, count: int, places: int) -> None:
    def text(number: int) -> str:
        return f"{number / 10**places:.{places}f} in"

    values, complaint, _ = grid(*(read_quantity(text(n)) for n in (low, low + step * count, step)))
    assert complaint == ""
    assert len(values) == count + 1
    for value in values:
        assert read_quantity(f"{value.written} in").number == value.number
        assert len(value.written.partition(".")[2]) == places


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 200), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_fraction_reads_back_as_it_is_printed(over: int, under: int) -> None:
    number = Fraction(over, under)
    assert read_quantity(f"{as_fraction(number)} in").number == number


@pytest.mark.parametrize(
    ("low", "high", "step", "complaint"),
    [
        ("1 in", "2 mm", "1 in", "is written in in, mm"),
        ("2 in", "1 in", "1 in", "does not rise from 2 to 1 by 1"),
        ("1 in", "2 in", "0 in", "does not rise from 1 to 2 by 0"),
        ("1 in", "2 in", "0.4 in", "does not reach 2 from 1 by steps of 0.4"),
        ("0 in", "1 in", "1e-6 in", "has more than 100,000 values"),
    ],
)
def test_a_grid_that_cannot_be_is_refused(low: str, high: str, step: str, complaint: str) -> None:
    values, told, mend = grid(*(read_quantity(text) for text in (low, high, step)))
    assert (values, told) == ((), complaint)
    assert mend


def test_only_decimals_say_to_what_a_value_is_rounded() -> None:
    assert rounding([read_quantity("0.5 m")]) == Fraction(1, 10)
    assert rounding([read_quantity("5e-3 m")]) == Fraction(1, 1000)
    assert rounding([read_quantity("3/16 in"), read_quantity("2 in")]) == 0


@settings(max_examples=60, deadline=None)
@example(Fraction(10**28 + 1))
@given(st.fractions(max_denominator=10_000))
def test_an_exact_decimal_is_exact_or_there_is_none(number: Fraction) -> None:
    found = decimals_of(number)
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    assert (found is None) == (rest != 1)
    assert found is None or Fraction(found) == number
