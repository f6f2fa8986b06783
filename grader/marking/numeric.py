"""
A number with a unit: blank, unreadable, of another kind, right, a known slip, or wrong. In that order.

Compared exactly: the answer is converted with fractions into the key's unit, and the bounds are decimals; on the bound is inside.
A slip earns nothing; it is told what went wrong. An instrument's reading (kind `reading`) is marked the same way.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from grader.marking.key import Answer, Numeric, NumericPart, Reading, Slip, UnitEntry
from grader.marking.numbers import ReadNumber, Units, Unreadable, is_blank, read_number, with_sign
from grader.marking.outcome import Outcome, exact, outcome, says

Asked = Numeric | Reading | NumericPart

RIGHT, NOTHING = Fraction(1), Fraction(0)


def mark_numeric(question: Numeric | Reading, text: str, units: Units) -> Outcome:
    """The outcome of an answer to a question that asks for a number."""
    read = understood(question, text, units)
    return read if isinstance(read, Outcome) else compared(question, read, units)


def understood(question: Asked, text: str, units: Units) -> ReadNumber | Outcome:
    """The number that was written, or the outcome where there is none of the kind asked for."""
    part = question.part if isinstance(question, NumericPart) else ""
    if is_blank(text):
        return outcome("blank", NOTHING, question.points, "", says("blank"), part)
    read = read_number(text, units, question.answer.unit)
    if isinstance(read, Unreadable):
        return outcome("unreadable", NOTHING, question.points, "", read.reason, part)
    wanted = units[question.answer.unit]
    if read.entry.kind != wanted.kind:
        name = "unit" if wanted.shown else "unit-none"
        why = says(name, read=read.read, kind=read.entry.kind, wanted=wanted.kind, unit=wanted.shown)
        return outcome("unit", NOTHING, question.points, read.read, why, part)
    return read


def compared(question: Asked, read: ReadNumber, units: Units) -> Outcome:
    """The outcome of a number of the kind asked for."""
    part = question.part if isinstance(question, NumericPart) else ""
    value = read.within(units[question.answer.unit])
    if inside(value, question.answer):
        return outcome("right", RIGHT, question.points, read.read, says("right"), part)
    for slip in question.slips:
        if inside(value, slip):
            return outcome("slip", NOTHING, question.points, read.read, told(slip), part)
    why = _other_unit(question, read, units) or _wrong(question, value, units[question.answer.unit])
    return outcome("wrong", NOTHING, question.points, read.read, why, part)


def inside(value: Fraction, bounds: Answer | Slip) -> bool:
    """Whether a value in the key's unit lies within the bounds; on the bound is inside."""
    return exact(bounds.low) <= value <= exact(bounds.high)


def told(slip: Slip) -> str:
    """What is said to whoever made a slip."""
    return slip.says or says("slip-silent")


def _other_unit(question: Asked, read: ReadNumber, units: Units) -> str:
    """What to say where the number as written is the answer in another unit of its kind: of several the one nearest."""
    answer, asked = question.answer, units[question.answer.unit]
    if exact(answer.low) <= 0 <= exact(answer.high):  # nothing is nothing in every unit
        return ""
    found = []
    for name, entry in units.items():
        if entry.kind != asked.kind or name == read.unit:
            continue
        value = replace(read, entry=entry).within(asked)
        if inside(value, answer):
            found.append((abs(value - exact(answer.value)), name))
    if not found:
        return ""
    unit = units[min(found)[1]].shown
    return says("wrong-unit", unit=unit) if unit else says("wrong-unit-none", unit=asked.shown)


def _wrong(question: Asked, value: Fraction, entry: UnitEntry) -> str:
    within = question.answer.within
    if question.plausible:
        least, most = question.plausible
        if not exact(least) <= value <= exact(most):
            return says("wrong-plausible", within=within, least=with_sign(least, entry), most=with_sign(most, entry))
    return says("wrong", within=within)
