"""
Every computed key of the power circuit's bank against balances that SymPy solves.

Each item is stated as the trade would: what pulls down equals what pushes up, the rod's area and the ring fill the jet, fuel goes
with the ring, air with the root of its density. Where a balance has a name that the stem does not give, SymPy solves it for that.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import fluids
import pytest
import sympy
from sympy.parsing.sympy_parser import parse_expr

from grader.items.model import Item
from tests.items.by_hand import By, Givens, assert_key_is, computed_items

ITEMS = computed_items("power")


@cache
def solutions(balance: str, unknown: str) -> list[Any]:
    """What an unknown may be by a balance."""
    names = {name: sympy.Symbol(name) for name in re.findall(r"[a-z_]+", balance) if name not in ("pi", "sqrt")}
    left, right = (parse_expr(side, local_dict=names) for side in balance.split(" = "))
    return list(sympy.solve(sympy.Eq(left, right), names[unknown]))


def solved(balance: str, unknown: str, known: Givens) -> float:
    """The one positive number that an unknown is by a balance."""
    values = [complex(found.subs(known)) for found in solutions(balance, unknown)]
    (only,) = (value.real for value in values if value.real > 0 and abs(value.imag) < 1e-12 * abs(value))
    return only


def balances(*lines: str) -> By:
    """The numbers asked for, by lines `unknown: left = right`; a later line may use an earlier; `(unknown)` is not asked for."""

    def by(g: Givens) -> list[float]:
        known, asked = dict(g), []
        for line in lines:
            unknown, _, balance = line.partition(": ")
            name = unknown.strip("()")
            known[name] = solved(balance, name, known)
            if name == unknown:
                asked.append(known[name])
        return asked

    return by


# The pieces that come again: where the rods just lift; what a rod leaves of a jet; air and fuel at one depression.
LIFTS = "vacuum: vacuum * pi * (piston_diameter / 2)**2 + weight = spring_force"
PULL = "pull: pull = climb_vacuum * pi * (piston_diameter / 2)**2"
CRUISE_RING = "cruise_ring: cruise_ring + pi * (cruise_step / 2)**2 = pi * (jet_bore / 2)**2"
POWER_RING = "power_ring: power_ring + pi * (power_step / 2)**2 = pi * (jet_bore / 2)**2"
RING_NOW = "ring_now: ring_now + pi * (rod_diameter / 2)**2 = pi * (jet_bore / 2)**2"
THINNER = "ring_wanted: ring_wanted / ring_now = sqrt(density_share)"
JET_WANTED = "jet_wanted: pi * (jet_wanted / 2)**2 = ring_wanted + pi * (rod_diameter / 2)**2"


def hidden(line: str) -> str:
    """The same balance for a number that is not asked for."""
    unknown, _, balance = line.partition(": ")
    return f"({unknown}): {balance}"


HAND: dict[str, By] = {
    # practice
    "power-open-area": balances("ring: ring + pi * (rod_diameter / 2)**2 = pi * (jet_bore / 2)**2"),
    "power-step-ratio": balances(hidden(CRUISE_RING), hidden(POWER_RING), "times: times * cruise_ring = power_ring"),
    "power-lifting-vacuum": balances(LIFTS),
    "power-spring-wanted": balances("spring_force: spring_force = weight + wanted_vacuum * pi * (piston_diameter / 2)**2"),
    "power-lift-case": balances(PULL, "lift: spring_force - spring_rate * lift = weight + pull"),
    "power-altitude-mixture": balances(
        "mixture: (mixture / mixture_at_sea_level)**2 = density_here / density_at_sea_level",
    ),
    "power-altitude-area": balances("area: (area / ring_area)**2 = density_share"),
    "power-hill-mixture-case": balances(CRUISE_RING, POWER_RING, "mixture: mixture * power_ring = cruise_mixture * cruise_ring"),
    "power-rod-exchanged": balances(
        "(old_ring): old_ring + pi * (old_rod / 2)**2 = pi * (jet_bore / 2)**2",
        "(new_ring): new_ring + pi * (new_rod / 2)**2 = pi * (jet_bore / 2)**2",
        "mixture: mixture * new_ring = mixture_before * old_ring",
    ),
    "power-piston-exchanged": balances(
        "(load): load = right_vacuum * pi * (right_piston / 2)**2",
        "vacuum: vacuum * pi * (wrong_piston / 2)**2 = load",
    ),
    "power-altitude-rod-case": balances(RING_NOW, THINNER, JET_WANTED),
    "power-bench-cruise-rich": balances("waste: cruise_reading * (cruise_air / cruise_sheet + waste) = cruise_air"),
    # examination
    "power-rod-for-area": balances("rod: wanted_area + pi * (rod / 2)**2 = pi * (jet_bore / 2)**2"),
    "power-steps-case": balances(CRUISE_RING, POWER_RING, "power_fuel: power_fuel / power_ring = cruise_fuel / cruise_ring"),
    "power-lift-at-vacuum": balances(
        "lift: spring_force - spring_rate * lift = weight + tow_vacuum * pi * (piston_diameter / 2)**2"
    ),
    "power-weak-spring-case": balances(
        "by_sheet: by_sheet * pi * (piston_diameter / 2)**2 + weight = sheet_force",
        "found: found * pi * (piston_diameter / 2)**2 + weight = measured_force",
    ),
    "power-barometer-mixture": balances("mixture: (mixture / mixture_where_set)**2 = barometer / pressure_where_set"),
    "power-altitude-jet-case": balances(
        "enrichment: (1 + enrichment)**2 * density_share = 1",
        "bore_wanted: (bore_wanted / jet_bore)**4 = density_share",
    ),
    "power-compensator-in-the-valley": balances("mixture: (plateau_mixture / mixture)**2 = density_share"),
    "power-rod-worn": balances(
        "(new_ring): new_ring + pi * (new_rod / 2)**2 = pi * (jet_bore / 2)**2",
        "(worn_ring): worn_ring + pi * (worn_rod / 2)**2 = pi * (jet_bore / 2)**2",
        "rise: new_ring * (1 + rise) = worn_ring",
    ),
    "power-fully-up": balances(
        "vacuum: spring_force - spring_rate * full_lift = weight + vacuum * pi * (piston_diameter / 2)**2"
    ),
    "power-power-step-wanted": balances(
        hidden(CRUISE_RING), "step: wanted_ratio * cruise_ring + pi * (step / 2)**2 = pi * (jet_bore / 2)**2"
    ),
    "power-mixture-at-step": balances(
        hidden(CRUISE_RING),
        "(middle_ring): middle_ring + pi * (middle_step / 2)**2 = pi * (jet_bore / 2)**2",
        "mixture: mixture * cruise_ring = mixture_middle * middle_ring",
    ),
    "power-hand-pump-case": balances(
        "force_found: force_found = weight + vacuum_found * pi * (piston_diameter / 2)**2",
        "lost: sheet_force * (1 - lost) = force_found",
    ),
    "power-leak-share": balances(
        "share: spring_force = weight + share * cruise_vacuum * pi * (piston_diameter / 2)**2",
    ),
    "power-altitude-rod-jet": balances(hidden(RING_NOW), hidden(THINNER), JET_WANTED),
    "power-density-from-mixture": balances("left: sqrt(left) = mixture_high / mixture_low"),
    "power-bench-hill-case": balances("missing: hill_reading * (hill_air / hill_sheet - missing) = hill_air"),
}


def test_every_computed_item_of_the_power_circuit_is_computed_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


def test_the_balances_are_those_of_two_printed_values_and_of_a_public_atmosphere() -> None:
    # Jet .095 in round a .067 in rod: 2.29843 mm²; 15 inHg on a 3/8 in piston: 3.61949 N. By hand.
    inch = 0.0254
    (ring,) = HAND["power-open-area"]({"jet_bore": 0.095 * inch, "rod_diameter": 0.067 * inch})
    assert ring == pytest.approx(2.29843e-6, abs=5e-12)
    (force,) = HAND["power-spring-wanted"]({"wanted_vacuum": 15 * 3386.389, "piston_diameter": 0.375 * inch, "weight": 1e-12})
    assert force == pytest.approx(3.61949, abs=5e-6)
    # 4000 ft (geopotential): fuel per air 6.11 % up, the bore of an open jet 2.92 % down; density by fluids, geometric height.
    here, sea = (fluids.ATMOSPHERE_1976(height).rho for height in (6356766 * 1219.2 / (6356766 - 1219.2), 0))
    richer, bore = HAND["power-altitude-jet-case"]({"density_share": here / sea, "jet_bore": 1.0})
    assert richer == pytest.approx(0.0611, abs=5e-5)
    assert 1 - bore == pytest.approx(0.0292, abs=5e-5)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_the_balance_gives(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
