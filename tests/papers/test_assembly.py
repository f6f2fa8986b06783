from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.items.model import DrawRule
from grader.papers.assembly import assemble, overlap

SECRET = bytes(range(32))


@dataclass(frozen=True)
class Bank:
    """A bank by its pools: what each rule, as it prints itself, may draw."""

    pools: Mapping[str, tuple[Any, ...]]

    def eligible(self, rule: DrawRule) -> tuple[Any, ...]:
        return self.pools[str(rule)]


def item(name: str, circuit: str = "pump") -> Any:
    return SimpleNamespace(id=name, circuit=circuit)


def plan(*rules: DrawRule) -> Any:
    return SimpleNamespace(id="trial", draw=rules)


def people(count: int) -> list[str]:
    return [f"c-{number:03}" for number in range(count)]


ONE, CIRCUIT = DrawRule(1, 4, objective="pump.1"), DrawRule(2, 5, circuit="pump", level="C")


def test_the_content_is_met_exactly_and_no_item_stands_twice() -> None:
    bank = Bank({str(ONE): tuple(item(f"a{n}") for n in range(3)), str(CIRCUIT): tuple(item(f"b{n}") for n in range(5))})
    for items in assemble(plan(ONE, CIRCUIT), bank, people(40), SECRET).values():
        assert Counter(found.id[0] for found in items) == {"a": 1, "b": 2}
        assert len({found.id for found in items}) == 3


def test_the_same_secret_gives_the_same_papers_and_another_gives_others() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(9))})
    first, second = (assemble(plan(CIRCUIT), bank, people(30), SECRET) for _ in range(2))
    assert first == second
    assert assemble(plan(CIRCUIT), bank, people(30), bytes(32)) != first


def test_exposure_is_balanced_to_one_use() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(7))})
    used = Counter(found.id for items in assemble(plan(CIRCUIT), bank, people(50), SECRET).values() for found in items)
    assert max(used.values()) - min(used.values()) <= 1
    assert len(used) == 7


@pytest.mark.parametrize(("pool", "least"), [(2, 1.0), (3, 0.5), (4, 0.0), (9, 0.0)])
def test_neighbours_share_no_more_than_the_pool_makes_them(pool: int, least: float) -> None:
    # A paper of two from a pool of n shares at least 2 (2 - n/2) items with its neighbour, if that is above 0: counted by hand.
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(pool))})
    papers = assemble(plan(CIRCUIT), bank, people(60), SECRET)
    assert overlap(papers) == least


def test_a_late_candidate_changes_nobody_else_s_paper() -> None:
    bank = Bank({str(CIRCUIT): tuple(item(f"b{n}") for n in range(5))})
    before, after = assemble(plan(CIRCUIT), bank, people(8), SECRET), assemble(plan(CIRCUIT), bank, people(9), SECRET)
    assert {name: after[name] for name in before} == before


def test_overlapping_pools_are_filled_wherever_they_can_be() -> None:
    # The rule for the circuit must leave a1, the only item that fits the objective.
    bank = Bank({str(CIRCUIT): (item("a1"), item("b1"), item("b2")), str(ONE): (item("a1"),)})
    for items in assemble(plan(CIRCUIT, ONE), bank, people(20), SECRET).values():
        assert {found.id for found in items} == {"a1", "b1", "b2"}


def test_a_pool_too_small_is_named() -> None:
    bank = Bank({str(ONE): (item("a1"),), str(CIRCUIT): (item("b1"),)})
    with pytest.raises(UseError) as refused:
        assemble(plan(ONE, CIRCUIT), bank, people(1), SECRET)
    assert str(refused.value) == (
        "blueprint trial: circuit pump at level C asks for 2 items, the exam bank has 1 (b1); write 1 more, or draw fewer"
    )


def test_rules_that_take_from_each_other_are_named_together() -> None:
    bank = Bank({str(ONE): (item("a1"),), str(CIRCUIT): (item("a1"), item("b1"))})
    with pytest.raises(
        UseError, match=r"objective pump\.1 and circuit pump at level C together ask for 3 items, the exam bank has 2 \(a1, b1\)"
    ):
        assemble(plan(ONE, CIRCUIT), bank, people(1), SECRET)


def test_an_empty_pool_is_named() -> None:
    with pytest.raises(UseError, match=r"objective pump\.1 asks for 1 item, the exam bank has none; write 1 more"):
        assemble(plan(ONE), Bank({str(ONE): ()}), people(1), SECRET)


def test_circuits_stand_in_the_blueprint_s_order() -> None:
    rules = [DrawRule(2, 1, circuit=circuit) for circuit in ("power", "pump")]
    bank = Bank({str(rule): tuple(item(f"{rule.circuit}{n}", rule.circuit) for n in range(4)) for rule in rules})
    for items in assemble(plan(*rules), bank, people(20), SECRET).values():
        assert [found.circuit for found in items] == ["power", "power", "pump", "pump"]


@settings(max_examples=40, deadline=None)
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
        for items in assemble(plan(*rules), Bank(pools), people(3), SECRET).values():
            assert len({found.id for found in items}) == len(places)
    else:
        with pytest.raises(UseError, match="the exam bank has"):
            assemble(plan(*rules), Bank(pools), people(3), SECRET)
