"""The sitting as its reports see it."""

from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.base.quantities import NO_BREAK
from grader.register.store import Register
from grader.reports.view import View, by, look_at


def test_marks_are_summed_by_circuit_and_objective(view: View) -> None:
    marks = view.candidates[1].marks
    assert {name: part.shown.replace(NO_BREAK, " ") for name, part in by(marks, "circuit").items()} == {
        "power": "33.3 %",
        "pump": "0.0 %",
    }
    assert str(by(marks, "objective")["power.2"].mark) == "1"


def test_who_handed_nothing_in_has_no_marks(view: View) -> None:
    assert [sat.paper.candidate for sat in view.marked] == ["c-1", "c-2", "c-3"]
    assert view.candidates[3].marks == ()
    assert view.candidates[3].total.shown == "–"


def test_opening_the_keys_is_logged(register: Register) -> None:
    look_at(register, "spring", "T. Examiner", "2031-05-14T10:00:00Z")
    assert ("T. Examiner", "2031-05-14T10:00:00Z") in [(event.who, event.when) for event in register.events()]


def test_an_unknown_sitting_is_refused(register: Register) -> None:
    with pytest.raises(UseError, match="no sitting 'autumn'"):
        look_at(register, "autumn", "T. Examiner", "2031-05-14T10:00:00Z")
