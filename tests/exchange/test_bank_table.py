"""Questions as a table, there and back."""

from __future__ import annotations

from pathlib import Path

import pytest

from grader.base.errors import FindingsError
from grader.exchange.bank_table import bank_csv, drafts_of
from grader.items.course import load_course
from grader.items.variants import draw_question
from grader.marking.key import Choice

ROOT = Path(__file__).parent.parent.parent


def test_what_goes_out_comes_back_the_same_and_what_does_not_is_said() -> None:
    course = load_course(ROOT)
    questions = [draw_question(item, b"demo", "1", course.figures) for item in course.practice if item.circuit == "float"]
    text, lost = bank_csv(questions)
    drafts = {draft.name: draft for draft in drafts_of("q.csv", text.encode())}
    for question in questions:
        draft = drafts.get(question.item)
        if draft is None:
            assert any(line.startswith(f"{question.item}: ") for line in lost)
            continue
        assert draft.stem.split() == question.stem.split()
        if isinstance(question, Choice):
            texts = {option.letter: option.text for option in question.options}
            assert draft.options[0] == texts[question.right]
            assert set(draft.options) == set(texts.values())
        else:
            answer = question.answer  # type: ignore[union-attr]
            assert (draft.value, draft.unit) == (answer.value, answer.unit)
            assert answer.within in (draft.within, f"{draft.within} {draft.unit}")


def test_every_row_that_cannot_be_a_question_is_told_at_once() -> None:
    rows = [
        "stem,right,wrong 1,value,unit,within", ",up,down,,,", "Which?,up,,,,", "Which?,up,UP,,,", "Which?,up,down,1,mm,1",
        "How?,,,x,mm,", "How?,,,1,furlongs,1", "How?,,,1,mm,1 kg",
    ]  # fmt: skip
    with pytest.raises(FindingsError) as told:
        drafts_of("q.csv", "\n".join(rows).encode())
    assert [(finding.line, finding.code) for finding in told.value.findings] == [
        (2, "empty-stem"), (3, "options-alike"), (4, "options-alike"), (5, "no-answer"),
        (6, "not-read"), (7, "not-read"), (8, "other-unit"),
    ]  # fmt: skip


def test_columns_that_are_none_are_told() -> None:
    with pytest.raises(FindingsError) as told:
        drafts_of("q.csv", b"question,right\nWhich?,up\n")
    assert [finding.code for finding in told.value.findings] == ["missing-column", "unknown-column"]
