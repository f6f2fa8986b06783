"""
Feedback: what one candidate is told. What was asked, what they wrote, how it was read, why, what to study again.

`feedback` decides all that is shown; `feedback_page` shows it as a page, `feedback_pdf` on paper. Neither adds a word of the
candidate's own data, so both say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from markupsafe import Markup

from grader.base.quantities import UNITS, show_number, with_unit
from grader.base.text import visible
from grader.items.figures import for_page
from grader.marking.key import (
    Answer,
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Figure,
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
from grader.papers.pdf import paragraphs
from grader.register.rule import Share, by, earned
from grader.register.stations import Bench, StepSeen
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


APPEAL = (
    "Think that a mark is wrong? Say so to your examiner, with the paper's code and the question's number: every mark can be "
    "explained from the sealed key and your answer file, and an appeal is kept with its reason."
)


@dataclass(frozen=True, slots=True)
class Part:
    """What was asked under one number, and what became of it; what a stranger wrote is already made visible."""

    number: str
    stem: tuple[str, ...]
    options: tuple[Option, ...]
    rows: tuple[Row, ...]
    right: str
    working: tuple[Step, ...]
    mark: Mark | None
    rule: str = ""
    notes: tuple[str, ...] = ()

    @property
    def verdict(self) -> str:
        """The verdict's name: `blank` where nothing was marked."""
        return self.mark.verdict if self.mark else "blank"

    @property
    def says(self) -> tuple[str, str]:
        """The verdict's sign and words."""
        return VERDICTS[self.verdict]

    @property
    def wrote(self) -> str:
        """What was written; empty where nothing."""
        return visible(self.mark.answer) if self.mark else ""

    @property
    def read(self) -> str:
        """How it was understood, where that is not the same letter for letter."""
        return visible(self.mark.read) if self.mark and self.mark.answer and self.mark.read != self.mark.answer else ""

    @property
    def earned(self) -> str:
        """The mark as printed; empty where nothing was marked."""
        return f"{self.mark.mark} of {self.mark.out_of}" if self.mark else ""

    @property
    def full(self) -> bool:
        """Whether it got every mark: then the page folds the working away."""
        return self.mark is not None and self.mark.mark == self.mark.out_of

    @property
    def why(self) -> str:
        """What the marker says, where that is more than the verdict's own words."""
        if self.mark is None or self.mark.verdict in {"right", "blank"} or visible(self.mark.why) in self.notes:
            return ""
        return visible(self.mark.why)


@dataclass(frozen=True, slots=True)
class Asked:
    """One question with its parts."""

    number: str
    objective: str
    stem: tuple[str, ...]
    figure: Figure | None
    parts: tuple[Part, ...]
    score: Share


@dataclass(frozen=True, slots=True)
class SeenStep:
    """One step at the bench: `critical` says why it is one, `state` how it was seen, `readings` what was measured and wanted."""

    number: str
    text: str
    critical: str
    state: str
    readings: tuple[str, ...]
    wanted: str
    award: str


@dataclass(frozen=True, slots=True)
class SeenStation:
    """A station as the candidate did it: what it came to, its steps, and what assessors remarked (who, what)."""

    title: str
    outcome: str
    steps: tuple[SeenStep, ...]
    remarks: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Again:
    """An objective to study again: where marks were lost, and how many."""

    objective: str
    says: str
    lesson: str
    lost: Share


@dataclass(frozen=True, slots=True)
class Feedback:
    """
    All that one candidate is told, the same on the page and on paper.

    `circuits` are name, points and share; `decision` is empty before there is one.
    """

    school: str
    title: str
    sitting: str
    held: str
    name: str
    candidate: str
    code: str
    mark: str
    decision: str
    circuits: tuple[tuple[str, str, str], ...]
    stations: tuple[SeenStation, ...]
    again: tuple[Again, ...]
    asked: tuple[Asked, ...]


def feedback(view: View, sat: Sat, objectives: Mapping[str, str], lessons: Mapping[str, str]) -> Feedback:
    """
    What one candidate is told: no other candidate's data stand in it.

    Parameters
    ----------
    view, sat :
        The sitting, and the candidate in it.
    objectives : mapping
        Objective's id to its text; those missing are shown by their id.
    lessons : mapping
        Circuit to its lesson's title.
    """
    marks = {mark.number: mark for mark in sat.marks}
    least = sat.rule.each_circuit
    return Feedback(
        school=str(view.sitting.school["name"]),
        title=str(view.sitting.blueprint.get("title", view.sitting.name)),
        sitting=view.sitting.name,
        held=view.sitting.held,
        name=visible(sat.paper.name),
        candidate=visible(sat.paper.candidate),
        code=sat.paper.code,
        mark=f"{sat.total.points} ({sat.percent})",
        decision=sat.decided,
        circuits=tuple(
            (lessons.get(name, name), part.points, part.shown(least)) for name, part in by(sat.marks, "circuit").items()
        ),
        stations=tuple(_station(bench, sat) for bench in sat.benches if bench.seen),
        again=tuple(study_again(sat, objectives, lessons)),
        asked=tuple(_asked(question, marks, sat) for question in sat.key.questions),
    )


def feedback_page(shown: Feedback) -> str:
    """The feedback of one candidate as a page, whole in one file."""
    return render("feedback.html", title=f"Feedback: {shown.title}", shown=shown, appeal=APPEAL, figure=_figure, steps=_steps)


def _figure(asked: Asked) -> Markup:
    return Markup(for_page(asked.figure.svg, f"q{asked.number}")) if asked.figure else Markup()  # noqa: S704 (sealed by us)


def _steps(part: Part) -> Markup:
    return Markup(steps_html(part.working))  # noqa: S704 (escapes words; the mathematics is our own typesetter's)


def _station(bench: Bench, sat: Sat) -> SeenStation:
    return SeenStation(
        bench.station.title,
        _outcome(bench, sat),
        tuple(map(_step, bench.steps)),
        tuple((visible(one.assessor), visible(one.remarks)) for one in bench.assessments if one.remarks),
    )


def _step(seen: StepSeen) -> SeenStep:
    step = seen.step
    points = f"{step.points} {'point' if step.points == '1' else 'points'}"
    return SeenStep(
        number=step.number,
        text=step.text,
        critical=step.reason if step.critical else "",
        state=f"{seen.state if seen.settled else 'not settled yet'} ({points})",
        readings=tuple(visible(tick.reading) for tick in seen.ticks if tick.reading),
        wanted=step.range,
        award=visible(seen.award.reason) if seen.award else "",
    )


def _outcome(bench: Bench, sat: Sat) -> str:
    """What a station came to, in words; only the points where stations do not count."""
    points = bench.least.points if bench.least == bench.most else f"{bench.least.points}, not settled yet"
    if sat.rule.each_station is None:
        return points
    found = bench.outcome(sat.rule.each_station)
    return f"{'passed' if found == 'pass' else 'not passed' if found == 'fail' else 'not settled yet'}, {bench.least.points}"


def study_again(sat: Sat, objectives: Mapping[str, str], lessons: Mapping[str, str]) -> list[Again]:
    """The objectives in which marks were lost, most lost first."""
    circuits = {mark.objective: mark.circuit for mark in sat.marks}
    found = [
        Again(name, objectives.get(name, ""), lessons.get(circuits[name], circuits[name]), part)
        for name, part in by(sat.marks, "objective").items()
        if part.mark < part.out_of
    ]
    return sorted(found, key=lambda again: again.lost.mark - again.lost.out_of)


def _asked(question: AnyQuestion, marks: Mapping[str, Mark], sat: Sat) -> Asked:
    parts = tuple(replace(part, notes=_notes(part.number, sat)) for part in _parts(question, marks))
    own = [part.mark for part in parts if part.mark]
    return Asked(question.number, question.objective, tuple(paragraphs(question.stem)), question.figure, parts, earned(own))


def _notes(number: str, sat: Sat) -> tuple[str, ...]:
    """What was corrected in a question after the sitting, and what an examiner decided by hand."""
    award = sat.awards.get(number)
    mark = next((mark for mark in sat.marks if mark.number == number), None)
    stands = award is not None and mark is not None and mark.why.endswith(award.reason)
    return tuple(map(visible, (*sat.notes.get(number, ()), *((mark.why,) if mark is not None and stands else ()))))


def _parts(question: AnyQuestion, marks: Mapping[str, Mark]) -> Iterable[Part]:
    if isinstance(question, Case):
        for part in question.parts:
            number = f"{question.number}{part.part}"
            yield _part(part, number, tuple(paragraphs(part.stem)), marks.get(number))
    else:
        yield _part(question, question.number, (), marks.get(question.number))


def _part(question: Question | NumericPart | ChoicePart, number: str, stem: tuple[str, ...], mark: Mark | None) -> Part:
    match question:
        case Numeric() | NumericPart():
            return Part(number, stem, (), (), _number_wanted(question.answer), question.working, mark)
        case Reading():
            return Part(number, stem, (), (), _number_wanted(question.answer), question.working, mark, question.rule)
        case Choice() | ChoicePart():
            right = next(f"{one.letter} – {one.text}" for one in question.options if one.letter == question.right)
            return Part(number, stem, question.options, (), right, question.working, mark)
        case Choices():
            return Part(number, stem, question.options, (), " ".join(question.right), question.working, mark)
        case Order():
            return Part(number, stem, question.entries, (), " ".join(question.right), question.working, mark)
        case Match():
            pairs = " ".join(f"{row}-{letter}" for row, letter in question.right.items())
            return Part(number, stem, question.options, question.rows, pairs, question.working, mark)
    raise AssertionError(f"no feedback for {type(question).__name__}")


def _number_wanted(answer: Answer) -> str:
    measure = UNITS[answer.unit]
    return f"{answer.shown} (taken: {_trim(answer.low)} to {with_unit(_trim(answer.high), measure)})"


def _trim(decimal: str) -> str:
    """A bound to five figures, finer than any tolerance asked here, without idle noughts."""
    shown = show_number(float(decimal), 5)
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
