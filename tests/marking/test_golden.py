"""
A key and answer files that are marked the same for ever, byte for byte.

Nothing in `golden/` is ever made again: a key sealed years ago must give the marks it gave then. Where a test here fails, the
marker has changed what somebody's certificate rests on. What a sentence of our own says may be worded better; so of the reasons
only those are held that stand in the key.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from grader.base.canon import digest
from grader.marking.key import read_key
from grader.marking.mark import Marker
from grader.marking.reading import read_file

GOLDEN = Path(__file__).with_name("golden")
FILES = sorted(path.name for path in GOLDEN.iterdir() if path.name not in ("key.json", "marks.txt"))


def marked(name: str) -> str:
    """What came of a file: a line for each sheet, mark and aside."""
    marker = Marker(read_key((GOLDEN / "key.json").read_bytes()))
    reading = read_file(name, (GOLDEN / name).read_bytes())
    lines = [f"{name}: {len(reading.sheets)} sheets, {len(reading.asides)} set aside"]
    for sheet in reading.sheets:
        marks = marker.mark(sheet.answers)
        lines.append(f"{sheet.line} {sheet.candidate} {marks.mark} of {marks.out_of}, not asked: {' '.join(marks.unasked)}")
        for m in marks.marks:
            told = m.why if m.verdict == "slip" else ""
            said = [m.number, m.item, m.objective, m.circuit, m.answer, m.read, m.mark, m.out_of, m.verdict, told]
            lines.append(json.dumps(said, ensure_ascii=False))
    lines += [f"{aside.line} {aside.code}" for aside in reading.asides]
    return "\n".join([*lines, "", ""])


def test_the_key_is_the_one_that_was_sealed() -> None:
    data = (GOLDEN / "key.json").read_bytes()
    assert digest(data) == "4a3627f8c0bc69a0b2b4b42dda72bc3b0e81baa9be9d3b185270394a4590aab3"
    assert read_key(data).encoded() == data


@pytest.mark.parametrize("name", FILES)
def test_a_file_gets_the_marks_it_always_got(name: str) -> None:
    expected = (GOLDEN / "marks.txt").read_text("utf-8").split("\n\n")
    assert marked(name).strip() in expected


def test_every_verdict_is_among_them() -> None:
    said = (GOLDEN / "marks.txt").read_text("utf-8")
    for verdict in ("right", "followed", "slip", "part", "wrong", "unit", "unreadable", "blank"):
        assert f'"{verdict}", "' in said
