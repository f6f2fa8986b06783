"""Mantel-Haenszel against published figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.stats.dif import levels_of, mantel_haenszel

# statsmodels' TestStratified2 (figures made with R): five levels; reference right, wrong; focal right, wrong
LEVELS = [
    [[20, 14], [10, 24]], [[15, 12], [3, 15]], [[3, 2], [3, 2]], [[12, 3], [7, 5]], [[1, 0], [3, 2]],
]  # fmt: skip
counts = st.lists(st.lists(st.lists(st.integers(0, 30), min_size=2, max_size=2), min_size=2, max_size=2), min_size=1, max_size=6)


def test_five_levels_have_their_published_ratio_and_test() -> None:
    found = mantel_haenszel(LEVELS)
    assert found is not None
    assert (found.ratio, found.low, found.high) == pytest.approx((3.591176, 1.781135, 7.240633), abs=5e-7)
    assert (found.chi2, found.p) == pytest.approx((11.885194, 0.00056582), abs=5e-7)
    assert found.delta == pytest.approx(-3.004427, abs=5e-7)  # -2.35 ln(ratio)
    assert found.grade == "C"


def test_identical_groups_are_not_favoured() -> None:
    found = mantel_haenszel([[[12, 8], [12, 8]], [[5, 15], [5, 15]]])
    assert found is not None
    assert (found.ratio, found.delta) == pytest.approx((1, 0), abs=1e-12)
    assert found.grade == "A"


@given(counts)
def test_swapped_groups_turn_the_ratio_round(levels: list[list[list[int]]]) -> None:
    one, other = mantel_haenszel(levels), mantel_haenszel(np.array(levels)[:, ::-1])
    assert (one is None) == (other is None)
    if one and other:
        assert (one.ratio * other.ratio, one.delta + other.delta, one.p) == pytest.approx((1, 0, other.p), abs=1e-9)
        assert one.grade == other.grade


@given(counts)
def test_a_level_with_one_group_empty_adds_nothing(levels: list[list[list[int]]]) -> None:
    assert mantel_haenszel([*levels, [[5, 3], [0, 0]]]) == mantel_haenszel(levels)


@pytest.mark.parametrize("levels", [[[[0, 0], [0, 0]]], [[[5, 0], [0, 5]]], [[[5, 5], [0, 0]]]])
def test_what_cannot_be_compared_has_no_ratio(levels: object) -> None:
    assert mantel_haenszel(levels) is None  # type: ignore[arg-type]


def test_persons_are_sorted_by_score() -> None:
    found = levels_of([True, True, False, True], [False, True, True, False], [2, 2, 2, 5])
    assert found.tolist() == [[[1, 0], [1, 1]], [[1, 0], [0, 0]]]


def test_what_are_no_counts_is_refused() -> None:
    for levels in ([[1, 2], [3, 4]], [[[1, -1], [1, 1]]], [[[1, float("nan")], [1, 1]]]):
        with pytest.raises(ValueError, match="give counts"):
            mantel_haenszel(levels)  # type: ignore[arg-type]
