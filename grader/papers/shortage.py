"""What a bank lacks for a blueprint: by Hall's theorem, draws that together ask for more items than there are."""

from __future__ import annotations

from collections.abc import Sequence

from grader.items.model import Blueprint, DrawRule, Item

Pool = tuple[DrawRule, tuple[Item, ...]]
SHOWN = 12


def shortages(blueprint: Blueprint, pools: Sequence[Pool]) -> list[str]:
    """
    A sentence for each group of draws that cannot be filled, naming them, their pool and how many items more they need.

    Nothing where the blueprint can be filled.

    >>> from types import SimpleNamespace
    >>> pump = DrawRule(3, 1, objective="pump.1")
    >>> shortages(SimpleNamespace(id="trial"), [(pump, (SimpleNamespace(id="pump-shot"),))])
    ['blueprint trial: objective pump.1 asks for 3 items, the exam bank has 1 (pump-shot); write 2 more, or draw fewer']
    """
    return [_told(blueprint, [pools[draw] for draw in sorted(group)]) for group in _short(pools)]


def _short(pools: Sequence[Pool]) -> list[set[int]]:
    """
    The draws that lack items, those together that lack the same ones.

    From a largest matching of places with items: what an empty place could take is held by others, and so on; all draws met in
    that way have fewer items between them than they ask for, and no draw is met that does not need one of these.
    """
    import numpy as np
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_bipartite_matching

    draws = [draw for draw, (rule, _) in enumerate(pools) for _ in range(rule.items)]
    ids = sorted({item.id for _, pool in pools for item in pool})
    number = {name: place for place, name in enumerate(ids)}
    allowed = [[number[item.id] for item in pool] for _, pool in pools]
    fits = np.zeros((len(draws), max(len(ids), 1)), dtype=np.int8)
    for place, draw in enumerate(draws):
        fits[place, allowed[draw]] = 1
    given = maximum_bipartite_matching(csr_array(fits), perm_type="column") if draws else np.zeros(0, int)
    holder = {int(item): draws[place] for place, item in enumerate(given) if item >= 0}
    groups: list[set[int]] = []
    for empty in (draws[place] for place, item in enumerate(given) if item < 0):
        met, ahead = {empty}, [empty]
        while ahead:
            further = {holder[item] for item in allowed[ahead.pop()]} - met
            met |= further
            ahead += further
        joined = [group for group in groups if group & met]
        groups = [group for group in groups if not group & met] + [met.union(*joined)]
    return groups


def _told(blueprint: Blueprint, short: Sequence[Pool]) -> str:
    wanted = sum(rule.items for rule, _ in short)
    found = sorted({item.id for _, pool in short for item in pool})
    names = " and ".join(str(rule) for rule, _ in short)
    there = f"{len(found)} ({', '.join(found[:SHOWN])}{', …' if len(found) > SHOWN else ''})" if found else "none"
    asks = f"{'asks' if len(short) == 1 else 'together ask'} for {wanted} item{'' if wanted == 1 else 's'}"
    bank = short[0][0].bank
    return (
        f"blueprint {blueprint.id}: {names} {asks}, the {bank} bank has {there}; write {wanted - len(found)} more, or draw fewer"
    )
