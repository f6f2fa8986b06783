"""Ways to write an answer, by hand, with the reading each must have: `written_answers.yaml`."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction

import pytest

from grader.marking.key import unit_entries
from grader.marking.numbers import ReadNumber, is_blank, read_number
from grader.marking.outcome import sentences
from tests.marking.written_answers import Written, written_answers

UNITS = unit_entries()
ROWS = written_answers()


def reading(row: Written) -> str:
    """How a text is read, in the file's own words."""
    if is_blank(row.text):
        return "blank"
    found = read_number(row.text, UNITS, row.asked)
    if isinstance(found, ReadNumber):
        return f"{found.number} {found.unit}"
    reasons = {name: sentence for name, sentence in sentences().items() if name.startswith("unreadable-")}
    return next(name for name, sentence in reasons.items() if _said(sentence).fullmatch(found.reason))


def _said(sentence: str) -> re.Pattern[str]:
    return re.compile(re.sub(r"\\{[a-z]+\\}", "(?:.|\n)*", re.escape(sentence)))


def expected(row: Written) -> str:
    number, space, unit = row.reading.partition(" ")
    return f"{Fraction(number)} {unit}" if space else row.reading


@pytest.mark.parametrize("topic", dict.fromkeys(row.topic for row in ROWS))
def test_what_was_written_is_read_as_it_was_meant(topic: str) -> None:
    rows = [row for row in ROWS if row.topic == topic]
    assert [(row.text, reading(row)) for row in rows] == [(row.text, expected(row)) for row in rows]


def test_there_are_enough_of_them_and_none_stands_twice() -> None:
    assert len(ROWS) >= 400
    assert max(Counter((row.text, row.asked) for row in ROWS).values()) == 1


def test_every_reason_has_its_example() -> None:
    # those for numbers; the others are for letters and pairs
    reasons = {name for name in sentences() if name.startswith("unreadable-")} - {
        "unreadable-option",
        "unreadable-one",
        "unreadable-match",
    }
    assert reasons == {row.reading for row in ROWS if row.reading.startswith("unreadable-")}
