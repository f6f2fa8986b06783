from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from math import ceil, floor
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, milp

from grader.base.errors import UseError
from grader.items.model import DrawRule
from grader.papers.assembly import assemble
from grader.papers.weights import Weight

SECRET = bytes(range(32))


@dataclass(frozen=True)
class Bank:
    """A bank by its pools: what each rule, as it prints itself, may draw."""

    pools: Mapping[str, tuple[Any, ...]]

    def eligible(self, rule: DrawRule) -> tuple[Any, ...]:
        return self.pools[str(rule)]


def item(name: str, circuit: str = "pump", points: str = "1") -> Any:
    return SimpleNamespace(id=name, circuit=circuit, points=Decimal(points))


def plan(*rules: DrawRule) -> Any:
    return SimpleNamespace(id="trial", draw=rules)


def people(count: int) -> list[str]:
    return [f"c-{number:03}" for number in range(count)]


def papers_of(
    blueprint: Any,
    bank: Bank,
    candidates: list[str],
    secret: bytes = SECRET,
    weights: Mapping[str, Weight] | None = None,
    standing: Mapping[str, list[str]] | None = None,
) -> dict[str, tuple[Any, ...]]:
    """Papers of items that weigh the same where nothing else is said."""
    alike = {found.id: Weight(0.6, 2.0) for pool in bank.pools.values() for found in pool}
    return assemble(blueprint, bank, candidates, secret, {**alike, **(weights or {})}, standing)


def ids(papers: Mapping[str, tuple[Any, ...]]) -> dict[str, list[str]]:
    return {candidate: [found.id for found in items] for candidate, items in papers.items()}


def shared(papers: Mapping[str, tuple[Any, ...]]) -> float:
    """The mean share of items that a paper has in common with the one before it."""
    sets = [{found.id for found in items} for items in papers.values()]
    return sum(len(one & other) / len(other) for one, other in pairwise(sets)) / (len(sets) - 1)


ONE, CIRCUIT = DrawRule(1, 4, objective="pump.1"), DrawRule(2, 5, circuit="pump", level="C")


def test_the_content_is_met_exactly_and_no_item_stands_twice() -> None:
    bank = Bank({str(ONE): tuple(item(f"a{n}") for n in range(3)), str(CIRCUIT): tuple(item(f"b{n}") for n in range(5))})
    for items in papers_of(plan(ONE, CIRCUIT), bank, people(12)).values():
        assert Counter(found.id[0] for found in items) == {"a": 1, "b": 2}
        assert len({found.id for found in items}) == 3


def test_the_same_secret_gives_the_same_papers_and_another_gives_others() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(9))})
    first, second = (papers_of(plan(CIRCUIT), bank, people(10)) for _ in range(2))
    assert first == second
    assert papers_of(plan(CIRCUIT), bank, people(10), bytes(32)) != first


def test_no_item_is_used_more_than_one_paper_beyond_its_share() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(7))})
    used = Counter(found.id for items in papers_of(plan(CIRCUIT), bank, people(50)).values() for found in items)
    share = 50 * 2 / 7
    assert all(floor(share) - 1 <= used[f"b{n}"] <= ceil(share) + 1 for n in range(7))


@pytest.mark.parametrize(("pool", "least"), [(2, 1.0), (3, 0.5), (4, 0.0), (9, 0.0)])
def test_neighbours_share_no_more_than_the_pool_makes_them(pool: int, least: float) -> None:
    # A paper of two from a pool of n shares at least 2 (2 - n/2) items with its neighbour, if that is above 0: counted by hand.
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(pool))})
    assert shared(papers_of(plan(CIRCUIT), bank, people(30))) == least


def test_overlapping_pools_are_filled_wherever_they_can_be() -> None:
    # The rule for the circuit must leave a1, the only item that fits the objective.
    bank = Bank({str(CIRCUIT): (item("a1"), item("b1"), item("b2")), str(ONE): (item("a1"),)})
    for items in papers_of(plan(CIRCUIT, ONE), bank, people(8)).values():
        assert {found.id for found in items} == {"a1", "b1", "b2"}


def test_a_pool_too_small_is_named() -> None:
    bank = Bank({str(ONE): (item("a1"),), str(CIRCUIT): (item("b1"),)})
    with pytest.raises(UseError) as refused:
        papers_of(plan(ONE, CIRCUIT), bank, people(1))
    assert str(refused.value) == (
        "blueprint trial: circuit pump at level C asks for 2 items, the exam bank has 1 (b1); write 1 more, or draw fewer"
    )


def test_rules_that_take_from_each_other_are_named_together() -> None:
    bank = Bank({str(ONE): (item("a1"),), str(CIRCUIT): (item("a1"), item("b1"))})
    with pytest.raises(
        UseError, match=r"objective pump\.1 and circuit pump at level C together ask for 3 items, the exam bank has 2 \(a1, b1\)"
    ):
        papers_of(plan(ONE, CIRCUIT), bank, people(1))


def test_an_empty_pool_is_named() -> None:
    with pytest.raises(UseError, match=r"objective pump\.1 asks for 1 item, the exam bank has none; write 1 more"):
        papers_of(plan(ONE), Bank({str(ONE): ()}), people(1))


def test_circuits_stand_in_the_blueprint_s_order() -> None:
    rules = [DrawRule(2, 1, circuit=circuit) for circuit in ("power", "pump")]
    bank = Bank({str(rule): tuple(item(f"{rule.circuit}{n}", rule.circuit) for n in range(4)) for rule in rules})
    for items in papers_of(plan(*rules), bank, people(8)).values():
        assert [found.circuit for found in items] == ["power", "power", "pump", "pump"]


@settings(max_examples=30, deadline=None)
@given(data=st.data())
def test_a_blueprint_is_filled_exactly_when_hall_s_condition_holds(data: st.DataObject) -> None:
    # Hall's theorem, checked by brute force over all sets of places.
    names = [f"i{n}" for n in range(5)]
    rules = [DrawRule(data.draw(st.integers(1, 2)), n, objective=f"pump.{n}") for n in range(3)]
    pools = {str(rule): tuple(item(name) for name in data.draw(st.lists(st.sampled_from(names), unique=True))) for rule in rules}
    places = [str(rule) for rule in rules for _ in range(rule.items)]
    fillable = all(
        len({found.id for n in range(len(places)) if chosen >> n & 1 for found in pools[places[n]]}) >= chosen.bit_count()
        for chosen in range(1, 1 << len(places))
    )
    if fillable:
        for items in papers_of(plan(*rules), Bank(pools), people(3)).values():
            assert len({found.id for found in items}) == len(places)
    else:
        with pytest.raises(UseError, match="the exam bank has"):
            papers_of(plan(*rules), Bank(pools), people(3))


def test_every_pool_that_is_too_small_is_named_at_once() -> None:
    # A third draw that takes nothing from the others: two sentences, each with its own number.
    three = DrawRule(3, 6, circuit="choke")
    bank = Bank({str(ONE): (), str(CIRCUIT): (item("b1"), item("b2")), str(three): (item("k1"),)})
    with pytest.raises(UseError) as refused:
        papers_of(plan(ONE, CIRCUIT, three), bank, people(1))
    assert str(refused.value).splitlines() == [
        "blueprint trial: objective pump.1 asks for 1 item, the exam bank has none; write 1 more, or draw fewer",
        "blueprint trial: circuit choke asks for 3 items, the exam bank has 1 (k1); write 2 more, or draw fewer",
    ]


def easy_and_hard(count: int) -> tuple[Bank, dict[str, Weight]]:
    """Two draws from pools in which difficulty and time go from one end to the other, evenly."""
    pools = {str(rule): tuple(item(f"{rule.circuit}{n}", rule.circuit) for n in range(count)) for rule in (PUMP, CHOKE)}
    weights = {
        found.id: Weight(round(0.3 + 0.6 * n / (count - 1), 2), float(1 + n % 3))
        for pool in pools.values()
        for n, found in enumerate(pool)
    }
    return Bank(pools), weights


PUMP, CHOKE = DrawRule(4, 1, circuit="pump"), DrawRule(3, 2, circuit="choke")


def test_papers_weigh_the_same_though_items_do_not() -> None:
    # Chance alone (independent draws without replacement) would give a standard deviation of some 5 % and 1.5 min here.
    bank, weights = easy_and_hard(13)
    papers = papers_of(plan(PUMP, CHOKE), bank, people(40), weights=weights)
    hard = [sum(weights[name].difficulty for name in names) / 7 for names in ids(papers).values()]
    time = [sum(weights[name].minutes for name in names) for names in ids(papers).values()]
    assert max(hard) - min(hard) <= 0.0101
    assert max(time) - min(time) <= 1
    used = Counter(name for names in ids(papers).values() for name in names)
    for rule in (PUMP, CHOKE):
        share = 40 * rule.items / 13
        assert all(share - 3 <= used[found.id] <= share + 3 for found in bank.pools[str(rule)])
    assert shared(papers) == 0
    assert len({frozenset(names) for names in ids(papers).values()}) == 40


def test_marks_are_the_same_on_every_paper_though_a_draw_mixes_them() -> None:
    rule = DrawRule(3, 1, circuit="pump")
    bank = Bank({str(rule): tuple(item(f"b{n}", points=("1", "2", "4", "0.5")[n % 4]) for n in range(12))})
    worth = {sum(found.points for found in items) for items in papers_of(plan(rule), bank, people(30)).values()}
    assert len(worth) == 1


@pytest.mark.parametrize("pool", [2, 3, 4, 5])
def test_one_paper_after_the_other_shares_no_more_than_all_solved_at_once(pool: int) -> None:
    # All papers in one programme: 4 papers of 2, the items that neighbours share made as few as can be.
    papers = 4
    count = papers * pool
    pairs = [(paper, found) for paper in range(papers - 1) for found in range(pool)]
    rows = [[1.0 if column // pool == paper else 0.0 for column in range(count + len(pairs))] for paper in range(papers)]
    for number, (paper, found) in enumerate(pairs):
        row = [0.0] * (count + len(pairs))
        row[paper * pool + found] = row[(paper + 1) * pool + found] = 1
        row[count + number] = -1
        rows.append(row)
    low, high = [2] * papers + [-1] * len(pairs), [2] * papers + [1] * len(pairs)
    cost = [0] * count + [1] * len(pairs)
    least = milp(cost, constraints=LinearConstraint(rows, low, high), integrality=[1] * len(cost), bounds=(0, 1)).fun
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(pool))})
    assert shared(papers_of(plan(CIRCUIT), bank, people(papers))) * 2 * (papers - 1) == pytest.approx(least, abs=1e-9)


def test_papers_that_stand_are_taken_as_they_are_and_only_the_others_made() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(6))})
    standing = {"c-000": ["b0", "b1"], "c-002": ["b2", "b3"]}
    papers = papers_of(plan(CIRCUIT), bank, people(3), standing=standing)
    assert set(papers) == {"c-001"}  # who came late sits between the two, and has what neither has
    assert {found.id for found in papers["c-001"]} == {"b4", "b5"}


@settings(max_examples=10, deadline=None)
@given(data=st.data())
def test_who_comes_late_gets_what_he_would_have_got_in_time(data: st.DataObject) -> None:
    size, count, late = data.draw(st.integers(2, 7)), data.draw(st.integers(1, 6)), data.draw(st.integers(1, 3))
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(size))})
    whole = ids(papers_of(plan(CIRCUIT), bank, people(count + late)))
    before = ids(papers_of(plan(CIRCUIT), bank, people(count)))
    after = ids(papers_of(plan(CIRCUIT), bank, people(count + late), standing=before))
    assert before | after == whole


@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_content_is_exact_whatever_items_weigh(data: st.DataObject) -> None:
    bank, weights = easy_and_hard(6)
    heavy = {
        name: Weight(data.draw(st.floats(0, 1)), data.draw(st.floats(0.5, 30)))
        for name in data.draw(st.lists(st.sampled_from(sorted(weights)), unique=True))
    }
    for names in ids(papers_of(plan(PUMP, CHOKE), bank, people(2), weights=weights | heavy)).values():
        assert Counter(name.rstrip("0123456789") for name in names) == {"pump": 4, "choke": 3}
        assert len(set(names)) == 7


_SCRIPT = """
from tests.papers.test_assembly import *
bank, weights = easy_and_hard(9)
print(ids(papers_of(plan(PUMP, CHOKE), bank, people(6), weights=weights)))
"""


def test_papers_do_not_hang_on_the_order_of_a_process_s_sets() -> None:
    bank, weights = easy_and_hard(9)
    here = ids(papers_of(plan(PUMP, CHOKE), bank, people(6), weights=weights))
    there = subprocess.run(
        [sys.executable, "-c", _SCRIPT],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONHASHSEED": "7"},
    )
    assert there.stdout.decode().strip() == str(here)


def test_the_papers_of_a_sitting_stay_what_they_are() -> None:
    # Our own, written down once: another version of a solver, another machine or another statement of the programme shall give
    # these papers too.
    bank, weights = easy_and_hard(9)
    papers = ids(papers_of(plan(PUMP, CHOKE), bank, people(3), weights=weights))
    assert {candidate: " ".join(sorted(names)) for candidate, names in papers.items()} == {
        "c-000": "choke2 choke6 choke8 pump0 pump3 pump4 pump5",
        "c-001": "choke3 choke4 choke5 pump1 pump2 pump6 pump7",
        "c-002": "choke0 choke1 choke7 pump3 pump4 pump5 pump8",
    }
