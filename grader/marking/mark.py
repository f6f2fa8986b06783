"""
Marking a paper: a pure function of its key and the answers. The same bytes give the same marks, for ever.

    mark_question(question, answers, units)    one question: answers by part letter ("" for a question without parts)
    mark(key, answers)                         a paper: answers by number as printed ("1", "4a")
    Marker(key).mark(answers)                  the same for many answers to one paper: the key is made ready once
    mark_bytes(key bytes, answer file bytes)   the same from bytes
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from grader.base.errors import UseError
from grader.marking.case import CaseField
from grader.marking.choice import ChoiceField
from grader.marking.choices import ChoicesField
from grader.marking.key import AnyQuestion, Case, Choice, Choices, Key, Match, Numeric, Order, Reading, read_key
from grader.marking.labels import number_of
from grader.marking.match import MatchField
from grader.marking.numeric import NumberField
from grader.marking.order import OrderField
from grader.marking.outcome import Outcome, Verdict, decimal
from grader.marking.units import Units, UnitTable, table_of


@dataclass(slots=True, unsafe_hash=True)  # never changed once made; frozen would cost more than all the rest of a mark
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
        return _sum(m.mark for m in self.marks)

    @property
    def out_of(self) -> str:
        """The sum of the points."""
        return _sum(m.out_of for m in self.marks)


def _sum(decimals: Iterable[str]) -> str:
    return decimal(sum(map(Decimal, decimals), Decimal(0)).as_integer_ratio())


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
    field = _field(question, table_of(units))
    return field.mark(answers) if isinstance(field, CaseField) else (field.mark(answers.get("", "")),)


_Field = NumberField | ChoiceField | ChoicesField | OrderField | MatchField


def _field(question: AnyQuestion, table: UnitTable) -> _Field | CaseField:
    match question:
        case Case():
            return CaseField(question, table)
        case Numeric() | Reading():
            return NumberField(question, table)
        case Choice():
            return ChoiceField(question)
        case Choices():
            return ChoicesField(question)
        case Order():
            return OrderField(question)
        case Match():
            return MatchField(question)


class Marker:
    """
    A key made ready to mark with: once a key, however many answers are marked.

    >>> from grader.marking.key import FORM, unit_entries
    >>> empty = read_key(Key(form=FORM, sitting="s", paper="7M2KQ8D4XV", candidate="c-01", blueprint="b", bank="", nonce="",
    ...     units=unit_entries(), questions=()).encoded())
    >>> Marker(empty).mark({"1": "b"}).unasked
    ('1',)
    """

    def __init__(self, key: Key) -> None:
        self.key = key
        table = table_of(key.units)
        self._questions = [(question, _field(question, table)) for question in key.questions]
        self._asked = frozenset(place for question in key.questions for place in places(question))

    def mark(self, answers: Mapping[str, str]) -> Marks:
        """The marks for some answers; as `mark`."""
        given: dict[str, str] = {}
        for label, text in answers.items():
            given.setdefault(number_of(label) or label, text)
        marks: list[Mark] = []
        for question, field in self._questions:
            if isinstance(field, CaseField):
                marks += _of_case(question, field, given)
            else:
                text = given.get(question.number, "")
                marks.append(_mark(question, text, field.mark(text)))
        unasked = () if given.keys() <= self._asked else self._unasked(given)
        return Marks(self.key.paper, self.key.candidate, tuple(marks), unasked)

    def _unasked(self, given: Mapping[str, str]) -> tuple[str, ...]:
        return tuple(number for number, text in given.items() if number not in self._asked and text.strip())


def places(question: AnyQuestion) -> tuple[str, ...]:
    """The numbers that a question is answered under: its own, or its parts' (``4a``, ``4b``)."""
    return tuple(question.number + part.part for part in question.parts) if isinstance(question, Case) else (question.number,)


def _of_case(question: AnyQuestion, field: CaseField, given: Mapping[str, str]) -> list[Mark]:
    written = {part.part: given.get(question.number + part.part, "") for part in field.parts}
    return [_mark(question, written[outcome.part], outcome) for outcome in field.mark(written)]


def _mark(question: AnyQuestion, text: str, o: Outcome) -> Mark:
    number = question.number + o.part
    return Mark(number, question.item, question.objective, question.circuit, text, o.read, o.mark, o.out_of, o.verdict, o.why)


def mark(key: Key, answers: Mapping[str, str]) -> Marks:
    """
    A paper marked. `answers` has what was written by the number it answers (``1``, ``4a``); a number left out is blank.

    No bank, no physics, no clock, no chance: a pure function.
    """
    return Marker(key).mark(answers)


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
