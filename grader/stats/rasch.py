"""
The Rasch model by conditional maximum likelihood: how hard items are, whoever sat them; how able people are, whatever they sat.

P(right) = 1 / (1 + exp(-(ability - difficulty))), in logits; up is harder; the mean difficulty is 0. Given how many items a
person got right, which ones they were says nothing more about the person: so the person drops out, and items are estimated
without bias. An item that somebody did not have is NaN for them: papers of one sitting hold different items, and those they share
put them on one scale.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.sparse.csgraph import connected_components
from scipy.special import expit, logsumexp

Floats = NDArray[np.float64]
MOST_ITEMS = 500
"""More items on one paper than this would overflow the symmetric functions."""
MOST_STEPS = 50
"""Newton takes four or five."""
AT_ONCE = 4_000_000
"""Numbers held at once while pairs of items are gone through: 32 MB."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """Everybody who had the same items: which; persons at each total, none and all left out; how often each item was right."""

    items: NDArray[np.intp]
    totals: Floats
    right: Floats


@dataclass(frozen=True, slots=True)
class Scale:
    """
    Items on one scale.

    Parameters
    ----------
    difficulty, error : ndarray, shape (items,)
        In logits, their mean 0 over the items that have one; NaN where an item has no estimate.
    log_likelihood : float
        The conditional one, at the estimate.
    persons : int
        How many it rests on: neither none nor all of their items right.
    without : tuple of int
        Items that have no estimate: everybody got them right, or nobody, or nothing ties them to the others.
    """

    difficulty: Floats
    error: Floats
    log_likelihood: float
    persons: int
    without: tuple[int, ...]


def estimate(marks: ArrayLike) -> Scale | None:
    """
    Item difficulties by conditional maximum likelihood.

    Parameters
    ----------
    marks : array_like, shape (persons, items)
        1 right, 0 not, NaN where the person did not have the item.

    Returns
    -------
    Scale or None
        `None` where fewer than two items can be told apart.

    Raises
    ------
    ValueError
        A mark that is neither 0, 1 nor NaN, or more than `MOST_ITEMS` items on one paper.

    Notes
    -----
    E. B. Andersen, JRSS B 34 (1972) 42; that estimates exist where items are tied by wins and losses both ways: G. H. Fischer,
    Psychometrika 46 (1981) 59 (both from memory). Where they fall into parts, the largest part is estimated.

    Examples
    --------
    >>> scale = estimate([[1, 0]] * 30 + [[0, 1]] * 10)  # two items: the difference is ln(30/10)
    >>> round(float(scale.difficulty[1] - scale.difficulty[0]), 6)
    1.098612
    """
    table = _marks(marks)
    kept = _tied(table)
    if len(kept) < 2:
        return None
    sittings = list(_sittings(table[:, kept]))
    b, covariance = _most_likely(_easiest_guess(sittings, len(kept)), sittings)
    difficulty, error = np.full((2, table.shape[1]), np.nan)
    difficulty[kept], error[kept] = b, np.sqrt(np.diag(covariance))
    value, _ = _unlikelihood(b, sittings)
    return Scale(
        difficulty=difficulty,
        error=error,
        log_likelihood=-value,
        persons=int(sum(sitting.totals.sum() for sitting in sittings)),
        without=tuple(sorted(set(range(table.shape[1])) - set(kept.tolist()))),
    )


def _marks(marks: ArrayLike) -> Floats:
    table = np.asarray(marks, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError("give a row a person, a column an item")
    if not np.all((table == 0) | (table == 1) | np.isnan(table)):
        raise ValueError("marks are 1 (right), 0 (not) or NaN (did not have the item)")
    if table.size and (~np.isnan(table)).sum(axis=1).max() > MOST_ITEMS:
        raise ValueError(f"somebody has more than {MOST_ITEMS} items; take the paper in parts")
    return table


def _tied(table: Floats) -> NDArray[np.intp]:
    """The largest set of items of which each was beaten by others and beat others, directly or through a chain."""
    right, wrong = (
        (table == 1).astype(np.float32),
        (table == 0).astype(np.float32),
    )  # only told from none
    _, part = connected_components((right.T @ wrong) > 0, directed=True, connection="strong")
    return np.flatnonzero(part == np.bincount(part).argmax()) if len(part) else np.empty(0, dtype=np.intp)


def _sittings(table: Floats) -> Iterator[Sitting]:
    """Persons who had the same items, put together; who has none or all right says nothing about the items."""
    had = ~np.isnan(table)
    patterns, member = (
        np.unique(had, axis=0, return_inverse=True) if not had.all() else (had[:1], np.zeros(len(had), dtype=np.intp))
    )
    for number, pattern in enumerate(patterns):
        items = np.flatnonzero(pattern)
        own = table[np.ix_(member.ravel() == number, items)] if len(patterns) > 1 else table[:, items]
        score = own.sum(axis=1)
        counts = np.bincount(score.astype(np.intp), minlength=len(items) + 1).astype(np.float64)
        if len(items) < 2 or counts[1:-1].sum() == 0:
            continue
        right = own.sum(axis=0) - counts[-1]
        counts[0] = counts[-1] = 0.0
        yield Sitting(items, counts, right)


def _easiest_guess(sittings: Sequence[Sitting], items: int) -> Floats:
    """Where to start: the log odds of a wrong answer."""
    right, had = np.zeros(items), np.zeros(items)
    for sitting in sittings:
        right[sitting.items] += sitting.right
        had[sitting.items] += sitting.totals.sum()
    share = (right + 0.5) / (had + 1)
    guess = np.log((1 - share) / share)
    return np.asarray(guess - guess.mean())


def symmetric(ease: ArrayLike) -> Floats:
    """
    Elementary symmetric functions: the coefficients of the product of (1 + ease_i x).

    >>> symmetric([1.0, 2.0, 3.0]).tolist()
    [1.0, 6.0, 11.0, 6.0]
    """
    values = np.asarray(ease, dtype=np.float64)
    found = np.zeros(len(values) + 1)
    found[0] = 1.0
    for number, value in enumerate(values, 1):
        found[1 : number + 1] += value * found[:number]
    return found


def _left_out(ease: Floats, out: NDArray[np.intp]) -> Floats:
    """Symmetric functions without some items, a row for each row of `out`: sums only, so nothing is lost by subtraction."""
    found = np.zeros((len(out), len(ease) + 1))
    found[:, 0] = 1.0
    for number, value in enumerate(ease):
        step = value * found[:, : number + 1]
        step[(out == number).any(axis=1)] = 0.0
        found[:, 1 : number + 2] += step
    return found


def _unlikelihood(b: Floats, sittings: Sequence[Sitting]) -> tuple[float, Floats]:
    """Minus the conditional log-likelihood, and how it changes with each difficulty."""
    value, slope = 0.0, np.zeros(len(b))
    for sitting in sittings:
        ease = np.exp(-b[sitting.items])
        whole = symmetric(ease)
        value += float(b[sitting.items] @ sitting.right + sitting.totals @ np.log(whole))
        slope[sitting.items] += sitting.right - _chances(ease, whole) @ sitting.totals
    return value, slope


def _chances(ease: Floats, whole: Floats) -> Floats:
    """Each item's chance to be right at each total, shape (items, totals)."""
    without = _left_out(ease, np.arange(len(ease))[:, None])
    found = np.zeros_like(without)
    found[:, 1:] = ease[:, None] * without[:, :-1] / whole[1:]
    return found


def _information(b: Floats, sittings: Sequence[Sitting]) -> Floats:
    """How sharply the likelihood bends, shape (items, items)."""
    bend = np.zeros((len(b), len(b)))
    for sitting in sittings:
        ease = np.exp(-b[sitting.items])
        whole = symmetric(ease)
        chance = _chances(ease, whole)
        both = _both_right(ease, whole, sitting.totals)
        np.fill_diagonal(both, chance @ sitting.totals)
        here = both - (chance * sitting.totals) @ chance.T
        bend[np.ix_(sitting.items, sitting.items)] += here
    return bend


def _both_right(ease: Floats, whole: Floats, totals: Floats) -> Floats:
    """How many persons are expected to have both items right, for each pair; 0 on the diagonal."""
    pairs = np.column_stack(np.triu_indices(len(ease), 1))
    weight = (totals / whole)[2:]
    found = np.zeros((len(ease), len(ease)))
    for block in np.array_split(pairs, 1 + pairs.size * len(ease) // AT_ONCE):
        one, other = block.T
        found[one, other] = ease[one] * ease[other] * (_left_out(ease, block)[:, :-2] @ weight)
    return found + found.T


def _most_likely(b: Floats, sittings: Sequence[Sitting]) -> tuple[Floats, Floats]:
    """Newton's steps to the estimate, and the covariance there. The likelihood has one top: a step past it is halved."""
    here, slope = _unlikelihood(b, sittings)
    for _ in range(MOST_STEPS):
        covariance = _inverse(_information(b, sittings))
        step = covariance @ slope
        there, slope = _unlikelihood(b - step, sittings)
        while there > here + 1e-9 * abs(here) and np.abs(step).max() > 1e-9:
            step = step / 2
            there, slope = _unlikelihood(b - step, sittings)
        b, here = b - step, there
        if np.abs(step).max() < 1e-6:  # the next step would be its square
            break
    return b - b.mean(), covariance


def _inverse(information: Floats) -> Floats:
    """The inverse among difficulties whose mean is 0; all of them moved together changes nothing, and has no inverse."""
    level, k = float(np.diag(information).mean()), len(information)
    return np.asarray(np.linalg.inv(information + level / k) - 1 / (level * k))


@dataclass(frozen=True, slots=True)
class Abilities:
    """Ability and its standard error for each total of a paper, 0 to all; NaN where there is none (none or all right)."""

    ability: Floats
    error: Floats


def abilities(difficulty: ArrayLike) -> Abilities:
    """
    What each total on a paper of these items says of the person, by maximum likelihood.

    Parameters
    ----------
    difficulty : array_like, shape (items,)
        All finite.

    Examples
    --------
    >>> found = abilities([-1.0, 1.0])
    >>> round(float(found.ability[1]), 9), bool(np.isnan(found.ability[0]))
    (0.0, True)
    """
    b = np.asarray(difficulty, dtype=np.float64)
    if b.ndim != 1 or not np.all(np.isfinite(b)):
        raise ValueError("give the items' difficulties, all of them finite")
    ability, error = np.full((2, len(b) + 1), np.nan)
    totals = np.arange(1, len(b))
    if not len(totals):
        return Abilities(ability, error)
    low, high = np.full(len(totals), b.min() - 40.0), np.full(len(totals), b.max() + 40.0)
    for _ in range(80):  # bisection: expected totals grow with ability, and nothing can run away
        middle = (low + high) / 2
        above = expit(middle[:, None] - b).sum(axis=1) > totals
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    chance = expit(middle[:, None] - b)
    ability[1:-1], error[1:-1] = middle, 1 / np.sqrt((chance * (1 - chance)).sum(axis=1))
    return Abilities(ability, error)


def conditional_error(difficulty: ArrayLike, ability: float) -> float:
    """
    The standard error of the total, in items, of a person of this ability: largest in the middle of the paper.

    >>> conditional_error([0.0, 0.0, 0.0, 0.0], 0.0)
    1.0
    """
    chance = expit(ability - np.asarray(difficulty, dtype=np.float64))
    return float(np.sqrt((chance * (1 - chance)).sum()))


@dataclass(frozen=True, slots=True)
class Fit:
    """
    How well an item keeps to the model: mean squares, about 1; above, it surprises (noise), below, it says little of its own.

    `outfit` weighs every surprise alike, `infit` those near the person's ability most.
    """

    outfit: Floats
    infit: Floats


def fit(marks: ArrayLike, scale: Scale) -> Fit:
    """
    Outfit and infit of each item over the persons who have neither none nor all right.

    NaN for items without an estimate. B. D. Wright, G. N. Masters, Rating Scale Analysis, 1982 (from memory).

    >>> table = [[1, 0, 0], [0, 1, 0], [1, 1, 0], [0, 0, 1], [1, 0, 1]]
    >>> fit(table, estimate(table)).infit.shape
    (3,)
    """
    table = _marks(marks)
    known = np.isfinite(scale.difficulty)
    own = np.where(known, table, np.nan)
    had = ~np.isnan(own)
    ability = _ability_of_each(own, had, scale.difficulty)
    judged = had & np.isfinite(ability)[:, None]
    chance = expit(ability[:, None] - scale.difficulty)
    spread = np.where(judged, chance * (1 - chance), 0.0)
    gap = np.where(judged, (own - chance) ** 2, 0.0)
    persons = judged.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        outfit = np.where(judged, gap / spread, 0.0).sum(axis=0) / persons
        infit = gap.sum(axis=0) / spread.sum(axis=0)
    return Fit(np.where(known, outfit, np.nan), np.where(known, infit, np.nan))


def _ability_of_each(own: Floats, had: NDArray[np.bool_], difficulty: Floats) -> Floats:
    """Each person's ability by their own items; NaN for none or all right."""
    patterns, member = np.unique(had, axis=0, return_inverse=True)
    score = np.nansum(own, axis=1).astype(np.intp)
    ability = np.full(len(own), np.nan)
    for number, pattern in enumerate(patterns):
        here = member.ravel() == number
        ability[here] = abilities(difficulty[pattern]).ability[score[here]]
    return ability


@dataclass(frozen=True, slots=True)
class Marginal:
    """Difficulties, and the spread of a normal class whose mean ability is 0, estimated together."""

    difficulty: Floats
    spread: float
    log_likelihood: float


def marginal(marks: ArrayLike, nodes: int = 41) -> Marginal | None:
    """
    Difficulties by marginal maximum likelihood: abilities are taken as normal, their mean 0, their spread estimated.

    A second opinion on `estimate`, with an assumption more: differences of difficulties should agree. Everybody has every item.

    Parameters
    ----------
    marks : array_like, shape (persons, items)
        1 right, 0 not.
    nodes : int
        Of the Gauss-Hermite rule over the abilities.

    Returns
    -------
    Marginal or None
        `None` where items cannot be told apart, as in `estimate`.

    Source: R. D. Bock, M. Lieberman, Psychometrika 35 (1970) 179; D. Thissen, Psychometrika 47 (1982) 175 (from memory).
    """
    table = _marks(marks)
    if np.isnan(table).any():
        raise ValueError("somebody did not have an item; take `estimate`")
    start = estimate(table)
    if start is None or start.without:
        return None
    right, totals = table.sum(axis=0), np.bincount(table.sum(axis=1).astype(np.intp), minlength=table.shape[1] + 1)
    places, weights = np.polynomial.hermite_e.hermegauss(nodes)
    rule = (places, np.log(weights / weights.sum()))
    found = minimize(
        _unlikelihood_of_class,
        np.append(start.difficulty, 0.0),
        args=(right, totals, rule),
        jac=True,
        method="BFGS",
        options={"gtol": 1e-7},
    )
    return Marginal(found.x[:-1], float(np.exp(found.x[-1])), -float(found.fun))


def _unlikelihood_of_class(at: Floats, right: Floats, totals: Floats, rule: tuple[Floats, Floats]) -> tuple[float, Floats]:
    """Minus the marginal log-likelihood at difficulties and the log of the spread, and how it changes with each."""
    b, spread = at[:-1], float(np.exp(at[-1]))
    ability = spread * rule[0]
    each = np.arange(len(totals))[:, None] * ability + rule[1] - np.logaddexp(0, ability[:, None] - b).sum(axis=1)
    whole = logsumexp(each, axis=1)
    after = totals[:, None] * np.exp(each - whole[:, None])  # persons at each total, spread over the abilities they may have
    chance = expit(ability[:, None] - b)
    by_item = right - after.sum(axis=0) @ chance
    by_spread = -float((after * (np.arange(len(totals))[:, None] - chance.sum(axis=1)) * ability).sum())
    return float(right @ b - totals @ whole), np.append(by_item, by_spread)
