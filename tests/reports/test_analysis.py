"""What an examiner asks of a sitting."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.register.rule import Share
from grader.reports.analysis import items, near_the_cut, objectives, precision
from grader.reports.view import View


def test_an_item_has_its_facility_verdicts_and_slip(view: View) -> None:
    line = next(line for line in items(view) if line.item == "power-open-area")
    assert line.candidates == 3
    assert line.facility == pytest.approx(1 / 3)
    assert dict(line.verdicts) == {"right": 1, "slip": 1, "unreadable": 1}
    assert line.slip is not None
    assert line.slip[1] == 1
    assert "That is the whole jet." in line.slip[0]


def test_the_parts_of_a_case_are_one_item(view: View) -> None:
    line = next(line for line in items(view) if line.item == "power-case")
    assert line.facility == pytest.approx((2 + 1 + 0) / 6)  # by hand: two, one and no mark of two
    assert line.full.share == pytest.approx(1 / 3)


def test_items_stand_hardest_first(view: View) -> None:
    found = [line.facility for line in items(view)]
    assert found == sorted(found)


def test_precision_is_that_of_the_question_table(view: View) -> None:
    # By hand: totals 6, 1, 0; marks by question 1 1 2 1 1 / 0 0 1 0 0 / 0 0 0 0 0.
    # item variances 1/3, 1/3, 1, 1/3, 1/3 sum to 7/3; total variance 31/3; alpha = 5/4 (1 - 7/31) = 30/31
    found = precision(view)
    assert found.alpha == pytest.approx(30 / 31)
    assert found.error == pytest.approx(100 * (31 / 3) ** 0.5 * (1 / 31) ** 0.5 / 6)


def test_who_lies_near_the_cut_is_listed_nearest_first(view: View) -> None:
    assert [sat.paper.candidate for sat in near_the_cut(view, Fraction(12, 100), 13.0)] == ["c-2", "c-3"]
    assert near_the_cut(view, Fraction(12, 100), None) == []


def test_objectives_are_summed_over_the_class(view: View) -> None:
    found = objectives(view)
    assert list(found) == ["power.1", "power.2", "pump.1", "pump.3"]
    assert found["power.2"] == Share(Fraction(3), Fraction(6))
