"""How far to trust a sitting's decisions, in words: each figure with what it means and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from grader.reports.analysis import FEW, Precision
from grader.reports.certainty import Certainty
from grader.stats.classical import Interval

AGREE_WELL, AGREE_SOMEWHAT = 0.8, 0.6
"""Reliability from which the paper can carry a decision, and from which with a look near the cut (common practice, no source)."""
ALIKE = 5.0
"""Papers that lie closer together than this, in percent of the paper, are called equally hard (house rule)."""


@dataclass(frozen=True, slots=True)
class Said:
    """One thing to know: the question a person would ask, the short answer, what it means and what to do."""

    asks: str
    answer: str
    means: str


def trust(sure: Certainty, precision: Precision, passed: Interval | None) -> tuple[Said, ...]:
    """
    What a person should know before the decisions of a sitting stand.

    Parameters
    ----------
    sure, precision :
        What was found of the sitting.
    passed : Interval or None
        The share that passed; None where it cannot be said.

    Examples
    --------
    >>> [one.answer for one in trust(Certainty(None), Precision(None, None), None)]
    ['It cannot be told yet.', 'It cannot be told.', 'It cannot be told yet.']
    """
    return tuple(_said(sure, precision, passed))


def _said(sure: Certainty, precision: Precision, passed: Interval | None) -> Iterator[Said]:
    yield _mark(precision)
    yield _again(sure)
    yield _papers(sure)
    if sure.at_the_cut is not None:
        yield Said(
            "How sure is a mark just at the cut?",
            f"To about ±{sure.at_the_cut:.0f} % of the paper.",
            "By the Rasch model, which takes each paper's own questions into account. Where it differs much from the figure for "
            "all marks, take the greater of the two for whoever is near the cut.",
        )
    if passed is not None:
        yield Said(
            "Can the share that passed be compared with another class?",
            f"{100 * passed.share:.0f} % passed; by the luck of who is in a class it could as well be "
            f"{100 * passed.low:.0f} to {100 * passed.high:.0f} %.",
            "Two classes differ by more than luck where such ranges of theirs lie apart; where they overlap, nobody can tell.",
        )


def _mark(precision: Precision) -> Said:
    asks = "How sure is a mark?"
    if precision.error is None or precision.alpha is None:
        return Said(asks, "It cannot be told yet.", "That takes two marked papers or more, with different totals.")
    return Said(
        asks,
        f"To about ±{precision.error:.0f} % of the paper.",
        "Two marks of three lie no further than that from what the same person would earn on average over many such papers "
        f"(standard error of measurement). {agreement(precision.alpha)}",
    )


def agreement(alpha: float) -> str:
    """
    What a reliability means for whoever decides, the figure last.

    >>> agreement(0.83)[:52]
    'The questions agree well on who is strong: the paper'
    """
    if alpha >= AGREE_WELL:
        does = "The questions agree well on who is strong: the paper can carry the decision; look at those near the cut."
    elif alpha >= AGREE_SOMEWHAT:
        does = "The questions agree fairly on who is strong: look at everybody near the cut before the decision stands."
    else:
        does = (
            "The questions agree little on who is strong: let the bench and your own knowledge of the person weigh as well, and "
            "set a longer paper next time. Where all know about equally much the figure is low too, with good questions."
        )
    return f"{does} (Reliability alpha {alpha:.2f}; 1 is the most.)"


def _again(sure: Certainty) -> Said:
    asks = "Would the same people pass again?"
    if sure.again is None:
        return Said(asks, "It cannot be told.", "There is no rule to pass by, or too little that parts the class.")
    alike = round(100 * sure.again.alike)
    kappa = "" if sure.again.kappa is None else f" (Agreement beyond luck: kappa {sure.again.kappa:.2f}; 1 is the most.)"
    return Said(
        asks,
        f"About {alike} of 100 would.",
        f"On another paper of this kind {alike} of 100 decisions would be the same; the other {100 - alike} would turn, most of "
        f"them near the cut. Those who are near it are named above. Estimated from this sitting alone.{kappa}",
    )


def _papers(sure: Certainty) -> Said:
    asks = "Were the papers equally hard?"
    if sure.papers is None:
        means = (
            f"It takes {FEW} marked papers whose questions can be compared. Until then the papers are as alike as assembly made "
            "them, by what the authors and earlier sittings say of each item."
        )
        return Said(asks, "It cannot be told yet.", means)
    low, high = sure.papers
    left = f" Left out: {sure.unjudged} with a question that cannot be placed." if sure.unjudged else ""
    answer = "Yes, nearly." if high - low <= ALIKE else "Not quite."
    does = (
        "Nothing to do."
        if high - low <= ALIKE
        else "Look at those near the cut who had a hard paper; nobody's mark is changed for it."
    )
    return Said(
        asks,
        answer,
        f"Somebody just at the cut would earn {low:.0f} % on the hardest and {high:.0f} % on the easiest. {does}{left}",
    )
