"""
Strays: wrong answers that are right for somebody else's paper of the sitting.

For a person to judge; never a mark. Where numbers are drawn from a small grid, two candidates meet by accident too: `papers` says
how many other papers of the sitting ask the same, `others` on which of them the answer would be right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from grader.marking.key import AnyQuestion, Case, Key, Numeric, NumericPart, Reading
from grader.marking.mark import Marks
from grader.marking.numbers import ReadNumber, is_blank, read_number
from grader.marking.numeric import inside

Place = tuple[str, str]  # item and part: where the same question stands on every paper


@dataclass(frozen=True, slots=True)
class Stray:
    """A wrong answer of one candidate that is right for the papers of others; `others` are their codes, in order."""

    paper: str
    candidate: str
    number: str
    item: str
    answer: str
    others: tuple[str, ...]
    papers: int


def strays(keys: Mapping[str, Key], marked: Iterable[Marks]) -> tuple[Stray, ...]:
    """
    Every stray of a sitting.

    Parameters
    ----------
    keys : mapping
        The sitting's keys by paper code.
    marked : iterable of Marks
        What was marked; the order does not matter.

    Notes
    -----
    Only verdicts `wrong` and `slip` are looked at: an answer that is right on the candidate's own paper tells nothing.
    """
    places = {code: _numbers(key) for code, key in keys.items()}
    found = [stray for marks in marked if marks.paper in keys for stray in _of_paper(marks, keys, places)]
    return tuple(sorted(found, key=lambda s: (s.paper, s.number)))


def _of_paper(marks: Marks, keys: Mapping[str, Key], places: Mapping[str, Mapping[Place, tuple[str, _Asked]]]) -> list[Stray]:
    key = keys[marks.paper]
    by_number = {number: (place, asked) for place, (number, asked) in places[marks.paper].items()}
    found = []
    for mark in marks.marks:
        if mark.verdict not in ("wrong", "slip") or mark.number not in by_number or is_blank(mark.answer):
            continue
        place, asked = by_number[mark.number]
        read = read_number(mark.answer, key.units, asked.answer.unit)
        if not isinstance(read, ReadNumber):
            continue
        same = [(code, other[place][1]) for code, other in places.items() if code != marks.paper and place in other]
        others = tuple(sorted(code for code, other in same if _fits(read, other, keys[code])))
        if others:
            found.append(Stray(marks.paper, marks.candidate, mark.number, mark.item, mark.answer, others, len(same)))
    return found


_Asked = Numeric | Reading | NumericPart


def _numbers(key: Key) -> dict[Place, tuple[str, _Asked]]:
    """Every number a paper asks for, by item and part."""
    return {
        (question.item, part): (question.number + part, asked) for question in key.questions for part, asked in _parts(question)
    }


def _parts(question: AnyQuestion) -> list[tuple[str, _Asked]]:
    if isinstance(question, Case):
        return [(part.part, part) for part in question.parts if isinstance(part, NumericPart)]
    return [("", question)] if isinstance(question, Numeric | Reading) else []


def _fits(read: ReadNumber, other: _Asked, key: Key) -> bool:
    entry = key.units[other.answer.unit]
    return read.entry.kind == entry.kind and inside(read.within(entry), other.answer)
