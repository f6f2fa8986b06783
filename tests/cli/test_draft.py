"""`grader draft`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

Told = Callable[..., tuple[int, str, str]]


def test_a_table_becomes_a_draft_and_is_never_written_over(told: Told, tmp_path: Path) -> None:
    (tmp_path / "q.csv").write_text("stem,right,wrong 1\nWhich way does the check lift?,up,down\n")
    words = ("draft", tmp_path / "q.csv", "--objective", "pump.3", "--output", tmp_path / "d.yaml")
    status, shown, said = told(*words)
    assert (status, said) == (0, "")
    assert "1 question to finish in questions/practice/pump.yaml; then grader check" in shown
    assert "text: up\n    right: true" in (tmp_path / "d.yaml").read_text()
    status, _, said = told(*words)
    assert (status, "nothing is written over" in said) == (2, True)


def test_nobody_is_led_to_put_the_right_number_into_the_question(told: Told, tmp_path: Path) -> None:
    (tmp_path / "q.csv").write_text("stem,value,unit,within\nHow far does it lift?,3.5,mm,2 %\n")
    assert told("draft", tmp_path / "q.csv", "--objective", "pump.3", "--output", tmp_path / "d.yaml")[0] == 0
    assert "`right_value` is the right answer, not a value to ask with" in (tmp_path / "d.yaml").read_text()


def test_what_cannot_be_taken_over_is_told_and_nothing_is_written(told: Told, tmp_path: Path) -> None:
    (tmp_path / "q.xml").write_text("<qti-assessment-item><qti-item-body><p>Read.</p></qti-item-body></qti-assessment-item>")
    status, _, said = told("draft", tmp_path / "q.xml", "--objective", "pump.3", "--output", tmp_path / "d.yaml")
    assert status == 2
    assert "nothing is asked" in said
    assert not (tmp_path / "d.yaml").exists()
    assert "is no objective" in told("draft", tmp_path / "q.xml", "--objective", "pump", "--output", tmp_path / "d.yaml")[2]
