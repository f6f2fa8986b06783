"""
Every computed key of the choke bank against another way to the same number, from the stem's own quantities in SI and none of the
project's relations: the plate's edge turned as a point and its place found by halving, the coil's warming marched in small steps,
torques and Ohm's law written out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import cos, pi, radians, sin
from pathlib import Path

import pytest

from grader.items.course import load_course
from grader.items.drawing import Rejected, attempted
from grader.items.model import Item

COURSE = load_course(Path(__file__).parents[2])
ITEMS = [item for item in (*COURSE.practice, *COURSE.exam) if item.circuit == "choke" and item.given]
FREEZING = 273.15  # K, exact by definition
STEPS = 1000  # to a time constant
Givens = Mapping[str, float]
By = Callable[[Givens], list[float]]


def area(bore: float) -> float:
    return pi * bore * bore / 4


def gap(g: Givens, opening: float) -> float:
    """The long side's end as a point on its circle about the shaft, from the wall that it touches when shut."""
    wall = g["bore"] / 2 + g["offset"]
    x, y = wall, wall * sin(g["closed_angle"]) / cos(g["closed_angle"])
    return wall - (x * cos(opening) - y * sin(opening))


def opening_for(g: Givens, wanted: float) -> float:
    low, high = 0.0, radians(70)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if gap(g, middle) < wanted else (low, middle)
    return low


def warmed(g: Givens, seconds: float) -> float:
    """The coil after a time, marched by the heat that flows in each step."""
    steps = max(1, round(STEPS * seconds / g["time_constant"]))
    part = seconds / steps / g["time_constant"]
    difference = g["end"] - g["start"]
    for _ in range(steps):
        difference *= (1 - part / 2) / (1 + part / 2)
    return g["end"] - difference


def seconds_until(g: Givens, temperature: float) -> float:
    """The time in which it comes to a temperature, found by halving."""
    low, high = 0.0, 20 * g["time_constant"]
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if warmed(g, middle) < temperature else (low, middle)
    return low


def air_arm(g: Givens) -> float:
    return area(g["bore"]) * g["offset"] * cos(g["closed_angle"] + g["opening"])


def at_opening(g: Givens, opening: float) -> float:
    return g["shut_temperature"] + opening / g["coil_turn"]


def running(g: Givens) -> list[float]:
    closing = g["coil_rate"] * (g["free_place"] + g["opening"])
    pulling = area(g["piston_bore"]) * g["vacuum"] * g["lever"]
    return [closing, pulling, g["air_torque_now"] + pulling - closing]


def warming(g: Givens) -> list[float]:
    free = at_opening(g, g["opening"])
    return [free - FREEZING, seconds_until(g, free)]


def gaps(g: Givens) -> list[float]:
    right, found = opening_for(g, g["sheet_gap"]), opening_for(g, g["found_gap"])
    return [right, found, (right - found) * g["lever"]]


def lost_volts(g: Givens) -> list[float]:
    right, now = (u / g["resistance"] * u for u in (g["voltage"], g["at_heater"]))
    return [right, now, (right - now) * g["rise_per_watt"]]


def turned_rich(g: Givens) -> list[float]:
    now, before = (at_opening(g, g["wide_open"] + more) for more in (g["turned_rich"], 0.0))
    return [now - FREEZING, seconds_until(g, now), seconds_until(g, now) - seconds_until(g, before)]


def two_stretches(g: Givens) -> list[float]:
    end = g["air_temperature"] + g["hot_air_rise"] + g["power"] / 2 * g["rise_per_watt"]
    return [end - FREEZING, seconds_until({**g, "start": g["air_temperature"], "end": end}, g["switching"])]


def balance(g: Givens) -> float:
    """Where the pulls of stem and coil are alike, found by halving."""
    low, high = -g["free_place"], g["pulled_to"]
    for _ in range(60):
        middle = (low + high) / 2
        stem_wins = g["stem_rate"] * (g["pulled_to"] - middle) > g["coil_rate"] * (middle + g["free_place"])
        low, high = (middle, high) if stem_wins else (low, middle)
    return low


def time_constant(g: Givens) -> float:
    low, high = 1.0, 2000.0
    for _ in range(40):
        middle = (low + high) / 2
        slow = warmed({**g, "time_constant": middle}, g["time_since"]) < g["reading"]
        low, high = (low, middle) if slow else (middle, high)
    return low


HAND: dict[str, By] = {
    "choke-air-torque": lambda g: [g["pressure_drop"] * air_arm(g)],
    "choke-coil-torque": lambda g: [g["coil_rate"] * (g["opening"] + g["free_place"])],
    "choke-running-case": running,
    "choke-coil-opening": lambda g: [g["coil_turn"] * (g["coil_temperature_now"] - g["shut_temperature"])],
    "choke-warm-time": lambda g: [seconds_until(g, g["open_temperature"])],
    "choke-warming-case": warming,
    "choke-gap-of-angle": lambda g: [gap(g, g["opening"])],
    "choke-gap-case": gaps,
    "choke-rod-bend": lambda g: [g["wanted_turn"] * g["lever"]],
    "choke-stem-colder": lambda g: [
        balance({**g, "free_place": 0.0, "pulled_to": 1.0})
        - balance({**g, "free_place": g["coil_turn"] * g["colder_by"], "pulled_to": 1.0})
    ],
    "choke-heater-power": lambda g: [g["voltage"] / g["resistance"] * g["voltage"]],
    "choke-heater-lead-case": lost_volts,
    "choke-part-heat": lambda g: [
        g["air_temperature"] - FREEZING + g["hot_air_rise"] + g["share"] * g["power"] * g["rise_per_watt"]
    ],
    "choke-coil-too-cold-case": lambda g: [at_opening(g, g["wide_open"]) - g["coil_now"]],
    "choke-drop-to-open": lambda g: [g["coil_rate"] * (g["opening"] + g["free_place"]) / air_arm(g)],
    "choke-leaking-diaphragm-case": lambda g: (lambda beyond: [beyond, g["coil_rate"] * beyond])(
        g["coil_turn"] * (g["shut_temperature"] - g["coil_temperature_now"])
    ),
    "choke-vacuum-to-open": lambda g: [(g["coil_closes"] - g["air_opens"]) / g["lever"] / area(g["piston_bore"])],
    "choke-balance-angle": lambda g: [balance(g)],
    "choke-coil-after": lambda g: [warmed(g, g["time_since"]) - FREEZING],
    "choke-time-constant": lambda g: [time_constant(g)],
    "choke-rich-index-case": turned_rich,
    "choke-end-wanted": lambda g: [
        (at_opening(g, g["opening"]) - (1 - g["share"]) * g["air_temperature"]) / g["share"] - FREEZING
    ],
    "choke-gap-overtaken": lambda g: [at_opening(g, opening_for(g, g["gap"])) - FREEZING],
    "choke-gap-after-bend": lambda g: [gap(g, g["opening"] + g["bent"] / g["lever"])],
    "choke-gap-wide-case": lambda g: [
        gap(g, g["found_opening"]),
        (g["found_opening"] - opening_for(g, g["sheet_gap"])) * g["lever"],
    ],
    "choke-gap-play-case": lambda g: (lambda stands: [stands, gap(g, stands - g["play"] / g["lever"])])(
        opening_for(g, g["shank"])
    ),
    "choke-stem-screw": lambda g: [(opening_for(g, g["sheet_gap"]) - g["opening"]) * g["lever"] / g["pitch"]],
    "choke-heater-resistance": lambda g: [g["voltage"] ** 2 / ((g["coil_rise"] - g["hot_air_rise"]) / g["rise_per_watt"])],
    "choke-part-heat-resistor": lambda g: (lambda i: [i * (g["voltage"] - i * g["series_resistance"])])(
        g["voltage"] / (g["resistance"] + g["series_resistance"])
    ),
    "choke-heater-fault-case": lambda g: [
        g["voltage"] / g["sheet_resistance"],
        g["air_temperature"] - FREEZING + g["hot_air_rise"] + g["voltage"] * g["current"] * g["rise_per_watt"],
    ],
    "choke-two-stretches-case": two_stretches,
    "choke-plate-or-coil-case": lambda g: [g["coil_turn"] * (g["coil_now"] - g["shut_temperature"])],
}


def test_every_computed_item_has_its_arithmetic_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_the_arithmetic_gives(item: Item) -> None:
    seen = 0
    for number in range(10):
        try:
            variant = attempted(item, b"by hand", f"paper {number}", 0)
        except Rejected:
            continue
        wanted = HAND[item.id]({name: quantity.si for name, quantity in variant.givens.items()})
        asked = [(part.answer, drawn.key) for part, drawn in zip(item.parts, variant.parts, strict=True) if part.answer]
        for (answer, key), value in zip(asked, wanted, strict=True):
            assert answer is not None
            assert key is not None
            assert float(key.value) * float(answer.unit.factor) == pytest.approx(value, rel=1e-5)
            seen += 1
    assert seen
