"""Marking that is killed at any moment, or runs out of disk: nothing is lost, nothing counts twice, the next run ends it."""

from __future__ import annotations

import itertools
import os
import resource
import shutil
import signal
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from grader.base.errors import UseError
from grader.register import pile
from grader.register.inspection import violations
from grader.register.pile import mark_pile
from grader.register.store import Register
from tests.register.bench_sitting import CODES, WHEN, assess, held, right, write

KILLS = 25  # a hundred were run once, every second step
WATCHED = {"open", "os.rename", "os.remove", "os.mkdir"}


class Hasty(sqlite3.Connection):
    """A database that does not wait for the disk: that outlives a power cut, and here only a process dies."""

    def execute(self, statement: str, *given: Any) -> sqlite3.Cursor:
        """As ever, but for how much it waits."""
        return super().execute(statement.replace("synchronous = FULL", "synchronous = OFF"), *given)


CONNECT = sqlite3.connect


@pytest.fixture(autouse=True)
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """No waiting for the disk."""
    monkeypatch.setattr(sqlite3, "connect", lambda *given, **named: CONNECT(*given, factory=Hasty, **named))


def prepared(folder: Path) -> Path:
    """A sitting of four with all that can lie in a pile: papers, stations, a torn file, two files of one candidate."""
    there = folder / "in"
    there.mkdir(parents=True)
    held(folder / "register.sqlite").close()
    for candidate in ("c-01", "c-02", "c-03"):
        write(there, candidate, right(candidate))
        assess(there, candidate)
    write(there, "c-04", right("c-04"), "one.json")
    write(there, "c-04", right("c-04", q1="9"), "two.json")
    (there / "torn.json").write_text("{")
    return folder


def in_child(act: Callable[[], None]) -> int:
    """Run something in a process of its own; its exit status, minus the signal that ended it."""
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        try:
            act()
            os._exit(0)
        except UseError as error:
            os.write(2, f"{error}\n".encode())
            os._exit(3)
        finally:
            os._exit(4)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def killed_at(folder: Path, step: int) -> Callable[[], None]:
    """Marking that is killed before the given step: an SQL statement, or a file opened, renamed, removed."""

    def run() -> None:
        steps = itertools.count(1)

        def count(*_: object) -> None:
            if next(steps) == step:
                os.kill(os.getpid(), signal.SIGKILL)

        def watched(event: str, arguments: tuple[Any, ...]) -> None:
            if event in WATCHED and str(arguments[0]).startswith(str(folder)):
                count()

        class Counted(Hasty):
            def execute(self, statement: str, *given: Any) -> sqlite3.Cursor:
                count()
                return super().execute(statement, *given)

        sqlite3.connect = lambda *given, **named: CONNECT(*given, factory=Counted, **named)  # type: ignore[assignment]
        sys.addaudithook(watched)
        pile.TOGETHER = 3  # several acts, even of a small pile
        with Register(folder / "register.sqlite") as register:
            mark_pile(register, "spring", [folder / "in"], WHEN)
        (folder / "steps").write_text(str(next(steps)))

    return run


def state(folder: Path) -> tuple[object, ...]:
    """All that marking leaves: markings, assessments, what is open, copies."""
    with Register(folder / "register.sqlite") as register:
        assert [*violations(register)] == []
        markings = sorted((m.paper, m.reason, m.marks) for m in register.every_marking("spring"))
        assessments = sorted((a.candidate, a.assessor) for a in register.assessments("spring"))
        asides = sorted((Path(a.file).name, a.code) for a in register.unsettled("spring").values())
    copies = {p.name: p.read_bytes() for p in (folder / "sittings" / "spring" / "answers").iterdir() if p.suffix != ".part"}
    return markings, assessments, asides, copies


def named(found: tuple[object, ...], folder: Path) -> str:
    """A state without its folder's name."""
    return repr(found).replace(str(folder), "…")


def finish(folder: Path) -> tuple[object, ...]:
    with Register(folder / "register.sqlite") as register:
        mark_pile(register, "spring", [folder / "in"], WHEN)
    return state(folder)


def test_killed_at_any_step_nothing_is_lost_or_counted_twice(tmp_path: Path) -> None:
    whole = finish(prepared(tmp_path / "whole"))
    assert len(whole[0]) == 3  # type: ignore[arg-type]
    assert in_child(killed_at(prepared(tmp_path / "count"), 0)) == 0
    last = int((tmp_path / "count" / "steps").read_text())
    assert last > KILLS
    fresh = prepared(tmp_path / "fresh")
    for kill in range(KILLS):
        folder, step = tmp_path / str(kill), 1 + kill * last // KILLS
        shutil.copytree(fresh, folder)
        assert in_child(killed_at(folder, step)) == -signal.SIGKILL
        assert named(finish(folder), folder) == named(whole, tmp_path / "whole"), f"killed at step {step} of {last}"


def test_killed_again_and_again_it_goes_on_each_time(tmp_path: Path) -> None:
    whole = finish(prepared(tmp_path / "whole"))
    folder = prepared(tmp_path / "again")
    kills = 0
    while in_child(killed_at(folder, 60 + 7 * kills)) == -signal.SIGKILL:
        kills += 1
        assert kills < 60
    assert kills > 1
    assert finish(folder) == whole


@pytest.mark.parametrize("room", [1024, 4096, 20_000])
def test_a_disk_that_fills_up_is_one_message_and_the_next_run_ends_it(
    tmp_path: Path, room: int, capfd: pytest.CaptureFixture[str]
) -> None:
    whole = finish(prepared(tmp_path / "whole"))
    folder = prepared(tmp_path / "full")

    def run() -> None:
        # A file that may not grow stands for a full disk: to SQLite and to us both are a write that is refused.
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        with Register(folder / "register.sqlite") as register:
            mark_pile(register, "spring", [folder / "in"], WHEN)

    assert in_child(run) == 3
    said = capfd.readouterr().err
    assert "make room" in said or "cannot be written" in said
    assert len(said.splitlines()) == 1
    assert finish(folder) == whole


def test_copies_that_an_interruption_left_out_are_made_by_the_next_run(tmp_path: Path) -> None:
    folder = prepared(tmp_path / "one")
    whole = finish(folder)
    for copy in (folder / "sittings" / "spring" / "answers").iterdir():
        copy.unlink()
    assert finish(folder) == whole


def test_two_commands_at_once_count_every_paper_once(tmp_path: Path) -> None:
    whole = finish(prepared(tmp_path / "whole"))
    folder = prepared(tmp_path / "both")
    children = []
    for _ in range(3):
        child = os.fork()
        if child == 0:
            pile.TOGETHER = 1
            try:
                with Register(folder / "register.sqlite") as register:
                    mark_pile(register, "spring", [folder / "in"], WHEN)
                os._exit(0)
            finally:
                os._exit(4)
        children.append(child)
    assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0, 0, 0]
    with Register(folder / "register.sqlite") as register:
        assert sorted(m.paper for m in register.every_marking("spring")) == sorted(CODES[c] for c in ("c-01", "c-02", "c-03"))
        assert len(register.assessments("spring")) == 3
    assert finish(folder)[0] == whole[0]
