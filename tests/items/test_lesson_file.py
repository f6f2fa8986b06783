"""A lesson's head, its anchors, its blocks and its numbers."""

from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.base.findings import Finding
from grader.items.lesson_file import read_inline, read_lesson, read_pairs, read_worked
from grader.items.model import Fence, Lesson

HEAD = "---\ntitle: The tank\ncircuit: tank\norder: 1\nobjectives:\n  tank.1: {level: C, says: Volume}\n---\n"


def read(text: str) -> tuple[Lesson | None, list[Finding]]:
    findings: list[Finding] = []
    return read_lesson("lessons/tank.md", text.encode(), findings), findings


def test_what_is_ours_is_found_with_its_line() -> None:
    body = "# The tank\n\n## Volume {#tank.1 .wide}\n[[a b=1 as m]] and [[c d=2 as m]]\n~~~worked\nrelation: x\n\n~~~\n"
    lesson, findings = read(HEAD + body)
    assert lesson is not None
    assert findings == []
    assert dict(lesson.anchors) == {"tank.1": 10}
    assert [(inline.text, inline.line) for inline in lesson.inlines] == [("a b=1 as m", 11), ("c d=2 as m", 11)]
    assert lesson.fences == (Fence("worked", 12, ("relation: x", "")),)
    assert (lesson.body, lesson.body_line) == (body, 8)


def test_code_is_not_read_as_ours() -> None:
    lesson, findings = read(HEAD + "`[[a b=1 as m]]` ``x [[y]] z``\n````text\n```worked\n## A {#a}\n[[b]]\n```\n````\n")
    assert lesson is not None
    assert (findings, lesson.inlines, lesson.fences, dict(lesson.anchors)) == ([], (), (), {})


def test_a_page_may_teach_no_circuit() -> None:
    lesson, findings = read("---\ntitle: Safety\norder: 0\n---\nMind the step.\n")
    assert lesson is not None
    assert (lesson.circuit, lesson.objectives, findings) == ("", (), [])


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "# The tank",
            "1: the lesson has no head; start the file with a line `---`, the lesson's fields, and another line `---` [no-head]",
        ),
        (
            "---\ntitle: x\n",
            "1: the lesson has no head; start the file with a line `---`, the lesson's fields, and another line `---` [no-head]",
        ),
        (HEAD.replace("order: 1", "order: 1st"), "4: `1st` is not a whole number; write it as `3` [bad-number]"),
        (HEAD.replace("level: C", "level: X"), "6: `X` is not one of R, E, C, D, P; write one of R, E, C, D, P [unknown-word]"),
        (HEAD + "## A {#a}\n## B {#a}", "9: the anchor a stands already on line 8; give the heading another [repeated-anchor]"),
        (HEAD + "```worked\nD: 1 m", "8: the block `worked` is not closed; write a line ``` at its end [open-fence]"),
        (
            HEAD.replace("circuit: tank\n", ""),
            "2: the lesson names objectives and no circuit; write both, or neither on a page that teaches none [missing-field]",
        ),
    ],
)
def test_a_fault_stands_on_its_line(text: str, line: str) -> None:
    _, findings = read(text)
    assert [str(finding) for finding in findings] == [f"lessons/tank.md:{line}"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a",
        "a as m",
        "a b=1",
        "a b=1 as zz",
        "a b=1 m, b=2 m as m",
        "a b as m",
        "a 1=2 as m",
        "a b=x as m",
        "a b=1 as m to 0 figures",
    ],
)
def test_a_number_to_compute_that_is_not_written_so_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        read_inline(text)


@pytest.mark.parametrize(
    "rows",
    [
        ("unit: mm",),
        ("relation: a",),
        ("relation: a", "unit: mm", "D 1 mm"),
        ("relation: a", "unit: mm", "unit: mm"),
        ("relation: a", "unit: mm", "D: 1 furlong"),
        ("relation: a", "unit: mm", "figures: 12"),
        ("relation: a", "unit: mm", "D.x: 1 mm"),
    ],
)
def test_a_worked_example_that_is_not_written_so_is_refused(rows: tuple[str, ...]) -> None:
    with pytest.raises(UseError):
        read_worked(Fence("worked", 1, rows))


def test_a_caption_may_hold_a_colon() -> None:
    assert read_pairs(Fence("figure", 1, ("name: tank", "caption: Left: empty."))) == {"name": "tank", "caption": "Left: empty."}


@pytest.mark.parametrize("letter", ["\x00", "\x02", "\x0c", "\x1b", "\u202e", "\u2028", "\ufeff"])
def test_a_letter_that_cannot_be_seen_is_told_wherever_it_stands(letter: str) -> None:
    findings: list[Finding] = []
    head = b"---\ntitle: Safety\norder: 1\n---\n"
    read_lesson("lessons/safety.md", head + f"Air.\nGas{letter}oline.\n```relation\na{letter}\n```\n".encode(), findings)
    assert [(finding.line, finding.code) for finding in findings] == [(6, "unseen-letter"), (8, "unseen-letter")]


def test_soft_hyphens_joiners_and_no_break_spaces_may_stand() -> None:
    findings: list[Finding] = []
    text = "---\ntitle: Safety\norder: 1\n---\nCarbu\u00adretor 5\u202fin\u00a0x می\u200cروم\tx\n"
    assert read_lesson("lessons/safety.md", text.encode(), findings) is not None
    assert findings == []
