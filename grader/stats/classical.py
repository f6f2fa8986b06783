"""
Classical analysis of a table of marks: facility, discrimination, reliability and its error, with intervals.

A statistic that does not exist (an item all got right, one candidate, no candidate) is `None`, never NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import beta, binom

Z95 = 1.959963984540054  # two-sided 95 % of the normal distribution


def _table(marks: ArrayLike) -> NDArray[np.float64]:
    table = np.asarray(marks, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError(f"marks have {table.ndim} dimensions; give a table, one row a person, one column an item")
    if not np.all(np.isfinite(table)):
        raise ValueError("marks hold a number that is not finite; leave out the person or the item")
    return table


def facilities(marks: ArrayLike, out_of: ArrayLike) -> NDArray[np.float64]:
    """
    Each item's mean mark as a share of what it was out of.

    Parameters
    ----------
    marks : array_like, shape (persons, items)
    out_of : array_like, shape (items,)
        The greatest mark of each item, above 0.

    Returns
    -------
    ndarray, shape (items,)

    Examples
    --------
    >>> facilities([[1, 2], [0, 2]], [1, 2]).tolist()
    [0.5, 1.0]
    """
    shares: NDArray[np.float64] = _table(marks).mean(axis=0) / np.asarray(out_of, dtype=np.float64)
    return shares


def item_rest(marks: ArrayLike) -> list[float | None]:
    """
    Each item's correlation with the sum of the other items: its discrimination.

    `None` where the item or the rest does not vary.

    >>> item_rest([[1, 1], [1, 1]])
    [None, None]
    """
    table = _table(marks)
    total = table.sum(axis=1)
    return [_correlation(column, total - column) for column in table.T]


def item_total(marks: ArrayLike) -> list[float | None]:
    """
    Each item's correlation with the sum of all items, itself included: always larger than `item_rest`, and flattering.

    `None` where the item or the total does not vary.

    >>> [round(value, 6) for value in item_total([[1, 1], [1, 0], [0, 0]])]
    [0.866025, 0.866025]
    """
    table = _table(marks)
    return [_correlation(column, table.sum(axis=1)) for column in table.T]


def _correlation(one: NDArray[np.float64], other: NDArray[np.float64]) -> float | None:
    if len(one) < 2:
        return None
    a, b = one - one.mean(), other - other.mean()
    scale = math.sqrt(float(a @ a) * float(b @ b))
    return float(a @ b) / scale if scale > 1e-12 else None


def alpha(marks: ArrayLike) -> float | None:
    """
    Cronbach's alpha; for marks of 0 and 1 the same as KR-20. Item and total variances use the same divisor.

    `None` with fewer than two items or persons, or where the totals do not vary.

    Source: L. J. Cronbach, Psychometrika 16 (1951) 297 (from memory).

    >>> round(alpha([[1, 1, 1, 1], [1, 1, 1, 0], [1, 1, 0, 0], [1, 0, 0, 0], [0, 0, 0, 0]]), 12)
    0.8
    """
    table = _table(marks)
    persons, items = table.shape
    if persons < 2 or items < 2:
        return None
    total = table.sum(axis=1).var(ddof=1)
    if total < 1e-12:
        return None
    return float(items / (items - 1) * (1 - table.var(axis=0, ddof=1).sum() / total))


def alpha_without(marks: ArrayLike) -> list[float | None]:
    """
    Alpha with each item left out in turn: an item without which it would be larger is worth a look.

    >>> alpha_without([[1, 1], [0, 0]])
    [None, None]
    """
    table = _table(marks)
    return [alpha(np.delete(table, place, axis=1)) for place in range(table.shape[1])]


def standardised_alpha(marks: ArrayLike) -> float | None:
    """
    Alpha of items that are first given one spread: from their mean correlation. `None` where an item does not vary.

    >>> round(standardised_alpha([[1, 1], [0, 0]]), 12)
    1.0
    """
    table = _table(marks)
    persons, items = table.shape
    if persons < 2 or items < 2 or not np.all(table.std(axis=0) > 1e-12):
        return None
    together = np.corrcoef(table.T)
    mean = float((together.sum() - items) / (items * (items - 1)))
    return float(items * mean / (1 + (items - 1) * mean))


def lengthened(reliability: float, times: float) -> float:
    """
    The reliability of a paper so many times as long, of items of the same kind (Spearman and Brown, 1910; from memory).

    >>> round(lengthened(0.6, 2), 12)
    0.75
    """
    return times * reliability / (1 + (times - 1) * reliability)


def length_for(reliability: float, wanted: float) -> float:
    """
    How many times as long a paper must be for the reliability wanted, both between 0 and 1.

    >>> round(length_for(0.7, 0.9), 6)
    3.857143
    """
    if not (0 < reliability < 1 and 0 < wanted < 1):
        raise ValueError("reliabilities lie between 0 and 1")
    return wanted * (1 - reliability) / (reliability * (1 - wanted))


def measurement_error(marks: ArrayLike) -> float | None:
    """
    The standard error of measurement of the total: its standard deviation times the root of 1 - alpha.

    >>> round(measurement_error([[1, 1, 1, 1], [1, 1, 1, 0], [1, 1, 0, 0], [1, 0, 0, 0], [0, 0, 0, 0]]), 6)
    0.707107
    """
    reliability = alpha(marks)
    if reliability is None:
        return None
    return float(_table(marks).sum(axis=1).std(ddof=1)) * math.sqrt(max(1 - reliability, 0.0))


@dataclass(frozen=True, slots=True)
class Interval:
    """A share and the bounds between which it lies with 95 % confidence."""

    share: float
    low: float
    high: float


def wilson(right: int, of: int, z: float = Z95) -> Interval | None:
    """
    Wilson's interval for a share. `None` where there is nobody.

    Source: E. B. Wilson, JASA 22 (1927) 209 (from memory).

    >>> wilson(15, 20)  # doctest: +ELLIPSIS
    Interval(share=0.75, low=0.53129..., high=0.88813...)
    """
    if not 0 <= right <= of:
        raise ValueError(f"{right} of {of}: give how many of all, from none to all")
    if of == 0:
        return None
    share = right / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    reach = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return Interval(share, max(middle - reach, 0.0), min(middle + reach, 1.0))


def exact(right: int, of: int) -> Interval | None:
    """
    Clopper and Pearson's interval for a share: at least 95 %, so wider than `wilson`. `None` where there is nobody.

    Source: C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404 (from memory).

    >>> exact(15, 20)  # doctest: +ELLIPSIS
    Interval(share=0.75, low=0.50895..., high=0.91342...)
    """
    if not 0 <= right <= of:
        raise ValueError(f"{right} of {of}: give how many of all, from none to all")
    if of == 0:
        return None
    low = float(beta.ppf(0.025, right, of - right + 1)) if right else 0.0
    high = float(beta.ppf(0.975, right + 1, of - right)) if right < of else 1.0
    return Interval(right / of, low, high)


def by_guessing(questions: int, options: int, right: int) -> float:
    """
    How likely pure guessing gets so many questions right or more, each with so many options.

    >>> round(by_guessing(20, 4, 10), 7)
    0.0138644
    """
    return float(binom.sf(right - 1, questions, 1 / options))
