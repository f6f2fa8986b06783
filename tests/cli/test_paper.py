from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from grader.base.locks import Cost, Lock
from grader.cli import group
from grader.register.store import Register

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
    assert found.stdout.splitlines()[:4] == [
        f"{home}: 2 papers, 2 sealed and 2 printed now",
        f"papers to print: {home / 'papers'}",
        f"answer sheets to hand out: {home / 'sheets'}",
        f"who has which: {home / 'manifest.csv'}",
    ]
    assert [line.partition(":")[0] for line in found.stdout.splitlines()[4:]] == [
        "predicted",
        "neighbours",
        "items",
        "right letters",
    ]
    assert found.stderr == "2 of 2 papers\n"
    assert len(list(home.glob("papers/*.pdf"))) == len(list(home.glob("sheets/*.html"))) == 2


def test_a_sitting_can_be_told_as_json(tmp_path: Path, roster: Path) -> None:
    words = ("trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE, "--json")
    found = json.loads(run(*words).stdout)
    assert [paper["candidate"] for paper in found["papers"]] == ["c-01", "c-02"]
    assert (found["sealed"], found["printed"], found["locked"]) == (2, 2, False)
    assert found["likeness"]["papers"] == 2
    assert found["likeness"]["marks"]["least"] == found["likeness"]["marks"]["most"]
    assert json.loads(run(*words).stdout)["likeness"] is None  # nothing had to be opened


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
        (["trail"], "no blueprint 'trail' in questions/blueprints; did you mean 'trial'?"),
        (["no such"], "no blueprint 'no such' in questions/blueprints; there is: trial"),
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


def test_keys_are_locked_with_the_passphrase_of_a_file_and_opened_with_it_alone(
    tmp_path: Path, roster: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("grader.register.store.new_lock", lambda: Lock(os.urandom(16), Cost(n=2)))  # one that costs nothing
    words, wrong = tmp_path / "words", tmp_path / "wrong"
    words.write_text("four old brass jets\n")
    wrong.write_text("three old brass jets\n")
    here = ["trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE, "--by", "T. Examiner"]
    held = run(*here, "--lock", "--passphrase-file", words)
    assert held.return_value == 0
    assert held.stdout.splitlines()[-1] == "keys: locked; whatever opens them asks for the passphrase"
    home = tmp_path / "sittings" / "spring"
    for paper in home.glob("papers/*.pdf"):
        paper.unlink()
    refused = run(*here, "--passphrase-file", wrong)
    assert str(refused.exception) == "this is not the passphrase that locks the keys of sitting 'spring'; nothing was opened"
    assert [*home.glob("papers/*.pdf")] == []
    again = CliRunner().invoke(
        group, ["paper", *map(str, here)], standalone_mode=False, env={"GRADER_KEYS_PASSPHRASE_FILE": str(words)}
    )
    assert again.return_value == 0
    assert len([*home.glob("papers/*.pdf")]) == 2
    with Register(tmp_path / "register.sqlite") as register:
        assert [(one.who, one.purpose) for one in register.openings("spring")] == [("T. Examiner", "to print the rest")]
    assert b"brass" not in b"".join(file.read_bytes() for file in tmp_path.glob("register.sqlite*"))


def test_a_name_that_is_printed_in_part_is_told_and_needs_a_person(tmp_path: Path, roster: Path) -> None:
    roster.write_text("candidate,name\nc-01,Ada\nc-02,李 Ming\n", encoding="utf-8")
    found = run("trial", "--roster", roster, "--sitting", "spring", "--in", tmp_path, "--course", COURSE)
    assert found.return_value == 1
    assert f"{roster}:3: warning: no font has '李' of c-02, '李 Ming'; \ufffd is printed there" in found.stderr
    assert len(list((tmp_path / "sittings" / "spring" / "papers").glob("*.pdf"))) == 2
