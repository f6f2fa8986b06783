"""
Runs of a sitting that are killed, each in a process of its own; see test_killed.py.

Reads lines ``FOLDER STEP DELAY PAGES`` and answers each with how the run ended and how many steps it took. A step is an SQL
statement, or a file of the folder opened, synced, renamed, removed. The run is killed before that step (0: never), or after so
many seconds. `PAGES` is `real`, or `short`: items as they come and papers of a few bytes. What is killed between is the same,
only sooner.

Processes are forked before a page is set in this one: a fork after that would hang.
"""

from __future__ import annotations

import gc
import itertools
import os
import signal
import sqlite3
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from unittest.mock import patch

from grader.items.course import Course, load_course
from grader.items.model import Blueprint, Candidate, Item
from grader.papers import seal
from grader.papers.paper import Paper
from grader.register import printing, store
from grader.register import sitting as holding

WATCHED = {"open", "os.rename", "os.remove", "os.mkdir", "os.truncate", "os.link"}


class Hasty(sqlite3.Connection):
    """A database that does not wait for the disk: that outlives a power cut, and here only the process dies."""

    def execute(self, statement: str, *given: Any) -> sqlite3.Cursor:
        """As ever, but for how much it waits."""
        return super().execute(statement.replace("synchronous = FULL", "synchronous = OFF"), *given)


def run(course: Course, folder: Path, kill_at: int, roster: tuple[Candidate, ...]) -> int:
    """Hold the sitting in this process, which is killed before step `kill_at`; how many steps it took."""
    steps = itertools.count(1)
    last = 0

    def step(*_: object) -> None:
        nonlocal last
        last = next(steps)
        if last == kill_at:
            os.kill(os.getpid(), signal.SIGKILL)

    def watched(event: str, arguments: tuple[Any, ...]) -> None:
        if event in WATCHED and isinstance(arguments[0], str | Path) and Path(str(arguments[0])).is_relative_to(folder):
            step()

    connect = sqlite3.connect

    def connected(*given: Any, **named: Any) -> sqlite3.Connection:
        database: sqlite3.Connection = connect(*given, **named, factory=Hasty)
        database.set_trace_callback(step)
        return database

    sys.addaudithook(watched)
    patch.object(os, "fsync", step).start()
    patch.object(sqlite3, "connect", connected).start()
    with store.Register(folder / "register.sqlite") as register:
        plan = course.blueprints["trial"]
        secret = bytes(range(32))
        holding.hold_sitting(register, course, plan, roster, "spring", folder, "2031-05-12", secret=secret)
    return last


def short_pages() -> None:
    """Items as they come, and papers and sheets of a few bytes in place of the real ones."""

    def assembled(plan: Blueprint, course: Course, people: Sequence[str], *_: object) -> dict[str, tuple[Item, ...]]:
        return {name: tuple(item for rule in plan.draw for item in course.eligible(rule)[: rule.items]) for name in people}

    def paper(of: Paper) -> bytes:
        return f"%PDF-{of.code}{'.' * 5000}%%EOF".encode()

    def sheet(of: Paper, _units: object) -> str:
        return f"<!doctype html>{of.code}{'.' * 5000}</html>"

    patch.multiple(holding, assemble=assembled, check_inputs=lambda *_: None).start()
    patch.multiple(printing, set_paper=paper, write_sheet=sheet).start()
    patch.object(seal, "unit_entries", dict).start()  # no unit table in the keys: it is most of their bytes


def main() -> None:
    """Serve one line after another."""
    course = load_course(Path(sys.argv[1]))
    roster = tuple(Candidate(f"c-{number:02}", f"Person {number}") for number in range(int(sys.argv[2])))
    gc.disable()
    gc.freeze()  # what is loaded stays shared with the children
    for line in sys.stdin:
        folder, kill_at, delay, pages = line.split()
        reads, writes = os.pipe()
        child = os.fork()
        if child == 0:
            if pages == "short":
                short_pages()
            taken = run(course, Path(folder), int(kill_at), roster)
            os.write(writes, str(taken).encode())
            os._exit(0)
        os.close(writes)
        if float(delay):
            time.sleep(float(delay))
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)} {os.read(reads, 20).decode() or 0}\n")
        sys.stdout.flush()
        os.close(reads)


if __name__ == "__main__":
    main()
