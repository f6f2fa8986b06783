"""
How far to trust a sitting's decisions: would the same people pass again, how sure is a mark near the cut, were papers equal?

All of it needs numbers: under thirty marked papers nothing but the first is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from grader.reports.analysis import FEW, Precision
from grader.reports.evidence import goes_at, one_scale
from grader.reports.view import Sat, View, share_of
from grader.stats.consistency import Consistency, normal_model
from grader.stats.equating import ability_for, expected_share
from grader.stats.rasch import Scale


@dataclass(frozen=True, slots=True)
class Certainty:
    """
    What a decision of this sitting rests on.

    Parameters
    ----------
    again : Consistency or None
        If the same people sat a parallel paper (two normal forms, correlated by alpha). None without rule, alpha or spread.
    at_the_cut : float or None
        The standard error of a mark at the cut, in percent of the paper, by the Rasch model.
    papers : tuple of float or None
        What somebody just at the cut would earn on the hardest and on the easiest of these papers, in percent.
    unjudged : int
        How many papers hold an item without a difficulty and are left out of `papers`.
    """

    again: Consistency | None
    at_the_cut: float | None = None
    papers: tuple[float, float] | None = None
    unjudged: int = 0


def certainty(view: View, precision: Precision) -> Certainty:
    """What can be said of a sitting's decisions; see `Certainty`."""
    if view.rule is None:
        return Certainty(None)
    again = _again(view, float(view.rule.cut), precision.alpha)
    if len(view.marked) < FEW:
        return Certainty(again)
    scale, _, place = one_scale(goes_at([view]))
    if scale is None:
        return Certainty(again)
    held = [_held(sat, scale, place) for sat in view.marked]
    judged = [paper for paper in held if paper is not None]
    if not judged:
        return Certainty(again, unjudged=len(held))
    everything = [np.concatenate(part) for part in zip(*judged, strict=True)]
    ability = ability_for(everything[0], everything[1], float(view.rule.cut))
    if ability is None:
        return Certainty(again, unjudged=len(held) - len(judged))
    earns = [100 * expected_share(difficulty, points, ability) for difficulty, points in judged]
    error = float(np.mean([_error(difficulty, points, ability) for difficulty, points in judged]))
    return Certainty(again, 100 * error, (min(earns), max(earns)), len(held) - len(judged))


def _again(view: View, cut: float, alpha: float | None) -> Consistency | None:
    shares = np.array([share_of(sat.total) for sat in view.marked])
    if alpha is None or not 0 <= alpha < 1 or len(shares) < 2 or shares.std(ddof=1) == 0:
        return None
    return normal_model(float(shares.mean()), float(shares.std(ddof=1)), alpha, cut)


def _held(sat: Sat, scale: Scale, place: Mapping[str, int]) -> tuple[np.ndarray, np.ndarray] | None:
    """Difficulty and points of each question on a paper; None where one has no difficulty, or the key was taken out."""
    if not sat.key.questions:
        return None
    difficulty = np.array([scale.difficulty[place[question.item]] for question in sat.key.questions if question.item in place])
    if len(difficulty) < len(sat.key.questions) or not np.all(np.isfinite(difficulty)):
        return None
    return difficulty, np.array([float(question.points) for question in sat.key.questions])


def _error(difficulty: np.ndarray, points: np.ndarray, ability: float) -> float:
    """The standard error of the share earned at an ability, each question earned whole or not at all."""
    chance = expit(ability - difficulty)
    return float(np.sqrt((points**2 * chance * (1 - chance)).sum()) / points.sum())
