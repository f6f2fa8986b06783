"""`grader correct`, `grader award`, `grader register` and assessors' files, from the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from grader.register.store import Register
from tests.register.bench_sitting import CODES, DONE, assess, held, letter_of, right, write

Told = tuple[int, str, str]


@pytest.fixture
def school(tmp_path: Path, told: Callable[..., Told]) -> Path:
    """c-01 all right, c-02 took the other option and wrote what cannot be read; marked and decided."""
    folder = tmp_path / "in"
    folder.mkdir()
    held(tmp_path / "register.sqlite").close()
    write(folder, "c-01", right("c-01"))
    write(folder, "c-02", right("c-02", q1="three or so", q2=letter_of("c-02", "the large one")))
    assert told("mark", "spring", folder, "--in", tmp_path)[0] == 0
    assert told("decide", "spring", "--in", tmp_path, "--by", "T. Examiner")[0] == 0
    return tmp_path


def corrections(school: Path, text: str = "- {item: pump-why, accept: the large one}\n") -> Path:
    file = school / "corrections.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_key_is_corrected_and_what_changes_is_listed(school: Path, told: Callable[..., Told]) -> None:
    words = ("correct", "spring", corrections(school), "--reason", "two are right", "--in", school, "--by", "T. Examiner")
    status, out, err = told(*words, "--trial")
    assert (status, out.splitlines()[0]) == (0, "c-02  4 of 6 -> 5 of 6")
    assert told(*words[:-2], "--trial")[2] == err  # nobody corrected anything, so nobody is named
    assert err == "2 papers looked at, 1 would be changed; nothing was kept\n"
    status, out, err = told(*words)
    assert status == 1
    assert out.splitlines() == [
        "c-02  4 of 6 -> 5 of 6",
        f"  2    pump-why  0 of 1 -> 1 of 1  wrong -> right  “{letter_of('c-02', 'the large one')}”",
    ]
    assert err.splitlines()[0] == "2 papers looked at, 1 changed"
    assert err.splitlines()[1].startswith("c-02: decided pass on ")
    assert err.splitlines()[1].endswith(", rests on the earlier mark")
    assert err.splitlines()[-1] == "decide again: grader decide spring"


def test_what_is_corrected_is_plain_data_with_json(school: Path, told: Callable[..., Told]) -> None:
    status, out, _ = told("correct", "spring", corrections(school), "--reason", "why", "--in", school, "--json")
    found = json.loads(out)
    assert (status, found["looked_at"], found["trial"]) == (1, 2, False)
    assert [(one["candidate"], one["before"], one["after"]) for one in found["changed"]] == [("c-02", "4 of 6", "5 of 6")]
    assert [one["candidate"] for one in found["resting"]] == ["c-02"]


def test_a_correction_that_does_not_fit_keeps_nothing(school: Path, told: Callable[..., Told]) -> None:
    file = corrections(school, "- {item: pump-what, withdraw: full marks}\n")
    status, out, err = told("correct", "spring", file, "--reason", "why", "--in", school)
    assert (status, out) == (1, "")
    assert err == (f"{file}:1: no paper of the sitting has the item `pump-what`; write it as marks.csv does [unknown-item]\n")
    with Register(school / "register.sqlite") as register:
        assert register.corrections("spring") == ()


def test_a_correction_without_a_reason_is_wrong_use(school: Path, told: Callable[..., Told]) -> None:
    assert told("correct", "spring", corrections(school), "--in", school)[0] == 2
    status, _, err = told("correct", "spring", corrections(school), "--reason", " ", "--in", school)
    assert (status, err) == (2, "grader: a key is corrected for a reason; say it with --reason\n")


def test_a_mark_is_awarded_by_hand(school: Path, told: Callable[..., Told]) -> None:
    words = ("award", "spring", "c-02", "1", "1", "--reason", "reads three", "--in", school, "--by", "T. Examiner")
    status, out, err = told(*words)
    assert (status, out.splitlines()[0]) == (1, "c-02  4 of 6 -> 5 of 6")
    assert "c-02: decided pass on" in err
    status, _, err = told(*words)
    assert (status, err) == (2, "grader: c-02 has 1 of 1 for number 1 already; nothing to award\n")


def test_an_assessors_file_is_taken_in_and_what_is_not_settled_is_told(school: Path, told: Callable[..., Told]) -> None:
    file = assess(school / "in", "c-01", DONE, {"2": "0.3 in"})
    status, out, err = told("mark", "spring", file, "--in", school)
    assert (status, out) == (1, "1 file: 0 papers marked, 1 station taken in, 0 files marked before, 0 files set aside\n")
    assert (
        "c-01 at rod-height: step 2 is ticked done by A. Bench, and the reading '0.3 in' lies outside 7/32 to 9/32 in; "
        "settle it: grader award spring CANDIDATE STATION/STEP done\n"
    ) in err
    status, out, _ = told("award", "spring", "c-01", "rod-height/2", "done", "--reason", "misread", "--in", school)
    assert (status, out) == (0, "c-01  rod-height/2  done\n")
    second = assess(school / "in", "c-01", DONE, {"2": "1/4 in"}, name="second.json")
    assert told("mark", "spring", second, "--in", school)[0] == 1
    status, out, _ = told("mark", "spring", second, "--again", "c-01", "--reason", "typed wrong", "--in", school)
    assert (status, out) == (
        0, "c-01: what A. Bench put down at rod-height counts now; decide again: grader decide spring\n",
    )  # fmt: skip


def test_who_is_not_settled_at_the_bench_is_told_when_it_is_decided(tmp_path: Path, told: Callable[..., Told]) -> None:
    (tmp_path / "in").mkdir()
    held(tmp_path / "register.sqlite", each_station="80 %").close()
    told("mark", "spring", write(tmp_path / "in", "c-01", right("c-01")), "--in", tmp_path)
    status, out, err = told("decide", "spring", "--in", tmp_path, "--by", "T. Examiner")
    assert (status, out.splitlines()[0]) == (1, "c-01  not examined  6 of 6, 100.0 %; rod-height not assessed")
    assert "c-01: the paper is marked, and at the bench rod-height not assessed; mark the assessor's file" in err
    told("mark", "spring", assess(tmp_path / "in", "c-01"), "--in", tmp_path)
    status, out, _ = told("decide", "spring", "--in", tmp_path, "--by", "T. Examiner")
    assert (status, out.splitlines()[0]) == (0, "c-01  pass          6 of 6, 100.0 %")


def test_the_register_says_that_it_is_whole_and_is_copied(school: Path, told: Callable[..., Told]) -> None:
    assert told("register", "check", "--marks", "--in", school) == (0, "", "the register is whole\n")
    status, out, _ = told("register", "backup", school / "copy.sqlite", "--in", school)
    assert (status, out.startswith(f"{school / 'copy.sqlite'}: ")) == (0, True)
    assert told("register", "backup", school / "copy.sqlite", "--in", school)[0] == 2
    (school / "other").mkdir()
    (school / "copy.sqlite").rename(school / "other" / "register.sqlite")
    assert told("register", "check", "--in", school / "other")[0] == 0


def test_a_register_that_is_not_whole_ends_with_1(school: Path, told: Callable[..., Told]) -> None:
    import sqlite3

    database = sqlite3.connect(school / "register.sqlite")
    database.executescript("DROP TRIGGER marks_UPDATE; UPDATE marks SET mark = '9' WHERE number = '1' AND marking = 1")
    database.close()
    status, out, err = told("register", "check", "--in", school)
    assert status == 1
    assert "table marks is not held against UPDATE: its trigger is gone\n" in out
    assert "number 1 has '9' of '1'" in out
    assert err.endswith("violations; restore it from a copy\n")


def test_a_candidates_data_are_taken_out(school: Path, told: Callable[..., Told]) -> None:
    status, out, _ = told("register", "erase", "c-02", "--reason", "asked for it", "--in", school, "--json")
    assert status == 0
    assert json.loads(out)["sittings"] == ["spring"]
    with Register(school / "register.sqlite") as register:
        paper = register.paper(CODES["c-02"])
        assert paper is not None
        assert (paper.name, paper.candidate) == ("", json.loads(out)["pseudonym"])
    assert told("register", "check", "--marks", "--in", school)[0] == 0
    assert told("report", "spring", "--in", school)[0] == 0
    assert told("register", "erase", "c-02", "--reason", "again", "--in", school)[0] == 2
