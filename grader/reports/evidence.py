"""
What sittings say of each item: who had it, what they made of it, which option or slip drew them, whether it treats all alike.

Figures only; what an author should look at, and on which of them, is said in `review`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from grader.marking.key import AnyQuestion, Choice, Choices, Numeric, Reading
from grader.marking.mark import Mark
from grader.reports.analysis import FEW, FEWEST
from grader.reports.view import View
from grader.stats.classical import Interval, item_rest, wilson
from grader.stats.dif import Favour, levels_of, mantel_haenszel
from grader.stats.rasch import Fit, Scale, estimate, fit

LEVELS = 5
"""People are compared within so many bands of their mark on the rest of the paper, about as many in each."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One person's go at an item: what it came to, what the rest of the paper came to, as shares."""

    person: str
    group: str
    question: AnyQuestion
    marks: tuple[Mark, ...]
    share: float
    rest: float

    @property
    def full(self) -> bool:
        """All of the marks."""
        return self.share >= 1.0


@dataclass(frozen=True, slots=True)
class OptionLine:
    """An option: how many took it, and how taking it goes with the mark on the rest; None where that cannot be said."""

    text: str
    right: bool
    taken: int
    parting: float | None


@dataclass(frozen=True, slots=True)
class Evidence:
    """
    What is known of an item.

    Parameters
    ----------
    papers : int
        How many papers of these sittings there were; `people` of them held the item and were marked.
    facility : float
        The mean mark as a share.
    full : Interval
        The share with full marks, 95 %.
    discrimination : float or None
        Correlation with the rest of the paper; None under ten people.
    difficulty, error, infit : float or None
        On one scale over all these sittings, in logits, mean 0; full marks taken as right.
    slips : tuple of (str, int)
        What was said to whoever slipped, how often, the most frequent first.
    wrong : int
        How many had no mark for it.
    options : tuple of OptionLine
        Of a choice.
    groups : tuple of (str, Favour)
        Each group of the roster against all others, where both have thirty.
    numbers : Favour or None
        Those whose numbers came to less than the middle against those with more, where both have thirty.
    """

    item: str
    objective: str
    circuit: str
    people: int
    papers: int
    facility: float
    full: Interval
    discrimination: float | None
    difficulty: float | None
    error: float | None
    infit: float | None
    slips: tuple[tuple[str, int], ...]
    wrong: int
    options: tuple[OptionLine, ...] = ()
    groups: tuple[tuple[str, Favour], ...] = ()
    numbers: Favour | None = None


def gather(views: Sequence[View]) -> tuple[Evidence, ...]:
    """The evidence on every item that somebody's marked paper in these sittings held, in the order of their names."""
    taken = goes_at(views)
    scale, fits, place = one_scale(taken)
    papers = sum(len(view.candidates) for view in views)
    return tuple(_evidence(item, taken[item], papers, scale, fits, place[item]) for item in sorted(taken))


def goes_at(views: Iterable[View]) -> dict[str, list[Taken]]:
    """Every marked go at each item, by the item's name."""
    found: dict[str, list[Taken]] = {}
    for view in views:
        for sat in view.marked:
            questions = {question.number: question for question in sat.key.questions}
            person = f"{view.sitting.name}/{sat.paper.candidate}"
            for number, go in sat.goes.items():
                if number in questions:
                    taken = Taken(person, sat.paper.group, questions[number], go.marks, go.share, go.rest)
                    found.setdefault(questions[number].item, []).append(taken)
    return found


def one_scale(taken: Mapping[str, Sequence[Taken]]) -> tuple[Scale | None, Fit | None, dict[str, int]]:
    """All sittings on one scale: a row a person, a column an item, NaN where a paper did not hold it."""
    place = {item: number for number, item in enumerate(sorted(taken))}
    row = {person: number for number, person in enumerate(dict.fromkeys(go.person for goes in taken.values() for go in goes))}
    right = np.full((len(row), len(place)), np.nan)
    for item, goes in taken.items():
        for go in goes:
            right[row[go.person], place[item]] = go.full
    scale = estimate(right)
    return scale, fit(right, scale) if scale else None, place


def _evidence(item: str, goes: Sequence[Taken], papers: int, scale: Scale | None, fits: Fit | None, place: int) -> Evidence:
    shares, rests = [go.share for go in goes], [go.rest for go in goes]
    full = wilson(sum(go.full for go in goes), len(goes)) or Interval(0.0, 0.0, 1.0)
    question = goes[0].question
    return Evidence(
        item=item,
        objective=question.objective,
        circuit=question.circuit,
        people=len(goes),
        papers=papers,
        facility=float(np.mean(shares)),
        full=full,
        discrimination=_parting(shares, rests),
        difficulty=_finite(scale.difficulty[place]) if scale else None,
        error=_finite(scale.error[place]) if scale else None,
        infit=_finite(fits.infit[place]) if fits else None,
        slips=tuple(Counter(mark.why for go in goes for mark in go.marks if mark.verdict == "slip").most_common()),
        wrong=sum(go.share == 0 for go in goes),
        options=_options(goes),
        groups=_groups(goes),
        numbers=_numbers(goes),
    )


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _parting(shares: Sequence[float], rests: Sequence[float]) -> float | None:
    return item_rest(np.column_stack([shares, rests]))[0] if len(shares) >= FEWEST else None


def _options(goes: Sequence[Taken]) -> tuple[OptionLine, ...]:
    """By the option's text: letters are dealt anew for each paper."""
    found: dict[str, tuple[bool, list[bool]]] = {}
    for place, go in enumerate(goes):
        if not isinstance(go.question, Choice | Choices):
            return ()
        right = (go.question.right,) if isinstance(go.question, Choice) else go.question.right
        chosen = set(go.marks[0].read.replace(",", " ").split())
        for option in go.question.options:
            _, taken = found.setdefault(option.text, (option.letter in right, [False] * len(goes)))
            taken[place] = option.letter in chosen
    rests = [go.rest for go in goes]
    return tuple(
        OptionLine(text, right, sum(taken), _parting([float(one) for one in taken], rests))
        for text, (right, taken) in found.items()
    )


def _groups(goes: Sequence[Taken]) -> tuple[tuple[str, Favour], ...]:
    found = []
    for group in sorted({go.group for go in goes if go.group}):
        favour = _favour(goes, [go.group == group for go in goes])
        if favour:
            found.append((group, favour))
    return tuple(found)


def _numbers(goes: Sequence[Taken]) -> Favour | None:
    """The same item with small numbers and with large ones: equally hard, or not?"""
    if not all(isinstance(go.question, Numeric | Reading) for go in goes):
        return None
    values = np.array([float(go.question.answer.value) for go in goes if isinstance(go.question, Numeric | Reading)])
    return _favour(goes, (values > np.median(values)).tolist())


def _favour(goes: Sequence[Taken], focal: Sequence[bool]) -> Favour | None:
    """Mantel-Haenszel within bands of the rest of the paper; None where either side has fewer than thirty."""
    if min(sum(focal), len(goes) - sum(focal)) < FEW:
        return None
    rests = np.array([go.rest for go in goes])
    bands = np.searchsorted(np.quantile(rests, np.arange(1, LEVELS) / LEVELS), rests)
    return mantel_haenszel(levels_of([go.full for go in goes], focal, bands.tolist()))
