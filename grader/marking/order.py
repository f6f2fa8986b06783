"""
Entries to be put in order.

The rule: the share of pairs that stand in the right order. It is fair to one entry misplaced from one end to the other, and the
reversed order earns nothing. An entry left out or named twice has no place: only pairs whose both ends were named once count.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations

from grader.marking.key import Order
from grader.marking.letters import letters_of
from grader.marking.numbers import cut, is_blank, tidied
from grader.marking.outcome import Outcome, outcome, says


def pairs_in_order(given: Sequence[str], right: Sequence[str]) -> int:
    """
    How many pairs of the right order stand in that order in what was given.

    >>> pairs_in_order("bcdea", "abcde"), pairs_in_order("aabc", "abc")
    (6, 1)
    """
    place = {letter: given.index(letter) for letter in right if list(given).count(letter) == 1}
    return sum(a in place and b in place and place[a] < place[b] for a, b in combinations(right, 2))


def mark_order(question: Order, text: str) -> Outcome:
    """The outcome of an answer to a question that asks for an order."""
    if is_blank(text):
        return outcome("blank", Fraction(0), question.points, "", says("blank"))
    letters = [entry.letter for entry in question.entries]
    found = letters_of(text, letters)
    if not found:
        found = says("unreadable-option", text=cut(tidied(text)), letters=" ".join(letters))
    if isinstance(found, str):
        return outcome("unreadable", Fraction(0), question.points, "", found)
    read = " ".join(found)
    if found == question.right:
        return outcome("right", Fraction(1), question.points, read, says("right"))
    wanted = len(question.right) * (len(question.right) - 1) // 2
    hit = pairs_in_order(found, question.right)
    why = says("order", hit=str(hit), wanted=str(wanted))
    return outcome("part" if hit else "wrong", Fraction(hit, wanted), question.points, read, why)
