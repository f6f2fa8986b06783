"""
Does an item favour a group? The Mantel-Haenszel odds ratio over people of equal score.

A difference in facility between groups may only mean that one knows more. At equal score, what is left is the item's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import chi2

from grader.stats.classical import Z95

PER_LN = -2.35
"""What a natural log odds ratio is multiplied with for the delta scale: 4/1.7, turned round."""


@dataclass(frozen=True, slots=True)
class Favour:
    """
    How much an item favours the reference group over the focal group.

    Parameters
    ----------
    ratio : float
        Common odds ratio; above 1 the reference group has it easier.
    low, high : float
        Its 95 % interval.
    chi2, p : float
        Mantel-Haenszel's test that the ratio is 1, with continuity correction.
    delta : float
        The ratio on the delta scale; below 0 the item is against the focal group.
    grade : str
        ``A`` negligible, ``B`` moderate, ``C`` large.
    """

    ratio: float
    low: float
    high: float
    chi2: float
    p: float
    delta: float
    grade: str


def mantel_haenszel(levels: ArrayLike) -> Favour | None:
    """
    The odds ratio common to all levels of score.

    Parameters
    ----------
    levels : array_like, shape (levels, 2, 2)
        Counts at each level: rows reference and focal group, columns right and wrong. A level without a group adds nothing.

    Returns
    -------
    Favour or None
        `None` where there is nothing to compare, or one group alone got it right (or wrong) at every level.

    Notes
    -----
    N. Mantel, W. Haenszel, JNCI 22 (1959) 719; interval: J. Robins, N. Breslow, S. Greenland, Biometrics 42 (1986) 311; A, B, C:
    below 1.0, between, 1.5 and over with significance (all from memory).

    Examples
    --------
    >>> mantel_haenszel([[[10, 10], [10, 10]]]).ratio
    1.0
    """
    table = np.asarray(levels, dtype=np.float64)
    if table.ndim != 3 or table.shape[1:] != (2, 2) or not np.all(np.isfinite(table)) or np.any(table < 0):
        raise ValueError("give counts from 0 up: a table of two rows and two columns at each level of score")
    table = table[(table.sum(axis=2) > 0).all(axis=1)]
    if not len(table):
        return None
    (a, b), (c, d) = table[:, 0].T, table[:, 1].T
    n = table.sum(axis=(1, 2))
    for_reference, for_focal = a * d / n, b * c / n
    up, down = float(for_reference.sum()), float(for_focal.sum())
    if up <= 0 or down <= 0:
        return None
    ratio = up / down
    p, q = (a + d) / n, (b + c) / n
    error = math.sqrt(
        float((p * for_reference).sum()) / (2 * up**2)
        + float((p * for_focal + q * for_reference).sum()) / (2 * up * down)
        + float((q * for_focal).sum()) / (2 * down**2)
    )
    test = _test(table)
    delta = PER_LN * math.log(ratio)
    return Favour(
        ratio=ratio,
        low=ratio * math.exp(-Z95 * error),
        high=ratio * math.exp(Z95 * error),
        chi2=test,
        p=float(chi2.sf(test, 1)),
        delta=delta,
        grade=_grade(delta, error),
    )


def _test(table: np.ndarray) -> float:
    """Mantel-Haenszel's chi-square with continuity correction; 0 where nothing can vary."""
    rows, columns, n = table.sum(axis=2), table.sum(axis=1), table.sum(axis=(1, 2))
    keep = n > 1
    expected = (rows[:, 0] * columns[:, 0] / n)[keep].sum()
    spread = (rows[keep].prod(axis=1) * columns[keep].prod(axis=1) / (n[keep] ** 2 * (n[keep] - 1))).sum()
    if spread <= 0:
        return 0.0
    return float(max(abs(table[keep, 0, 0].sum() - expected) - 0.5, 0.0) ** 2 / spread)


def _grade(delta: float, error: float) -> str:
    """A where below 1.0 or not surely apart from 0; C where 1.5 and over and surely above 1.0; B between."""
    size, width = abs(delta), abs(PER_LN) * error
    if size < 1.0 or size / width < Z95:
        return "A"
    return "C" if size >= 1.5 and (size - 1.0) / width > 1.6448536269514722 else "B"


def levels_of(right: Sequence[bool], focal: Sequence[bool], scores: Sequence[float]) -> np.ndarray:
    """
    The counts of `mantel_haenszel` from persons: right or not, in the focal group or not, and the score, the item's own included.

    >>> levels_of([True, False], [False, True], [3, 3]).tolist()
    [[[1.0, 0.0], [0.0, 1.0]]]
    """
    _, level = np.unique(np.asarray(scores, dtype=np.float64), return_inverse=True)
    counts = np.zeros((int(level.max(initial=-1)) + 1, 2, 2))
    np.add.at(counts, (level, np.asarray(focal, dtype=int), 1 - np.asarray(right, dtype=int)), 1)
    return counts
