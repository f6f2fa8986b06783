"""How alike the papers of a sitting weigh, and how unlike each other they are: what is told when it has been held."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from grader.items.model import Item
from grader.marking.key import Key
from grader.papers.letters import right_letters
from grader.papers.weights import Weight


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure over several papers: its mean, its least and its greatest."""

    mean: float
    least: float
    most: float

    @classmethod
    def of(cls, figures: Iterable[float]) -> Spread:
        """
        The spread of some figures; 0 where there are none.

        >>> Spread.of([1, 2, 6])
        Spread(mean=3.0, least=1, most=6)
        """
        found = [*figures] or [0.0]
        return cls(sum(found) / len(found), min(found), max(found))


@dataclass(frozen=True, slots=True)
class Likeness:
    """
    The papers of a sitting beside each other.

    `marks` is what a paper is worth, `difficulty` the share of it that is expected to be got, `minutes` what it should take;
    `measured` says how many of the items that could be drawn have a measured difficulty, of `pool`. `shared` is how many items
    two neighbours in the roster have in common, `exposure` on how many papers an item of the pool stands. `letters` counts how
    often each letter is the right one, over all papers.
    """

    papers: int
    marks: Spread
    difficulty: Spread
    minutes: Spread
    measured: int
    pool: int
    shared: Spread
    exposure: Spread
    letters: Mapping[str, int]


def likeness(keys: Sequence[Key], pool: Sequence[Item], weights: Mapping[str, Weight]) -> Likeness:
    """
    Compare papers.

    Parameters
    ----------
    keys : sequence of Key
        In the order of the roster.
    pool : sequence of Item
        Every item that could be drawn.
    weights : mapping of str to Weight
        What each of them was taken to weigh.
    """
    items = {item.id: item for item in pool}
    papers = [[items[question.item] for question in key.questions if question.item in items] for key in keys]
    marks = [sum(float(item.points) for item in paper) for paper in papers]
    expected = [sum(float(item.points) * weights[item.id].difficulty for item in paper) for paper in papers]
    sets = [{item.id for item in paper} for paper in papers]
    used = Counter(name for each in sets for name in each)
    letters = Counter[str]()
    for key in keys:
        letters.update(right_letters(key.questions))
    return Likeness(
        papers=len(papers),
        marks=Spread.of(marks),
        difficulty=Spread.of(round(share / worth, 9) if worth else 0.0 for share, worth in zip(expected, marks, strict=True)),
        minutes=Spread.of(sum(weights[item.id].minutes for item in paper) for paper in papers),
        measured=sum(weights[name].answers > 0 for name in items),
        pool=len(items),
        shared=Spread.of(len(one & other) for one, other in pairwise(sets)),
        exposure=Spread.of(used[name] for name in items),
        letters=dict(sorted(letters.items())),
    )


def told(found: Likeness) -> list[str]:
    """
    The comparison in lines for people.

    >>> half, marks, time, none = (Spread.of([figure]) for figure in (0.5, 16, 25, 0))
    >>> found = Likeness(2, marks, half, time, 0, 32, none, Spread.of([0, 1]), {"a": 2})
    >>> print(*told(found), sep="\\n")
    predicted: 50 % of 16 marks on every paper, in 25 min; difficulty as the authors estimate it
    neighbours: 0 items in common at most, 0 on average
    items: 32 in the pool, each on 0 to 1 of 2 papers
    right letters: a 2
    """
    worth = f"{found.marks.mean:.4g} marks" if found.marks.least == found.marks.most else f"{_ends(found.marks)} marks"
    lines = [
        f"predicted: {_ends(found.difficulty, 100)} % of {worth} on every paper, in {_ends(found.minutes)} min; {_basis(found)}",
        f"neighbours: {found.shared.most:.0f} items in common at most, {found.shared.mean:.2g} on average",
        f"items: {found.pool} in the pool, each on {_ends(found.exposure)} of {found.papers} papers",
    ]
    if found.letters:
        lines.append("right letters: " + ", ".join(f"{letter} {count}" for letter, count in found.letters.items()))
    return lines


def _basis(found: Likeness) -> str:
    if not found.measured:
        return "difficulty as the authors estimate it"
    return f"difficulty of {found.measured} items of {found.pool} as earlier sittings measured it"


def _ends(spread: Spread, times: float = 1.0) -> str:
    least, most = f"{spread.least * times:.3g}", f"{spread.most * times:.3g}"
    return least if least == most else f"{least} to {most}"
