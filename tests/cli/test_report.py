"""`grader report` from the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from grader.base.canon import digest
from grader.base.codes import paper_code
from grader.marking.key import Key, unit_entries
from grader.register.records import Paper, Sitting
from grader.register.store import Register

Tell = Callable[..., tuple[int, str, str]]
COURSE = Path(__file__).parents[1] / "register" / "course"


@pytest.fixture
def sat(tmp_path: Path, told: Tell) -> Path:
    """A folder with a sitting of one candidate, marked."""
    code = paper_code(bytes(32), "spring", "c-01")
    options = [{"letter": letter, "text": letter * 3} for letter in "ab"]
    about = {"item": "power-why", "objective": "power.1", "circuit": "power", "points": "1", "stem": "?", "number": "1"}
    question = about | {"kind": "choice", "options": options, "right": "b"}
    head = {"form": "grader-key-1", "sitting": "spring", "paper": code, "candidate": "c-01", "blueprint": "b", "bank": "0" * 64}
    rest = {"nonce": "1" * 64, "units": msgspec.to_builtins(unit_entries()), "questions": [question]}
    key = msgspec.convert(head | rest, Key)
    school = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"}
    plan = {"id": "module", "title": "Module", "pass": {"cut": "60 %"}}
    with Register(tmp_path / "register.sqlite") as register:
        paper = Paper(code, "spring", "c-01", "M. Okoye", digest(key.encoded()))
        register.hold_sitting(
            Sitting("spring", plan, "0" * 64, bytes(32), "2031-05-12", "Course", school), [(paper, key.encoded())]
        )
    (tmp_path / "c-01.json").write_text(json.dumps({"paper": code, "candidate": "c-01", "answers": {"1": "b"}}), "utf-8")
    assert told("mark", "spring", tmp_path / "c-01.json", "--in", tmp_path)[0] == 0
    return tmp_path


def test_it_says_where_the_reports_are(sat: Path, told: Tell) -> None:
    status, out, _ = told("report", "spring", "--in", sat, "--course", COURSE, "--by", "T. Examiner")
    results = sat / "sittings" / "spring" / "results"
    assert status == 0
    assert out.splitlines()[0] == f"look first: {results}/report.html"
    assert out.splitlines()[-1] == f"feedback: 1 page in {results}/feedback"


def test_feedback_is_set_as_pdf_too_where_wanted(sat: Path, told: Tell) -> None:
    status, out, _ = told("report", "spring", "--in", sat, "--course", COURSE, "--by", "T. Examiner", "--pdf")
    feedback = sat / "sittings" / "spring" / "results" / "feedback"
    assert status == 0
    assert out.splitlines()[-1] == f"feedback: 1 page in {feedback}, each as PDF too"
    assert {page.stem for page in feedback.glob("*.pdf")} == {page.stem for page in feedback.glob("*.html")}


def test_a_course_that_is_named_and_is_none_is_wrong_use(sat: Path, told: Tell) -> None:
    status, out, err = told("report", "spring", "--in", sat, "--course", sat)
    assert (status, out) == (2, "")
    assert err == f"grader: {sat} is not a course; name a folder that has `lessons` and `questions` in it\n"
    assert not (sat / "sittings" / "spring" / "results").exists()


def test_without_a_course_here_the_ids_stand_in_for_the_words(sat: Path, told: Tell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(sat)
    status, _, err = told("report", "spring")
    assert status == 0
    assert "the reports show the objectives' ids instead of their words" in err
