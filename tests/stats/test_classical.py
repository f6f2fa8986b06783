"""Classical analysis against published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from grader.stats.classical import alpha, facilities, item_rest, measurement_error, wilson

# Bock & Lieberman 1970, Psychometrika 35, 179-197: LSAT section 6, five items, 1000 persons, data set `bock` of R's psych 2.2.9.
LSAT6_COUNTS = [
    3,
    6,
    2,
    11,
    1,
    1,
    3,
    4,
    1,
    8,
    0,
    16,
    0,
    3,
    2,
    15,
    10,
    29,
    14,
    81,
    3,
    28,
    15,
    80,
    16,
    56,
    21,
    173,
    11,
    61,
    28,
    298,
]
LSAT6 = np.array([[int(digit) for digit in f"{pattern:05b}"] for pattern, times in enumerate(LSAT6_COUNTS) for _ in range(times)])
PERFECT_SCALE = [[1, 1, 1, 1], [1, 1, 1, 0], [1, 1, 0, 0], [1, 0, 0, 0], [0, 0, 0, 0]]


def test_the_law_school_test_has_its_published_facilities() -> None:
    assert facilities(LSAT6, [1] * 5) == pytest.approx([0.924, 0.709, 0.553, 0.763, 0.870], abs=1e-12)  # psych colMeans


def test_the_law_school_test_has_its_published_discriminations() -> None:
    assert item_rest(LSAT6) == pytest.approx([0.1128, 0.1532, 0.1728, 0.1444, 0.1216], abs=5e-5)  # psych alpha, r.drop


def test_the_law_school_test_has_its_published_reliability() -> None:
    # Recomputed by two programs from the published counts; KR-20 with one divisor throughout
    assert alpha(LSAT6) == pytest.approx(0.2949972, abs=5e-8)
    assert measurement_error(LSAT6) == pytest.approx(0.8690666, abs=5e-8)


def test_a_perfect_scale_has_its_exact_values() -> None:
    # derived by hand: five persons, four items, each one harder
    assert alpha(PERFECT_SCALE) == pytest.approx(0.8, abs=1e-12)
    assert item_rest(PERFECT_SCALE) == pytest.approx([0.514496, 0.720577, 0.720577, 0.514496], abs=5e-7)


def test_alpha_agrees_with_a_printed_example() -> None:
    # pingouin 0.7.0, docstring of cronbach_alpha, the nine complete rows of `cronbach_wide_missing`
    rows = [
        "11111111111",
        "11111111010",
        "11101101100",
        "11111000100",
        "11110010000",
        "11111000000",
        "01011000010",
        "11100000000",
        "10010000000",
    ]
    assert alpha([[int(mark) for mark in row] for row in rows]) == pytest.approx(0.8016949152542373, rel=1e-12)


@pytest.mark.parametrize("marks", [[[1, 0]], [[1], [0]], [[1, 1], [1, 1]]])
def test_a_reliability_that_does_not_exist_is_none(marks: list[list[int]]) -> None:
    assert alpha(marks) is None
    assert measurement_error(marks) is None


def test_an_item_all_got_right_has_no_discrimination() -> None:
    assert item_rest([[1, 1, 0], [1, 0, 1], [1, 0, 0]])[0] is None


@pytest.mark.parametrize("marks", [[1, 2], [[math.nan, 1]]])
def test_what_is_no_table_is_refused(marks: object) -> None:
    with pytest.raises(ValueError, match="marks h"):
        alpha(marks)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("right", "of", "low", "high"),
    [(15, 20, 0.531299, 0.888138), (0, 10, 0, 0.277533), (10, 10, 0.722467, 1), (81, 263, 0.255289, 0.366210)],
)
def test_wilson_agrees_with_printed_intervals(right: int, of: int, low: float, high: float) -> None:
    # statsmodels and scipy; 81 of 263 also in Newcombe 1998 (from memory)
    interval = wilson(right, of)
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-7)


@given(st.integers(1, 500).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_wilson_agrees_with_scipy(case: tuple[int, int]) -> None:
    interval, expected = wilson(*case), binomtest(*case).proportion_ci(method="wilson")
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_nobody_gives_no_interval_and_more_than_all_is_refused() -> None:
    assert wilson(0, 0) is None
    with pytest.raises(ValueError, match="3 of 2"):
        wilson(3, 2)
