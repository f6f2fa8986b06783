"""
Rows to be matched with options, however the pairs are written: ``1-c 2-a 3-b``, ``1c, 2a, 3b``, ``1 → c``; or letters alone,
row by row.

The rule: the share of rows matched right. A row given two letters that differ counts as not matched.
"""

from __future__ import annotations

import re

from grader.marking.key import Match
from grader.marking.letters import letters_of, plain_letters
from grader.marking.numbers import LONGEST, cut, is_blank, tidied
from grader.marking.outcome import ALL, NOTHING, Outcome, outcome, says

_PAIR = re.compile(r"([0-9]{1,3}) ?[-:=.)>→⇒]* ?\(?([a-z])\)?(?![a-z])", re.ASCII)
_NUMBER = re.compile(r"[0-9]{1,3}")
_BETWEEN = re.compile(r"[ ,;.|/]*")


def pairs_of(text: str, question: Match) -> dict[str, str] | str:
    """Each row's letter as it was given (empty where two were), or why the text cannot be read."""
    rows = [row.number for row in question.rows]
    letters = [option.letter for option in question.options]
    example = " ".join(f"{row}-{letter}" for row, letter in zip(rows, letters, strict=False))
    if len(text) > LONGEST:
        return says("unreadable-long", limit=str(LONGEST))
    plain = tidied(text).lower()
    unread = says("unreadable-match", text=cut(plain), example=example)
    if not re.search("[0-9]", plain):
        found = letters_of(text, letters)
        if isinstance(found, str):
            return unread
        return dict(zip(rows, found, strict=True)) if len(found) == len(rows) else unread
    given: dict[str, str] = {}
    at = 0
    while at < len(plain):
        pair = _PAIR.match(plain, at)
        if pair is None or pair[1] not in rows or pair[2] not in letters:
            return unread
        row, letter = pair[1], pair[2]
        given[row] = letter if given.get(row, letter) == letter else ""
        between = _BETWEEN.match(plain, pair.end())
        at = between.end() if between else pair.end()
    return given


class MatchField:
    """Rows that are to be matched, made ready to be marked."""

    __slots__ = ("_letters", "_rows", "question")

    def __init__(self, question: Match) -> None:
        self.question = question
        self._rows = frozenset(row.number for row in question.rows if _NUMBER.fullmatch(row.number))
        self._letters = plain_letters(option.letter for option in question.options)

    def mark(self, text: str) -> Outcome:
        """The outcome of an answer."""
        points, right, rows = self.question.points, self.question.right, self.question.rows
        given = self._written(text)
        if given is None:
            if is_blank(text):
                return outcome("blank", NOTHING, points, "", says("blank"))
            found = pairs_of(text, self.question)
            if isinstance(found, str):
                return outcome("unreadable", NOTHING, points, "", found)
            given = found
        wanted = len(rows)
        read = " ".join([f"{row.number}-{given[row.number] or '?'}" for row in rows if row.number in given])
        hit = sum([given.get(row, "") == letter for row, letter in right.items()])
        if hit == wanted:
            return outcome("right", ALL, points, read, says("right"))
        why = says("match", hit=str(hit), wanted=str(wanted))
        return outcome("part" if hit else "wrong", (hit, wanted), points, read, why)

    def _written(self, text: str) -> dict[str, str] | None:
        """Pairs as the answer sheet writes them, ``1-c 2-a``: what `pairs_of` reads in them, sooner. Else None."""
        given: dict[str, str] = {}
        for word in text.split(" "):
            row, _, letter = word.partition("-")
            if row not in self._rows or letter not in self._letters or row in given:
                return None
            given[row] = letter
        return given if len(text) <= LONGEST else None
