"""
How far assessors agree: kappa for two and for many, Krippendorff's alpha where gaps are, intraclass correlation for scores.

Every one is 1 where all agree and about 0 where they agree as chance would. Where only one grade was ever given there is nothing
to agree about: the statistic does not exist and is `None`, neither 1 nor NaN.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from grader.stats.classical import Z95

Floats = NDArray[np.float64]
Weights = Literal["none", "linear", "quadratic"]
Scale = Literal["nominal", "ordinal", "interval", "ratio"]


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement beyond chance, its asymptotic standard error, and the 95 % interval that follows from it."""

    value: float
    error: float

    @property
    def low(self) -> float:
        """The lower end of the interval, never below -1."""
        return max(self.value - Z95 * self.error, -1.0)

    @property
    def high(self) -> float:
        """The upper end of the interval, never above 1."""
        return min(self.value + Z95 * self.error, 1.0)


def disagreement(grades: int, weights: Weights = "none") -> Floats:
    """
    How much two grades disagree, by their places in order: 0 on the diagonal, greatest far from it.

    >>> disagreement(3, "linear").tolist()
    [[0.0, 1.0, 2.0], [1.0, 0.0, 1.0], [2.0, 1.0, 0.0]]
    """
    apart = np.abs(np.subtract.outer(np.arange(grades), np.arange(grades))).astype(np.float64)
    return {"none": np.sign(apart), "linear": apart, "quadratic": apart * apart}[weights]


def kappa(counts: ArrayLike, weights: Weights | ArrayLike = "none") -> Kappa | None:
    """
    Cohen's kappa of two assessors, weighted or not.

    Parameters
    ----------
    counts : array_like, shape (grades, grades)
        How many subjects had grade i from the first and grade j from the second. The error takes them as counts; of shares only
        the value has a meaning.
    weights : {"none", "linear", "quadratic"} or array_like, shape (grades, grades)
        How much each pair of grades disagrees; 0 where they agree.

    Returns
    -------
    Kappa or None
        `None` where no disagreement could have come about by chance.

    Raises
    ------
    ValueError
        The table is not square, has a negative count or none at all.

    Notes
    -----
    J. Cohen, Educational and Psychological Measurement 20 (1960) 37 and Psychological Bulletin 70 (1968) 213; the error: J. L.
    Fleiss, J. Cohen, B. S. Everitt, Psychological Bulletin 72 (1969) 323 (all from memory).

    Examples
    --------
    >>> found = kappa([[0, 4, 1], [0, 8, 0], [0, 1, 5]])
    >>> round(found.value, 4), round(found.error, 4)
    (0.4842, 0.138)
    """
    table = np.asarray(counts, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] != table.shape[1]:
        raise ValueError(f"the counts have the shape {table.shape}; give a square table, the same grades both ways")
    if not np.all(np.isfinite(table)) or table.min(initial=0) < 0 or table.sum() <= 0:
        raise ValueError("counts are numbers from 0 up, and not all of them 0")
    apart = _weights(weights, len(table))
    if apart.shape != table.shape:
        raise ValueError(f"weights have the shape {apart.shape}, the counts {table.shape}")
    subjects, share = table.sum(), table / table.sum()
    first, second = share.sum(axis=1), share.sum(axis=0)
    chance = float(first @ apart @ second)
    if chance <= 0:
        return None
    value = 1 - float((apart * share).sum()) / chance
    alike = 1 - apart / apart.max()
    expected = float(first @ alike @ second)
    seen = float((alike * share).sum())
    marginal = np.add.outer(alike @ second, alike.T @ first)
    spread = float((share * (alike * (1 - expected) - marginal * (1 - seen)) ** 2).sum())
    spread -= (seen * expected - 2 * expected + seen) ** 2
    return Kappa(value, math.sqrt(max(spread, 0.0) / subjects) / (1 - expected) ** 2)


def _weights(weights: Weights | ArrayLike, grades: int) -> Floats:
    if isinstance(weights, str):
        return disagreement(grades, cast(Weights, weights))
    return np.asarray(weights, dtype=np.float64)


def fleiss_kappa(counts: ArrayLike) -> float | None:
    """
    Fleiss' kappa: many assessors, each subject graded by the same number of them.

    Parameters
    ----------
    counts : array_like, shape (subjects, grades)
        How many assessors gave a subject each grade; every row has the same sum, at least 2.

    Source: J. L. Fleiss, Psychological Bulletin 76 (1971) 378 (from memory).

    >>> fleiss_kappa([[3, 0], [0, 3]])
    1.0
    """
    table = np.asarray(counts, dtype=np.float64)
    if table.ndim != 2 or not len(table):
        raise ValueError("give a row a subject, a column a grade")
    assessors = table[0].sum()
    if assessors < 2 or not np.all(table.sum(axis=1) == assessors):
        raise ValueError("every subject wants the same number of assessors, two or more; for gaps take Krippendorff's alpha")
    seen = float(((table * (table - 1)).sum(axis=1) / (assessors * (assessors - 1))).mean())
    chance = float(((table.sum(axis=0) / table.sum()) ** 2).sum())
    return float((seen - chance) / (1 - chance)) if chance < 1 else None


def krippendorff_alpha(grades: ArrayLike, scale: Scale = "nominal") -> float | None:
    """
    Krippendorff's alpha: any number of assessors, gaps allowed.

    Parameters
    ----------
    grades : array_like, shape (assessors, subjects)
        NaN where an assessor gave no grade.
    scale : {"nominal", "ordinal", "interval", "ratio"}
        What the grades are: names, ranks, numbers with equal steps, numbers with a true zero.

    Returns
    -------
    float or None
        `None` where no subject has two grades or where only one grade was given.

    Source: K. Krippendorff, Content Analysis, chapter on reliability (from memory).

    >>> krippendorff_alpha([[1, 2, 3], [1, 2, 3]])
    1.0
    """
    table = np.asarray(grades, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError("give a row an assessor, a column a subject")
    table = table[:, np.isfinite(table).sum(axis=0) >= 2]
    values, place = np.unique(table[np.isfinite(table)], return_inverse=True)
    if len(values) < 2:
        return None
    held = np.zeros((table.shape[1], len(values)))
    np.add.at(held, (np.nonzero(np.isfinite(table))[1], place), 1)
    each = held.sum(axis=1)
    pairs = (held.T / (each - 1)) @ held - np.diag((held / (each - 1)[:, None]).sum(axis=0))
    total = pairs.sum(axis=0)
    apart = _DISTANCE[scale](values, total)
    seen, chance = float((pairs * apart).sum()), float(total @ apart @ total) / (total.sum() - 1)
    return float(1 - seen / chance)


def _ordinal(_values: Floats, total: Floats) -> Floats:
    """Ranks are as far apart as there are grades given between them, half of either end."""
    upto = np.cumsum(total) - total / 2
    return np.subtract.outer(upto, upto) ** 2


def _ratio(values: Floats, _total: Floats) -> Floats:
    sums = np.add.outer(values, values)
    apart = np.subtract.outer(values, values)
    return np.divide(apart, sums, out=np.zeros_like(apart), where=sums != 0) ** 2


_DISTANCE: Mapping[Scale, Callable[[Floats, Floats], Floats]] = {
    "nominal": lambda values, _: np.sign(np.abs(np.subtract.outer(values, values))),
    "ordinal": _ordinal,
    "interval": lambda values, _: np.subtract.outer(values, values) ** 2,
    "ratio": _ratio,
}


@dataclass(frozen=True, slots=True)
class Intraclass:
    """Intraclass correlations of one assessor's score, and of the mean over all assessors."""

    one_way: float
    absolute: float
    consistency: float
    mean_one_way: float
    mean_absolute: float
    mean_consistency: float


def intraclass(scores: ArrayLike) -> Intraclass | None:
    """
    Intraclass correlation of scores, each subject scored by the same assessors.

    Parameters
    ----------
    scores : array_like, shape (subjects, assessors)
        At least two of each, no gaps.

    Returns
    -------
    Intraclass or None
        `one_way` takes the assessors as drawn anew for each subject; `absolute` counts a severe assessor as disagreement,
        `consistency` does not. `None` where subjects do not differ at all.

    Source: P. E. Shrout, J. L. Fleiss, Psychological Bulletin 86 (1979) 420 (from memory).

    >>> round(intraclass([[1, 2], [3, 4], [5, 6]]).consistency, 6)
    1.0
    """
    table = np.asarray(scores, dtype=np.float64)
    if table.ndim != 2 or min(table.shape) < 2 or not np.all(np.isfinite(table)):
        raise ValueError("give a row a subject, a column an assessor, two or more of each, no gaps")
    subjects, assessors = table.shape
    grand = table.mean()
    over_subjects = assessors * float(((table.mean(axis=1) - grand) ** 2).sum())
    over_assessors = subjects * float(((table.mean(axis=0) - grand) ** 2).sum())
    whole = float(((table - grand) ** 2).sum())
    if over_subjects <= 1e-12 * max(whole, 1e-300):
        return None
    between = over_subjects / (subjects - 1)
    within = (whole - over_subjects) / (subjects * (assessors - 1))
    severity = over_assessors / (assessors - 1)
    left = (whole - over_subjects - over_assessors) / ((subjects - 1) * (assessors - 1))
    bias = (severity - left) / subjects
    return Intraclass(
        one_way=(between - within) / (between + (assessors - 1) * within),
        absolute=(between - left) / (between + (assessors - 1) * left + assessors * bias),
        consistency=(between - left) / (between + (assessors - 1) * left),
        mean_one_way=(between - within) / between,
        mean_absolute=(between - left) / (between + bias),
        mean_consistency=(between - left) / between,
    )
