"""
A worked key for an instructor's hand: every question of an open quiz with its answer, what is taken for right, slips and working.

It shows what papers never show, so only open practice items go into it; `pages` and `reports` have their own pages for learners.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from grader.base.codes import show_code
from grader.base.printing import language_and_region, qr_svg
from grader.base.quantities import UNITS, show_number, with_unit
from grader.items.figures import for_paper
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
    Reading,
    Row,
    Slip,
    Step,
)
from grader.papers.figures import bare, figure_width
from grader.papers.paper import Paper
from grader.papers.pdf import breakable, compile_pdf, paragraphs

LETTER, WIDEST = 0.28, 9.0  # a figure's words are set 8 pt high, and it is at most so wide, cm


@dataclass(frozen=True, slots=True)
class Choosable:
    """An option or an entry: whether it is right, and what is said to whoever takes it."""

    letter: str
    text: str
    right: bool
    says: str


@dataclass(frozen=True, slots=True)
class Answered:
    """
    What is answered under one number, and how.

    `answer` is the right answer as the worked answer prints it, `taken` what else is taken for right, `slips` known wrong values
    with what to say.
    """

    number: str
    stem: str
    answer: str
    taken: str = ""
    rule: str = ""
    options: tuple[Choosable, ...] = ()
    rows: tuple[Row, ...] = ()
    slips: tuple[tuple[str, str], ...] = ()
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Worked:
    """A question with its answers: one, or one for each part of a case."""

    number: str
    item: str
    objective: str
    points: str
    stem: str
    figure: Figure | None
    answers: tuple[Answered, ...]


def worked_question(question: AnyQuestion) -> Worked:
    """
    A question of a key as an instructor reads it.

    >>> from grader.marking.key import Answer, Slip
    >>> answer = Answer(value="2.298", low="2.25", high="2.34", unit="mm^2", shown="2.30 mm²", within="2 %")
    >>> slip = Slip(value="4.573", low="4.5", high="4.6", says="That is the whole jet.")
    >>> found = worked_question(Numeric(item="ring", objective="power.1", circuit="power", points="2", stem="What area?",
    ...     number="3", answer=answer, slips=(slip,)))
    >>> print(found.answers[0].answer, found.answers[0].taken, *found.answers[0].slips[0], sep="; ")
    2.30 mm²; 2.25 to 2.34 mm² (2 %); 4.573 mm²; That is the whole jet.
    """
    return Worked(
        number=question.number,
        item=question.item,
        objective=question.objective,
        points=question.points,
        stem=question.stem,
        figure=question.figure,
        answers=tuple(_answers(question)),
    )


def _answers(question: AnyQuestion) -> Iterator[Answered]:
    number, steps = question.number, question.working
    match question:
        case Case():
            yield from (_part(number, part) for part in question.parts)
        case Numeric():
            yield _number(number, "", question.answer, question.slips, steps)
        case Reading():
            yield _number(number, "", question.answer, question.slips, steps, question.rule)
        case Choice():
            yield Answered(number, "", question.right, options=_options(question.options, question.right), steps=steps)
        case Choices():
            options = _options(question.options, *question.right)
            yield Answered(number, "", " ".join(question.right), options=options, steps=steps)
        case Order():
            yield Answered(number, "", " ".join(question.right), options=_options(question.entries), steps=steps)
        case Match():
            pairs = " ".join(f"{row}-{letter}" for row, letter in question.right.items())
            yield Answered(number, "", pairs, options=_options(question.options), rows=question.rows, steps=steps)


def _part(number: str, part: NumericPart | ChoicePart) -> Answered:
    label = f"{number}{part.part}"
    if isinstance(part, NumericPart):
        return _number(label, part.stem, part.answer, part.slips, part.working)
    return Answered(label, part.stem, part.right, options=_options(part.options, part.right), steps=part.working)


def _number(number: str, stem: str, answer: Answer, slips: tuple[Slip, ...], steps: tuple[Step, ...], rule: str = "") -> Answered:
    measure = UNITS[answer.unit]
    low, high = (_trimmed(Decimal(end)) for end in (answer.low, answer.high))
    known = tuple((with_unit(_trimmed(Decimal(slip.value), 4), measure), slip.says) for slip in slips)
    taken = f"{low} to {with_unit(high, measure)} ({answer.within})"
    return Answered(number, stem, answer.shown, taken, rule, slips=known, steps=steps)


def _trimmed(value: Decimal, figures: int = 5) -> str:
    """A number to some figures, finer than any tolerance asked here, without idle noughts."""
    shown = show_number(value, figures)
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _options(options: tuple[Option, ...], *right: str) -> tuple[Choosable, ...]:
    return tuple(Choosable(option.letter, option.text, option.letter in right, option.says) for option in options)


def set_worked_key(paper: Paper, questions: tuple[Worked, ...], again: str) -> bytes:
    """
    The worked key of a quiz as PDF; `paper` is the quiz's paper, whose code it bears, `again` the command that makes both again.

    Raises `UseError` where it cannot be set.
    """
    language, region = language_and_region(paper.language)
    data = {
        "lang": language,
        "region": region,
        "title": paper.title,
        "school": paper.school,
        "copy": paper.name,
        "date": paper.date,
        "code": paper.code,
        "code-shown": show_code(paper.code),
        "qr": qr_svg(paper.code),
        "again": breakable(again),
        "questions": [_data(question) for question in questions],
    }
    return compile_pdf("worked_key.typ", {"key": json.dumps(data, ensure_ascii=False)}, f"the worked key of {paper.code}")


def _data(question: Worked) -> dict[str, Any]:
    figure = question.figure
    return {
        "number": question.number,
        "about": f"{question.objective} · {question.item}",
        "stem": paragraphs(question.stem),
        "figure": figure
        and {"svg": for_paper(bare(figure.svg)), "alt": figure.alt, "width": figure_width(figure.svg, LETTER, WIDEST)},
        "answers": [_answered(answer) for answer in question.answers],
    }


def _answered(answer: Answered) -> dict[str, Any]:
    return {
        "number": answer.number,
        "stem": paragraphs(answer.stem) if answer.stem else [],
        "answer": answer.answer,
        "taken": answer.taken,
        "rule": answer.rule,
        "options": [asdict(option) for option in answer.options],
        "rows": [{"number": row.number, "text": row.text} for row in answer.rows],
        "slips": [{"value": value, "says": says} for value, says in answer.slips],
        "steps": [{"says": step.says, "typst": step.typst, "text": step.text} for step in answer.steps],
    }
