"""`grader check`, as an author meets it."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def grader(*arguments: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "grader", *arguments], capture_output=True, text=True, cwd=cwd, check=False)


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A copy of the course itself, to be spoilt."""
    folder = tmp_path / "course"
    for name in ("lessons", "questions"):
        shutil.copytree(ROOT / name, folder / name)
    return folder


def test_the_course_itself_has_no_error() -> None:
    done = grader("check", "--variants", "40")
    assert (done.returncode, [line for line in done.stdout.splitlines() if "warning:" not in line]) == (0, [])
    assert done.stderr.splitlines()[-1].startswith("0 errors")


def test_a_slip_of_the_pen_gives_file_line_what_and_how_to_mend_it(course: Path) -> None:
    bank = course / "questions" / "practice" / "power.yaml"
    lines = bank.read_text(encoding="utf-8").split("\n")
    number = next(place for place, line in enumerate(lines) if line.strip().startswith("objective: power.1"))
    lines[number] = lines[number].replace("objective", "obective")
    bank.write_text("\n".join(lines), encoding="utf-8")
    done = grader("check", "--variants", "3", cwd=course)
    place = f"questions/practice/power.yaml:{number + 1}"
    finding = f"{place}: `obective` is not a field of an item; did you mean `objective`? [unknown-field]"
    assert done.returncode == 1
    assert finding in done.stdout.splitlines()
    assert "Traceback" not in done.stdout + done.stderr


def test_json_holds_findings_and_counts(course: Path) -> None:
    (course / "questions" / "practice" / "pump.yaml").write_text("- id: pump-x\n\tkind: numeric\n", encoding="utf-8")
    done = grader("check", "--json", "--variants", "3", str(course))
    told = json.loads(done.stdout)
    assert done.returncode == 1
    assert set(told) == {"findings", "counts"}
    tab = next(finding for finding in told["findings"] if finding["code"] == "tab")
    assert tab == {
        "file": "questions/practice/pump.yaml",
        "line": 2,
        "path": "",
        "message": "a tab stands in the line",
        "mend": "use spaces",
        "level": "error",
        "code": "tab",
    }
    wanted = {"objectives", "taught", "practised", "examined", "practice", "exam", "warnings", "errors"}
    assert wanted <= set(told["counts"])
    assert told["counts"]["errors"] == sum(finding["level"] == "error" for finding in told["findings"])


def test_a_waived_warning_is_kept_back_and_shown_on_request(course: Path) -> None:
    bank = course / "questions" / "practice" / "power.yaml"
    text = bank.read_text(encoding="utf-8")
    stem = "  stem: Which of these is wrong and why? And how?\n"
    item = f"\n- id: power-waived\n  objective: power.1\n  kind: choice\n{stem}  options: [{{text: one, right: true}}, two]\n"
    bank.write_text(text + item, encoding="utf-8")
    assert "[two-questions]" in grader("check", "--variants", "3", cwd=course).stdout
    bank.write_text(text + item + "  waive: {two-questions: for this test}\n", encoding="utf-8")
    assert "[two-questions]" not in grader("check", "--variants", "3", cwd=course).stdout
    shown = grader("check", "--variants", "3", "--all", cwd=course)
    assert "[two-questions] (waived: for this test)" in shown.stdout
    waived = sum("(waived: " in line for line in shown.stdout.splitlines())
    assert f"{waived} waived" in shown.stderr


@pytest.mark.parametrize("arguments", [["nowhere"], ["--variants", "0"], ["--variants", "x"], [".", "another"]])
def test_wrong_use_ends_with_2(arguments: list[str]) -> None:
    done = grader("check", *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_one_slip_of_yaml_gives_one_error_and_says_what_waits(course: Path) -> None:
    bank = course / "questions" / "practice" / "power.yaml"
    before = grader("check", "--variants", "3", cwd=course).stdout.splitlines()
    bank.write_text(bank.read_text("utf-8").replace("stem: ", "stem: Think: ", 1), encoding="utf-8")
    done = grader("check", "--variants", "3", cwd=course)
    first, *others = done.stdout.splitlines()
    assert first.startswith("questions/practice/power.yaml:")
    assert first.endswith("[not-yaml]")
    assert [line for line in others if line not in before] == []
    assert any(
        line.endswith("further checks wait until questions/practice/power.yaml can be read") for line in done.stderr.splitlines()
    )


def test_a_lesson_that_cannot_be_read_gives_one_error(course: Path) -> None:
    lesson = course / "lessons" / "power.md"
    before = grader("check", "--variants", "3", cwd=course).stdout.splitlines()
    lesson.write_text(lesson.read_text("utf-8").replace("title: ", "title: The power: ", 1), encoding="utf-8")
    done = grader("check", "--variants", "3", cwd=course)
    first, *others = done.stdout.splitlines()
    assert first.startswith("lessons/power.md:2: not YAML")
    assert [line for line in others if line not in before] == []
    assert "further checks wait until lessons/power.md can be read" in done.stderr
