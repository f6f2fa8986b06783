from __future__ import annotations

import subprocess
import sys
from pathlib import Path

COURSE = Path(__file__).parents[1] / "pages/course"


def grader(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "grader", *words], capture_output=True, text=True, check=False, cwd=cwd)


def test_it_builds_a_course_that_stands_elsewhere_without_a_configuration(tmp_path: Path) -> None:
    done = grader("site", "--course", str(COURSE), "--output", str(tmp_path / "site"), "--variants", "2")
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"3 pages, 6 practice items with up to 2 variants each: {tmp_path / 'site/index.html'}\n"
    assert (tmp_path / "site/index.html").is_file()


def test_a_folder_that_is_no_course_is_wrong_use(tmp_path: Path) -> None:
    done = grader("site", "--output", str(tmp_path / "site"), cwd=tmp_path)
    assert done.returncode == 2
    assert done.stderr == "grader: . is not a course; name a folder that has `lessons` and `questions` in it\n"


def test_findings_end_it_with_status_1_and_no_traceback(tmp_path: Path) -> None:
    import shutil

    course = tmp_path / "course"
    shutil.copytree(COURSE, course)
    lesson = course / "lessons/power.md"
    lesson.write_text(lesson.read_text("utf-8").replace("```relation\nopen_area", "```relation\nopen_aera"), "utf-8")
    done = grader("site", "--course", str(course), "--output", str(tmp_path / "site"))
    assert done.returncode == 1
    assert "lessons/power.md:22: there is no relation `open_aera`; did you mean `open_area`? [unknown-relation]" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "site").exists()


def test_its_help_shows_an_example() -> None:
    done = grader("site", "--help")
    assert done.returncode == 0
    assert "Example: grader site --output" in done.stdout
