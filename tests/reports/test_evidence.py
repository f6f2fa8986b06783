"""What sittings say of items, held against what was put into simulated ones."""

from __future__ import annotations

import numpy as np
import pytest

from grader.reports.evidence import Evidence, gather
from tests.reports.simulated import Chance, follows, sitting

HARD = {f"item-{n}": difficulty for n, difficulty in enumerate(np.linspace(-1.5, 1.5, 8))}


def which(able: float, _value: int, chance: Chance) -> str:
    """Right more often for the strong; the weak say down; nobody says not at all."""
    return "up" if chance.random() < 1 / (1 + np.exp(-able)) else "down"


def slip(_able: float, value: int, chance: Chance) -> str:
    return str(value) if chance.random() < 0.5 else str(10 * value)


def large_is_hard(able: float, value: int, chance: Chance) -> str:
    return follows(-1.5 if value <= 50 else 1.5)(able, value, chance)


@pytest.fixture(scope="module")
def found() -> dict[str, Evidence]:
    items = {name: follows(difficulty) for name, difficulty in HARD.items()}
    items |= {"which-way": which, "slip": slip, "large": large_is_hard}
    return {one.item: one for one in gather([sitting("spring", 200, items, 7), sitting("autumn", 100, items, 8)])}


def test_known_difficulties_come_back_within_their_errors(found: dict[str, Evidence]) -> None:
    shift = np.mean([found[name].difficulty - hard for name, hard in HARD.items()])
    for name, hard in HARD.items():
        one = found[name]
        assert one.difficulty is not None
        assert one.error is not None
        assert abs(one.difficulty - hard - shift) < 4 * one.error
        assert one.infit == pytest.approx(1, abs=0.2)
        assert (one.people, one.papers) == (300, 300)


def test_options_are_counted_by_their_text_whatever_letter_they_had(found: dict[str, Evidence]) -> None:
    by_text = {option.text: option for option in found["which-way"].options}
    up, down, not_at_all = by_text["up"], by_text["down"], by_text["not at all"]
    assert [option.right for option in (up, down, not_at_all)] == [True, False, False]
    assert up.taken + down.taken == 300
    assert not_at_all.taken == 0
    assert up.parting is not None
    assert down.parting == pytest.approx(-up.parting)  # who does not take the one takes the other
    assert up.parting > 0.2
    assert not_at_all.parting is None


def test_a_slip_is_counted_with_what_was_said_of_it(found: dict[str, Evidence]) -> None:
    one = found["slip"]
    assert one.slips == (("Ten times too much.", one.wrong),)
    assert 120 < one.wrong < 180


def test_numbers_that_make_an_item_harder_are_seen_and_others_are_not(found: dict[str, Evidence]) -> None:
    large = found["large"].numbers
    assert large is not None
    assert large.grade == "C"
    assert large.ratio > 3
    assert all(found[name].numbers.grade != "C" for name in HARD)  # type: ignore[union-attr]


def test_a_group_that_knows_less_is_not_taken_for_an_item_that_is_unfair() -> None:
    items = {name: follows(difficulty) for name, difficulty in HARD.items()}
    views = [sitting("spring", 300, items, 9, {"evening": -1.0, "day": 0.0})]
    for one in gather(views):
        assert [name for name, _ in one.groups] == ["day", "evening"]
        assert all(favour.grade != "C" for _, favour in one.groups)


def test_few_people_have_no_comparisons_and_one_person_is_no_crash() -> None:
    items = {name: follows(difficulty) for name, difficulty in HARD.items()}
    for people in (1, 2, 12):
        for one in gather([sitting("spring", people, items, 3, {"a": 0.0, "b": 0.0})]):
            assert one.people == people
            assert (one.groups, one.numbers) == ((), None)
            assert (one.discrimination is None) == (people < 10 or one.facility in (0, 1))
    assert gather([]) == ()
