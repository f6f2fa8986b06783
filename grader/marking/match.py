"""
Rows to be matched with options, however the pairs are written: ``1-c 2-a 3-b``, ``1c, 2a, 3b``, ``1 → c``; or letters alone,
row by row.

The rule: the share of rows matched right. A row given two letters that differ counts as not matched.
"""

from __future__ import annotations

import re
from fractions import Fraction

from grader.marking.key import Match
from grader.marking.letters import letters_of
from grader.marking.numbers import LONGEST, cut, is_blank, tidied
from grader.marking.outcome import Outcome, outcome, says

_PAIR = re.compile(r"([0-9]{1,3}) ?[-:=.)>→⇒]* ?\(?([a-z])\)?(?![a-z])", re.ASCII)
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


def mark_match(question: Match, text: str) -> Outcome:
    """The outcome of an answer to a question that asks for matches."""
    if is_blank(text):
        return outcome("blank", Fraction(0), question.points, "", says("blank"))
    given = pairs_of(text, question)
    if isinstance(given, str):
        return outcome("unreadable", Fraction(0), question.points, "", given)
    wanted = len(question.rows)
    read = " ".join(f"{row.number}-{given[row.number] or '?'}" for row in question.rows if row.number in given)
    hit = sum(given.get(row, "") == letter for row, letter in question.right.items())
    if hit == wanted:
        return outcome("right", Fraction(1), question.points, read, says("right"))
    why = says("match", hit=str(hit), wanted=str(wanted))
    return outcome("part" if hit else "wrong", Fraction(hit, wanted), question.points, read, why)
