"""Cut scores: worked examples, limits, refusals."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from grader.stats.cut_score import Limits, angoff, borderline, hofstee, least_passing

RATINGS = np.array([[60, 70, 80, 50, 90], [55, 75, 70, 45, 85], [65, 65, 85, 60, 95], [70, 80, 75, 55, 80]]) / 100
LIMITS = Limits(0.50, 0.70, 0.10, 0.80)


def test_four_judges_come_to_the_cut_worked_by_hand() -> None:
    # derived: sums 3.5, 3.3, 3.7, 3.6, their mean, s with n - 1, s over the root of four
    found = angoff(RATINGS)
    assert found.sums == pytest.approx((3.5, 3.3, 3.7, 3.6), abs=1e-12)
    assert (found.cut, found.share) == pytest.approx((3.525, 0.705), abs=1e-12)
    assert (found.spread, found.error) == pytest.approx((0.1707825, 0.0853913), abs=5e-8)
    # derived: the items' mean ratings spread by 0.1350926; five of them added up have the error of a sum
    assert found.error_over_items == pytest.approx(0.1350926 * math.sqrt(5), abs=5e-7)


def test_the_compromise_lies_where_the_line_meets_the_share_failing() -> None:
    # derived: share failing at a cut of c is c; 0.8 - 3.5 (c - 0.5) = c gives c = 2.55 / 4.5
    assert hofstee(np.arange(100_001) / 100_000, LIMITS) == pytest.approx(2.55 / 4.5, abs=2e-5)


def test_the_line_may_meet_a_riser_or_a_tread() -> None:
    # by hand: half have 0.6, where the line asks for 0.45 failing: it crosses the riser there
    assert hofstee([0.6] * 5 + [0.9] * 5, LIMITS) == 0.6
    # a fifth have 0.3: the tread at 0.2 is met where 0.8 - 3.5 (c - 0.5) = 0.2
    assert hofstee([0.3] * 2 + [0.9] * 8, LIMITS) == pytest.approx(0.5 + 0.6 / 3.5, abs=1e-12)


@pytest.mark.parametrize("scores", [[0.9] * 10, [0.1] * 10])
def test_where_line_and_class_do_not_meet_there_is_no_cut(scores: list[float]) -> None:
    assert hofstee(scores, LIMITS) is None


@given(st.lists(st.integers(0, 40), min_size=1, max_size=60))
def test_a_compromise_keeps_every_limit(marks: list[int]) -> None:
    scores = [mark / 40 for mark in marks]
    cut = hofstee(scores, LIMITS)
    if cut is not None:
        assert LIMITS.lowest_cut <= cut <= LIMITS.highest_cut
        line = LIMITS.most_failing - 3.5 * (cut - LIMITS.lowest_cut)
        below, upto = np.mean(np.array(scores) < cut), np.mean(np.array(scores) <= cut + 1e-12)
        assert below - 1e-9 <= line <= upto + 1e-9


def test_the_borderline_grade_has_the_score_that_the_line_predicts() -> None:
    grades, scores = [1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 5], [8, 10, 11, 12, 13, 14, 15, 16, 17, 18, 20]
    found, reference = borderline(grades, scores, 2), linregress(grades, scores)
    assert found is not None
    assert (found.slope, found.intercept) == pytest.approx((reference.slope, reference.intercept), rel=1e-12)
    assert (found.slope, found.intercept, found.cut) == pytest.approx((2.7808989, 6.4157303, 11.9775281), abs=5e-8)
    assert borderline([2, 2], [10, 12], 2) is None


def test_a_cut_that_falls_on_a_mark_passes_that_mark() -> None:
    # derived: 70.5 % of 40 is 28.2
    assert [least_passing(Fraction("0.705"), 40), least_passing(Fraction("0.7"), 40), least_passing(Fraction(0), 40)] == [
        29,
        28,
        0,
    ]


@pytest.mark.parametrize("ratings", [[[0.5, 0.5]], [[0.5], [0.5]], [[0.5, 1.1], [0.5, 0.5]], [[0.5, math.nan], [0.5, 0.5]]])
def test_what_are_no_ratings_is_refused(ratings: object) -> None:
    with pytest.raises(ValueError, match=r"judge|rating"):
        angoff(ratings)  # type: ignore[arg-type]


def test_other_wrong_input_is_refused() -> None:
    with pytest.raises(ValueError, match="limits are shares"):
        hofstee([0.5], Limits(0.7, 0.5, 0.1, 0.8))
    for scores in ([], [1.5], [math.nan]):
        with pytest.raises(ValueError, match="scores are shares"):
            hofstee(scores, LIMITS)
    with pytest.raises(ValueError, match="a grade and a score"):
        borderline([1, 2], [1], 2)
