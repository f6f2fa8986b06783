"""
Would the same people pass if they sat a parallel paper? Decision consistency, estimated from one sitting.

Each model gives the share decided alike both times, and kappa, which takes off what chance alone would decide alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaln
from scipy.stats import betabinom, binom, multivariate_normal, norm


@dataclass(frozen=True, slots=True)
class Consistency:
    """The share decided alike twice, that share beyond chance, and the share failing each time."""

    alike: float
    kappa: float | None
    failing: float


def _from_shares(failing: float, both_failing: float) -> Consistency:
    alike = 1 - 2 * failing + 2 * both_failing
    chance = failing**2 + (1 - failing) ** 2
    return Consistency(alike, (alike - chance) / (1 - chance) if chance < 1 - 1e-12 else None, failing)


def normal_model(mean: float, spread: float, reliability: float, cut: float) -> Consistency:
    """
    Two parallel forms, jointly normal, correlated by the reliability.

    Parameters
    ----------
    mean, spread, cut : float
        Of the marks, in one unit; the spread above 0.
    reliability : float
        From 0 to below 1, alpha for instance.

    Notes
    -----
    At a cut on the mean, alike = 1/2 + asin(r)/pi. The idea behind Subkoviak's tables of 1988 (abstract seen only); marks are
    taken as continuous, which suits a paper of 30 marks and more.

    Examples
    --------
    >>> round(normal_model(50, 10, 0.8, 50).alike, 4)
    0.7952
    """
    if not (spread > 0 and 0 <= reliability < 1 and math.isfinite(mean) and math.isfinite(cut)):
        raise ValueError("give a mean, a spread above 0, a reliability from 0 to below 1, and a cut")
    z = (cut - mean) / spread
    both = float(multivariate_normal.cdf([z, z], cov=[[1, reliability], [reliability, 1]]))
    return _from_shares(float(norm.cdf(z)), both)


def kr21(marks: ArrayLike, items: int) -> float | None:
    """
    KR-21: the reliability of so many items of 0 or 1 that are all equally hard; a lower bound of KR-20.

    `None` where marks do not vary. Variance with the divisor n.

    >>> round(kr21([0, 1, 2], 2), 6)
    0.5
    """
    table = np.asarray(marks, dtype=np.float64)
    return _kr21(float(table.mean()), float(table.var()), items) if len(table) > 1 and table.var() > 0 and items > 1 else None


def _kr21(mean: float, variance: float, items: int) -> float:
    return items / (items - 1) * (1 - mean * (items - mean) / (items * variance))


def beta_binomial(mean: float, variance: float, items: int, cut: int) -> Consistency | None:
    """
    Huynh's model: true shares follow a beta distribution, marks given a true share are binomial.

    Parameters
    ----------
    mean, variance : float
        Of the marks; variance with the divisor n.
    items : int
        How many items of 0 or 1, two at least.
    cut : int
        The least mark that passes.

    Returns
    -------
    Consistency or None
        `None` where KR-21 is 0 or less, or 1: the model has no solution.

    Notes
    -----
    a = (1/KR21 - 1) mean, b = items/KR21 - items - a. H. Huynh, Journal of Educational Measurement 13 (1976) 253 (from memory).

    Examples
    --------
    >>> found = beta_binomial(7, 4, 10, 6)
    >>> round(found.alike, 5), round(found.kappa, 5)
    (0.77435, 0.35264)
    """
    if items < 2 or not variance > 0 or not 0 <= mean <= items:
        raise ValueError("give two items or more, a mean among their marks and a variance above 0")
    reliability = _kr21(mean, variance, items)
    if not 0 < reliability < 1:
        return None
    a = (1 / reliability - 1) * mean
    return twice_beta_binomial(a, items / reliability - items - a, items, cut)


def twice_beta_binomial(a: float, b: float, items: int, cut: int) -> Consistency:
    """
    Consistency where true shares follow Beta(a, b).

    >>> twice_beta_binomial(1, 1, 1, 1).alike  # two thirds, by hand
    0.66666666666666...
    """
    below = np.arange(max(cut, 0))[np.arange(max(cut, 0)) <= items]
    failing = float(betabinom.pmf(below, items, a, b).sum())
    # Both marks given one true share: a beta-binomial of twice the items, its mark split as the hypergeometric splits it.
    x, y = np.meshgrid(below, below)
    log_choose = _log_choose(items, x) + _log_choose(items, y)
    both = np.exp(log_choose - _log_choose(2 * items, x + y) + betabinom.logpmf(x + y, 2 * items, a, b)).sum()
    return _from_shares(failing, float(both))


def _log_choose(n: int, k: ArrayLike) -> np.ndarray:
    chosen = np.asarray(k)
    return np.asarray(gammaln(n + 1) - gammaln(chosen + 1) - gammaln(n - chosen + 1))


def person_by_person(true_shares: ArrayLike, items: int, cut: int) -> Consistency:
    """
    Subkoviak's model of 1976: each person's true share is known (or shrunk from the mark), marks are binomial.

    Parameters
    ----------
    true_shares : array_like, shape (persons,)
        From 0 to 1.

    Examples
    --------
    >>> round(person_by_person([0.2, 0.8], 10, 6).alike, 6)
    0.961953
    """
    shares = np.asarray(true_shares, dtype=np.float64)
    if shares.ndim != 1 or not len(shares) or not np.all((shares >= 0) & (shares <= 1)):
        raise ValueError("give each person's true share, from 0 to 1")
    failing = binom.cdf(cut - 1, items, shares)
    return _from_shares(float(failing.mean()), float((failing**2).mean()))


def shrunk(marks: ArrayLike, items: int, reliability: float) -> np.ndarray:
    """
    True shares as Kelley would estimate them: a mark drawn towards the mean by what is not reliable of it.

    T. L. Kelley, Statistical Method, 1923 (from memory).

    >>> shrunk([2, 8], 10, 0.5).tolist()
    [0.35, 0.65]
    """
    share = np.asarray(marks, dtype=np.float64) / items
    return np.asarray(reliability * share + (1 - reliability) * share.mean())
