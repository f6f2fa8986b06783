from __future__ import annotations

import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

COURSE = Path(__file__).parents[1] / "pages/course"


def grader(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "grader", *words], capture_output=True, text=True, check=False, cwd=cwd)


def test_it_builds_a_course_that_stands_elsewhere_without_a_configuration(tmp_path: Path) -> None:
    done = grader("site", "--course", str(COURSE), "--output", str(tmp_path / "site"), "--variants", "2")
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"6 pages, 7 practice items with up to 2 variants each: {tmp_path / 'site/index.html'}\n"
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


def fetch(address: str) -> bytes:
    """A page of a server that may still be starting to listen."""
    for _ in range(100):
        try:
            with urllib.request.urlopen(address) as page:  # noqa: S310 this machine's own server
                content: bytes = page.read()
                return content
        except urllib.error.URLError:
            time.sleep(0.1)
    raise AssertionError(f"nothing answers at {address}")


def test_it_serves_on_this_machine_and_says_what_is_wrong_while_one_writes(tmp_path: Path) -> None:
    import shutil
    import socket

    course = tmp_path / "course"
    shutil.copytree(COURSE, course)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "grader", "site", "--serve", "--course", str(course), "--port", str(port), "--variants", "1"]
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True) as server:
        try:
            assert server.stderr is not None
            assert server.stderr.readline() == f"built; http://127.0.0.1:{port}/\n"
            assert b"The ring that is left" in fetch(f"http://127.0.0.1:{port}/power.html")
            lesson = course / "lessons/power.md"
            lesson.write_text(lesson.read_text("utf-8").replace("name: ring\n", "name: rung\n"), "utf-8")
            said = server.stderr.readline()
            assert said == "lessons/power.md:17: there is no figure `rung`; did you mean `ring`? [unknown-figure]\n"
            assert b"The ring that is left" in fetch(f"http://127.0.0.1:{port}/power.html")  # the last good site stays up
        finally:
            server.send_signal(signal.SIGINT)
            try:
                server.wait(timeout=20)
            except subprocess.TimeoutExpired:  # started from a shell's background, where an interrupt is not heard
                server.kill()


def test_its_help_shows_an_example() -> None:
    done = grader("site", "--help")
    assert done.returncode == 0
    assert "Example: grader site --output" in done.stdout
