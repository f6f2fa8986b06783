"""`grader mark` from the command line."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from grader.base.canon import digest
from grader.base.codes import LETTERS, check_character
from grader.marking.key import Key, unit_entries
from grader.register.records import Paper, Sitting
from grader.register.store import Register

PAYLOAD = next(f"TRY00000{letter}" for letter in LETTERS if check_character(f"TRY00000{letter}") in LETTERS)
CODE = PAYLOAD + check_character(PAYLOAD)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with a register of one sitting with one candidate, and their answer file."""
    question = {
        "kind": "choice", "item": "power-why", "objective": "power.1", "circuit": "power", "points": "1", "stem": "?",
        "number": "1", "options": [{"letter": "a", "text": "x"}, {"letter": "b", "text": "y"}],
        "right": "b",
    }  # fmt: skip
    head = {"form": "grader-key-1", "sitting": "spring-1", "paper": CODE, "candidate": "c-01", "blueprint": "b", "bank": "0" * 64}
    rest = {"nonce": "1" * 64, "units": msgspec.to_builtins(unit_entries()), "questions": [question]}
    key = msgspec.convert(head | rest, Key)
    school = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"}
    with Register(tmp_path / "register.sqlite") as register:
        paper = Paper(CODE, "spring-1", "c-01", "M. Okoye", digest(key.encoded()))
        sitting = Sitting("spring-1", {}, "0" * 64, bytes(32), "2031-05-12", "Course", school)
        register.hold_sitting(sitting, [(paper, key.encoded())])
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "c-01.json").write_text(json.dumps({"paper": CODE, "candidate": "c-01", "answers": {"1": "B)"}}), "utf-8")
    return tmp_path


def grader(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "grader", "mark", *words]
    return subprocess.run(command, cwd=home, capture_output=True, text=True, check=False)


def test_a_good_pile_ends_with_0(home: Path) -> None:
    done = grader(home, "spring-1", "in")
    assert (done.returncode, done.stdout) == (0, "1 file: 1 paper marked, 0 files marked before, 0 files set aside\n")
    assert done.stderr == "[1/1] in/c-01.json: 1 of 1\n"
    again = grader(home, "spring-1", "in/c-01.json")
    assert (again.returncode, again.stdout) == (0, "1 file: 0 papers marked, 1 file marked before, 0 files set aside\n")


def test_a_file_set_aside_ends_with_1_and_its_reason_on_stderr(home: Path) -> None:
    (home / "in" / "x.json").write_text("{", "utf-8")
    done = grader(home, "spring-1", "in")
    assert done.returncode == 1
    assert "in/x.json:1: not JSON" in done.stderr
    assert done.stdout == "2 files: 1 paper marked, 0 files marked before, 1 file set aside\n"
    assert "Traceback" not in done.stderr


def test_json_says_what_was_marked_and_set_aside(home: Path) -> None:
    (home / "in" / "x.json").write_text("{", "utf-8")
    done = grader(home, "spring-1", "in", "--json")
    said = json.loads(done.stdout)
    assert (said["sitting"], said["files"], said["passed_over"]) == ("spring-1", 2, 0)
    assert said["marked"][0]["marks"][0]["verdict"] == "right"
    assert [(a["file"], a["line"], a["code"]) for a in said["asides"]] == [("in/x.json", 1, "not-json")]


def test_second_answers_count_under_a_reason(home: Path) -> None:
    grader(home, "spring-1", "in")
    second = home / "second.json"
    second.write_text(json.dumps({"paper": CODE, "candidate": "c-01", "answers": {"1": "a"}}), "utf-8")
    words = ["spring-1", "second.json", "--again", "c-01", "--reason", "the first was a draft"]
    done = grader(home, *words, "--by", "T. Examiner")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "c-01: 0 of 1 counts now; decide again: grader decide spring-1\n"
    with Register(home / "register.sqlite") as register:
        assert [(m.reason, m.person) for m in register.markings(CODE)][1:] == [("the first was a draft", "T. Examiner")]
    said = grader(home, *words, "--json")
    assert json.loads(said.stdout)["marked"][0]["mark"] == "0"
    assert said.stderr.startswith("marked again by ")
    assert said.stderr.endswith(" (name yourself with --by)\n")


@pytest.mark.parametrize(
    "words",
    [
        ("winter", "in"), ("spring-1",), ("spring-1", "in", "--in", "nowhere"), ("spring-1", "in", "none.json"),
        ("spring-1", "empty"), ("spring-1", "in", "--again", "c-01"), ("spring-1", "in", "--reason", "why"),
        ("spring-1", "in", "--cluster", "pigeon://127.0.0.1:1"),
        ("spring-1", "in", "--again", "c-01", "--reason", "why", "--cluster", "tcp://127.0.0.1:1"),
    ],
)  # fmt: skip
def test_wrong_use_ends_with_2(home: Path, words: tuple[str, ...]) -> None:
    (home / "empty").mkdir()
    done = grader(home, *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_without_a_register_is_told_so(home: Path) -> None:
    done = grader(home, "spring-1", "c-01.json", "--in", "in")
    assert done.returncode == 2
    assert "there is no register" in done.stderr
    assert not (home / "in" / "register.sqlite").exists()


def test_help_has_an_example(home: Path) -> None:
    assert "grader mark spring-1 handed-in/" in grader(home, "--help").stdout
