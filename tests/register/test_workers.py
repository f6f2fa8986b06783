"""Marking in several processes gives what one gives, also where one of them dies in the middle."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Iterator

from grader.register.records import Correction
from grader.register.workers import WORTH_IT, Task, Workers, marks_of, usual
from tests.register.bench_sitting import CODES, LATER, key_of, right

CORRECTIONS = (Correction("spring", ({"item": "power-area", "withdraw": "full marks"},), "no good", "T. Examiner", LATER),)


def batches() -> Iterator[list[Task]]:
    for turn in range(6):
        yield [(key_of(candidate).encoded(), right(candidate, q1=str(turn))) for candidate in CODES]


def test_two_processes_give_what_one_gives_in_the_same_order() -> None:
    alone = [marks for _, marks in Workers(1, CORRECTIONS).each(batches(), lambda batch: batch)]
    together = [marks for _, marks in Workers(2, CORRECTIONS).each(batches(), lambda batch: batch)]
    assert together == alone == [marks_of(batch, CORRECTIONS) for batch in batches()]


def test_what_a_process_that_dies_was_given_is_marked_all_the_same() -> None:
    killed = 0

    def tasks(batch: list[Task]) -> list[Task]:
        nonlocal killed
        for child in multiprocessing.active_children():
            if not killed and child.pid:
                os.kill(child.pid, signal.SIGKILL)
                killed += 1
        return batch

    found = [marks for _, marks in Workers(2, CORRECTIONS).each(batches(), tasks)]
    assert killed == 1
    assert found == [marks_of(batch, CORRECTIONS) for batch in batches()]


def test_a_small_pile_is_worth_one_process() -> None:
    assert usual(WORTH_IT - 1) == 1
    assert 1 <= usual(WORTH_IT) <= 8
