"""
Every computed key of the low-speed circuit's bank: the plate's edge turned as a point and its shadow integrated, the air in its
gap from fluids' critical pressure and the air's own heat, jets as fluids' orifice meter, the signal of the idle passage as the
root of what flows in and out.
"""

from __future__ import annotations

from math import cos, pi, sin, sqrt, tan

import pytest
from fluids import P_critical_flow
from fluids.core import P_from_head
from scipy.integrate import quad

from grader.items.model import Item
from tests.items.by_hand import FUEL, By, Givens, assert_key_is, computed_items, root, through

ITEMS = computed_items("idle")
R, GAMMA = 287.05287, 1.4  # dry air of the standard atmosphere, J/(kg K); ratio of specific heats
AIR = 1.225  # a density and a bore, which cancel where they are used
HOLE = 0.7e-3


def edge(g: Givens, opening: float) -> tuple[float, float]:
    """The plate's lower edge: how far from the shaft across the bore, and how far above its closed place."""
    across = g["throttle_bore"] / 2
    along = across * tan(g["closed_angle"])
    turned = across * cos(opening) - along * sin(opening), across * sin(opening) + along * cos(opening)
    return turned[0], turned[1] - along


def opened(g: Givens, opening: float) -> float:
    """Circle less the plate's shadow, added up strip by strip; the shaft left out."""
    radius = g["throttle_bore"] / 2
    left = 1 - edge(g, opening)[0] / radius  # of each half chord
    return float(4 * quad(lambda t: left * (radius * cos(t)) ** 2, 0, pi / 2)[0])


def choked(g: Givens, area: float, pressure: float) -> float:
    """Air at the speed of sound in a gap: the heat it has lost is its speed."""
    throat = float(P_critical_flow(pressure, GAMMA))
    cooled = g["temperature"] * (throat / pressure) ** ((GAMMA - 1) / GAMMA)
    speed = sqrt(2 * GAMMA / (GAMMA - 1) * R * (g["temperature"] - cooled))
    return g["discharge"] * area * throat / (R * cooled) * speed


def choked_at_idle(g: Givens) -> float:
    assert g["barometer"] - g["vacuum"] < P_critical_flow(g["barometer"], GAMMA)
    return choked(g, g["opening_area"], g["barometer"])


def jet_fuel(g: Givens, signal: float) -> float:
    lifted = float(P_from_head(g["lift"], g["density"]))
    return through(g["jet_bore"], signal - lifted, g["density"], g["discharge"])


def signal(g: Givens, bleed: float) -> float:
    """The depression of the idle passage: fuel by the jet and air by the bleed leave together by the discharge, two-phase."""
    bores = [2 * sqrt(area / pi) for area in (g["jet_area"], bleed)]

    def excess(dp: float) -> float:
        fuel, air = through(bores[0], dp), through(bores[1], dp, AIR)
        loss = fuel**2 / FUEL + g["interaction"] * fuel * air / sqrt(FUEL * AIR) + air**2 / AIR
        return 2 * g["discharge_area"] ** 2 * (g["depression"] - dp) - loss

    return root(excess, 0, g["depression"])


def stop_screw(g: Givens) -> float:
    return g["turns"] * g["pitch"] / g["arm"]


def screw_case(g: Givens) -> list[float]:
    turned = stop_screw(g)
    risen = edge(g, g["curb_opening"] + turned)[1]
    below = min(max(risen, g["slot_foot"]), g["slot_foot"] + g["slot_length"]) - g["slot_foot"]
    return [turned, risen, below / g["slot_length"]]


def bleed_dirt(g: Givens) -> list[float]:
    clean, dirty = signal(g, g["clean_bleed"]), signal(g, g["dirty_bleed"])
    fuel = 1 / g["mixture_clean"] * through(HOLE, dirty) / through(HOLE, clean)
    return [clean, dirty, 1 / fuel]


def bleed_drilled(g: Givens) -> list[float]:
    sheet, drilled = signal(g, g["sheet_bleed"]), signal(g, g["drilled_bleed"])
    fuel = g["idle_fuel"] / through(HOLE, sheet) * through(HOLE, drilled)
    return [sheet, drilled, g["idle_air"] / fuel]


def signal_from_fuel(g: Givens) -> float:
    return root(lambda dp: jet_fuel(g, dp) - g["fuel"], float(P_from_head(g["lift"], g["density"])) + 1e-6, 1e5)


def wrong_jet(g: Givens) -> list[float]:
    share = through(g["wrong_bore"], 1e3) / through(g["right_bore"], 1e3)
    return [share, g["idle_mixture"] / share]


def too_far(g: Givens) -> list[float]:
    found = opened(g, g["found_opening"])
    return [found, found / opened(g, g["sheet_opening"])]


HAND: dict[str, By] = {
    # practice
    "idle-gap-area": lambda g: [opened(g, g["opening"])],
    "idle-choked-air": lambda g: [choked_at_idle(g)],
    "idle-slot-uncovered": lambda g: [
        (min(g["edge_rise"], g["slot_foot"] + g["slot_length"]) - g["slot_foot"]) * g["slot_width"],
    ],
    "idle-stop-screw-case": screw_case,
    "idle-fuel-from-signal": lambda g: [jet_fuel(g, g["signal"])],
    "idle-signal-shared": lambda g: [signal(g, g["bleed_area"])],
    "idle-bleed-dirt-case": bleed_dirt,
    "idle-port-turns": lambda g: [quad(lambda r: 2 * pi * r, 0, g["port_bore"] / 2)[0] / g["all_turns"] * g["turns"]],
    "idle-lower-stop-air": lambda g: (lambda curb: [(curb - opened(g, g["lower_opening"])) / curb])(opened(g, g["curb_opening"])),
    "idle-screw-dead-case": lambda g: [
        g["port_area"] / (g["port_area"] + g["slot_at_sheet"]),
        g["port_area"] / (g["port_area"] + g["slot_found"]),
    ],
    # examination
    "idle-gap-for-air": lambda g: [
        root(lambda area: choked(g, area + g["clearance"], g["barometer"]) - g["air"], 0, 1e-3),
    ],
    "idle-edge-at-slot": lambda g: [root(lambda opening: edge(g, opening)[1] - g["slot_foot"], 0, 0.5)],
    "idle-high-shop-air": lambda g: [choked(g, g["opening"], g["sea_level"]) - choked(g, g["opening"], g["barometer"])],
    "idle-too-far-case": too_far,
    "idle-slot-left": lambda g: [
        (g["slot_foot"] + g["slot_length"] - edge(g, g["opening"])[1]) / g["slot_length"],
    ],
    "idle-signal-from-fuel": lambda g: [signal_from_fuel(g)],
    "idle-two-barrel-mixture": lambda g: [g["air"] / (jet_fuel(g, g["signal"]) + jet_fuel(g, g["signal"]))],
    "idle-wrong-jet-case": wrong_jet,
    "idle-bleed-drilled-case": bleed_drilled,
    "idle-lower-stop-angle": lambda g: [g["curb_opening"] - stop_screw(g)],
    "idle-stop-gap-case": lambda g: [g["curb_opening"] * g["arm"] - g["lower_opening"] * g["arm"]],
    "idle-screw-out-case": lambda g: (lambda fuel: [(g["air"] + g["leak"]) / fuel])(g["air"] / g["healthy_mixture"]),
}


def test_every_computed_item_of_the_low_speed_circuit_is_computed_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


def test_shadow_and_choked_air_give_printed_values() -> None:
    # A plate without a shaft, 40 mm, open 60 degrees from square: 628.3185 mm², a half of its circle. By hand.
    assert opened({"throttle_bore": 0.04, "closed_angle": 0.0}, pi / 3) == pytest.approx(628.3185e-6, abs=5e-11)
    # Cengel and Cimbala, Fluid Mechanics, ex. 12-5, as worked in an open companion: tyre of 314 kPa, 298 K, hole 4 mm:
    # 0.00924 kg/s; recomputed 0.0092387.
    leak = choked({"temperature": 298, "discharge": 1}, pi / 4 * 0.004**2, 314e3)
    assert leak == pytest.approx(0.0092387, rel=2e-4)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_geometry_gas_and_meter_give(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
