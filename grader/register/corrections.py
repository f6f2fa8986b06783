"""
Keys as they are in force: as sealed, with what was corrected since. The sealed key itself is never changed.

A correction names an item, for every paper that has it, and says one of:

    accept       other option texts count too (a choice: one text; choices and order: the whole answer); nobody loses by it
    right        these option texts are right instead of those sealed
    within       the range round the sealed value is this wide instead: ``5 %``, ``0.2 mm``; never narrower than sealed
    withdraw     the question is no good: ``full marks`` for everybody who had it, or ``not counted``

and `part`, the letter of a case's part. Options are named by their text: their letters differ from paper to paper. Corrections
apply in the order in which they were kept. Marking by a key in force is as pure as marking by a sealed one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

import msgspec

from grader.base.errors import UseError
from grader.base.quantities import read_quantity
from grader.marking.case import tolerance
from grader.marking.key import (
    Answer,
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Key,
    Numeric,
    NumericPart,
    Option,
    Order,
    Reading,
    UnitEntry,
    read_key,
)
from grader.marking.mark import Mark, Marks, mark
from grader.register.records import Correction
from grader.register.store import Register

FULL, NOT_COUNTED = "full marks", "not counted"
WITHDRAWN = {
    FULL: "This question was withdrawn: everybody who had it has its marks.",
    NOT_COUNTED: "This question was withdrawn and does not count.",
}
MADE = 64  # keys in force kept made
FIGURES = 12  # significant figures of a range's end where no decimal says it exactly; rounded outward

Entry = Mapping[str, Any]


class DoesNotFit(UseError):
    """A correction that a question cannot take; the message says why."""


@dataclass(frozen=True, slots=True)
class InForce:
    """
    A paper's key with what was corrected since it was sealed.

    Parameters
    ----------
    key : Key
        The key, with right answers and ranges as corrected.
    also : tuple of Key
        Keys by which an answer counts too: what is accepted beside the right answer. The best mark of a number counts.
    withdrawn : mapping
        Number (``4a``) to `FULL` or `NOT_COUNTED`.
    notes : mapping
        Number to what was corrected in it, as the candidate may read it.
    """

    key: Key
    also: tuple[Key, ...] = ()
    withdrawn: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def mark(self, answers: Mapping[str, str]) -> Marks:
        """A paper marked by the key in force, a pure function as `grader.marking.mark.mark`."""
        found = mark(self.key, answers)
        if not self.also and not self.withdrawn:
            return found
        marks = list(found.marks)
        for other in self.also:
            marks = [max(pair, key=_worth) for pair in zip(marks, mark(other, answers).marks, strict=True)]
        return replace(found, marks=tuple(self._withdrawn(one) for one in marks))

    def _withdrawn(self, found: Mark) -> Mark:
        how = self.withdrawn.get(found.number)
        if how is None or (how == FULL and found.mark == found.out_of):
            return found
        worth = found.out_of if how == FULL else "0"
        return replace(found, mark=worth, out_of=worth, why=WITHDRAWN[how])


def _worth(found: Mark) -> Fraction:
    return Fraction(found.mark)


def in_force(key: Key, corrections: Iterable[Correction]) -> InForce:
    """
    A paper's key with a sitting's corrections, the oldest first.

    Raises `DoesNotFit` where one cannot be applied; `grader.register.correction_file` has looked before it is kept.
    """
    found = InForce(key)
    for correction in corrections:
        for entry in correction.entries:
            found = applied(found, entry)
    return found


def touches(key: Key, entry: Entry) -> bool:
    """Whether a correction is about a question of this paper."""
    return any(question.item == entry["item"] for question in key.questions)


def applied(force: InForce, entry: Entry) -> InForce:
    """A key in force with one more correction; unchanged where the paper does not have the item."""
    for place, question in enumerate(force.key.questions):
        if question.item == entry["item"]:
            force = _applied_at(force, place, question, entry)
    return force


def _applied_at(force: InForce, place: int, question: AnyQuestion, entry: Entry) -> InForce:
    numbers = _numbers(question, str(entry.get("part", "")))
    if "withdraw" in entry:
        how = str(entry["withdraw"])
        return replace(
            force, withdrawn={**force.withdrawn, **dict.fromkeys(numbers, how)}, notes=_noted(force, numbers, WITHDRAWN[how])
        )
    changed, note = _changed(question, entry, force.key.units)
    notes = _noted(force, numbers, note)
    if "accept" in entry:
        return replace(force, also=(*force.also, _with(force.key, place, changed)), notes=notes)
    # A range that widens holds for what is accepted besides, too.
    also = tuple(_with(other, place, _changed(other.questions[place], entry, other.units)[0]) for other in force.also)
    return replace(force, key=_with(force.key, place, changed), also=also, notes=notes)


def _noted(force: InForce, numbers: Iterable[str], note: str) -> dict[str, tuple[str, ...]]:
    return {**force.notes, **{number: (*force.notes.get(number, ()), note) for number in numbers}}


def _with(key: Key, place: int, question: AnyQuestion) -> Key:
    questions = (*key.questions[:place], question, *key.questions[place + 1 :])
    return msgspec.structs.replace(key, questions=questions)


def _numbers(question: AnyQuestion, part: str) -> tuple[str, ...]:
    """The numbers, as printed, that a correction is about."""
    if not isinstance(question, Case):
        if part:
            raise DoesNotFit(f"{question.item} has no parts; leave `part` out")
        return (question.number,)
    letters = [one.part for one in question.parts]
    if part and part not in letters:
        raise DoesNotFit(f"{question.item} has no part {part!r}; it has {', '.join(letters)}")
    return tuple(question.number + letter for letter in letters if part in ("", letter))


def _changed(question: AnyQuestion, entry: Entry, units: Mapping[str, UnitEntry]) -> tuple[AnyQuestion, str]:
    """The question with a correction of its right answer or its range, and what the candidate is told."""
    if isinstance(question, Case):
        return _changed_case(question, entry, units)
    if "within" in entry:
        if not isinstance(question, Numeric | Reading):
            raise DoesNotFit(f"{question.item} asks for no number; `within` is for numbers")
        answer, note = _wider(question.answer, str(entry["within"]), units, question.item)
        return msgspec.structs.replace(question, answer=answer), note
    texts = tuple(entry.get("accept") or entry["right"])
    return msgspec.structs.replace(question, right=_right(question, texts)), _told(entry, texts)


def _right(question: AnyQuestion, texts: tuple[str, ...]) -> str | tuple[str, ...]:
    """What is right, in this paper's letters."""
    match question:
        case Choice():
            return _letters(question.options, texts, question.item, one=True)[0]
        case Choices():
            return tuple(sorted(_letters(question.options, texts, question.item)))
        case Order():
            if len(texts) != len(question.entries):
                raise DoesNotFit(f"{question.item} has {len(question.entries)} entries; name all of them, in order")
            return _letters(question.entries, texts, question.item)
    raise DoesNotFit(f"{question.item} cannot be corrected this way; widen its range with `within`, or `withdraw` it")


def _changed_case(case: Case, entry: Entry, units: Mapping[str, UnitEntry]) -> tuple[Case, str]:
    if not entry.get("part"):
        raise DoesNotFit(f"{case.item} is a case; say which part with `part`, or withdraw all of it")
    changed = {part.part: _changed_part(part, entry, units) for part in case.parts if part.part == entry["part"]}
    parts = tuple(changed[part.part][0] if part.part in changed else part for part in case.parts)
    return msgspec.structs.replace(case, parts=parts), changed[entry["part"]][1]


def _changed_part(
    part: NumericPart | ChoicePart, entry: Entry, units: Mapping[str, UnitEntry]
) -> tuple[NumericPart | ChoicePart, str]:
    name = f"part {part.part} of {entry['item']}"
    if "within" in entry:
        if not isinstance(part, NumericPart):
            raise DoesNotFit(f"{name} asks for no number; `within` is for numbers")
        within = str(entry["within"])
        answer, note = _wider(part.answer, within, units, name)
        follow = msgspec.structs.replace(part.follow, within=within) if part.follow else None
        return msgspec.structs.replace(part, answer=answer, follow=follow), note
    if not isinstance(part, ChoicePart):
        raise DoesNotFit(f"{name} asks for a number; widen its range with `within`, or `withdraw` it")
    texts = tuple(entry.get("accept") or entry["right"])
    return msgspec.structs.replace(part, right=_letters(part.options, texts, name, one=True)[0]), _told(entry, texts)


def _told(entry: Entry, texts: tuple[str, ...]) -> str:
    said = "; ".join(f"“{text}”" for text in texts)
    return (
        f"Corrected after the sitting: {said} counts too."
        if "accept" in entry
        else f"Corrected after the sitting: right is {said}."
    )


def _letters(options: tuple[Option, ...], texts: tuple[str, ...], name: str, *, one: bool = False) -> tuple[str, ...]:
    if one and len(texts) != 1:
        raise DoesNotFit(f"{name} has one right option; name one text")
    by_text = {_plain(option.text): option.letter for option in options}
    missing = [text for text in texts if _plain(text) not in by_text]
    if missing:
        raise DoesNotFit(f"{name} has no option “{missing[0][:80]}” on every paper; copy its text, or `withdraw` the question")
    letters = tuple(by_text[_plain(text)] for text in texts)
    if len(set(letters)) != len(letters):
        raise DoesNotFit(f"{name}: an option is named twice; name each once")
    return letters


def _plain(text: str) -> str:
    return " ".join(text.split())


def _wider(answer: Answer, within: str, units: Mapping[str, UnitEntry], name: str) -> tuple[Answer, str]:
    value, kind = Fraction(answer.value), read_quantity(within).unit.kind
    if kind != units[answer.unit].kind and not within.endswith("%"):
        raise DoesNotFit(f"{name}: {within} is of another kind ({kind}) than the answer; write it as `5 %`, or in its unit")
    room = tolerance(value, within, units, answer.unit)
    low, high = _end(value - room, up=False), _end(value + room, up=True)
    if Fraction(low) > Fraction(answer.low) or Fraction(high) < Fraction(answer.high):
        what = f"{name}: within {within} is narrower than {answer.within}, by which answers were given"
        raise DoesNotFit(f"{what}; name a wider range, or `withdraw` the question")
    changed = msgspec.structs.replace(answer, low=low, high=high, within=within)
    return changed, f"Corrected after the sitting: the range is {within} instead of {answer.within}."


def _end(value: Fraction, *, up: bool) -> str:
    """An end of a range as a decimal; rounded outward where it has no end."""
    context = Context(prec=FIGURES, rounding=ROUND_CEILING if up else ROUND_FLOOR)
    return f"{context.divide(Decimal(value.numerator), Decimal(value.denominator)):f}"


class Opened(Mapping[str, InForce]):
    """The keys of a sitting as they are in force, by paper code. Only a few are kept made: there may be thousands of papers."""

    def __init__(self, keys: Mapping[str, bytes], corrections: Iterable[Correction]) -> None:
        self._keys = keys
        self._corrections = tuple(corrections)
        self._made = lru_cache(maxsize=MADE)(self._make)

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """What was corrected since they were sealed."""
        return self._corrections

    def sealed(self, code: str) -> bytes:
        """A key's bytes as they were sealed."""
        return self._keys[code]

    def _make(self, code: str) -> InForce:
        return in_force(read_key(self._keys[code]), self._corrections)

    def __getitem__(self, code: str) -> InForce:
        return self._made(code)

    def __contains__(self, code: object) -> bool:
        return code in self._keys

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)

    def __len__(self) -> int:
        return len(self._keys)


def opened(register: Register, sitting: str, person: str, when: str, purpose: str) -> Opened:
    """
    The keys of a sitting as they are in force, by paper code; the register's log says that they were opened, and what for.

    What is given is good as long as the register is open.
    """
    return Opened(register.open_keys_singly(sitting, person, when, purpose), register.corrections(sitting))
