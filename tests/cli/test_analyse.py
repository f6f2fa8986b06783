"""`grader analyse`."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

MARKS = "who,a,b,c,d\n1,1,1,1,0\n2,1,1,0,1\n3,1,0,0,0\n4,0,0,0,1\n5,1,1,1,1\n6,0,1,0,0\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "marks.csv"
    path.write_text(MARKS)
    return path


def test_a_table_is_printed_with_what_its_figures_rest_on(told: Callable[..., tuple[int, str, str]], table: Path) -> None:
    status, shown, said = told("analyse", table)
    assert (status, said) == (0, "")
    assert shown.splitlines()[1].split()[:3] == ["a", "6", "0.67"]
    assert "6 people: intervals are wide" in shown


def test_json_has_the_same_figures(told: Callable[..., tuple[int, str, str]], table: Path) -> None:
    status, shown, _ = told("analyse", table, "--json")
    found = json.loads(shown)
    assert status == 0
    assert [question["facility"] for question in found["questions"]] == pytest.approx([4 / 6, 4 / 6, 2 / 6, 3 / 6])
    assert sum(question["difficulty"] for question in found["questions"]) == pytest.approx(0, abs=1e-9)


def test_what_is_wrong_with_a_table_is_told_by_line(told: Callable[..., tuple[int, str, str]], table: Path) -> None:
    table.write_text(MARKS.replace("3,1,0,0,0", "3,1,x,0,0"))
    status, shown, said = told("analyse", table)
    assert (status, shown) == (1, "")
    assert f"{table}:4: `x` is no number" in said
    assert told("analyse", table.parent / "none.csv")[0] == 2
