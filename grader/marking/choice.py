"""One option of several: its letter, however it is set off, or its text as printed."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from grader.marking.key import Choice, ChoicePart, Option
from grader.marking.letters import letters_of
from grader.marking.numbers import LONGEST, cut, is_blank, tidied
from grader.marking.outcome import Outcome, outcome, says


def mark_choice(question: Choice | ChoicePart, text: str) -> Outcome:
    """
    The outcome of an answer to a question with one right option; a wrong one may have something to say to whoever took it.
    """
    part = question.part if isinstance(question, ChoicePart) else ""
    if is_blank(text):
        return outcome("blank", Fraction(0), question.points, "", says("blank"), part)
    letter = _taken(question.options, text)
    if isinstance(letter, Unread):
        return outcome("unreadable", Fraction(0), question.points, "", letter, part)
    option = next(o for o in question.options if o.letter == letter)
    if letter == question.right:
        return outcome("right", Fraction(1), question.points, letter, says("right"), part)
    return outcome("wrong", Fraction(0), question.points, letter, option.says or says("wrong-option"), part)


class Unread(str):
    """Why no letter was found."""

    __slots__ = ()


def _taken(options: Sequence[Option], text: str) -> str:
    letters = [option.letter for option in options]
    found = letters_of(text, letters)
    if isinstance(found, tuple) and len(set(found)) == 1:
        return found[0]
    printed = [o.letter for o in options if _same(o.text) == _same(text)] if len(text) <= LONGEST else []
    if len(printed) == 1:
        return printed[0]
    if isinstance(found, str):
        return Unread(found)
    if not found:
        return Unread(says("unreadable-option", text=cut(tidied(text)), letters=" ".join(letters)))
    return Unread(says("unreadable-one", text=cut(tidied(text)), count=str(len(set(found)))))


def _same(text: str) -> str:
    return tidied(text).lower().rstrip(".")
