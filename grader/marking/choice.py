"""One option of several: its letter, however it is set off, or its text as printed."""

from __future__ import annotations

from collections.abc import Sequence

from grader.marking.key import Choice, ChoicePart, Option
from grader.marking.letters import letters_of, plain_letters
from grader.marking.numbers import LONGEST, cut, is_blank, tidied
from grader.marking.outcome import ALL, NOTHING, Outcome, outcome, says


class ChoiceField:
    """One option that is asked for, made ready to be marked."""

    __slots__ = ("_options", "_plain", "_points", "_right", "part")

    def __init__(self, question: Choice | ChoicePart) -> None:
        self.part = question.part if isinstance(question, ChoicePart) else ""
        self._options, self._right, self._points = question.options, question.right, question.points
        self._plain = plain_letters(option.letter for option in question.options)

    def mark(self, text: str) -> Outcome:
        """The outcome of an answer."""
        letter = text.strip(" ().").lower()
        if letter in self._plain and len(text) <= LONGEST:
            return self._taken(letter)
        if is_blank(text):
            return outcome("blank", NOTHING, self._points, "", says("blank"), self.part)
        found = _taken(self._options, text)
        if isinstance(found, Unread):
            return outcome("unreadable", NOTHING, self._points, "", found, self.part)
        return self._taken(found)

    def _taken(self, letter: str) -> Outcome:
        if letter == self._right:
            return outcome("right", ALL, self._points, letter, says("right"), self.part)
        option = next(o for o in self._options if o.letter == letter)
        return outcome("wrong", NOTHING, self._points, letter, option.says or says("wrong-option"), self.part)


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
