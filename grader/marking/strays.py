"""
Strays: wrong answers that are right for somebody else's paper of the sitting.

For a person to judge; never a mark. Where numbers are drawn from a small grid, two candidates meet by accident too: so a stray
says how many papers ask the same, and how likely a wrong answer fits one of them by accident. Pairs rank who fits whom.

By accident means: a wrong answer lies anywhere in the range that is plausible for such a part, each power of ten as likely as the
next (evenly, where the range reaches down to nought). Where the item names no such range, it is taken from half the least to
twice the greatest of what the sitting's papers ask. A model of ours; people slip alike, so chances are rather greater than told.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from grader.marking.key import AnyQuestion, Case, Key, Numeric, NumericPart, Reading
from grader.marking.mark import Marks
from grader.marking.numbers import ReadNumber, is_blank, read_number
from grader.marking.ratio import Ratio, between, change, ratio

Place = tuple[str, str]  # item and part: where the same question stands on every paper
_Asked = Numeric | Reading | NumericPart


@dataclass(frozen=True, slots=True)
class Stray:
    """
    A wrong answer of one candidate that is right for the papers of others.

    Parameters
    ----------
    others : tuple of str
        The codes of the papers that it fits, in order.
    papers : int
        How many other papers ask the same.
    chance : float
        How likely a wrong answer fits one of these papers or more by accident.
    """

    paper: str
    candidate: str
    number: str
    item: str
    answer: str
    others: tuple[str, ...]
    papers: int
    chance: float


@dataclass(frozen=True, slots=True)
class Pair:
    """
    How often one candidate's wrong answers fit one other's paper.

    Parameters
    ----------
    paper, other : str
        Whose answers; whose paper they fit.
    hits, tried : int
        How many fit, of so many wrong numbers whose question the other paper has too.
    chance : float
        How likely so many hits or more are by accident, for this pair alone: of many pairs one will be unlikely.
    """

    paper: str
    other: str
    hits: int
    tried: int
    chance: float


class Comparison:
    """
    A sitting's wrong numbers, each held against all its papers: read once for both of what is asked of them.

    Parameters
    ----------
    keys : mapping
        The sitting's keys by paper code.
    marked : iterable of Marks
        What was marked; the order does not matter.

    Notes
    -----
    Only verdicts `wrong` and `slip` are looked at: an answer that is right on the candidate's own paper tells nothing.

    Examples
    --------
    >>> Comparison({}, []).strays(), Comparison({}, []).pairs()
    ((), ())
    """

    def __init__(self, keys: Mapping[str, Key], marked: Iterable[Marks]) -> None:
        self._places = _places(keys)
        self._met = [(wrong, self._places[wrong.place].fitting(wrong.value, wrong.paper)) for wrong in _wrong(keys, marked)]

    def strays(self) -> tuple[Stray, ...]:
        """Every stray, by paper and number."""
        found = []
        for wrong, others in self._met:
            if others:
                place = self._places[wrong.place]
                asked, chance = len(place.windows) - 1, place.covered(wrong.paper)
                found.append(
                    Stray(wrong.paper, wrong.candidate, wrong.number, wrong.place[0], wrong.answer, others, asked, chance)
                )
        return tuple(sorted(found, key=lambda s: (s.paper, s.number)))

    def pairs(self) -> tuple[Pair, ...]:
        """Every pair with a stray, the least likely by accident first."""
        hits: dict[tuple[str, str], int] = defaultdict(int)
        wrongs: dict[str, list[Place]] = defaultdict(list)
        for wrong, others in self._met:
            wrongs[wrong.paper].append(wrong.place)
            for other in others:
                hits[wrong.paper, other] += 1
        found = []
        for (paper, other), count in hits.items():
            tried = [self._places[place].share(other) for place in wrongs[paper] if self._places[place].has(other)]
            found.append(Pair(paper, other, count, len(tried), at_least(count, tried)))
        return tuple(sorted(found, key=lambda pair: (pair.chance, -pair.hits, pair.paper, pair.other)))


def strays(keys: Mapping[str, Key], marked: Iterable[Marks]) -> tuple[Stray, ...]:
    """Every stray of a sitting; see `Comparison`."""
    return Comparison(keys, marked).strays()


def pairs(keys: Mapping[str, Key], marked: Iterable[Marks]) -> tuple[Pair, ...]:
    """Every pair of a sitting with a stray; see `Comparison`."""
    return Comparison(keys, marked).pairs()


def at_least(hits: int, chances: Sequence[float]) -> float:
    """
    How likely so many or more of independent events are.

    >>> at_least(2, [0.5, 0.5]), at_least(0, []), round(at_least(1, [0.1, 0.2]), 12)
    (0.25, 1.0, 0.28)
    """
    exactly = [1.0] + [0.0] * hits  # exactly[n]: n so far; the last one: hits or more
    for chance in chances:
        for count in range(hits, 0, -1):
            stays = exactly[count] if count == hits else exactly[count] * (1 - chance)
            exactly[count] = stays + exactly[count - 1] * chance
        exactly[0] *= 1 - chance
    return exactly[hits] if hits else 1.0


@dataclass(frozen=True, slots=True)
class _Wrong:
    """A wrong number: whose, where, what was written, and its value in SI."""

    paper: str
    candidate: str
    number: str
    place: Place
    answer: str
    value: Ratio


def _wrong(keys: Mapping[str, Key], marked: Iterable[Marks]) -> Iterator[_Wrong]:
    for marks in marked:
        if marks.paper not in keys:
            continue
        key = keys[marks.paper]
        asked = {number: (place, one) for place, number, one in _numbers(key)}
        for mark in marks.marks:
            if mark.verdict not in ("wrong", "slip") or mark.number not in asked or is_blank(mark.answer):
                continue
            place, one = asked[mark.number]
            read = read_number(mark.answer, key.units, one.answer.unit)
            if isinstance(read, ReadNumber) and read.entry.kind == key.units[one.answer.unit].kind:
                value = read.meant.into_si.of((read.above, read.below))
                yield _Wrong(marks.paper, marks.candidate, mark.number, place, mark.answer, value)


@dataclass(frozen=True, slots=True)
class _Window:
    """What is right at a place of one paper: from low to high, in SI; and the range that is plausible there, if it is named."""

    code: str
    low: Ratio
    high: Ratio
    plausible: tuple[float, float] | None

    @property
    def ends(self) -> tuple[float, float]:
        return _float(self.low), _float(self.high)


class _Place:
    """One question of a bank as all papers of a sitting have it: sorted by where what is right begins."""

    def __init__(self, windows: Sequence[_Window]) -> None:
        self.windows = sorted(windows, key=lambda window: window.ends)
        self._lows = [window.ends[0] for window in self.windows]
        self._widest = max(high - low for low, high in (window.ends for window in self.windows))
        self._by_code = {window.code: window for window in self.windows}
        self._range = self._plausible()

    def has(self, code: str) -> bool:
        """Whether that paper asks it."""
        return code in self._by_code

    def fitting(self, value: Ratio, own: str) -> tuple[str, ...]:
        """The other papers on which a value is right, in order."""
        here = _float(value)
        slack = 1e-9 * (abs(here) + self._widest)  # floats only narrow down whom to look at
        first = bisect_left(self._lows, here - self._widest - slack)
        near = self.windows[first : bisect_right(self._lows, here + slack)]
        return tuple(sorted(one.code for one in near if one.code != own and between(value, one.low, one.high)))

    def share(self, code: str) -> float:
        """How much of the plausible range is right on one paper."""
        return self._part(*self._by_code[code].ends)

    def covered(self, own: str) -> float:
        """How much of the plausible range is right on one of the other papers or more."""
        total, upto = 0.0, -math.inf
        for window in self.windows:
            if window.code != own:
                low, high = window.ends
                total += self._part(max(low, upto), high) if high > upto else 0.0
                upto = max(upto, high)
        return min(total, 1.0)

    def _plausible(self) -> tuple[float, float]:
        named = [window.plausible for window in self.windows if window.plausible]
        ends = named or [
            (low / 2 if low > 0 else 2 * low, 2 * high if high > 0 else high / 2) for low, high in (w.ends for w in self.windows)
        ]
        return min(low for low, _ in ends), max(high for _, high in ends)

    def _part(self, low: float, high: float) -> float:
        """What a stretch is of the plausible range."""
        start, end = self._range
        low, high = max(low, start), min(high, end)
        if high < low or end <= start:
            return 0.0 if high < low else 1.0
        return math.log(high / low) / math.log(end / start) if start > 0 else (high - low) / (end - start)


def _places(keys: Mapping[str, Key]) -> dict[Place, _Place]:
    found: dict[Place, list[_Window]] = defaultdict(list)
    for code, key in keys.items():
        for place, _, asked in _numbers(key):
            entry = key.units[asked.answer.unit]
            into_si = change(entry.factor, entry.offset)
            low, high = (into_si.of(ratio(end)) for end in (asked.answer.low, asked.answer.high))
            ends = [_float(into_si.of(ratio(end))) for end in asked.plausible or ()]
            found[place].append(_Window(code, low, high, (ends[0], ends[1]) if ends else None))
    return {place: _Place(windows) for place, windows in found.items()}


def _float(number: Ratio) -> float:
    try:
        return number[0] / number[1]
    except OverflowError:
        return math.inf if number[0] > 0 else -math.inf


def _numbers(key: Key) -> Iterator[tuple[Place, str, _Asked]]:
    """Every number a paper asks for: item and part, its number on the paper, what is asked."""
    for question in key.questions:
        for part, asked in _parts(question):
            yield (question.item, part), question.number + part, asked


def _parts(question: AnyQuestion) -> list[tuple[str, _Asked]]:
    if isinstance(question, Case):
        return [(part.part, part) for part in question.parts if isinstance(part, NumericPart)]
    return [("", question)] if isinstance(question, Numeric | Reading) else []
