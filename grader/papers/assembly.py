"""
Which items stand on whose paper: content exactly as the blueprint says, papers that weigh the same, neighbours unlike each other.

One paper after the other, in the order of the roster, each the best beside the papers that are there already, so that who comes
late gets one that is as good. What is asked of a paper, the first above all:

1. Every draw of the blueprint gets as many items as it says, none twice; all papers are worth the same marks.
2. Predicted difficulty and time lie within a band round a target that is the same for the whole sitting: what they come to on
   average where every item is used as evenly as the content allows. Where no paper lies in the band, the nearest.
3. Neighbours share as few items as can be; the next but one count a quarter.
4. Items that were used less than their share go first; being ahead of it by more than one paper costs the square. No two papers
   have all their items in common where the pool leaves a choice.
5. What is left is drawn from the sitting's secret.

The first is a condition; the others have prices, each large against what stands below, and use ahead of its share grows dearer
than all of them: in a small pool the band gives way in the end, not the balance. HiGHS (`grader.papers.programme`) finds the
cheapest paper.

What that does and does not promise: costs are whole numbers, so that two papers cost the same or differ by more than the
solver's tolerance; and each item bears a drawn cost below 2^16, which leaves two cheapest papers with a chance below one in 2^16
for each item of the pool (the isolation lemma of Mulmuley, Vazirani and Vazirani, 1987; from memory). So the papers hang neither
on the machine nor on the way in which a solver looks: two statements of the programme and HiGHS with and without its presolve
gave the same papers. It is no proof for every solver's every version, nor where a search is cut short (`programme.NODES`). Papers
that were sealed are therefore never computed again: they are given in as `standing`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, gcd, lcm
from typing import Protocol

from grader.base.canon import draw, shuffled
from grader.base.errors import UseError
from grader.items.model import Blueprint, DrawRule, Item
from grader.papers.programme import FINEST, Band, Content, Programme, even_use
from grader.papers.shortage import Pool, shortages
from grader.papers.weights import Weight

DIFFICULTY_BAND = Fraction(1, 1000)
"""How far a paper's predicted share of the marks may lie from the target: far below what any prediction is good for."""
TIME_BAND = Fraction(1, 100)
"""How far its predicted time may, as a share of the target; at least half a minute: times are estimated in whole minutes."""
STEPS = 200
"""Predicted difficulties are taken in so many steps: finer they are not known, and on a grid papers can weigh the same."""

# Prices, in units of `FINEST`; the drawn cost of an item is below 4.
_NEIGHBOUR, _NEXT_BUT_ONE, _USE = 64, 16, 32
_OUTSIDE = 500  # for each band's width that a paper lies outside
_SAME = 24
_AHEAD = 400  # times the square
_TRIES = 4  # to find a paper that is like no other
_DRAWN = 1 << 16


class Bank(Protocol):
    """Where items come from; a `Course` is one."""

    def eligible(self, rule: DrawRule) -> tuple[Item, ...]:
        """The items that a rule may draw, in the order of the bank."""


def drawable(blueprint: Blueprint, bank: Bank) -> tuple[Item, ...]:
    """Every item that a blueprint may draw, once, in the order of its draws."""
    return tuple({item.id: item for rule in blueprint.draw for item in bank.eligible(rule)}.values())


def pools_of(blueprint: Blueprint, bank: Bank) -> list[Pool]:
    """
    Each draw of a blueprint with the items it may take.

    Raises `UseError` where it cannot be filled; the message names every draw and pool that is too small, and by how much.
    """
    pools = [(rule, bank.eligible(rule)) for rule in blueprint.draw]
    lacking = shortages(blueprint, pools)
    if lacking:
        raise UseError("\n".join(lacking))
    return pools


def assemble(
    blueprint: Blueprint,
    bank: Bank,
    roster: Sequence[str],
    secret: bytes,
    weights: Mapping[str, Weight],
    standing: Mapping[str, Sequence[str]] | None = None,
) -> dict[str, tuple[Item, ...]]:
    """
    The items of every paper that is still to be made, in the order in which they stand on it.

    Parameters
    ----------
    blueprint : Blueprint
    bank : Bank
        Anything that says which items a rule may draw, such as a `Course`.
    roster : sequence of str
        Candidates' ids: who stands beside each other there sits beside each other.
    secret : bytes
        The sitting's secret, at most 64 bytes.
    weights : mapping of str to Weight
        What every item that may be drawn is taken to weigh: the same for all papers of a sitting.
    standing : mapping of str to sequences of str, optional
        The papers that were sealed already, in the order of their sealing: candidates and the ids of their items. They count as
        used and as neighbours, and no new paper is made for them.

    Raises
    ------
    UseError
        The blueprint cannot be filled; the message names the rules and the pool that is too small.

    Examples
    --------
    >>> from decimal import Decimal
    >>> from types import SimpleNamespace
    >>> items = tuple(SimpleNamespace(id=f"i{n}", circuit="pump", points=Decimal(1)) for n in range(4))
    >>> bank, plan = SimpleNamespace(eligible=lambda rule: items), SimpleNamespace(id="trial", draw=(SimpleNamespace(items=2),))
    >>> papers = assemble(plan, bank, ["c-01", "c-02"], b"demo", {item.id: Weight(0.6, 2.0) for item in items})
    >>> {item.id for item in papers["c-01"]} & {item.id for item in papers["c-02"]}
    set()
    """
    plan = _planned(pools_of(blueprint, bank), weights)
    held = {candidate: plan.numbers(ids) for candidate, ids in (standing or {}).items()}
    used = Counter(item for items in held.values() for item in items)
    papers: dict[str, tuple[Item, ...]] = {}
    for place, candidate in enumerate(roster):
        if candidate in held:
            continue
        costs = plan.costs(len(held), used, _beside(held, roster, place, 1), _beside(held, roster, place, 2))
        tie = [draw(secret, candidate, blueprint.id, f"choice/{item.id}", 0, _DRAWN) for item in plan.items]
        chosen = _unlike(plan.programme, [cost + drawn for cost, drawn in zip(costs, tie, strict=True)], held.values())
        used.update(chosen)
        held[candidate] = chosen
        papers[candidate] = _ordered([plan.items[item] for item in chosen], plan.circuits, secret, candidate, blueprint.id)
    return papers


def _unlike(programme: Programme, costs: Sequence[int], others: Collection[Sequence[int]]) -> list[int]:
    """The cheapest paper; one that has all its items in common with another only where what is unlike it costs much more."""
    same: list[list[int]] = []
    while True:
        barred = [Band(tuple(int(n in each) for n in range(len(costs))), 0, len(each) - 1, _SAME * FINEST) for each in same]
        chosen = (Programme(programme.content, [*programme.bands, *barred]) if barred else programme).chosen(costs)
        if chosen in same or chosen not in others or len(same) == _TRIES:
            return chosen
        same.append(chosen)


def _beside(held: Mapping[str, Sequence[int]], roster: Sequence[str], place: int, away: int) -> set[int]:
    """The items of those who sit so many places away and have a paper."""
    seats = (other for other in (place - away, place + away) if 0 <= other < len(roster))
    return {item for other in seats for item in held.get(roster[other], ())}


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is the same for all papers of a sitting: the items by number, the programme, each item's share of the papers."""

    items: tuple[Item, ...]
    circuits: tuple[str, ...]
    programme: Programme
    shares: tuple[Fraction, ...]

    def numbers(self, ids: Sequence[str]) -> list[int]:
        """Items by number; what is in no pool any more is left out."""
        known = set(ids)
        return [number for number, item in enumerate(self.items) if item.id in known]

    def costs(self, papers: int, used: Mapping[int, int], beside: set[int], next_but_one: set[int]) -> list[int]:
        """What each item costs on the paper after so many, without the draw."""
        found = []
        for item, share in enumerate(self.shares):
            count = used.get(item, 0)
            cost = round(_USE * FINEST * (count - papers * share))
            cost += FINEST * (_NEIGHBOUR * (item in beside) + _NEXT_BUT_ONE * (item in next_but_one))
            ahead = max(count - ceil((papers + 1) * share), 0)
            found.append(cost + FINEST * _AHEAD * ahead * ahead)
        return found


def _planned(pools: Sequence[Pool], weights: Mapping[str, Weight]) -> _Plan:
    items = tuple({item.id: item for _, pool in pools for item in pool}.values())
    number = {item.id: place for place, item in enumerate(items)}
    content = Content(
        tuple(rule.items for rule, _ in pools), tuple(tuple(number[item.id] for item in pool) for _, pool in pools), len(items)
    )
    marks, unit = _whole([Fraction(item.points) for item in items])
    shares = even_use(content)
    worth = _marks_of_a_paper(content, marks, shares)
    exact = []
    if any(len({marks[item] for item in pool}) > 1 for pool in content.pools):
        exact = [Band(marks, worth, worth)]
        shares = even_use(content, exact, shares)
    expected = [Fraction(item.points) * _step(weights[item.id].difficulty) for item in items]
    minutes = [Fraction(weights[item.id].minutes).limit_denominator(60) for item in items]
    bands = [*exact, _about(expected, shares, DIFFICULTY_BAND * worth * unit), _about(minutes, shares, Fraction(1, 2), TIME_BAND)]
    circuits = tuple(dict.fromkeys(item.circuit for item in items))
    return _Plan(items, circuits, Programme(content, bands), tuple(shares))


def _whole(amounts: Sequence[Fraction]) -> tuple[tuple[int, ...], Fraction]:
    """The amounts as whole numbers of the largest unit in which all are whole, and the unit."""
    below = lcm(*(amount.denominator for amount in amounts))
    whole = [int(amount * below) for amount in amounts]
    unit = gcd(*whole) or 1
    return tuple(amount // unit for amount in whole), Fraction(unit, below)


def _step(difficulty: float) -> Fraction:
    """A predicted difficulty to the half percent."""
    return Fraction(round(difficulty * STEPS), STEPS)


def _marks_of_a_paper(content: Content, marks: tuple[int, ...], shares: Sequence[Fraction]) -> int:
    """What every paper shall be worth: of what a paper can be, the nearest to the mean at the most even use; of two, the less."""
    mean = round(_mean(marks, shares))
    nearest = Programme(content, [Band(marks, mean, mean, price=FINEST)]).chosen(marks)
    return sum(marks[item] for item in nearest)


def _about(amounts: Sequence[Fraction], shares: Sequence[Fraction], reach: Fraction, part: Fraction = Fraction(0)) -> Band:
    """A band round the mean at the most even use, reaching so far, or a part of the mean if that is more."""
    whole, unit = _whole(amounts)
    target = _mean(whole, shares)
    reach = max(reach / unit, part * target, key=float)
    low, high = ceil(target - reach), floor(target + reach)
    if low > high:
        low = high = round(target)  # the grid is coarser than the band
    return Band(whole, low, high, price=ceil(_OUTSIDE * FINEST / max(reach, Fraction(1))))


def _mean(amounts: Sequence[int], shares: Sequence[Fraction]) -> Fraction:
    return sum((amount * share for amount, share in zip(amounts, shares, strict=True)), Fraction(0))


def _ordered(items: Sequence[Item], circuits: Sequence[str], secret: bytes, candidate: str, blueprint: str) -> tuple[Item, ...]:
    """Circuits in the order of the blueprint, the items of one in a drawn order: neighbours do not meet at the same number."""
    names = sorted(item.id for item in items)
    rank = {names[number]: place for place, number in enumerate(shuffled(secret, candidate, blueprint, "order", 0, len(names)))}
    return tuple(sorted(items, key=lambda item: (circuits.index(item.circuit), rank[item.id])))
