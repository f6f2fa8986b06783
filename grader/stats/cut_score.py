"""
Where to cut: judges' ratings (modified Angoff), a look at what the class would make of it (Hofstee), the borderline group.

A cut is a share of the marks; who has it, passes. Each method says how sure it is, or that it has no answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True)
class Angoff:
    """
    What judges came to.

    Parameters
    ----------
    cut : float
        The mean over judges of what a candidate who is just good enough would score, in items.
    share : float
        The same as a share of the items.
    spread : float
        The standard deviation of the judges' sums (divisor n - 1).
    error : float
        The standard error of the cut over judges: spread over the root of their number.
    error_over_items : float
        The standard error of the cut over items, had other items been chosen: another thing, so say which is meant.
    sums : tuple of float
        Each judge's own cut.
    """

    cut: float
    share: float
    spread: float
    error: float
    error_over_items: float
    sums: tuple[float, ...]


def angoff(ratings: ArrayLike) -> Angoff:
    """
    Modified Angoff: each judge says of each item how many in a hundred who are just good enough would get it right.

    Parameters
    ----------
    ratings : array_like, shape (judges, items)
        Shares from 0 to 1; two judges and two items at least.

    Raises
    ------
    ValueError
        Too few judges or items, or a rating that is no share.

    Notes
    -----
    W. H. Angoff in Thorndike (ed.), Educational Measurement, 1971 (from memory).

    Examples
    --------
    >>> found = angoff([[0.6, 0.7], [0.5, 0.8]])
    >>> round(found.cut, 6), round(found.share, 6)
    (1.3, 0.65)
    """
    table = np.asarray(ratings, dtype=np.float64)
    if table.ndim != 2 or min(table.shape) < 2:
        raise ValueError("give a row a judge, a column an item, two or more of each")
    if not np.all((table >= 0) & (table <= 1)):
        raise ValueError("a rating lies from 0 to 1: the share of those just good enough who get the item right")
    judges, items = table.shape
    sums, means = table.sum(axis=1), table.mean(axis=0)
    spread = float(sums.std(ddof=1))
    return Angoff(
        cut=float(sums.mean()),
        share=float(table.mean()),
        spread=spread,
        error=spread / math.sqrt(judges),
        error_over_items=float(means.std(ddof=1)) * math.sqrt(items),
        sums=tuple(sums.tolist()),
    )


@dataclass(frozen=True, slots=True)
class Limits:
    """What judges would stand for: the lowest and highest cut, the least and greatest share that may fail; all shares."""

    lowest_cut: float
    highest_cut: float
    least_failing: float
    most_failing: float


def hofstee(scores: ArrayLike, limits: Limits) -> float | None:
    """
    Hofstee's compromise: where the line from (lowest cut, most failing) to (highest cut, least failing) meets the failing share.

    Parameters
    ----------
    scores : array_like, shape (candidates,)
        Shares of the marks, 0 to 1. Who has less than the cut, fails.
    limits : Limits

    Returns
    -------
    float or None
        The cut as a share; `None` where line and class do not meet, and the method has no answer.

    Notes
    -----
    The share failing is a staircase, which the line meets on a tread or at a riser; at a riser the cut is that candidate's score.
    W. K. B. Hofstee, 1983 (from memory).

    Examples
    --------
    >>> round(hofstee([i / 1000 for i in range(1001)], Limits(0.5, 0.7, 0.1, 0.8)), 3)
    0.567
    """
    if not (0 <= limits.lowest_cut < limits.highest_cut <= 1 and 0 <= limits.least_failing < limits.most_failing <= 1):
        raise ValueError("limits are shares from 0 to 1, each lowest below its highest")
    marks = np.sort(np.asarray(scores, dtype=np.float64))
    if marks.ndim != 1 or not len(marks) or not np.all((marks >= 0) & (marks <= 1)):
        raise ValueError("scores are shares of the marks, from 0 to 1, one a candidate, of one candidate at least")
    failing_above = np.searchsorted(marks, marks, side="right") / len(
        marks
    )  # the share below whatever lies just above each score
    slope = (limits.highest_cut - limits.lowest_cut) / (limits.most_failing - limits.least_failing)
    on_line = limits.lowest_cut + slope * (limits.most_failing - failing_above)
    cut = float(np.maximum(marks, on_line).min())
    return cut if limits.lowest_cut <= cut <= limits.highest_cut else None


@dataclass(frozen=True, slots=True)
class Borderline:
    """The line of scores over grades, and the cut that it predicts for the borderline grade."""

    slope: float
    intercept: float
    cut: float


def borderline(grades: ArrayLike, scores: ArrayLike, grade: float) -> Borderline | None:
    """
    Borderline regression at a station: the checklist's score that goes with an assessor's grade of "just good enough".

    `None` where all grades are alike: there is no line.

    >>> round(borderline([1, 2, 3], [10.0, 20.0, 30.0], 2).cut, 9)
    20.0
    """
    given, score = np.asarray(grades, dtype=np.float64), np.asarray(scores, dtype=np.float64)
    if given.ndim != 1 or given.shape != score.shape or not (np.all(np.isfinite(given)) and np.all(np.isfinite(score))):
        raise ValueError("give a grade and a score for each candidate")
    if len(given) < 2 or np.ptp(given) == 0:
        return None
    apart = given - given.mean()
    slope = float(apart @ score / (apart @ apart))
    intercept = float(score.mean() - slope * given.mean())
    return Borderline(slope, intercept, intercept + slope * grade)


def least_passing(cut: Fraction, marks: int) -> int:
    """
    The least whole mark that passes: a cut that falls on a mark passes it.

    >>> least_passing(Fraction("0.705"), 40), least_passing(Fraction(1, 2), 40)
    (29, 20)
    """
    return math.ceil(cut * marks)
