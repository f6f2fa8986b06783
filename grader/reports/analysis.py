"""What an examiner asks of a sitting: how hard each question was, who lies near the cut, how sure the marks are."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from grader.marking.mark import Mark
from grader.register.rule import Share, earned
from grader.reports.view import Sat, View
from grader.stats.classical import Interval, alpha, item_rest, measurement_error, wilson

FEW = 30
"""Below so many candidates no question is called bad on a statistic alone (house rule)."""
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
    had: dict[str, list[tuple[Sat, list[int]]]] = {}
    for sat in view.marked:
        places: dict[str, list[int]] = {}
        for place, mark in enumerate(sat.marks):
            places.setdefault(mark.item, []).append(place)
        for item, found in places.items():
            had.setdefault(item, []).append((sat, found))
    return sorted((_line(item, rows) for item, rows in had.items()), key=lambda line: (line.facility, line.item))


def _line(item: str, rows: list[tuple[Sat, list[int]]]) -> ItemLine:
    scores, rests, verdicts, slips = [], [], Counter[str](), Counter[str]()
    for sat, places in rows:
        own = [sat.marks[place] for place in places]
        scores.append(earned(own))
        rests.append(_share(Share(sat.total.mark - scores[-1].mark, sat.total.out_of - scores[-1].out_of)))
        verdicts.update(mark.verdict for mark in own)
        slips.update(mark.why for mark in own if mark.verdict == "slip")
    shares = [_share(one) for one in scores]
    full = wilson(sum(one.mark == one.out_of for one in scores), len(scores))
    if full is None:
        raise AssertionError("an item that nobody had is not listed")
    first = rows[0][0].marks[rows[0][1][0]]
    own_and_rest = np.column_stack([shares, rests])
    return ItemLine(
        item=item,
        objective=first.objective,
        circuit=first.circuit,
        candidates=len(rows),
        facility=float(np.mean(shares)),
        full=full,
        discrimination=item_rest(own_and_rest)[0] if len(rows) >= FEWEST else None,
        verdicts=verdicts,
        slip=slips.most_common(1)[0] if slips else None,
    )


def _share(part: Share) -> float:
    return float(part.mark / part.out_of) if part.out_of else 0.0


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
    numbers = sorted({_question(m.number) for sat in view.marked for m in sat.marks}, key=int)
    table = [
        [float(earned(m for m in sat.marks if _question(m.number) == number).mark) for number in numbers] for sat in view.marked
    ]
    if len(table) < 2 or len(numbers) < 2:
        return Precision(None, None)
    out_of = {sat.total.out_of for sat in view.marked}
    error = measurement_error(table)
    share = None if error is None or len(out_of) != 1 else 100 * error / float(out_of.pop())
    return Precision(alpha(table), share)


def _question(number: str) -> str:
    return number.rstrip("abcdefghijklmnopqrstuvwxyz")


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
