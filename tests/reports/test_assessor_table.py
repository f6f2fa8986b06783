"""Agreement of the assessors of a table."""

from __future__ import annotations

import numpy as np
import pytest

from grader.base.errors import UseError
from grader.reports.assessor_table import agreement
from grader.reports.number_table import NumberTable, numbers_of
from tests.stats.test_agreement import COUNTS, GAPPED, WINES


def table(grades: object) -> NumberTable:
    numbers = np.asarray(grades, dtype=np.float64)
    rows, columns = numbers.shape
    return NumberTable("t.csv", tuple(map(str, range(rows))), tuple(map(str, range(columns))), tuple(range(rows)), numbers)


def test_two_assessors_come_from_a_list_of_grades_to_the_published_kappa() -> None:
    # statsmodels 0.15.0: counts 0 4 1 / 0 8 0 / 0 1 5 give 0.4842, with linear weights 0.4701
    listed = [(first, second) for first in range(3) for second in range(3) for _ in range(COUNTS[first][second])]
    plain, linear = agreement(table(listed), "nominal"), agreement(table(listed), "ordinal", "linear")
    assert plain.two is not None
    assert linear.two is not None
    assert (plain.two.value, linear.two.value) == pytest.approx((0.4842, 0.4701), abs=5e-5)
    assert plain.alike == pytest.approx(13 / 19)


def test_gaps_are_for_krippendorff_alone_and_that_is_said() -> None:
    found = agreement(table(np.array(GAPPED).T), "nominal")
    assert found.alpha == pytest.approx(0.691358, abs=5e-7)  # docstring of krippendorff 0.9.0
    assert found.two is None
    assert "Krippendorff" in found.notes[0]


def test_scores_have_their_correlations_only_where_they_are_amounts() -> None:
    assert agreement(table(WINES), "nominal").scores is None
    scores = agreement(table(WINES), "interval").scores
    assert scores is not None
    assert scores.absolute == pytest.approx(0.728, abs=6e-4)  # pingouin 0.7.0


def test_one_grade_for_all_is_undefined_and_one_assessor_is_refused() -> None:
    found = agreement(table([[1, 1], [1, 1]]), "nominal")
    assert (found.two, found.many, found.alpha, found.alike) == (None, None, None, 1.0)
    assert "undefined" in found.notes[0]
    with pytest.raises(UseError, match="agrees with nobody"):
        agreement(numbers_of("t.csv", b"who,A\n1,1\n"), "nominal")


def test_nobody_graded_twice_gives_nothing_and_no_crash() -> None:
    found = agreement(table([[1, np.nan], [np.nan, 2]]), "interval")
    assert (found.two, found.many, found.alpha, found.alike, found.scores) == (None, None, None, None, None)
