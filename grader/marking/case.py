"""
A case: parts that build on each other, each marked on the candidate's own earlier values.

No double punishment: a later part that is right on what the candidate wrote earlier earns full marks (`followed`), also where
that earlier part was itself followed. What was written earlier is carried on exactly as it was written. Where an earlier part is
blank, unreadable or of another kind, the key's value stands in for it. What comes to nothing is not followed: every product of
an early 0 would be right. A value that was followed is rounded to 12 significant figures, half to even, before the tolerance is
laid round it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

import msgspec

from grader.base.errors import RangeError
from grader.marking.choice import ChoiceField
from grader.marking.key import Case, ChoicePart, Follow, NumericPart
from grader.marking.numbers import ReadNumber, Unreadable, number_in
from grader.marking.numeric import NumberField
from grader.marking.outcome import Outcome, says, shown
from grader.marking.ratio import Ratio, figures, ratio
from grader.marking.units import Asked, Units, UnitTable, table_of
from grader.relations.tree import Evaluator, compiled, finite

FIGURES = 12


@dataclass(slots=True)
class _Earlier:
    """What the parts before came to: in SI, the candidate's own where there is one, else the key's; and the own as read."""

    si: dict[str, Ratio]
    own: dict[str, ReadNumber]


class CaseField:
    """A case made ready to be marked."""

    __slots__ = ("parts",)

    def __init__(self, question: Case, table: UnitTable) -> None:
        self.parts = [ChoiceField(part) if isinstance(part, ChoicePart) else PartField(part, table) for part in question.parts]

    def mark(self, answers: Mapping[str, str]) -> tuple[Outcome, ...]:
        """The outcome of every part."""
        earlier = _Earlier({}, {})
        outcomes = []
        for part in self.parts:
            text = answers.get(part.part, "")
            outcomes.append(part.mark(text) if isinstance(part, ChoiceField) else part.after(earlier, text))
        return tuple(outcomes)


class PartField:
    """A number that a part of a case asks for, marked on what the parts before came to."""

    __slots__ = ("_field", "_follow", "part")

    def __init__(self, part: NumericPart, table: UnitTable) -> None:
        self.part = part.part
        self._field = NumberField(part, table)
        self._follow = part.follow

    def after(self, earlier: _Earlier, text: str) -> Outcome:
        """The outcome of this part, which then is an earlier one itself."""
        field = self._field
        read = field.understood(text)
        if isinstance(read, Outcome):
            earlier.si[self.part] = field.asked.itself.into_si.of(field.key)
            return read
        plain = field.compared(read)
        follow = self._follow
        marked = plain if follow is None or plain.verdict == "right" else self._followed(follow, plain, read, earlier)
        earlier.own[self.part] = read
        earlier.si[self.part] = read.meant.into_si.of((read.above, read.below))
        return marked

    def _followed(self, follow: Follow, plain: Outcome, read: ReadNumber, earlier: _Earlier) -> Outcome:
        """The outcome of a number that is not right by the key, on the candidate's own values; `plain` where it is neither."""
        carried = [letter for letter in dict.fromkeys(follow.takes.values()) if letter in earlier.own]
        if not carried:
            return plain
        field, value = self._field, read.asked
        middle = self._carried(follow, follow.tree, earlier)
        if middle is not None and self._near(value, middle, follow.within):
            chain = ", ".join(says("own", part=letter, read=earlier.own[letter].read) for letter in carried)
            why = says("followed", own=chain, value=shown(middle) + field.asked.sign)
            return field.outcome("followed", read.read, why)
        if plain.verdict == "slip":
            return plain
        for slip in field.slips:
            if slip.tree is not None:
                middle = self._carried(follow, slip.tree, earlier)
                if middle is not None and self._near(value, middle, follow.within):
                    return field.slipped(slip, read)
        return plain

    def _carried(self, follow: Follow, tree: list[Any], earlier: _Earlier) -> Ratio | None:
        taken = {name: earlier.si[letter] for name, letter in follow.takes.items()}
        return _carried(tree, follow.values | {name: above / below for name, (above, below) in taken.items()}, self._field.asked)

    def _near(self, value: Ratio, middle: Ratio, within: str) -> bool:
        """Whether a value lies within the author's tolerance of the middle, bound included."""
        allowed = _tolerance(middle, within, self._field.asked)
        off = abs(value[0] * middle[1] - middle[0] * value[1])
        return off * allowed[1] <= allowed[0] * value[1] * middle[1]


def carried_value(
    follow: Follow,
    tree: list[Any],
    own: Mapping[str, ReadNumber],
    keyed: Mapping[str, Fraction],
    units: Units,
    unit: str,
) -> Fraction | None:
    """
    What a part comes to on the candidate's own earlier values, in the part's unit; None where it comes to nothing.

    Parameters
    ----------
    own, keyed : mapping
        By the letter of the part: what was read, and what the key has instead in SI where nothing was.

    Notes
    -----
    Computed in floats and SI, changed into the part's unit exactly, rounded to 12 significant figures.
    """
    taken = {name: float(own[letter].si if letter in own else keyed[letter]) for name, letter in follow.takes.items()}
    value = _carried(tree, follow.values | taken, table_of(units).asked(unit))
    return None if value is None else Fraction(*value)


def _carried(tree: list[Any], values: Mapping[str, float], asked: Asked) -> Ratio | None:
    try:
        computed = finite(_evaluator(msgspec.json.encode(tree)), values)
    except RangeError:  # a root of less than nothing, a division by zero: no value to follow
        return None
    if not computed:
        return None
    return figures(asked.from_si.of(computed.as_integer_ratio()), FIGURES)


@lru_cache(maxsize=1024)
def _evaluator(tree: bytes) -> Evaluator:
    """A tree made ready to be computed, from its bytes: the same on the paper of every candidate who drew the item."""
    return compiled(msgspec.json.decode(tree))


def tolerance(middle: Fraction, within: str, units: Units, unit: str) -> Fraction:
    """
    A tolerance as its author wrote it, in the key's unit: a percentage is of the value, anything else an amount.

    >>> from grader.marking.key import unit_entries
    >>> tolerance(Fraction(50), "2 %", unit_entries(), "mm"), tolerance(Fraction(50), "1/4 in", unit_entries(), "mm")
    (Fraction(1, 1), Fraction(127, 20))
    """
    return Fraction(*_tolerance((middle.numerator, middle.denominator), within, table_of(units).asked(unit)))


def _tolerance(middle: Ratio, within: str, asked: Asked) -> Ratio:
    if within.endswith("%"):
        share = ratio(within[:-1].strip(" "))
        return abs(middle[0]) * share[0], middle[1] * share[1] * 100
    read = number_in(within, asked)
    if isinstance(read, Unreadable):
        return 0, 1
    into = read.meant.into_asked  # without what is added: an amount is a difference
    return read.above * into.times, read.below * into.over
