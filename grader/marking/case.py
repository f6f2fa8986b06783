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
from fractions import Fraction
from typing import Any

from grader.base.errors import RangeError
from grader.marking.choice import mark_choice
from grader.marking.key import Case, ChoicePart, Follow, NumericPart
from grader.marking.numbers import ReadNumber, Units, Unreadable, read_number, with_sign
from grader.marking.numeric import RIGHT, compared, told, understood
from grader.marking.outcome import Outcome, exact, figures, outcome, says, shown
from grader.relations.tree import evaluate

FIGURES = 12


def mark_case(question: Case, answers: Mapping[str, str], units: Units) -> tuple[Outcome, ...]:
    """The outcome of every part of a case; `answers` by the parts' letters."""
    own: dict[str, ReadNumber] = {}
    keyed: dict[str, Fraction] = {}
    outcomes = []
    for part in question.parts:
        text = answers.get(part.part, "")
        if isinstance(part, ChoicePart):
            outcomes.append(mark_choice(part, text))
            continue
        entry = units[part.answer.unit]
        keyed[part.part] = exact(part.answer.value) * exact(entry.factor) + exact(entry.offset)
        read = understood(part, text, units)
        if isinstance(read, Outcome):
            outcomes.append(read)
            continue
        outcomes.append(_followed(part, read, own, keyed, units))
        own[part.part] = read
    return tuple(outcomes)


def _followed(
    part: NumericPart, read: ReadNumber, own: Mapping[str, ReadNumber], keyed: Mapping[str, Fraction], units: Units
) -> Outcome:
    plain = compared(part, read, units)
    if plain.verdict == "right" or part.follow is None:
        return plain
    carried = [letter for letter in dict.fromkeys(part.follow.takes.values()) if letter in own]
    if not carried:
        return plain
    entry = units[part.answer.unit]
    value = read.within(entry)
    middle = carried_value(part.follow, part.follow.tree, own, keyed, units, part.answer.unit)
    if middle is not None and _near(value, middle, part.follow.within, units, part.answer.unit):
        chain = ", ".join(says("own", part=letter, read=own[letter].read) for letter in carried)
        why = says("followed", own=chain, value=with_sign(shown(middle), entry))
        return outcome("followed", RIGHT, part.points, read.read, why, part.part)
    if plain.verdict == "slip":
        return plain
    for slip in part.slips:
        if slip.tree is not None:
            middle = carried_value(part.follow, slip.tree, own, keyed, units, part.answer.unit)
            if middle is not None and _near(value, middle, part.follow.within, units, part.answer.unit):
                return outcome("slip", Fraction(0), part.points, read.read, told(slip), part.part)
    return plain


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

    Computed in floats and SI, converted exactly, rounded to 12 significant figures.
    """
    env = dict(follow.values)
    for name, letter in follow.takes.items():
        env[name] = float(own[letter].si if letter in own else keyed[letter])
    try:
        computed = evaluate(tree, env)
    except RangeError:  # a root of less than nothing, a division by zero: no value to follow
        return None
    if not computed:
        return None
    return figures((Fraction(computed) - exact(units[unit].offset)) / exact(units[unit].factor), FIGURES)


def _near(value: Fraction, middle: Fraction, within: str, units: Units, unit: str) -> bool:
    """Whether a value lies within the author's tolerance (``2 %`` of the middle, or ``0.1 mm``) of the middle, bound included."""
    return abs(value - middle) <= tolerance(middle, within, units, unit)


def tolerance(middle: Fraction, within: str, units: Units, unit: str) -> Fraction:
    """
    A tolerance as its author wrote it, in the key's unit: a percentage is of the value, anything else an amount.

    >>> from grader.marking.key import unit_entries
    >>> tolerance(Fraction(50), "2 %", unit_entries(), "mm"), tolerance(Fraction(50), "1/4 in", unit_entries(), "mm")
    (Fraction(1, 1), Fraction(127, 20))
    """
    if within.endswith("%"):
        return abs(middle) * exact(within[:-1].strip(" ")) / 100
    read = read_number(within, units, unit)
    if isinstance(read, Unreadable):
        return Fraction(0)
    return read.number * exact(read.entry.factor) / exact(units[unit].factor)
