"""Agreement of assessors against published tables."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.stats.agreement import fleiss_kappa, intraclass, kappa, krippendorff_alpha

# J. Cohen's tables, as the example of `cohen.kappa` in R's psych 2.2.9 has them.
COHEN = [[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]]
# statsmodels 0.15.0, its test of inter-rater agreement
COUNTS = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]
# The worked example of Fleiss's kappa with 14 raters, as statsmodels' test has it; published 0.210
FOURTEEN = [
    [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
    [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
]  # fmt: skip
# The docstring of the package krippendorff 0.9.0; nominal and interval published
THREE = [". . . . . 3 4 1 2 1 1 3 3 . 3", "1 . 2 1 3 3 4 3 . . . . . . .", ". . 2 1 3 4 4 . 2 1 1 3 3 . 4"]
GAPPED = [[float("nan") if grade == "." else float(grade) for grade in row.split()] for row in THREE]
# pingouin 0.7.0, docstring of intraclass_corr: eight wines, four judges
WINES = [[1, 2, 0, 1], [1, 3, 3, 2], [3, 8, 1, 4], [6, 4, 3, 3], [6, 5, 5, 6], [7, 5, 6, 2], [8, 7, 7, 9], [9, 9, 9, 8]]


@pytest.mark.parametrize(
    ("weights", "published"),
    [("none", 0.4915254), ([[0, 1, 3], [1, 0, 6], [3, 6, 0]], 0.3478261), ([[0, 1, 4], [1, 0, 6], [2, 2, 0]], 0.3533835)],
)
def test_two_assessors_agree_as_cohen_computed(weights: Any, published: float) -> None:
    found = kappa(COHEN, weights)
    assert found is not None
    assert found.value == pytest.approx(published, abs=5e-8)


def test_the_error_and_interval_of_a_kappa_are_the_reference_s() -> None:
    plain, linear, quadratic = kappa(COUNTS), kappa(COUNTS, "linear"), kappa(COUNTS, "quadratic")
    assert plain
    assert linear
    assert quadratic
    assert (plain.value, plain.error, plain.low, plain.high) == pytest.approx((0.4842, 0.1380, 0.2137, 0.7547), abs=5e-5)
    assert (linear.value, linear.error) == pytest.approx((0.4701, 0.1457), abs=5e-5)
    assert quadratic.value == pytest.approx(0.4501608, abs=5e-8)


def test_fourteen_assessors_agree_as_published() -> None:
    assert fleiss_kappa(FOURTEEN) == pytest.approx(0.2099307, abs=5e-8)


@pytest.mark.parametrize(
    ("scale", "published"), [("nominal", 0.691358), ("ordinal", 0.806721), ("interval", 0.810845), ("ratio", 0.808944)]
)
def test_assessors_with_gaps_agree_as_published(scale: Any, published: float) -> None:
    assert krippendorff_alpha(GAPPED, scale) == pytest.approx(published, abs=5e-7)


def test_eight_wines_have_their_published_correlations() -> None:
    found = intraclass(WINES)
    assert found is not None
    assert (found.one_way, found.absolute, found.consistency) == pytest.approx((0.728, 0.728, 0.729), abs=6e-4)
    assert (found.mean_one_way, found.mean_absolute, found.mean_consistency) == pytest.approx((0.914, 0.914, 0.915), abs=6e-4)


def test_perfect_agreement_is_one_and_a_single_grade_is_nothing_to_agree_about() -> None:
    for agreed in (kappa([[3, 0], [0, 4]]), kappa([[3, 0, 0], [0, 4, 0], [0, 0, 1]], "quadratic")):
        assert agreed is not None
        assert agreed.value == pytest.approx(1, abs=1e-15)
    assert kappa([[7, 0], [0, 0]]) is None
    assert fleiss_kappa([[3, 0], [3, 0]]) is None
    assert krippendorff_alpha([[1, 1], [1, 1]]) is None
    assert krippendorff_alpha([[1, float("nan")], [float("nan"), 2]]) is None
    assert intraclass([[1, 2], [1, 2]]) is None


@given(st.lists(st.lists(st.integers(0, 20), min_size=3, max_size=3), min_size=3, max_size=3))
def test_kappa_does_not_mind_which_assessor_is_first(counts: list[list[int]]) -> None:
    table = np.array(counts)
    if table.sum() == 0:
        return
    one, other = kappa(table, "linear"), kappa(table.T, "linear")
    assert (one is None) == (other is None)
    if one and other:
        assert (one.value, one.error) == pytest.approx((other.value, other.error), abs=1e-9)
        assert one.value <= 1 + 1e-12


@pytest.mark.parametrize("counts", [[[1, 2]], [[1, -1], [0, 1]], [[0, 0], [0, 0]], [[float("nan"), 1], [1, 1]]])
def test_what_is_no_table_of_counts_is_refused(counts: Any) -> None:
    with pytest.raises(ValueError, match="counts"):
        kappa(counts)


def test_other_wrong_tables_are_refused() -> None:
    with pytest.raises(ValueError, match="weights have"):
        kappa([[1, 2], [3, 4]], [[0, 1, 2]])
    with pytest.raises(ValueError, match="same number of assessors"):
        fleiss_kappa([[3, 0], [1, 1]])
    with pytest.raises(ValueError, match="a row a subject"):
        intraclass([[1, 2]])
    with pytest.raises(ValueError, match="a row an assessor"):
        krippendorff_alpha([1, 2])
