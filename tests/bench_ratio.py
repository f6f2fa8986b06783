"""What ours costs over its floor, both measured by turns in one run."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

ROUNDS = 7


Clock = Callable[[], float]


def ratio(
    ours: Callable[[], object], floor: Callable[[], object], times: tuple[int, int] = (1, 1), clock: Clock = time.perf_counter
) -> float:
    """The median of our time over the floor's, round by round; each is called so many times a round."""
    found = []
    for _ in range(ROUNDS):
        found.append(_seconds(ours, times[0], clock) / _seconds(floor, times[1], clock))
    return statistics.median(found)


def _seconds(act: Callable[[], object], times: int, clock: Clock) -> float:
    start = clock()
    for _ in range(times):
        act()
    return (clock() - start) / times
