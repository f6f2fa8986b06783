from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from grader.base import files
from grader.base.errors import UseError
from grader.cli import group
from grader.papers import quiz
from tests.cli.conftest import Told

pytestmark = pytest.mark.paper
COURSE = Path(__file__).parents[1] / "register" / "course"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A course that has practice alone: an exam bank need not be there, let alone be opened."""
    there = tmp_path / "course"
    shutil.copytree(COURSE, there)
    shutil.move(there / "questions" / "exam" / "pump.yaml", there / "questions" / "practice" / "pump.yaml")
    shutil.rmtree(there / "questions" / "exam")
    shutil.rmtree(there / "questions" / "blueprints")
    return there


def test_one_line_makes_papers_and_keys(tmp_path: Path, course: Path, told: Callable[..., Told]) -> None:
    home = tmp_path / "quiz"
    status, out, err = told(
        "quiz", "pump", "--copies", 2, "--word", "brass", "--course", course, "--output", home, "--date", "2031-05-12"
    )
    assert (status, err) == (0, "")
    assert out.splitlines() == [
        "The pump circuit: 8 questions, 2 copies",
        f"to hand out: {home}/*-paper.pdf",
        f"to keep: {home}/*-key.pdf (the code on a paper says which key is its own), {home}/key.html",
        "the same again: grader quiz pump --items 8 --copies 2 --word brass",
    ]
    names = sorted(path.name for path in home.iterdir())
    assert len({name.partition("-")[0] for name in names[:-1]}) == 2
    assert [name.partition("-")[2] for name in names] == ["key.pdf", "paper.pdf", "key.pdf", "paper.pdf", ""]
    assert names[-1] == "key.html"
    before = {path: path.read_bytes() for path in home.iterdir()}
    status, _, err = told("quiz", "pump", "--course", course, "--output", home)
    assert (status, err) == (2, f"grader: {home} holds a quiz already; name another folder with --output\n")
    assert {path: path.read_bytes() for path in home.iterdir()} == before


def test_its_folder_is_named_after_it(
    tmp_path: Path, course: Path, told: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert told("quiz", "pump.1", "pump.3", "--items", 1, "--course", course)[0] == 0
    assert (tmp_path / "quiz-pump.1-pump.3" / "key.html").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "grader: say what the quiz is about: grader quiz pump, grader quiz idle.2 idle.3, or grader quiz all\n"),
        (["pmup"], "grader: there is no objective or circuit 'pmup'; did you mean 'pump'?\n"),
        (["pump", "--date", "someday"], "grader: 'someday' is no day; write it as "),
    ],
)
def test_wrong_use_is_one_sentence_and_makes_nothing(
    tmp_path: Path, course: Path, told: Callable[..., Told], words: list[str], said: str
) -> None:
    status, out, err = told("quiz", *words, "--course", course, "--output", tmp_path / "quiz")
    assert (status, out) == (2, "")
    assert err.startswith(said)
    assert not (tmp_path / "quiz").exists()


def test_copies_that_are_alike_are_told(
    tmp_path: Path, course: Path, told: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(quiz, "paper_code", lambda *_: "7M2KQ8D4XT")  # so every copy is drawn alike
    status, _, err = told("quiz", "pump", "--copies", 2, "--course", course, "--output", tmp_path / "quiz")
    assert (status, err) == (
        0,
        "1 of the copies equal another: these questions have no more variants; take more or other questions\n",
    )


def test_the_help_shows_how() -> None:
    out = CliRunner().invoke(group, ["quiz", "--help"]).output
    for words in ("grader quiz pump ", "grader quiz all --copies 12", "never from an", "[default: 1"):
        assert words in out


def test_a_disk_that_fills_up_leaves_no_half_of_a_quiz(
    tmp_path: Path, course: Path, told: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, data: bytes | str) -> None:
        if path.name == "key.html":  # the last one
            raise UseError(f"{path}: cannot be written (No space left on device)")
        write(path, data)

    write = files.write_atomic
    monkeypatch.setattr(files, "write_atomic", full)
    words = ("quiz", "pump", "--items", 1, "--course", course, "--output", tmp_path / "quiz")
    assert told(*words)[0] == 2
    assert [*(tmp_path / "quiz").iterdir()] == []
    monkeypatch.setattr(files, "write_atomic", write)
    assert told(*words)[0] == 0
