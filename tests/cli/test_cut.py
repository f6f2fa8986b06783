"""`grader cut`."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

Told = Callable[..., tuple[int, str, str]]
RATINGS = "judge,a,b,c,d,e\nj1,60,70,80,50,90\nj2,55,75,70,45,85\nj3,65,65,85,60,95\nj4,70,80,75,55,80\n"


@pytest.fixture
def ratings(tmp_path: Path) -> Path:
    path = tmp_path / "ratings.csv"
    path.write_text(RATINGS)
    (tmp_path / "results.csv").write_text("candidate,percent\nc-x,\n" + "".join(f"c-{n},{n / 10}\n" for n in range(1001)))
    return path


def test_four_judges_come_to_the_cut_worked_by_hand(told: Told, ratings: Path) -> None:
    status, shown, said = told("cut", ratings, "--marks", "40")
    assert (status, said) == (0, "")
    assert "cut: 3.525 of 5 items, 70.5 %" in shown  # derived, as in tests/stats
    assert "out of 40 marks, 29 is the least that passes" in shown


def test_the_class_can_be_looked_at_too(told: Told, ratings: Path) -> None:
    limits = ("--cut-between", "50", "70", "--failing-between", "10", "80")
    status, shown, _ = told("cut", ratings, "--json", "--results", ratings.parent / "results.csv", *limits)
    found = json.loads(shown)
    assert status == 0
    assert found["cut"] == pytest.approx(3.525)
    assert found["second_look"] == pytest.approx(2.55 / 4.5, abs=1e-3)  # the share failing at c is c
    _, shown, _ = told("cut", ratings, "--results", ratings.parent / "results.csv", "--cut-between", "1", "2", *limits[3:])
    assert "do not meet" in shown


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (RATINGS.replace("45", "145"), "no-rating"),
        (RATINGS.replace("45", ""), "no-rating"),
        ("judge,a,b\nj1,0.5,0.6\nj2,0.7,0.8\n", "shares"),
        ("judge,a,b\nj1,50,60\n", "too-few"),
    ],
)
def test_what_are_no_ratings_is_told(told: Told, ratings: Path, text: str, fault: str) -> None:
    ratings.write_text(text)
    status, shown, said = told("cut", ratings)
    assert (status, shown) == (1, "")
    assert f"[{fault}]" in said


def test_a_second_look_wants_everything_it_needs(told: Told, ratings: Path) -> None:
    assert told("cut", ratings, "--cut-between", "50", "70")[0] == 2
    limits = ("--failing-between", "10", "80")
    status, _, said = told("cut", ratings, "--results", ratings, "--cut-between", "50", "70", *limits)
    assert (status, "no column `percent`" in said) == (2, True)
    results = ratings.parent / "results.csv"
    assert "limits are shares" in told("cut", ratings, "--results", results, "--cut-between", "70", "50", *limits)[2]
    results.write_text("candidate,percent\nc-1,lots\n")
    assert f"{results}:2:" in told("cut", ratings, "--results", results, "--cut-between", "50", "70", *limits)[2]


def test_items_on_which_the_judges_lie_far_apart_are_named_the_widest_first(told: Told, tmp_path: Path) -> None:
    path = tmp_path / "apart.csv"
    path.write_text("judge,a,b,c\nj1,60,70,40\nj2,55,90,80\nj3,60,71,59\n")
    shown = told("cut", path)[1]
    assert "judges 20 or more apart: c (40 to 80), b (70 to 90)" in shown
