"""What a scale holds, and how a reading is brought on to it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.base.errors import UseError
from grader.items.instruments.instrument import Scale, file_of, name_of, on_scale

UNEVEN = (Fraction(1), Fraction(2), Fraction(5))
EVEN = Scale("even", "mm", Fraction(0), Fraction(10), Fraction(1), Fraction(1, 2), Fraction(1, 2), "read to half a division")
STEPS = Scale("steps", "mm", UNEVEN[0], UNEVEN[-1], Fraction(1), Fraction(1), Fraction(1, 2), "read the nearest", UNEVEN)


def test_a_reading_that_misses_an_end_by_the_noise_of_a_float_is_the_end() -> None:
    assert on_scale("rule", EVEN, 10 + 1e-12) == 10
    assert on_scale("rule", EVEN, -1e-12) == 0
    assert EVEN.readable(10 + 1e-12)
    with pytest.raises(UseError, match=r"rule, scale `even`: 10\.001 mm is not on it; it goes from 0 to 10 mm"):
        on_scale("rule", EVEN, 10.001)


@pytest.mark.parametrize(("reading", "nearest"), [(0.2, "0"), (0.3, "1/2"), (9.9, "10")])
def test_the_nearest_reading_of_an_even_grid_is_a_whole_number_of_steps(reading: float, nearest: str) -> None:
    assert EVEN.nearest(reading) == Fraction(nearest)
    assert not EVEN.readable(reading)


@pytest.mark.parametrize(("reading", "nearest", "readable"), [(1.4, 1, False), (3.6, 5, False), (2.0, 2, True), (3.0, 2, False)])
def test_an_uneven_grid_has_its_own_readings_and_no_others(reading: float, nearest: int, readable: bool) -> None:
    assert STEPS.nearest(reading) == nearest
    assert STEPS.readable(reading) is readable


def test_names_are_made_for_ids_and_files() -> None:
    assert name_of("steel rule") == "instrument-steel-rule"
    assert file_of("steel rule") == "figures/instrument-steel-rule.svg"
