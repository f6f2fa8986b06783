"""`grader agree`."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.stats.test_agreement import FOURTEEN, WINES

Told = Callable[..., tuple[int, str, str]]


def test_words_are_names_and_two_assessors_have_a_kappa(told: Told, tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_text("who,A,B\n1,done,done\n2,not done,done\n3,done,done\n4,not done,not done\n")
    status, shown, said = told("agree", path)
    assert (status, said) == (0, "")
    assert "all alike: 75 %" in shown
    assert "kappa 0.500, 95 % from" in shown
    assert told("agree", path, "--grades", "ranks")[0] == 2
    assert told("agree", path, "--apart", "linear")[0] == 2


def test_many_assessors_have_the_published_kappa(told: Told, tmp_path: Path) -> None:
    rows = [[str(grade) for grade, times in enumerate(counts) for _ in range(times)] for counts in FOURTEEN]
    path = tmp_path / "fourteen.csv"
    path.write_text(
        "who," + ",".join(f"A{n}" for n in range(14)) + "\n" + "".join(f"{n},{','.join(r)}\n" for n, r in enumerate(rows))
    )
    found = json.loads(told("agree", path, "--json")[1])
    assert found["many"] == pytest.approx(0.2099307, abs=5e-8)  # published 0.210
    assert found["two"] is None


def test_scores_have_their_correlations(told: Told, tmp_path: Path) -> None:
    path = tmp_path / "wines.csv"
    path.write_text("wine;A;B;C;D\n" + "".join(f"{n};{';'.join(map(str, row))}\n" for n, row in enumerate(WINES)))
    status, shown, _ = told("agree", path, "--grades", "numbers")
    assert status == 0
    assert "intraclass correlation of one assessor's score 0.728" in shown  # pingouin 0.7.0


def test_whoever_reads_it_is_told_what_to_do_and_on_whom_they_differ(told: Told, tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_text("who,A,B\n1,done,done\n2,not done,done\n3,done,done\n4,not done,not done\n")
    shown = told("agree", path)[1]
    assert "they differ on 1: 2" in shown
    assert "What to do: let all of them watch the same person" in shown  # kappa 0.5
    path.write_text("who,A,B\n1,done,done\n2,not done,not done\n")
    shown = told("agree", path)[1]
    assert "What to do: nothing" in shown
    assert "they differ" not in shown
