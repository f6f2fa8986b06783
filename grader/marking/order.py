"""
Entries to be put in order.

The rule: the share of pairs that stand in the right order. It is fair to one entry misplaced from one end to the other, and the
reversed order earns nothing. An entry left out or named twice has no place: only pairs whose both ends were named once count.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from grader.marking.key import Order
from grader.marking.letters import letters_of, letters_written, plain_letters
from grader.marking.numbers import cut, is_blank, tidied
from grader.marking.outcome import ALL, NOTHING, Outcome, outcome, says


def pairs_in_order(given: Sequence[str], right: Sequence[str]) -> int:
    """
    How many pairs of the right order stand in that order in what was given.

    >>> pairs_in_order("bcdea", "abcde"), pairs_in_order("aabc", "abc")
    (6, 1)
    """
    place = {letter: given.index(letter) for letter in right if list(given).count(letter) == 1}
    return sum(a in place and b in place and place[a] < place[b] for a, b in combinations(right, 2))


class OrderField:
    """An order that is asked for, made ready to be marked."""

    __slots__ = ("_letters", "_plain", "question")

    def __init__(self, question: Order) -> None:
        self.question = question
        self._letters = [entry.letter for entry in question.entries]
        self._plain = plain_letters(self._letters)

    def mark(self, text: str) -> Outcome:
        """The outcome of an answer."""
        points, right = self.question.points, self.question.right
        found: tuple[str, ...] | str | None = letters_written(text, self._plain)
        if found is None:
            if is_blank(text):
                return outcome("blank", NOTHING, points, "", says("blank"))
            found = letters_of(text, self._letters)
            if not found:
                found = says("unreadable-option", text=cut(tidied(text)), letters=" ".join(self._letters))
            if isinstance(found, str):
                return outcome("unreadable", NOTHING, points, "", found)
        read = " ".join(found)
        if found == right:
            return outcome("right", ALL, points, read, says("right"))
        wanted = len(right) * (len(right) - 1) // 2
        hit = pairs_in_order(found, right)
        why = says("order", hit=str(hit), wanted=str(wanted))
        return outcome("part" if hit else "wrong", (hit, wanted), points, read, why)
