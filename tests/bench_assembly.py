"""`make bench`: what assembling a sitting's papers costs over the solver alone."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any
from unittest import mock

import scipy.optimize

from grader.items.course import Course
from grader.items.model import DrawRule, Item
from grader.papers.assembly import assemble, drawable
from grader.papers.weights import estimates

CANDIDATES, ITEMS = 200, 170


@dataclass(frozen=True)
class Some:
    """A bank of so many of a course's items: of each draw's pool the first ones, in proportion."""

    course: Course
    share: float

    def eligible(self, rule: DrawRule) -> tuple[Item, ...]:
        pool = self.course.eligible(rule)
        return pool[: max(rule.items, round(len(pool) * self.share))]


def assembling_a_sitting(course: Course) -> tuple[float, str, str]:
    """Papers of 30 items for 200 candidates from some 170 items, by the final examination's blueprint; processor time."""
    plan = course.blueprints["final-examination"]
    bank = Some(course, ITEMS / len(drawable(plan, course)))
    pool = drawable(plan, bank)
    calls: list[tuple[tuple[Any, ...], dict[str, Any]]] = []
    solve = scipy.optimize.milp

    def noted(*given: Any, **named: Any) -> Any:
        calls.append((given, named))
        return solve(*given, **named)

    people = [f"x-{number}" for number in range(CANDIDATES)]
    start = time.process_time()
    with mock.patch.object(scipy.optimize, "milp", noted):
        assemble(plan, bank, people, b"bench", estimates(pool))
    ours = time.process_time() - start
    start = time.process_time()
    for given, named in calls:
        solve(*given, **named)
    floor = time.process_time() - start
    what = f"{CANDIDATES} papers of {sum(rule.items for rule in plan.draw)} items from {len(pool)}, in {ours:.1f} s"
    return ours / floor, what, "the solver's calls alone, on the same programmes"


ASSEMBLY_MEASURES = (assembling_a_sitting,)
