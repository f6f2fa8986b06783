"""Marking on a cluster gives what marking here gives, byte for byte, whatever happens to the workers; and no key stays there."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import signal
import sqlite3
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.register import cluster
from grader.register.cluster import AnotherBuild, Cluster, Handed, build, joined, marked
from grader.register.pile import mark_pile
from grader.register.records import Correction
from grader.register.workers import Task, marks_of
from tests.register.bench_sitting import CODES, LATER, held, key_of, right, write

CORRECTIONS = (Correction("spring", ({"item": "power-area", "withdraw": "full marks"},), "no good", "T. Examiner", LATER),)
KEYS = {candidate: key_of(candidate).encoded() for candidate in CODES}


def batches(number: int) -> list[list[Task]]:
    return [[(KEYS[c], right(c, q1=str(turn))) for c in CODES] for turn in range(number)]


@dataclass
class Running:
    """A cluster of two worker processes on this machine."""

    address: str
    local: Any
    folder: Path  # where its workers may write

    def process(self, place: int) -> int:
        found = list(self.local.workers.values())[place].process.process.pid
        assert isinstance(found, int)
        return found


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    from distributed import LocalCluster

    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # that a worker is killed here is no news
    folder = tmp_path_factory.mktemp("workers")
    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1", local_directory=str(folder)
    ) as local:
        yield Running(local.scheduler_address, local, folder)


@pytest.fixture
def small_loads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "BATCHES", 2)


@pytest.mark.usefixtures("small_loads")
def test_two_workers_give_what_one_process_gives_also_where_one_is_killed_in_the_middle(running: Running) -> None:
    piles, told, seen = batches(60), list[str](), 0

    def tasks(batch: list[Task]) -> list[Task]:
        nonlocal seen
        seen += 1
        if seen == 30:
            os.kill(running.process(0), signal.SIGKILL)
        return batch

    with joined(running.address, told.append) as there:
        found = list(replace(there, corrections=CORRECTIONS).each(piles, tasks))
    assert [batch for batch, _ in found] == piles  # each once, in order
    here = [marks_of(batch, CORRECTIONS) for batch in piles]
    assert msgspec.msgpack.encode([marks for _, marks in found]) == msgspec.msgpack.encode(here)
    assert told == []  # none was marked here instead


def rows(folder: Path) -> dict[str, list[Any]]:
    """What a register holds but for when it was opened."""
    with sqlite3.connect(folder / "register.sqlite") as database:
        tables = ("answer_files", "markings", "marks", "asides", "events")
        found = {table: database.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in tables}  # noqa: S608
    database.close()
    return found


def test_a_pile_leaves_the_same_register_and_the_workers_keep_nothing(running: Running, tmp_path: Path) -> None:
    handed_in = tmp_path / "in"
    handed_in.mkdir()
    for candidate in CODES:
        write(handed_in, candidate, right(candidate))
    (handed_in / "torn.json").write_text("{", "utf-8")

    def marked_in(name: str, there: Cluster | None) -> dict[str, list[Any]]:
        (tmp_path / name).mkdir()
        with held(tmp_path / name / "register.sqlite") as register:
            outcome = mark_pile(register, "spring", [handed_in], LATER, person="T. Examiner", cluster=there)
            assert (outcome.papers, len(outcome.asides)) == (len(CODES), 1)
            again = mark_pile(register, "spring", [handed_in], LATER, person="T. Examiner", cluster=there)
            assert (again.papers, again.passed_over) == (0, len(CODES))
        return rows(tmp_path / name)

    here = marked_in("here", None)
    with joined(running.address) as there:
        assert marked_in("there", there) == here
        with pytest.raises(AnotherBuild):  # a worker of another build refuses, and shows nothing of what it was handed
            there.client.submit(marked, Handed(b"SECRET-OF-A-KEY", (), "other"), pure=False).result()
        logs = json.dumps(there.client.get_worker_logs())
    assert "AnotherBuild" in logs
    secrets = [b"SECRET-OF-A-KEY", *KEYS.values()]
    written = [file.read_bytes() for file in running.folder.rglob("*") if file.is_file()]
    assert not [place for place in (logs.encode(), *written) for secret in secrets if secret[:60] in place]


class Broken:
    """A client whose cluster fails in one way."""

    status = "running"

    def __init__(self, way: str) -> None:
        self.way = way
        self.asked = 0

    def nthreads(self) -> dict[str, int]:
        self.asked += 1
        if self.way == "unanswered":
            raise OSError("nobody there")
        return {} if self.way == "empty" or (self.way == "emptied" and self.asked > 2) else {"a": 1}

    def submit(self, *_: object, **__: object) -> Broken:
        if self.way == "closed":
            raise RuntimeError("closed")
        return self

    def result(self, timeout: float) -> bytes:
        assert timeout > 0
        if self.way in ("short", "garbled"):
            return msgspec.msgpack.encode([]) if self.way == "short" else b"\xc1"
        raise TimeoutError if self.way == "emptied" else RuntimeError("killed thrice")

    def cancel(self) -> None:
        raise RuntimeError("nothing to cancel")


@pytest.mark.parametrize("way", ["empty", "emptied", "closed", "unanswered", "killed", "short", "garbled"])
def test_what_a_cluster_cannot_mark_is_marked_here_and_told(way: str) -> None:
    piles, told = batches(3), list[str]()
    found = list(Cluster(Broken(way), told.append, CORRECTIONS).each(piles, lambda batch: batch))
    assert found == [(batch, marks_of(batch, CORRECTIONS)) for batch in piles]
    (line,) = told
    assert line.endswith("; marked here")


class Slow:
    """A client that keeps count of the loads it was handed and not asked for."""

    status = "running"
    waiting = most = largest = 0

    def nthreads(self) -> dict[str, int]:
        return {"a": 1, "b": 1}

    def submit(self, _: object, handed: Handed, **__: object) -> SlowLoad:
        self.waiting += 1
        self.most = max(self.most, self.waiting)
        self.largest = max(self.largest, len(msgspec.msgpack.decode(handed.tasks)))
        return SlowLoad(self, handed)


@dataclass
class SlowLoad:
    """A load that is marked when it is asked for."""

    client: Slow
    handed: Handed

    def result(self, timeout: float) -> bytes:
        assert timeout > 0
        self.client.waiting -= 1
        return marked(self.handed)

    def cancel(self) -> None:
        self.client.waiting -= 1


@pytest.mark.parametrize(
    ("limit", "size"), [("BATCHES", 2), ("FILES", 2 * len(CODES)), ("BYTES", sum(map(len, KEYS.values())) + 1)]
)
def test_few_loads_wait_whatever_the_pile(limit: str, size: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, limit, size)
    slow = Slow()
    found = list(Cluster(slow).each(batches(40), lambda batch: batch))
    assert len(found) == 40
    assert slow.most == cluster.AHEAD * 2 + 1
    begun = Cluster(slow).each(batches(40), lambda batch: batch)
    next(begun)
    begun.close()  # type: ignore[attr-defined]  # interrupted
    assert slow.waiting == 0


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sizes=st.lists(st.integers(0, 9), max_size=8), files=st.integers(1, 5), together=st.integers(1, 4))
def test_however_a_pile_is_cut_into_loads_every_batch_has_its_own_marks(
    sizes: list[int], files: int, together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # a class's table is one batch of many tasks and goes in parts; files with nothing to mark are batches of none
    monkeypatch.setattr(cluster, "FILES", files)
    monkeypatch.setattr(cluster, "BATCHES", together)
    tasks = [task for batch in batches(20) for task in batch]
    piles = [tasks[sum(sizes[:place]) :][:size] for place, size in enumerate(sizes)]
    slow = Slow()
    assert list(Cluster(slow).each(piles, lambda batch: batch)) == [(pile, marks_of(pile, ())) for pile in piles]
    assert slow.waiting == 0
    assert slow.largest <= files


def test_what_needs_no_marking_is_not_handed_over() -> None:
    told = list[str]()
    assert list(Cluster(Broken("closed"), told.append).each([1, 2], lambda _: [])) == [(1, []), (2, [])]
    assert told == []


def test_a_load_shows_neither_keys_nor_answers() -> None:
    assert repr(Handed(b"SECRET", CORRECTIONS, "b")) == "Handed(build='b')"


def test_the_build_is_the_code_that_marks() -> None:
    assert build() == build()
    assert len(build()) == 64
    with pytest.raises(AnotherBuild):
        marked(Handed(msgspec.msgpack.encode([]), (), "other"))
    assert marked(Handed(msgspec.msgpack.encode([]), (), build())) == msgspec.msgpack.encode([])


def test_without_the_extra_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(UseError, match=r"needs the extra `cluster`: pip install 'grader\[cluster\]'"),
        joined("tcp://127.0.0.1:1"),
    ):
        pass


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:1", "127.0.0.1:1", "pigeon://127.0.0.1:1", "nonsense"])
def test_where_no_cluster_answers_it_is_said(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "START", 0.2)
    with pytest.raises(UseError, match="no cluster answers there"), joined(address):
        pass


def test_a_cluster_is_asked_from_where_a_loop_runs_already(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "START", 0.2)

    async def asked() -> None:  # as in a notebook, or beside a browser that tests drive
        with pytest.raises(UseError, match=r"no cluster answers there \((?!asyncio)"), joined("tcp://127.0.0.1:1"):
            pass

    with ThreadPoolExecutor(1) as thread:  # a browser's loop may run in this one
        thread.submit(lambda: asyncio.run(asked())).result()


def test_workers_that_might_mark_otherwise_are_refused() -> None:
    cluster._alike({"tcp://a:1": build(), "tcp://b:1": build()})
    with pytest.raises(UseError, match="tcp://a:1: another build of grader"):
        cluster._alike({"tcp://a:1": "0" * 64, "tcp://b:1": build()})
    with pytest.raises(UseError, match="tcp://b:1: grader cannot be run there"):
        cluster._alike({"tcp://a:1": build(), "tcp://b:1": ModuleNotFoundError("grader")})


@pytest.mark.parametrize(
    ("address", "overheard"),
    [
        ("tls://marks.weirgate.example:8786", False), ("tcp://127.0.0.1:8786", False), ("localhost:8786", False),
        ("tcp://[::1]:8786", False), ("tcp://192.0.2.4:8786", True), ("marks.weirgate.example:8786", True),
        ("ws://192.0.2.4:8786", True), ("wss://192.0.2.4:8786", False),
    ],
)  # fmt: skip
def test_a_network_where_others_could_listen_is_told(address: str, overheard: bool) -> None:
    assert cluster._overheard(address) is overheard
