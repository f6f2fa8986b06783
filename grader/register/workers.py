"""
Marking spread over processes: the same pure function in each, so that nothing depends on how many there are.

A process of its own is started afresh (never forked: a fork after a page was set hangs), is handed keys and answers, and gives
marks back. Where one dies, what it had is marked here instead.
"""

from __future__ import annotations

import multiprocessing
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import TypeVar

import msgspec

from grader.marking.key import read_key
from grader.marking.mark import Marks
from grader.register.corrections import in_force
from grader.register.records import Correction

Task = tuple[bytes, Mapping[str, str]]
"""A key's bytes, and the answers to mark by it."""
Batch = TypeVar("Batch")

WORTH_IT = 500  # files from which on it is quicker to start processes than to go without


def marks_of(tasks: Iterable[Task], corrections: tuple[Correction, ...]) -> list[Marks]:
    """Each task's marks: a pure function. Tasks are taken one by one: a class's table may have thousands, each with its key."""
    return [in_force(read_key(key), corrections).mark(answers) for key, answers in tasks]


def packed_marks(tasks: Iterable[Task], corrections: tuple[Correction, ...]) -> bytes:
    """The same as bytes: thousands of small objects from one process to another would cost as much as marking."""
    return msgspec.msgpack.encode(marks_of(tasks, corrections))


_unpacked = msgspec.msgpack.Decoder(list[Marks]).decode


def usual(files: int) -> int:
    """How many processes a pile of so many files is worth."""
    return min(os.cpu_count() or 1, 8) if files >= WORTH_IT else 1


def _serve(line: Connection) -> None:
    """What a process does: marks what comes, until nothing more does."""
    with suppress(EOFError, KeyboardInterrupt, OSError):
        while True:
            line.send_bytes(packed_marks(*line.recv()))


class _Worker:
    """
    A process and the line to it. It has at most one batch at a time, so that neither ever waits for the other to listen.

    The line is ours and its alone: where it dies, the line breaks at once.
    """

    def __init__(self) -> None:
        context = multiprocessing.get_context("forkserver")
        self._line, other = context.Pipe()
        self._process = context.Process(target=_serve, args=(other,), daemon=True)
        self._process.start()
        other.close()

    def give(self, todo: list[Task], corrections: tuple[Correction, ...]) -> None:
        """Hand it a batch; where it is dead, that is found out when the marks are taken."""
        with suppress(OSError):
            self._line.send((todo, corrections))

    def take(self) -> list[Marks] | None:
        """The marks of the batch it was handed; None where it died over it."""
        try:
            return _unpacked(self._line.recv_bytes())
        except (EOFError, OSError):
            return None

    def end(self) -> None:
        """Let it go."""
        self._line.close()
        self._process.join(1)
        if self._process.is_alive():
            self._process.kill()


@dataclass(slots=True)
class Workers:
    """So many processes, or none of its own where it is one."""

    processes: int
    corrections: tuple[Correction, ...] = ()

    def each(self, batches: Iterable[Batch], tasks: Callable[[Batch], Iterable[Task]]) -> Iterator[tuple[Batch, list[Marks]]]:
        """Every batch with the marks of its tasks, in order; each process marks one ahead of the batch that is given."""
        if self.processes <= 1:
            for batch in batches:
                yield batch, marks_of(tasks(batch), self.corrections)
            return
        idle = [_Worker() for _ in range(self.processes)]
        everyone, waiting = tuple(idle), deque[tuple[Batch, list[Task], _Worker]]()
        try:
            for batch in batches:
                if not idle:
                    yield self._ended(*waiting.popleft(), idle)
                todo, worker = list(tasks(batch)), idle.pop()
                worker.give(todo, self.corrections)
                waiting.append((batch, todo, worker))
            while waiting:
                yield self._ended(*waiting.popleft(), idle)
        finally:
            for worker in everyone:
                worker.end()

    def _ended(self, batch: Batch, todo: list[Task], worker: _Worker, idle: list[_Worker]) -> tuple[Batch, list[Marks]]:
        found = worker.take()
        idle.append(worker)
        return batch, marks_of(todo, self.corrections) if found is None else found
