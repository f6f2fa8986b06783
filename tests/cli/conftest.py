"""A school's folder with a sitting that was marked: two pass, one fails, one handed nothing in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from grader.base.canon import digest
from grader.cli import run
from grader.marking.mark import Mark
from grader.register.records import AnswerFile, Marking, Paper, Sitting
from grader.register.store import Register

SITTING = Sitting(
    name="spring",
    blueprint={
        "id": "module-pump",
        "title": "Pump circuit",
        "pass": {"cut": "60 %"},
        "certificate": {"name": "Pump circuit", "description": "Sets the pump.", "criteria": "A paper.", "valid": "3 years"},
    },
    bank="b" * 64,
    secret=bytes(32),
    held="2026-05-12",
    course="Carburetor service",
    school={"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"},
)
CLASS = {"c-01": "6", "c-02": "10", "c-03": "5.9", "c-04": None}
Told = tuple[int, str, str]


@pytest.fixture
def school(tmp_path: Path) -> Path:
    with Register(tmp_path / "register.sqlite") as register:
        papers = {
            candidate: Paper(f"P{candidate}", "spring", candidate, f"Name {candidate}", digest(b"key")) for candidate in CLASS
        }
        register.hold_sitting(SITTING, [(paper, b"key") for paper in papers.values()])
        for candidate, mark in CLASS.items():
            if mark is None:
                continue
            file = AnswerFile("spring", f"{candidate}.json", candidate.encode(), "2026-05-12T09:30:00Z")
            marks = (Mark("1", "pump-shot", "pump.1", "pump", "", "", mark, "10", "part"),)
            register.keep_answer_file(file, [Marking("spring", f"P{candidate}", candidate, file.digest, file.when, marks)])
    return tmp_path


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., Told]:
    """Runs a command as a person would: its exit status, what it printed, what it said to stderr."""

    def command(*words: object) -> Told:
        capsys.readouterr()
        status = run([str(word) for word in words])
        shown = capsys.readouterr()
        return status, shown.out, shown.err

    return command
