"""What the register costs: marks kept, memory over the size of a pile, two processes over one. Run by `make bench`."""

from __future__ import annotations

import json
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import msgspec

from grader.base.canon import digest
from grader.base.codes import paper_code
from grader.items.course import Course
from grader.marking.key import Key, unit_entries
from grader.marking.mark import Mark, Marks
from grader.register.records import AnswerFile, Marking, Paper, Sitting
from grader.register.schema import statements
from grader.register.store import Register
from grader.register.workers import Task, Workers

SCHOOL = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/"}
WHEN = "2031-05-12T09:30:00Z"
ROOT = Path(__file__).parent.parent


def key_of(paper: str, candidate: str) -> Key:
    """A key of thirty numbers, each with a slip."""
    answer = {"value": "2.298", "low": "2.25", "high": "2.34", "unit": "mm^2", "shown": "2.298 mm²", "within": "2 %"}
    slip = {"value": "4.573", "low": "4.48", "high": "4.66", "says": "That is the whole jet."}
    question = {"kind": "numeric", "objective": "power.1", "circuit": "power", "points": "1", "stem": "What area is left?"}
    questions = [question | {"number": str(n), "item": f"item-{n}", "answer": answer, "slips": [slip]} for n in range(1, 31)]
    head = {"form": "grader-key-1", "sitting": "s", "paper": paper, "candidate": candidate, "blueprint": "b", "bank": "0" * 64}
    rest = {"nonce": "1" * 64, "units": msgspec.to_builtins(unit_entries()), "questions": questions}
    return msgspec.convert(head | rest, Key)


ANSWERS = {str(n): "4.57 mm2" if n % 3 == 0 else f"{2.2 + n / 100:.2f} mm²" for n in range(1, 31)}


def made(path: Path, candidates: int) -> list[Paper]:
    """A register with a sitting of so many candidates, all with one key but for code and candidate."""
    template = key_of("CODE-CODE", "CANDIDATE").encoded()
    papers = []
    for place in range(candidates):
        code, candidate = paper_code(bytes(32), "s", str(place)), f"c-{place:06}"
        data = template.replace(b"CODE-CODE", code.encode()).replace(b"CANDIDATE", candidate.encode())
        papers.append((Paper(code, "s", candidate, f"Person {place}", digest(data)), data))
    with Register(path) as register:
        register.hold_sitting(Sitting("s", {}, "0" * 64, bytes(32), "2031-05-12", "C", SCHOOL), papers)
    return [paper for paper, _ in papers]


def storing_marks(_course: Course) -> tuple[float, str, str]:
    """Keeping marks, each file in its act within an act of fifty."""
    mark = Mark("1", "item-1", "power.1", "power", "2.30 mm²", "2.30 mm²", "1", "1", "right", "")
    marks = [Mark(str(n), *(getattr(mark, name) for name in mark.__slots__[1:])) for n in range(100)]
    count, rounds = 1000, []
    for _ in range(5):
        with tempfile.TemporaryDirectory() as folder:
            papers = made(Path(folder, "register.sqlite"), count)
            ours = time.perf_counter()
            with Register(Path(folder, "register.sqlite")) as register:
                for start in range(0, count, 50):
                    with register.act():
                        for paper in papers[start : start + 50]:
                            file = AnswerFile("s", paper.candidate, paper.code.encode(), WHEN)
                            marking = Marking("s", paper.code, paper.candidate, file.digest, WHEN, tuple(marks))
                            register.keep_answer_file(file, [marking])
            ours = time.perf_counter() - ours
            rounds.append(ours / _bare(Path(folder, "bare.sqlite"), count, marks))
    return (
        statistics.median(rounds),
        f"{count * len(marks):,} answers' marks kept, with their files and markings, fifty files an act",
        "the same rows of marks by executemany, 10,000 an act, in a bare database without references",
    )


def _bare(path: Path, count: int, marks: list[Mark]) -> float:
    database = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL"):
        database.execute(f"PRAGMA {pragma}")
    for statement in statements(0):
        if statement.startswith("CREATE TABLE marks"):
            database.execute(statement)
    columns = mark_columns(marks[0])
    rows = [
        (marking, place, *(getattr(one, name) for name in columns)) for marking in range(count) for place, one in enumerate(marks)
    ]
    start = time.perf_counter()
    for first in range(0, len(rows), 10_000):
        database.execute("BEGIN IMMEDIATE")
        database.executemany(f"INSERT INTO marks VALUES ({', '.join('?' * 12)})", rows[first : first + 10_000])  # noqa: S608
        database.execute("COMMIT")
    spent = time.perf_counter() - start
    database.close()
    return spent


def mark_columns(mark: Mark) -> tuple[str, ...]:
    """The fields of a mark, in order."""
    return tuple(mark.__slots__)


PILE = r"""
import re, sys
from pathlib import Path
from grader.register.pile import mark_pile
from grader.register.store import Register
with Register(Path(sys.argv[1], "register.sqlite")) as register:
    outcome = mark_pile(register, "s", [Path(sys.argv[1], "in")], "2031-05-12T09:30:00Z", each=lambda marks: None, processes=1)
assert outcome.papers == int(sys.argv[2]) and not outcome.asides
# not ru_maxrss: a process starts with the peak of the one that started it
print(re.search(r"VmHWM:\s*(\d+)", Path("/proc/self/status").read_text())[1])
"""


def memory_of_a_pile(_course: Course) -> tuple[float, str, str]:
    """Memory at its highest while a pile is marked."""
    return _memory(10_000) / _memory(1000), "peak memory of marking 10,000 files of 30 answers", "peak memory of marking 1,000"


def _memory(files: int) -> float:
    with tempfile.TemporaryDirectory() as folder:
        papers = made(Path(folder, "register.sqlite"), files)
        Path(folder, "in").mkdir()
        for paper in papers:
            text = json.dumps({"paper": paper.code, "candidate": paper.candidate, "answers": ANSWERS}, ensure_ascii=False)
            Path(folder, "in", f"{paper.candidate}.json").write_text(text, "utf-8")
        done = subprocess.run([sys.executable, "-c", PILE, folder, str(files)], capture_output=True, check=True, cwd=ROOT)
        return float(done.stdout)


def processes(_course: Course) -> tuple[float, str, str]:
    """Two processes where one would do."""
    task: Task = (key_of("CODE-CODE", "c-1").encoded(), ANSWERS)
    batches = [[task] * 250 for _ in range(16)]

    def seconds(number: int) -> float:
        found: list[Marks] = []
        worked = Workers(number).each(batches, lambda batch: batch)
        next(worked)  # warm: the processes are up
        start = time.perf_counter()
        for _, marks in worked:
            found += marks[:1]
        return (time.perf_counter() - start) / len(found)

    if (os.cpu_count() or 1) < 2:
        return 1.0, "one processor here", "nothing to compare"
    return statistics.median(seconds(2) / seconds(1) for _ in range(3)), "marking 15 batches in two processes", "in one"


REGISTER_MEASURES = (storing_marks, memory_of_a_pile, processes)
