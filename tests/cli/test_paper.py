from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from grader.cli import group

pytestmark = pytest.mark.paper
COURSE = Path(__file__).parents[1] / "register" / "course"


def run(*words: object) -> Result:
    return CliRunner().invoke(group, ["paper", *map(str, words)], standalone_mode=False)


@pytest.fixture
def roster(tmp_path: Path) -> Path:
    file = tmp_path / "class.csv"
    file.write_text("candidate,name,extra_time\nc-01,Ada Weir,\nc-02,Bo Lind,25 %\n")
    return file


def test_a_sitting_is_held_from_the_command_line(tmp_path: Path, roster: Path) -> None:
    found = run("trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE, "--date", "2031-05-12")
    home = tmp_path / "sittings" / "spring"
    assert found.return_value == 0
    assert found.stdout.splitlines() == [
        f"{home}: 2 papers, 2 sealed and 2 printed now",
        f"papers to print: {home / 'papers'}",
        f"answer sheets to hand out: {home / 'sheets'}",
        f"who has which: {home / 'manifest.csv'}",
    ]
    assert found.stderr == "2 of 2 papers\n"
    assert len(list(home.glob("papers/*.pdf"))) == len(list(home.glob("sheets/*.html"))) == 2


def test_one_paper_is_not_called_papers(tmp_path: Path, roster: Path) -> None:
    roster.write_text("candidate,name\nc-01,Ada Weir\n")
    found = run("trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE)
    assert found.stdout.splitlines()[0].endswith("spring: 1 paper, 1 sealed and 1 printed now")
    assert found.stderr == "1 of 1 paper\n"


def test_a_preview_needs_no_roster_and_leaves_no_register(tmp_path: Path) -> None:
    found = run("trial", "--course", COURSE, "--preview", tmp_path / "look.pdf")
    assert found.return_value == 0
    assert (tmp_path / "look.pdf").read_bytes().startswith(b"%PDF-")
    assert [path.name for path in tmp_path.iterdir()] == ["look.pdf"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["trial"],
            "a sitting needs its candidates and its name; add --roster class.csv --sitting NAME, or look at one with --preview",
        ),
        (["trail"], "no blueprint 'trail' in questions/blueprints; there is: trial"),
        (["trial", "--date", "12 May"], "'12 May' is no day; write it as "),
        (["trial", "--roster", "none.csv", "--sitting", "s"], "none.csv: no such file; check the name"),
    ],
)
def test_wrong_use_is_one_message_and_makes_nothing(tmp_path: Path, words: list[str], said: str) -> None:
    found = run(*words, "--course", COURSE, "--in", tmp_path)
    assert type(found.exception).__name__ == "UseError"
    assert str(found.exception).startswith(said)
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_roster_is_told_line_by_line(tmp_path: Path, roster: Path) -> None:
    roster.write_text("candidate,name\nc-01,Ada\nc-01,Bo\n../x,Cy\n")
    found = run("trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE)
    assert type(found.exception).__name__ == "FindingsError"
    assert [line.rpartition(" ")[2] for line in str(found.exception).splitlines()] == ["[duplicate-candidate]", "[bad-candidate]"]
    assert not (tmp_path / "register.sqlite").exists()


def test_the_help_shows_an_example() -> None:
    found: Any = CliRunner().invoke(group, ["paper", "--help"])
    assert found.exit_code == 0
    assert "grader paper module-main-power-pump --roster class.csv --sitting spring-2031" in found.output
