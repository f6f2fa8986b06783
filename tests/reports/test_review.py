"""What an author is told to look at, and that sound items are left alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grader.reports.evidence import Evidence, OptionLine, gather
from grader.reports.review import LOOK, NOTE, SERIOUS, review, review_page
from grader.stats.classical import wilson
from grader.stats.dif import Favour
from tests.reports.simulated import follows, sitting

SOUND = Evidence("item", "pump.1", "pump", 100, 200, 0.6, wilson(60, 100), 0.3, 0.1, 0.2, 1.0, (), 40)  # type: ignore[arg-type]
UNEQUAL = Favour(3.0, 1.5, 6.0, 9.0, 0.002, -2.6, "C")


def doubts(**changed: object) -> list[tuple[int, str]]:
    (one,) = review([replace(SOUND, **changed)])  # type: ignore[arg-type]
    return [(doubt.weight, doubt.says) for doubt in one.doubts]


def test_a_sound_item_is_left_alone() -> None:
    assert doubts() == []


@pytest.mark.parametrize(
    ("changed", "weight", "says"),
    [
        ({"discrimination": -0.2}, SERIOUS, "discrimination -0.20"),
        ({"discrimination": 0.05}, NOTE, "hardly parts"),
        ({"full": wilson(99, 100)}, NOTE, "nearly everybody"),
        ({"full": wilson(5, 100)}, LOOK, "hardly anybody"),
        ({"slips": (("Ten times.", 30),)}, NOTE, "30 of 40"),
        ({"numbers": UNEQUAL}, LOOK, "small numbers are easier"),
        ({"groups": (("evening", UNEQUAL),)}, LOOK, "against group evening"),
        ({"infit": 1.5}, NOTE, "infit 1.50"),
        ({"people": 150}, NOTE, "150 of 200 papers"),
        ({"options": (OptionLine("up", True, 40, 0.1), OptionLine("down", False, 60, 0.3))}, SERIOUS, "prefer “down”"),
        ({"options": (OptionLine("up", True, 97, 0.3), OptionLine("down", False, 3, -0.3))}, NOTE, "draws nobody"),
    ],
)
def test_each_fault_is_said_with_its_figure(changed: dict[str, object], weight: int, says: str) -> None:
    ((found, text),) = doubts(**changed)
    assert found == weight
    assert says in text


@pytest.mark.parametrize(
    "changed",
    [
        {"discrimination": 0.1},
        {"full": wilson(94, 100)},
        {"slips": (("Ten times.", 15),)},
        {"numbers": replace(UNEQUAL, grade="B")},
        {"infit": 1.3},
        {"options": (OptionLine("up", True, 60, 0.3), OptionLine("down", False, 40, 0.2))},
    ],
)
def test_a_near_miss_is_not_called_a_fault(changed: dict[str, object]) -> None:
    assert doubts(**changed) == []


def test_under_thirty_people_nothing_is_called_bad() -> None:
    assert doubts(people=29, discrimination=-0.5) == []


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"people": 3, "wrong": 3}, "none of the 3"),
        ({"people": 12, "wrong": 5, "slips": (("Ten times.", 7),)}, "7 of 12 made the same slip"),
        (
            {"people": 12, "options": (OptionLine("up", True, 4, None), OptionLine("down", False, 5, None))},
            "took “down”, 4 the key",
        ),
    ],
)
def test_a_small_class_is_told_what_to_check_by_hand(changed: dict[str, object], says: str) -> None:
    (one,) = review([replace(SOUND, **changed)])  # type: ignore[arg-type]
    assert one.doubts == ()
    assert len(one.by_hand) == 1
    assert says in one.by_hand[0]


@pytest.mark.parametrize(
    "changed",
    [
        {"people": 2, "wrong": 2},
        {"people": 12, "wrong": 11},
        {"people": 12, "slips": (("Ten times.", 6),)},
        {"people": 12, "options": (OptionLine("up", True, 5, None), OptionLine("down", False, 5, None))},
        {"people": 30, "wrong": 30},
    ],
)
def test_nothing_is_named_without_cause(changed: dict[str, object]) -> None:
    (one,) = review([replace(SOUND, **changed)])  # type: ignore[arg-type]
    assert one.by_hand == ()


def test_of_two_groups_the_one_it_works_against_is_named_once() -> None:
    turned = replace(UNEQUAL, ratio=1 / UNEQUAL.ratio)
    ((_, says),) = doubts(groups=(("evening", UNEQUAL), ("morning", turned)))
    assert "against group evening" in says
    ((_, says),) = doubts(groups=(("morning", turned),))
    assert "for group morning" in says


def test_the_gravest_stands_first() -> None:
    bad, odd = replace(SOUND, item="bad", discrimination=-0.2), replace(SOUND, item="odd", infit=1.5)
    assert [one.evidence.item for one in review([SOUND, odd, bad])] == ["bad", "odd", "item"]


def test_a_wrong_key_is_found_in_a_class_and_sound_items_are_not_accused() -> None:
    items = {f"item-{n}": follows(difficulty) for n, difficulty in enumerate(np.linspace(-1.5, 1.5, 9))}
    items["wrong-key"] = lambda able, value, chance: "0.5" if chance.random() < 1 / (1 + np.exp(-2 * able)) else str(value)
    views = [sitting("spring", 120, items, 11)]
    reviewed = review(gather(views))
    assert reviewed[0].evidence.item == "wrong-key"
    assert [one.evidence.item for one in reviewed if one.weight == SERIOUS] == ["wrong-key"]
    page = review_page(views, reviewed)
    assert "work the key again by hand" in page
    assert "<script" not in page
