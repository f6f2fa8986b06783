"""
Which items stand on whose paper: content exactly as the blueprint says, exposure balanced, neighbours unlike each other.

Every choice is drawn from the sitting's secret, so the same roster, bank and secret give the same papers. A paper takes the items
that were used least so far; among those, ones that the neighbour before does not have; among those, in a drawn order. Where pools
overlap, a place gives way to another (augmenting paths), so whatever can be filled is filled.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Protocol

from grader.base.canon import shuffled
from grader.base.errors import UseError
from grader.items.model import Blueprint, DrawRule, Item

Preference = tuple[int, bool, int]


class Pools(Protocol):
    """Where items come from; a `Course` is one."""

    def eligible(self, rule: DrawRule) -> tuple[Item, ...]:
        """The items that a rule may draw, in the order of the bank."""


def assemble(blueprint: Blueprint, bank: Pools, candidates: Sequence[str], secret: bytes) -> dict[str, tuple[Item, ...]]:
    """
    The items of every candidate's paper, in the order in which they stand on it.

    Parameters
    ----------
    blueprint : Blueprint
    bank : Pools
        Anything that says which items a rule may draw, such as a `Course`.
    candidates : sequence of str
        Ids in the order of the roster: who stands beside each other there sits beside each other.
    secret : bytes
        The sitting's secret, at most 64 bytes.

    Raises
    ------
    UseError
        The blueprint cannot be filled; the message names the rules and the pool that is too small.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> bank = SimpleNamespace(eligible=lambda rule: tuple(SimpleNamespace(id=f"i{n}", circuit="pump") for n in range(4)))
    >>> plan = SimpleNamespace(id="trial", draw=(SimpleNamespace(items=2),))
    >>> papers = assemble(plan, bank, ["c-01", "c-02"], b"demo")
    >>> {item.id for item in papers["c-01"]} & {item.id for item in papers["c-02"]}
    set()
    """
    pools = [(rule, bank.eligible(rule)) for rule in blueprint.draw]
    places = [place for place, (rule, _) in enumerate(pools) for _ in range(rule.items)]
    allowed = [{item.id for item in pool} for _, pool in pools]
    every = {item.id: item for _, pool in pools for item in pool}
    used: Counter[str] = Counter()
    before: set[str] = set()
    papers: dict[str, tuple[Item, ...]] = {}
    for candidate in candidates:
        rank = _drawn(list(every), secret, candidate, blueprint.id, "preference")
        liking: dict[str, Preference] = {name: (used[name], name in before, rank[name]) for name in every}
        chosen = _filled(places, allowed, sorted(every, key=liking.__getitem__))
        if isinstance(chosen, set):
            raise UseError(_too_small(blueprint, pools, chosen))
        used.update(chosen)
        before = set(chosen)
        papers[candidate] = _ordered([every[name] for name in chosen], secret, candidate, blueprint.id)
    return papers


def _drawn(names: Sequence[str], secret: bytes, candidate: str, blueprint: str, what: str) -> dict[str, int]:
    """A drawn rank for each name."""
    return {names[number]: rank for rank, number in enumerate(shuffled(secret, candidate, blueprint, what, 0, len(names)))}


def _filled(places: Sequence[int], allowed: Sequence[set[str]], preferred: Sequence[str]) -> list[str] | set[int]:
    """
    An item for each place, no item twice; or, where that cannot be, the rules that together ask for more than there is.

    `places` gives each place its rule, `allowed` each rule its items, `preferred` all items, the best first.
    """
    holder: dict[str, int] = {}
    for place in range(len(places)):
        seen: set[str] = set()
        if not _seated(place, places, allowed, preferred, holder, seen):
            return {places[place]} | {places[holder[name]] for name in seen}
    held = {place: name for name, place in holder.items()}
    return [held[place] for place in range(len(places))]


def _seated(
    place: int,
    places: Sequence[int],
    allowed: Sequence[set[str]],
    preferred: Sequence[str],
    holder: dict[str, int],
    seen: set[str],
) -> bool:
    """Give the place an item: a free one if there is any, else one whose holder can take another."""
    mine = [name for name in preferred if name in allowed[places[place]] and name not in seen]
    for name in mine:
        if name not in holder:
            holder[name] = place
            return True
    for name in mine:
        if name in seen:
            continue
        seen.add(name)
        if _seated(holder[name], places, allowed, preferred, holder, seen):
            holder[name] = place
            return True
    return False


def _ordered(items: Sequence[Item], secret: bytes, candidate: str, blueprint: str) -> tuple[Item, ...]:
    """Circuits in the order of the blueprint, the items of one in a drawn order: neighbours do not meet at the same number."""
    circuits = list(dict.fromkeys(item.circuit for item in items))
    rank = _drawn(sorted(item.id for item in items), secret, candidate, blueprint, "order")
    return tuple(sorted(items, key=lambda item: (circuits.index(item.circuit), rank[item.id])))


def _too_small(blueprint: Blueprint, pools: Sequence[tuple[DrawRule, tuple[Item, ...]]], short: set[int]) -> str:
    rules = [pools[number] for number in sorted(short)]
    wanted = sum(rule.items for rule, _ in rules)
    found = sorted({item.id for _, pool in rules for item in pool})
    names = " and ".join(str(rule) for rule, _ in rules)
    there = f"{len(found)} ({', '.join(found[:12])}{', …' if len(found) > 12 else ''})" if found else "none"
    bank = rules[0][0].bank
    asks = f"{'asks' if len(rules) == 1 else 'together ask'} for {wanted} item{'' if wanted == 1 else 's'}"
    return (
        f"blueprint {blueprint.id}: {names} {asks}, the {bank} bank has {there}; write {wanted - len(found)} more, or draw fewer"
    )


def overlap(papers: Mapping[str, Sequence[Item]]) -> float:
    """
    The mean share of items that a paper has in common with the one before it, 0 to 1; 0 where there is one paper.

    >>> from types import SimpleNamespace as Item
    >>> overlap({"c-01": [Item(id="a"), Item(id="b")], "c-02": [Item(id="b"), Item(id="c")]})
    0.5
    """
    sets = [{item.id for item in items} for items in papers.values()]
    pairs = [len(one & other) / len(other) for one, other in pairwise(sets) if other]
    return sum(pairs) / len(pairs) if pairs else 0.0
