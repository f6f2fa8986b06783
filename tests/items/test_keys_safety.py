"""
Every computed key of the safety bank: gases counted in moles and in parts of a room, by pint; the fouling of a room marched in
time by SciPy.
"""

from __future__ import annotations

from typing import Any

import pint
import pytest
from scipy.integrate import solve_ivp

from grader.items.model import Item
from tests.items.by_hand import By, Givens, assert_key_is, computed_items

ITEMS = computed_items("safety")
Q: Any = pint.get_application_registry().Quantity
MOLE_OF_AIR = Q(28.96, "g/mol")
LONG = 1e5  # s; no stem takes so long


def by_moles(mass: Any, heavier: float, air_density: Any, limit: float) -> float:
    """The room that a mass of vapour fills at a share of all moles; a gas so many times as heavy as air has moles as heavy."""
    moles = mass / (heavier * MOLE_OF_AIR)
    room_of_a_mole = MOLE_OF_AIR / air_density
    return float((moles * room_of_a_mole / limit).to("m^3").magnitude)


def burnable(g: Givens) -> float:
    mass = Q(g["liquid_density"], "kg/m^3") * Q(g["spilled"], "m^3")
    return by_moles(mass, g["vapour_over_air"], Q(g["air_density"], "kg/m^3"), g["lower_limit"])


def burnable_by_density(g: Givens) -> float:
    mass = Q(g["liquid_density"], "kg/m^3") * Q(g["cup"], "m^3")
    air = Q(1.2, "kg/m^3")  # any: only the vapour's own density counts
    return by_moles(mass, float((Q(g["vapour_density"], "kg/m^3") / air).magnitude), air, g["lower_limit"])


def seconds_to(level: float, room: float, exhaust: float, share: float) -> float:
    """The gas in a room that no air leaves, marched until it is a share of the room."""

    def reached(_: float, gas: Any) -> float:
        return float(gas[0] / room - level)

    reached.terminal = True  # type: ignore[attr-defined]
    march = solve_ivp(lambda *_: [exhaust * share], (0, LONG), [0.0], events=reached, rtol=1e-10, atol=1e-12)
    return float(march.t_events[0][0])


HAND: dict[str, By] = {
    "safety-burnable-numbers": lambda g: [burnable(g)],
    "safety-co-minutes": lambda g: [seconds_to(g["level"], g["room"], g["exhaust"], g["share_in_exhaust"])],
    "safety-exam-burnable": lambda g: [burnable_by_density(g)],
    "safety-exam-co-time": lambda g: [
        seconds_to(g["level"], g["length"] * g["width"] * g["height"], g["exhaust"], g["share_in_exhaust"])
    ],
}


def test_every_computed_item_on_safety_is_computed_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


def test_a_textbook_case_by_hand() -> None:
    # 0.25 L × 0.74 kg/L = 0.185 kg; over 3 × 1.2 = 3.6 kg/m³: 0.05139 m³; over 1.4 %: 3.671 m³.
    spill = {"liquid_density": 740, "spilled": 0.25e-3, "vapour_over_air": 3, "air_density": 1.2, "lower_limit": 0.014}
    assert burnable(spill) == pytest.approx(3.671, abs=5e-4)
    # 45 m³ × 0.02 % = 0.009 m³; 0.3 m³/min × 4 % = 0.012 m³/min; 0.75 min.
    assert seconds_to(0.0002, 45, 0.3 / 60, 0.04) == pytest.approx(45, rel=1e-9)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_moles_and_minutes_give(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
