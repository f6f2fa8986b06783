"""
Marking a paper: a pure function of its key and the answers. The same bytes give the same marks, for ever.

    mark_question(question, answers, units)    one question: answers by part letter ("" for a question without parts)
    mark(key, answers)                         a paper: answers by number as printed ("1", "4a")
    mark_bytes(key bytes, answer file bytes)   the same from bytes
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from grader.base.errors import UseError
from grader.marking.case import mark_case
from grader.marking.choice import mark_choice
from grader.marking.choices import mark_choices
from grader.marking.key import AnyQuestion, Case, Choice, Choices, Key, Match, Numeric, Order, Reading, read_key
from grader.marking.labels import number_of
from grader.marking.match import mark_match
from grader.marking.numbers import Units
from grader.marking.numeric import mark_numeric
from grader.marking.order import mark_order
from grader.marking.outcome import Outcome, Verdict, decimal


@dataclass(frozen=True, slots=True)
class Mark:
    """
    The mark for one number of a paper.

    `answer` is what was written, `read` how it was understood, `mark` and `out_of` decimals in text, `why` what to say.
    """

    number: str
    item: str
    objective: str
    circuit: str
    answer: str
    read: str
    mark: str
    out_of: str
    verdict: Verdict
    why: str = ""


@dataclass(frozen=True, slots=True)
class Marks:
    """All marks of a paper, in the paper's order; `unasked` are the answers to numbers that are not on it."""

    paper: str
    candidate: str
    marks: tuple[Mark, ...]
    unasked: tuple[str, ...] = ()

    @property
    def mark(self) -> str:
        """The sum of the marks as written."""
        return decimal(sum((Fraction(m.mark) for m in self.marks), Fraction(0)))

    @property
    def out_of(self) -> str:
        """The sum of the points."""
        return decimal(sum((Fraction(m.out_of) for m in self.marks), Fraction(0)))


def mark_question(question: AnyQuestion, answers: Mapping[str, str], units: Units) -> tuple[Outcome, ...]:
    """
    One question marked: one outcome, or one for each part of a case.

    Parameters
    ----------
    question : any kind of the key's form
    answers : mapping
        Part letter to what was written; ``""`` for a question without parts. A part left out is blank.
    units : mapping
        The key's units.
    """
    text = answers.get("", "")
    match question:
        case Case():
            return mark_case(question, answers, units)
        case Numeric() | Reading():
            return (mark_numeric(question, text, units),)
        case Choice():
            return (mark_choice(question, text),)
        case Choices():
            return (mark_choices(question, text),)
        case Order():
            return (mark_order(question, text),)
        case Match():
            return (mark_match(question, text),)


def mark(key: Key, answers: Mapping[str, str]) -> Marks:
    """
    A paper marked. `answers` has what was written by the number it answers (``1``, ``4a``); a number left out is blank.

    No bank, no physics, no clock, no chance: a pure function.
    """
    given: dict[str, str] = {}
    for label, text in answers.items():
        given.setdefault(number_of(label) or label, text)
    marks: list[Mark] = []
    for question in key.questions:
        letters = [part.part for part in question.parts] if isinstance(question, Case) else [""]
        written = {letter: given.get(question.number + letter, "") for letter in letters}
        marks.extend(
            Mark(
                number=question.number + o.part,
                item=question.item,
                objective=question.objective,
                circuit=question.circuit,
                answer=written[o.part],
                read=o.read,
                mark=o.mark,
                out_of=o.out_of,
                verdict=o.verdict,
                why=o.why,
            )
            for o in mark_question(question, written, key.units)
        )
    asked = {m.number for m in marks}
    unasked = tuple(number for number, text in given.items() if number not in asked and text.strip())
    return Marks(key.paper, key.candidate, tuple(marks), unasked)


def mark_bytes(key: bytes, file: bytes, name: str = "answers.json") -> Marks:
    """
    A paper marked from the bytes of its key and of an answer file.

    Raises `UseError` where the file holds no answers to this paper, saying why.
    """
    from grader.marking.reading import read_file  # here, so that marking what is read already needs no reader

    opened = read_key(key)
    reading = read_file(name, file)
    sheets = [sheet for sheet in reading.sheets if sheet.paper == opened.paper]
    if len(sheets) != 1:
        why = "; ".join(map(str, reading.asides)) or f"{name}: {len(sheets)} answers to paper {opened.paper}; one is wanted"
        raise UseError(why)
    return mark(opened, sheets[0].answers)
