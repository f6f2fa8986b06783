"""
Every computed key of the diagnosis bank against another way to the same number, from the stem's own quantities in SI and none of
the project's relations: fuel weighed against air, the speed of sound in the hole, circles by their radii.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import pi, sqrt
from pathlib import Path

import pytest

from grader.items.course import load_course
from grader.items.model import Item
from tests.items.by_hand import assert_key_is

COURSE = load_course(Path(__file__).parents[2])
ITEMS = [
    item
    for item in (*COURSE.practice, *COURSE.exam)
    if item.circuit == "diagnosis" and any(part.answer is not None for part in item.parts)
]
R = 287.0529  # J/(kg K), dry air
Givens = Mapping[str, float]
By = Callable[[Givens], list[float]]


def fuel(air: float, ratio: float) -> float:
    return air / ratio


def false_air(air: float, found: float, healthy: float) -> float:
    """What is needed beside the carburetor's air to thin its fuel to the ratio found."""
    return fuel(air, healthy) * found - air


def ring(bore: float, rod: float) -> float:
    return pi * (bore / 2 - rod / 2) * (bore / 2 + rod / 2)


def bore_of_hole(flow: float, discharge: float, pressure: float, temperature: float) -> float:
    """Density times the speed of sound in the hole, both at Mach 1 from rest, give the flow for each unit of area."""
    still = pressure / (R * temperature)
    density, sonic = still * (1 / 1.2) ** 2.5, sqrt(1.4 * R * temperature / 1.2)
    return 2 * sqrt(flow / (discharge * density * sonic) / pi)


def jet_or_leak(g: Givens) -> list[float]:
    leak = false_air(g["air_idle"], g["mixture_idle"], g["healthy_idle"])
    return [leak, (g["air_cruise"] + leak) / fuel(g["air_cruise"], g["healthy_cruise"])]


def jet_share(g: Givens) -> list[float]:
    left = fuel(1, g["cruise_measured"]) / fuel(1, g["cruise_healthy"])
    at_full = fuel(1, g["full_measured"]) / fuel(1, g["full_healthy"])
    return [left, left * ring(g["jet_bore"], g["cruise_step"]), at_full]


def no_leak(g: Givens) -> list[float]:
    leak = false_air(g["air_idle"], g["idle_measured"], g["idle_healthy"])
    return [leak, (g["air_cruise"] + leak) / g["air_cruise"] - 1]


def second_fault(g: Givens) -> list[float]:
    leak = false_air(g["air_idle"], g["idle_measured"], g["idle_healthy"])
    engine_air, needed = g["air_cruise"] + leak, fuel(g["air_cruise"], g["cruise_healthy"])
    return [leak, engine_air / needed, fuel(engine_air, g["cruise_measured"]) / needed]


HAND: dict[str, By] = {
    "diagnosis-vacuum-altitude": lambda g: [g["idle_vacuum"] - (g["pressure_low"] - g["pressure_high"])],
    "diagnosis-compression-low": lambda g: [g["lowest"] / g["highest"], g["highest"] - (1 - g["asked_share"]) * g["highest"]],
    "diagnosis-fuel-share": lambda g: [
        (fuel(1, g["mixture_healthy"]) - fuel(1, g["mixture_measured"])) / fuel(1, g["mixture_healthy"])
    ],
    "diagnosis-leak-air": lambda g: [false_air(g["air_flow"], g["mixture_measured"], g["mixture_healthy"])],
    "diagnosis-jet-or-leak-case": jet_or_leak,
    "diagnosis-jet-share-case": jet_share,
    "diagnosis-true-loss-of-vacuum": lambda g: [
        (g["barometer_here"] - g["vacuum_here"]) - (g["barometer_sheet"] - g["vacuum_sheet"])
    ],
    "diagnosis-compression-short": lambda g: [(g["asked_share"] - g["lowest"] / g["highest"]) * g["highest"]],
    "diagnosis-fuel-too-much": lambda g: [fuel(g["air_flow"], g["mixture_measured"]) - fuel(g["air_flow"], g["mixture_healthy"])],
    "diagnosis-fuel-must-rise": lambda g: [
        (fuel(1, g["mixture_healthy"]) - fuel(1, g["mixture_measured"])) / fuel(1, g["mixture_measured"])
    ],
    "diagnosis-hole-size": lambda g: [
        bore_of_hole(
            false_air(g["air_flow"], g["mixture_measured"], g["mixture_healthy"]),
            g["discharge_coefficient"],
            g["pressure_outside"],
            g["temperature_outside"],
        )
    ],
    "diagnosis-ring-fits-case": lambda g: [
        fuel(1, g["mixture_measured"]) / fuel(1, g["mixture_healthy"]),
        ring(g["jet_bore"], g["cruise_step"]) / ring(g["jet_bore"], g["power_step"]),
    ],
    "diagnosis-no-leak-case": no_leak,
    "diagnosis-second-fault-case": second_fault,
}


def test_every_computed_item_has_its_arithmetic_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_the_arithmetic_gives(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
