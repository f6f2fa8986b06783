"""
Several options are right.

The rule: right options taken less wrong options taken, over the number of right ones; never below nothing. So taking all earns no
more than was known, and a guess costs what it may win.
"""

from __future__ import annotations

from grader.marking.key import Choices
from grader.marking.letters import letters_of, letters_written, plain_letters
from grader.marking.numbers import cut, is_blank, tidied
from grader.marking.outcome import ALL, NOTHING, Outcome, outcome, says


class ChoicesField:
    """Several options that are asked for, made ready to be marked."""

    __slots__ = ("_letters", "_plain", "question")

    def __init__(self, question: Choices) -> None:
        self.question = question
        self._letters = [option.letter for option in question.options]
        self._plain = plain_letters(self._letters)

    def mark(self, text: str) -> Outcome:
        """The outcome of an answer."""
        points = self.question.points
        found: tuple[str, ...] | str | None = letters_written(text, self._plain)
        if found is None:
            if is_blank(text):
                return outcome("blank", NOTHING, points, "", says("blank"))
            found = letters_of(text, self._letters)
            if not found:
                found = says("unreadable-option", text=cut(tidied(text)), letters=" ".join(self._letters))
            if isinstance(found, str):
                return outcome("unreadable", NOTHING, points, "", found)
        return self._taken([letter for letter in self._letters if letter in found])

    def _taken(self, taken: list[str]) -> Outcome:
        points, right = self.question.points, self.question.right
        hit = sum(letter in right for letter in taken)
        missed, wanted = len(taken) - hit, len(right)
        read = " ".join(taken)
        if hit == wanted and not missed:
            return outcome("right", ALL, points, read, says("right"))
        share = max(hit - missed, 0), wanted
        told = [o.says for o in self.question.options if o.letter in taken and o.letter not in right and o.says]
        why = " ".join([says("choices", hit=str(hit), wanted=str(wanted), missed=str(missed)), *told])
        return outcome("part" if share[0] else "wrong", share, points, read, why)
