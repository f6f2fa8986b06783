"""Feedback: one page for one candidate. What was asked, what they wrote, how it was read, why, what to study again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from grader.base.quantities import UNITS, show_number, with_unit
from grader.items.figures import for_page
from grader.marking.key import (
    Answer,
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Question,
    Reading,
    Row,
    Step,
)
from grader.marking.mark import Mark
from grader.pages.sample import steps_html
from grader.register.rule import Share, by, earned
from grader.reports.page import render
from grader.reports.view import Sat, View

VERDICTS: Mapping[str, tuple[str, str]] = {
    "right": ("✓", "Right"),
    "followed": ("✓", "Right on your own earlier value"),
    "slip": ("✗", "A known slip"),
    "part": ("◐", "Partly right"),
    "wrong": ("✗", "Not right"),
    "unit": ("✗", "Another kind of quantity"),
    "unreadable": ("?", "Could not be read"),
    "blank": ("–", "No answer"),
}
"""Each verdict's sign and words: never told by colour alone."""


@dataclass(frozen=True, slots=True)
class Part:
    """What was asked under one number, as the page prints it."""

    number: str
    stem: str
    options: tuple[Option, ...]
    rows: tuple[Row, ...]
    right: str
    working: tuple[Step, ...]
    mark: Mark | None
    rule: str = ""

    @property
    def verdict(self) -> tuple[str, str]:
        """The verdict's sign and words."""
        return VERDICTS[self.mark.verdict if self.mark else "blank"]

    @property
    def full(self) -> bool:
        """Whether it got every mark: then the working stays folded."""
        return self.mark is not None and self.mark.mark == self.mark.out_of

    @property
    def why(self) -> str:
        """What the marker says, where that is more than the verdict's own words."""
        return self.mark.why if self.mark and self.mark.verdict not in {"right", "blank"} else ""

    @property
    def steps(self) -> Markup:
        """The working, typeset."""
        return Markup(steps_html(self.working))  # noqa: S704 (escapes words; the mathematics is our own typesetter's)


@dataclass(frozen=True, slots=True)
class Asked:
    """One question with its parts."""

    number: str
    objective: str
    stem: str
    figure: Markup
    parts: tuple[Part, ...]
    score: Share


def feedback_page(view: View, sat: Sat, objectives: Mapping[str, str], lessons: Mapping[str, str]) -> str:
    """
    The feedback page of one candidate, whole in one file: no other candidate's data stand in it.

    Parameters
    ----------
    view, sat :
        The sitting, and the candidate in it.
    objectives : mapping
        Objective's id to its text; those missing are shown by their id.
    lessons : mapping
        Circuit to its lesson's title.
    """
    asked = [_asked(question, {mark.number: mark for mark in sat.marks}) for question in sat.key.questions]
    return render(
        "feedback.html",
        title=f"Feedback: {view.sitting.blueprint.get('title', view.sitting.name)}",
        sitting=view.sitting,
        sat=sat,
        asked=asked,
        circuits={lessons.get(name, name): part for name, part in by(sat.marks, "circuit").items()},
        least=sat.rule.each_circuit,
        again=study_again(sat, objectives, lessons),
        verdicts=VERDICTS,
    )


@dataclass(frozen=True, slots=True)
class Again:
    """An objective to study again: where marks were lost, and how many."""

    objective: str
    says: str
    lesson: str
    lost: Share


def study_again(sat: Sat, objectives: Mapping[str, str], lessons: Mapping[str, str]) -> list[Again]:
    """The objectives in which marks were lost, most lost first."""
    circuits = {mark.objective: mark.circuit for mark in sat.marks}
    found = [
        Again(name, objectives.get(name, ""), lessons.get(circuits[name], circuits[name]), part)
        for name, part in by(sat.marks, "objective").items()
        if part.mark < part.out_of
    ]
    return sorted(found, key=lambda again: again.lost.mark - again.lost.out_of)


def _asked(question: AnyQuestion, marks: Mapping[str, Mark]) -> Asked:
    parts = tuple(_parts(question, marks))
    figure = Markup(for_page(question.figure.svg, f"q{question.number}")) if question.figure else Markup()  # noqa: S704 (sealed by us)
    own = [part.mark for part in parts if part.mark]
    return Asked(question.number, question.objective, question.stem, figure, parts, earned(own))


def _parts(question: AnyQuestion, marks: Mapping[str, Mark]) -> Iterable[Part]:
    if isinstance(question, Case):
        for part in question.parts:
            number = f"{question.number}{part.part}"
            yield _part(part, number, part.stem, marks.get(number))
    else:
        yield _part(question, question.number, "", marks.get(question.number))


def _part(question: Question | NumericPart | ChoicePart, number: str, stem: str, mark: Mark | None) -> Part:
    match question:
        case Numeric() | NumericPart():
            return Part(number, stem, (), (), _number_wanted(question.answer), question.working, mark)
        case Reading():
            return Part(number, stem, (), (), _number_wanted(question.answer), question.working, mark, question.rule)
        case Choice() | ChoicePart():
            return Part(number, stem, question.options, (), question.right, question.working, mark)
        case Choices():
            return Part(number, stem, question.options, (), " ".join(question.right), question.working, mark)
        case Order():
            return Part(number, stem, question.entries, (), " ".join(question.right), question.working, mark)
        case Match():
            right = " ".join(f"{row}-{letter}" for row, letter in question.right.items())
            return Part(number, stem, question.options, question.rows, right, question.working, mark)
    raise AssertionError(f"no feedback for {type(question).__name__}")


def _number_wanted(answer: Answer) -> str:
    measure = UNITS[answer.unit]
    return f"{answer.shown} (taken: {_trim(answer.low)} to {with_unit(_trim(answer.high), measure)})"


def _trim(decimal: str) -> str:
    """A bound to five figures, finer than any tolerance asked here, without idle noughts."""
    shown = show_number(float(decimal), 5)
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
