"""
What stands on a candidate's paper and answer sheet, and nothing that does not: no answer, bound, slip, hint or working.

`pdf` and `sheet` read only this; a `Question` of the key is cut down to an `Asked` before it is printed, so that what must
not be seen is not there to be seen.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from grader.base.canon import digest
from grader.base.quantities import unit
from grader.marking.key import (
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Figure,
    Key,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Reading,
    Row,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """
    One thing to be answered: a question, or a part of a case.

    Parameters
    ----------
    label : str
        What the answer file calls it: ``4`` or ``4a``.
    kind : str
        As in the key: numeric, reading, choice, choices, order, match; or case, whose parts are asked.
    unit : str
        The sign of the unit asked for, empty where none is.
    measure : str
        The unit's name in the key's table.
    options : tuple of Option
        Letters and texts only: options of a choice or a match, entries of an order.
    rows : tuple of Row
        The rows of a match.
    rule : str
        How fine an instrument is to be read, in words; empty for every other kind.
    """

    label: str
    kind: str
    points: str
    stem: str
    figure: Figure | None = None
    rule: str = ""
    unit: str = ""
    measure: str = ""
    options: tuple[Option, ...] = ()
    rows: tuple[Row, ...] = ()
    parts: tuple[Asked, ...] = ()

    def answered(self) -> tuple[Asked, ...]:
        """What has an answer of its own: the parts of a case, or the question itself."""
        return self.parts or (self,)


@dataclass(frozen=True, slots=True)
class Typeset:
    """Mathematics from our own typesetter: Typst math for paper, MathML for the sheet, a line of plain text for the ear."""

    typst: str
    mathml: str
    text: str


@dataclass(frozen=True, slots=True)
class Meaning:
    """A symbol of a formula: what it stands for, and the sign of its usual unit; empty where a value with its unit is said."""

    symbol: Typeset
    says: str
    unit: str


@dataclass(frozen=True, slots=True)
class Formula:
    """A relation for the annex: its name in words, its equation, its symbols."""

    says: str
    equation: Typeset
    symbols: tuple[Meaning, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """
    One candidate's paper.

    Parameters
    ----------
    minutes : int
        The candidate's own time, extra time already added.
    extra : str
        The extra time as the roster gives it, ``25 %``; empty where there is none.
    key_digest : str
        SHA-256 of the key, hexadecimal.
    large : bool
        Large print, 18 pt.
    called : str
        What it is, under its title; a quiz of open items is no examination paper.
    open : bool
        Nothing is sealed and nothing handed in: a quiz to practise with. `name` is then the copy's, and a line is left for the
        learner's own.
    """

    school: str
    place: str
    title: str
    language: str
    sitting: str
    date: str
    candidate: str
    name: str
    code: str
    key_digest: str
    minutes: int
    asked: tuple[Asked, ...]
    extra: str = ""
    large: bool = False
    aids: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notice: str = ""
    called: str = "Examination paper"
    open: bool = False
    formulas: tuple[Formula, ...] = ()

    @property
    def points(self) -> str:
        """The sum of all points, as printed."""
        return shown_points(str(sum((Fraction(asked.points) for asked in self.asked), Fraction(0))))

    @property
    def answers(self) -> int:
        """How many answers the paper asks for."""
        return sum(len(asked.answered()) for asked in self.asked)


def shown_points(points: str) -> str:
    """
    Points without needless zeros.

    >>> [shown_points(text) for text in ("1", "2.0", "1.50", "3/2", "1234567.5")]
    ['1', '2', '1.5', '1.5', '1234567.5']
    """
    value = Fraction(points)
    return f"{Decimal(value.numerator) / Decimal(value.denominator):.6f}".rstrip("0").rstrip(".")


def unparted(text: str) -> str:
    """
    A text in which no line ends between a number and its unit.

    >>> unparted("1 in = 25.4 mm").split(" ")
    ['1\\xa0in', '=', '25.4\\xa0mm']
    """
    return re.sub(r"(?<=\d) (?=[^\W\d])", "\u00a0", text)


def own_minutes(minutes: Fraction, extra: Fraction) -> int:
    """
    The candidate's time in whole minutes, rounded up: time given is never cut.

    >>> [own_minutes(Fraction(time), extra) for time, extra in ((60, Fraction(0)), (45, Fraction(1, 3)), (50, Fraction(1, 4)))]
    [60, 60, 63]
    """
    return math.ceil(round(minutes * (1 + extra), 2))  # a third of an hour is 20 min, not 21


def asked(question: AnyQuestion) -> Asked:
    """
    What a candidate sees of a question of the key.

    >>> from grader.marking.key import Answer
    >>> answer = Answer(value="2.298", low="2.25", high="2.34", unit="mm^2", shown="2.30 mm²", within="2 %")
    >>> seen = asked(
    ...     Numeric(item="ring", objective="power.1", circuit="power", points="2", stem="What area?", number="3", answer=answer)
    ... )
    >>> seen.label, seen.unit, "2.298" in repr(seen)
    ('3', 'mm²', False)
    """
    label, points, stem, figure = question.number, shown_points(question.points), question.stem, question.figure
    match question:
        case Numeric():
            measure = question.answer.unit
            return Asked(label, "numeric", points, stem, figure, unit=unit(measure).shown, measure=measure)
        case Reading():
            measure = question.answer.unit
            return Asked(label, "reading", points, stem, figure, question.rule, unit(measure).shown, measure)
        case Choice():
            return Asked(label, "choice", points, stem, figure, options=_bare(question.options))
        case Choices():
            return Asked(label, "choices", points, stem, figure, options=_bare(question.options))
        case Order():
            return Asked(label, "order", points, stem, figure, options=_bare(question.entries))
        case Match():
            return Asked(label, "match", points, stem, figure, options=_bare(question.options), rows=question.rows)
        case Case():
            parts = tuple(_part(label, part) for part in question.parts)
            return Asked(label, "case", points, stem, figure, parts=parts)


def _part(number: str, part: NumericPart | ChoicePart) -> Asked:
    label, points = f"{number}{part.part}", shown_points(part.points)
    if isinstance(part, NumericPart):
        measure = part.answer.unit
        return Asked(label, "numeric", points, part.stem, unit=unit(measure).shown, measure=measure)
    return Asked(label, "choice", points, part.stem, options=_bare(part.options))


def _bare(options: tuple[Option, ...]) -> tuple[Option, ...]:
    """Options without what is said to whoever took them."""
    return tuple(Option(letter=option.letter, text=option.text) for option in options)


def asked_by(key: Key) -> tuple[tuple[Asked, ...], str]:
    """What a key asks, and the digest that seals it."""
    return tuple(asked(question) for question in key.questions), digest(key.encoded())
