"""The door itself, `grader/cli/__init__.py`: what the system refuses, and where what is printed goes nowhere."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from grader.base.canon import canonical
from grader.certificates.issuer import document
from grader.certificates.multibase import multikey
from grader.cli.options import tell

Told = tuple[int, str, str]
PROGRAM = (sys.executable, "-m", "grader")


def shell(line: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(["sh", "-c", f'"$@" {line}', "sh", *PROGRAM], capture_output=True, env=environment, check=False)


def test_a_name_that_the_system_refuses_is_said_without_a_traceback(told: Callable[..., Told]) -> None:
    status, out, said = told("check", "x" * 5000)
    assert (status, out) == (2, "")
    assert said.startswith("grader: xxxx")
    assert said.endswith("the system refused it (File name too long); check the name, its permissions and the room on the disk\n")


def test_a_standard_output_that_is_closed_is_no_fault() -> None:
    done = shell("compute >&-")
    assert (done.returncode, done.stderr) == (0, b"")


def test_who_has_seen_enough_is_no_fault() -> None:
    piped = subprocess.Popen([*PROGRAM, "compute"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert piped.stdout is not None
    piped.stdout.close()  # before a byte is written
    assert piped.communicate()[1] == b""
    assert piped.returncode == 0


def test_a_command_that_is_mistyped_is_guessed(told: Callable[..., Told]) -> None:
    status, out, said = told("quizz")
    assert (status, out) == (2, "")
    assert "there is no command 'quizz'; did you mean 'quiz'?" in said


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full, a file that is always full")
def test_what_cannot_be_printed_is_said_without_a_traceback() -> None:
    done = shell("compute >/dev/full")
    assert done.returncode == 2
    assert done.stderr.startswith(b"grader: the system refused it (No space left on device)")
    assert done.stderr.count(b"\n") == 1


def test_a_file_whose_name_is_not_utf8_can_be_checked(tmp_path: Path) -> None:
    named = os.fsencode(tmp_path) + b"/\xff.json"
    try:
        Path(os.fsdecode(named)).write_text("{}")
    except OSError:
        pytest.skip("this file system takes no name that is not UTF-8")
    Path(tmp_path, "issuer.json").write_bytes(canonical(document("https://weirgate.example/", [multikey(bytes(32))])))
    done = subprocess.run(
        [*PROGRAM, "verify", named, "--issuer", tmp_path / "issuer.json"],
        capture_output=True,
        env={"PYTHONUTF8": "1"},
        check=False,
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert done.stdout.startswith(b"unreadable: ")
    assert rb"\udcff.json" in done.stdout


def test_progress_that_nobody_reads_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: object, **__: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("grader.cli.options.click.echo", gone)
    tell("c-01.json: 7 of 10")
    with pytest.raises(BrokenPipeError):
        gone()
