"""What is said of the questions of any table."""

from __future__ import annotations

import numpy as np
import pytest

from grader.base.errors import FindingsError
from grader.reports.item_table import analyse
from grader.reports.number_table import NumberTable, numbers_of
from tests.stats.test_classical import LSAT6


def table(marks: object, names: str = "") -> NumberTable:
    numbers = np.asarray(marks, dtype=np.float64)
    columns = tuple(names or "abcdefghij"[: numbers.shape[1]])
    people = tuple(f"p{place}" for place in range(len(numbers)))
    return NumberTable("t.csv", people, columns, tuple(range(2, len(numbers) + 2)), numbers)


def test_the_law_school_test_is_analysed_as_published() -> None:
    # Bock & Lieberman 1970 by R's psych 2.2.9 and eRm, as in tests/stats
    found = analyse(table(LSAT6))
    assert [q.facility for q in found.questions] == pytest.approx([0.924, 0.709, 0.553, 0.763, 0.870], abs=1e-12)
    assert [q.discrimination for q in found.questions] == pytest.approx([0.1128, 0.1532, 0.1728, 0.1444, 0.1216], abs=5e-5)
    assert [q.difficulty for q in found.questions] == pytest.approx([-1.25613, 0.47491, 1.23598, 0.16841, -0.62317], abs=5e-5)
    assert [q.infit for q in found.questions] == pytest.approx([0.8277, 0.9680, 0.9728, 0.9541, 0.8953], abs=1e-3)
    assert (found.alpha, found.error) == pytest.approx((0.2949972, 0.8690666), abs=5e-8)
    assert found.people == 1000
    assert [q.alpha_without for q in found.questions] == pytest.approx([0.2754, 0.2376, 0.2168, 0.2459, 0.2663], abs=5e-5)
    # derived: 5 times 0.8 times 0.705 over 0.295 times 0.2
    assert found.notes == ("about 48 questions of this kind would bring alpha to 0.8",)


def test_greatest_marks_come_from_their_row_and_gaps_are_people_who_did_not_have_it() -> None:
    found = analyse(numbers_of("t.csv", b"who,a,b\nout of,4,1\n1,4,1\n2,2,\n3,0,0\n"))
    assert [(q.people, q.facility) for q in found.questions] == [(3, 0.5), (2, 0.5)]
    assert found.questions[0].full.share == pytest.approx(1 / 3)  # 2 of 4 is not full
    assert any("2 of 3 who had every question" in note for note in found.notes)


def test_a_small_class_gets_no_verdict_and_is_told_why() -> None:
    backwards = [[0, 1, 1, 1]] * 6 + [[1, 0, 0, 1]] * 6
    found = analyse(table(backwards))
    assert all(q.look == () for q in found.questions)
    assert found.questions[0].discrimination == pytest.approx(-1)
    assert "12 people" in found.notes[0]


def test_in_a_small_class_a_question_that_nobody_has_is_named_to_be_worked_by_hand() -> None:
    found = analyse(table([[1, 0], [0, 0], [1, 0]]))
    assert [len(q.look) for q in found.questions] == [0, 1]
    assert "none of the 3" in found.questions[1].look[0]
    assert analyse(table([[1, 0], [0, 0]])).questions[1].look == ()


def test_with_thirty_people_what_to_look_at_is_said_in_words() -> None:
    backwards = [[0, 1, 1, 1]] * 40 + [[1, 0, 0, 1]] * 40
    found = analyse(table(backwards))
    assert "is the key right" in found.questions[0].look[0]
    assert found.questions[3].look == ("nearly everybody has it: it tells little",)
    assert any("no difficulty for d" in note for note in found.notes)


def test_marks_that_cannot_be_are_told_with_their_lines() -> None:
    with pytest.raises(FindingsError) as told:
        analyse(numbers_of("t.csv", b"who,a,b\nout of,4,0\n1,5,0\n2,-1,0\n"))
    assert [(f.line, f.code) for f in told.value.findings] == [(0, "no-greatest-mark"), (3, "mark-outside"), (4, "mark-outside")]
    with pytest.raises(FindingsError) as told:
        analyse(numbers_of("t.csv", b"who,a,b\n1,60,1\n2,70,0\n"))
    assert [(f.line, f.code) for f in told.value.findings] == [(2, "mark-outside")]  # once a question is enough
    assert "out of" in told.value.findings[0].mend


def test_one_person_or_one_question_is_no_crash() -> None:
    for marks in ([[1, 0]], [[1], [0]], [[1, 1], [1, 1]]):
        found = analyse(table(marks))
        assert found.alpha is None
        assert all(q.difficulty is None for q in found.questions)
        assert any("no scale" in note for note in found.notes)
