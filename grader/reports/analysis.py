"""What an examiner asks of a sitting: how hard each question was, who lies near the cut, how sure the marks are."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from grader.marking.mark import Mark
from grader.register.rule import Share, earned
from grader.reports.view import Go, Sat, View
from grader.stats.classical import Interval, alpha, item_rest, measurement_error, wilson

FEW = 30
"""Below so many candidates no question is called bad on a statistic alone (house rule)."""
SOME = 3
"""From so many people on, what all of them did is worth a look by hand (house rule)."""
FEWEST = 10
"""Below so many candidates a correlation is noise and is not shown (house rule)."""


@dataclass(frozen=True, slots=True)
class ItemLine:
    """
    One item over all candidates who had it.

    `facility` is the mean mark as a share; `full` the share with full marks and its 95 % interval; `discrimination` the
    correlation with the rest of the candidate's paper, None where fewer than ten had it; `slip` the slip most made, how often.
    """

    item: str
    objective: str
    circuit: str
    candidates: int
    facility: float
    full: Interval
    discrimination: float | None
    verdicts: Counter[str]
    slip: tuple[str, int] | None


def items(view: View) -> list[ItemLine]:
    """Every item that somebody's marked paper holds, the hardest first."""
    had: dict[str, list[Go]] = {}
    for sat in view.marked:
        for go in sat.goes.values():
            if go.own.out_of:  # else withdrawn, and not counted: it says nothing of the item
                had.setdefault(go.marks[0].item, []).append(go)
    return sorted((_line(item, goes) for item, goes in had.items()), key=lambda line: (line.facility, line.item))


def _line(item: str, goes: list[Go]) -> ItemLine:
    counted = [mark for go in goes for mark in go.marks if mark.out_of != "0"]
    slips = Counter(mark.why for mark in counted if mark.verdict == "slip")
    full = wilson(sum(go.own.mark == go.own.out_of for go in goes), len(goes))
    if full is None:
        raise AssertionError("an item that nobody had is not listed")
    own_and_rest = np.array([[go.share, go.rest] for go in goes])
    return ItemLine(
        item=item,
        objective=counted[0].objective,
        circuit=counted[0].circuit,
        candidates=len(goes),
        facility=float(np.mean(own_and_rest[:, 0])),
        full=full,
        discrimination=item_rest(own_and_rest)[0] if len(goes) >= FEWEST else None,
        verdicts=Counter(mark.verdict for mark in counted),
        slip=slips.most_common(1)[0] if slips else None,
    )


@dataclass(frozen=True, slots=True)
class Precision:
    """Reliability by question number, and the standard error of measurement in percent of the paper; None where there is none."""

    alpha: float | None
    error: float | None


def precision(view: View) -> Precision:
    """
    How sure the totals are: papers are parallel, so that question 1 of one stands for question 1 of another.

    Parts of a case count as one question.
    """
    numbers = sorted({number for sat in view.marked for number in sat.goes}, key=int)
    table = [[float(sat.goes[number].own.mark) if number in sat.goes else 0.0 for number in numbers] for sat in view.marked]
    if len(table) < 2 or len(numbers) < 2:
        return Precision(None, None)
    out_of = {sat.total.out_of for sat in view.marked}
    error = measurement_error(table)
    share = None if error is None or len(out_of) != 1 else 100 * error / float(out_of.pop())
    return Precision(alpha(table), share)


def near_the_cut(view: View, cut: Fraction, error: float | None) -> list[Sat]:
    """Who lies within one standard error (in percent) of the cut (a share), nearest first: for a person's decision."""
    if error is None:
        return []
    gaps = [(abs(sat.total.percent - 100 * cut), sat) for sat in view.marked if sat.total.percent is not None]
    return [sat for gap, sat in sorted(gaps, key=lambda pair: pair[0]) if gap <= Fraction(error)]


def objectives(view: View) -> dict[str, Share]:
    """What every objective came to over the class, in the objectives' order."""
    marks: dict[str, list[Mark]] = {}
    for sat in view.marked:
        for mark in sat.marks:
            marks.setdefault(mark.objective, []).append(mark)
    return {name: earned(marks[name]) for name in sorted(marks, key=_natural)}


def _natural(objective: str) -> tuple[str, int]:
    circuit, _, number = objective.partition(".")
    return circuit, int(number) if number.isdigit() else 0
