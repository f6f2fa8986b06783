"""The sitting as its reports see it."""

from __future__ import annotations

import dataclasses

import msgspec
import pytest

from grader.base.errors import UseError
from grader.base.quantities import NO_BREAK
from grader.marking.key import Answer, Numeric
from grader.register.rule import by
from grader.register.store import Register
from grader.reports.view import View, look_at


def test_marks_are_summed_by_circuit_and_objective(view: View) -> None:
    marks = view.candidates[1].marks
    assert {name: part.shown().replace(NO_BREAK, " ") for name, part in by(marks, "circuit").items()} == {
        "power": "33.3 %",
        "pump": "0.0 %",
    }
    assert str(by(marks, "objective")["power.2"].mark) == "1"


def test_who_handed_nothing_in_has_no_marks(view: View) -> None:
    assert [sat.paper.candidate for sat in view.marked] == ["c-1", "c-2", "c-3"]
    assert view.candidates[3].marks == ()
    assert view.candidates[3].percent == "–"


def test_opening_the_keys_is_logged(register: Register) -> None:
    look_at(register, "spring", "T. Examiner", "2031-05-14T10:00:00Z")
    assert ("T. Examiner", "2031-05-14T10:00:00Z") in [(event.who, event.when) for event in register.events()]


def test_an_unknown_sitting_is_refused(register: Register) -> None:
    with pytest.raises(UseError, match="no sitting 'autumn'"):
        look_at(register, "autumn", "T. Examiner", "2031-05-14T10:00:00Z")


def test_a_wrong_answer_that_fits_another_s_paper_is_a_stray(view: View) -> None:
    # c-2 wrote 4.57 mm² (the whole jet); on the paper of c-1, so changed, that is right. Nothing else of the three fits another.
    theirs = view.candidates[0]
    first = theirs.key.questions[0]
    assert isinstance(first, Numeric)
    right = Answer(value="4.57", low="4.5", high="4.6", unit="mm^2", shown="4.57 mm²", within="1 %")
    key = msgspec.structs.replace(theirs.key, questions=(msgspec.structs.replace(first, answer=right), *theirs.key.questions[1:]))
    changed = dataclasses.replace(view, candidates=(dataclasses.replace(theirs, key=key), *view.candidates[1:]))
    (stray,) = changed.strays
    assert (stray.candidate, stray.number, stray.answer, stray.others, stray.papers) == (
        "c-2",
        "1",
        "4.57 mm²",
        ("7M2KQ8D4X0",),
        3,
    )
    assert view.strays == ()


def test_a_report_never_shows_a_cut_that_was_not_reached(view: View) -> None:
    # 59.97 % of the marks, a cut of 60 %: the page must not say 60.0 %.
    (one, *_) = view.candidates
    nearly = tuple(dataclasses.replace(mark, mark="5.997", out_of="10") for mark in one.marks[:1])
    assert one.marking is not None
    sat = dataclasses.replace(one, marking=dataclasses.replace(one.marking, marks=nearly))
    assert sat.percent.replace(NO_BREAK, " ") == "59.9 %"


def test_a_go_at_a_question_is_what_it_earned_and_what_the_rest_did(view: View) -> None:
    # c-2 by hand: a slip, a wrong choice, a case of two points with its second part followed, nothing for order and match
    goes = view.candidates[1].goes
    assert {number: (go.own.points, go.share) for number, go in goes.items()} == {
        "1": ("0 of 1", 0.0), "2": ("0 of 1", 0.0), "3": ("1 of 2", 0.5), "4": ("0 of 1", 0.0), "5": ("0 of 1", 0.0),
    }  # fmt: skip
    assert {number: go.rest for number, go in goes.items()} == {"1": 0.2, "2": 0.2, "3": 0.0, "4": 0.2, "5": 0.2}
    assert [mark.number for mark in goes["3"].marks] == ["3a", "3b"]
