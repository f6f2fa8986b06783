"""Classical analysis against published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from grader.stats.classical import (
    alpha,
    alpha_without,
    by_guessing,
    exact,
    facilities,
    item_rest,
    item_total,
    length_for,
    lengthened,
    measurement_error,
    standardised_alpha,
    wilson,
)

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


def test_the_law_school_test_has_its_other_published_figures() -> None:
    # R's psych 2.2.9, `alpha`: raw.r, alpha.drop, std.alpha
    assert item_total(LSAT6) == pytest.approx([0.3620, 0.5668, 0.6184, 0.5344, 0.4354], abs=5e-5)
    assert alpha_without(LSAT6) == pytest.approx([0.2754, 0.2376, 0.2168, 0.2459, 0.2663], abs=5e-5)
    assert standardised_alpha(LSAT6) == pytest.approx(0.2930283, abs=5e-8)


def test_a_longer_paper_is_surer_by_the_published_formula() -> None:
    # derived: 2 times 0.6 over 1.6; 0.9 times 0.3 over 0.7 times 0.1
    assert lengthened(0.6, 2) == pytest.approx(0.75)
    assert length_for(0.7, 0.9) == pytest.approx(27 / 7)
    assert lengthened(0.7, length_for(0.7, 0.9)) == pytest.approx(0.9)
    with pytest.raises(ValueError, match="between 0 and 1"):
        length_for(0, 0.9)


def test_an_item_that_does_not_vary_has_no_standardised_alpha() -> None:
    assert standardised_alpha([[1, 1], [1, 0]]) is None
    assert item_total([[1, 1], [1, 0]])[0] is None


def test_a_perfect_scale_has_its_exact_values() -> None:
    # derived by hand: five persons, four items, each one harder
    assert alpha(PERFECT_SCALE) == pytest.approx(0.8, abs=1e-12)
    assert item_total(PERFECT_SCALE) == pytest.approx([0.707107, 0.866025, 0.866025, 0.707107], abs=5e-7)
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


@pytest.mark.parametrize(("right", "of", "low", "high"), [(15, 20, 0.508954, 0.913429), (0, 10, 0, 0.308497)])
def test_the_exact_interval_agrees_with_printed_ones(right: int, of: int, low: float, high: float) -> None:
    interval = exact(right, of)  # scipy's binomtest and statsmodels
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-7)
    assert exact(0, 0) is None
    with pytest.raises(ValueError, match="3 of 2"):
        exact(3, 2)


def test_guessing_alone_gets_as_many_right_as_the_binomial_says() -> None:
    assert by_guessing(40, 4, 12) == pytest.approx(0.2848556, abs=5e-8)  # scipy
    assert by_guessing(20, 4, 10) == pytest.approx(0.0138644, abs=5e-8)
    assert by_guessing(5, 4, 0) == 1.0
