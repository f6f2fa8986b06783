"""
Two sittings on one scale, by the items they share; and whether papers that hold different items weigh the same.

Each run of the Rasch model puts its own mean difficulty at 0. Items that stood in both say how far one scale lies from the other.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit

from grader.stats.classical import Z95

MOVED = 0.5
"""An anchor that lies so many logits off the others has changed, whatever its error (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Link:
    """
    How a new scale goes over into an old one.

    Parameters
    ----------
    shift : float
        What to add to a difficulty or ability of the new scale, in logits.
    error : float or None
        Its standard error, from how the anchors scatter; `None` with one anchor.
    left : mapping
        For each anchor what is left after the shift: above 0, it has become easier.
    moved : tuple of str
        Anchors that lie off the middle one by more than their errors and more than `MOVED`: look at them, and leave them out.
    """

    shift: float
    error: float | None
    left: Mapping[str, float]
    moved: tuple[str, ...]


def link(old: Mapping[str, float], new: Mapping[str, float], errors: Mapping[str, float] | None = None) -> Link | None:
    """
    The mean difference of the items that both scales have.

    Parameters
    ----------
    old, new : mapping
        Difficulty of each item, in logits.
    errors : mapping, optional
        The standard error of an anchor's difference; without it an anchor is judged by `MOVED` alone.

    Returns
    -------
    Link or None
        `None` where no item is in both.

    Examples
    --------
    >>> round(link({"a": -1.2, "b": -0.3}, {"a": -0.9, "b": 0.1}).shift, 6)
    -0.35
    """
    anchors = [name for name in old if name in new and math.isfinite(old[name]) and math.isfinite(new[name])]
    if not anchors:
        return None
    gaps = np.array([old[name] - new[name] for name in anchors])
    shift = float(gaps.mean())
    left = {name: float(gap) - shift for name, gap in zip(anchors, gaps, strict=True)}
    certain, middle = errors or {}, float(np.median(gaps)) - shift  # the median: one that moved drags the mean after it
    moved = tuple(name for name in anchors if abs(left[name] - middle) > max(MOVED, Z95 * certain.get(name, 0.0)))
    error = float(gaps.std(ddof=1)) / math.sqrt(len(gaps)) if len(gaps) > 1 else None
    return Link(shift, error, left, moved)


def expected_share(difficulty: ArrayLike, points: ArrayLike, ability: float) -> float:
    """
    The share of the marks that a person of this ability would have on a paper of these items.

    Two papers weigh the same at the cut where this is the same for both.

    >>> expected_share([0.0, 0.0], [1, 3], 0.0)
    0.5
    """
    weight = np.asarray(points, dtype=np.float64)
    return float((weight * expit(ability - np.asarray(difficulty, dtype=np.float64))).sum() / weight.sum())


def ability_for(difficulty: ArrayLike, points: ArrayLike, share: float) -> float | None:
    """
    The ability that is expected to earn this share of a paper; `None` for none or all of it, which no ability is.

    >>> ability_for([0.0, 0.0], [1, 3], 0.5)
    0.0
    """
    if not 0 < share < 1:
        return None
    b = np.asarray(difficulty, dtype=np.float64)
    low, high = float(b.min()) - 40, float(b.max()) + 40
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (low, middle) if expected_share(b, points, middle) >= share else (middle, high)
    return round(high, 9) + 0.0  # never -0
