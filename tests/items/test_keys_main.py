"""
Every computed key of the main circuit's bank against fluids' orifice meter: each jet, bleed and venturi is a hole in a very wide
pipe, what is asked for is found by SciPy's root finder where the meter gives it the other way about, rings are integrated.
"""

from __future__ import annotations

from math import pi

import fluids.core
import pytest
from scipy.integrate import quad

from grader.items.model import Item
from tests.items.by_hand import FUEL, By, Givens, assert_key_is, computed_items, root, through

ITEMS = computed_items("main")
HOLE = 2e-3  # a bore and a flow, which cancel where they are used
AIR = 0.02


def pressure_for(flow: float, bore: float, density: float = FUEL, coefficient: float = 1.0) -> float:
    return root(lambda dp: through(bore, dp, density, coefficient) - flow, 1e-3, 1e5)


def bore_for(flow: float, pressure: float, density: float = FUEL, coefficient: float = 1.0) -> float:
    return root(lambda bore: through(bore, pressure, density, coefficient) - flow, 1e-5, 0.1)


def head(density: float, height: float) -> float:
    return float(fluids.core.P_from_head(height, density))


def ring(outer: float, inner: float = 0.0) -> float:
    """Area between two circles, added up ring by ring."""
    return float(quad(lambda radius: 2 * pi * radius, inner / 2, outer / 2)[0])


def hole(area: float) -> float:
    """The bore of a hole of that area."""
    return root(lambda bore: ring(bore) - area, 1e-5, 0.2)


def jet_round(area: float, rod: float) -> float:
    """The bore of a jet that leaves an area round its rod."""
    return root(lambda bore: ring(bore, rod) - area, rod, 0.01)


def well(nozzle: float, bleed: float, drawn: float) -> float:
    """The depression in a box with two holes: the air that the bleed lets in leaves by the nozzle."""
    return root(lambda dp: through(bleed, dp) - through(nozzle, drawn - dp), 1e-6, drawn - 1e-6)


def cruise_mixture(g: Givens) -> list[float]:
    left = g["nozzle_depression"] - head(g["fuel_density"], g["spill_height"])
    fuel = through(hole(g["open_jet_area"]), left, g["fuel_density"], g["jet_coefficient"])
    return [left, fuel, g["air_flow"] / fuel]


def lean_cruise(g: Givens) -> list[float]:
    right, left = AIR / g["healthy_mixture"], AIR / g["measured_mixture"]
    missing = (right - left) / right
    return [missing, g["healthy_ring"] / right * left]


def booster(g: Givens) -> list[float]:
    area = ring(g["throat"], g["booster_outside"]) + ring(g["booster_throat"])
    drop = pressure_for(g["air_flow"], hole(area), g["density_of_air"], g["venturi_coefficient"])
    return [area, drop, g["multiplication"] * drop]


def full_throttle(g: Givens) -> list[float]:
    area = ring(g["jet_bore"], g["rod_diameter"])
    fuel = through(hole(area), g["signal_in_well"], g["fuel_density"], g["jet_coefficient"])
    return [area, fuel, g["engine_air_flow"] / (fuel + fuel)]


def venturi_air(g: Givens, signal: float) -> float:
    """Air through a venturi whose booster shows a signal."""
    throat = hole(g["venturi_area_left"])
    return through(throat, signal / g["multiplication"], g["density_of_air"], g["venturi_coefficient"])


def low_level(g: Givens) -> list[float]:
    right = g["nozzle_depression"] - head(g["fuel_density"], g["right_height"])
    low = g["nozzle_depression"] - head(g["fuel_density"], g["right_height"] + g["low_by"])
    return [right, low, (through(HOLE, right) - through(HOLE, low)) / through(HOLE, right)]


def signal_needed(g: Givens) -> float:
    jet = hole(g["open_jet_area"])
    across = pressure_for(g["wanted_fuel"], jet, g["fuel_density"], g["jet_coefficient"])
    return across + head(g["fuel_density"], g["spill_height"])


def bleed_plugged(g: Givens) -> list[float]:
    clean, plugged = through(HOLE, g["signal_clean"]), through(HOLE, g["signal_plugged"])
    return [(plugged - clean) / clean, g["mixture_clean"] * clean / plugged]


def rod_and_jet(g: Givens) -> list[float]:
    now = ring(g["jet_bore"], g["rod_diameter"])
    wanted = now * (AIR / g["mixture_wanted"]) / (AIR / g["mixture_now"])
    return [now, wanted, jet_round(wanted, g["rod_diameter"])]


def ring_for_mixture(g: Givens) -> float:
    fuel = AIR / g["mixture_now"]
    left = ring(g["jet_bore"], g["rod_diameter"]) / fuel * (AIR / g["mixture_wanted"])
    return jet_round(left, g["rod_diameter"])


HAND: dict[str, By] = {
    # practice
    "main-venturi-depression": lambda g: [
        pressure_for(g["air_flow"], g["throat"], g["density_of_air"], g["venturi_coefficient"])
    ],
    "main-booster-signal": lambda g: (lambda throat: [g["multiplication"] * pressure_for(g["full_air"], throat)])(
        bore_for(g["cruise_air"], g["cruise_depression"])
    ),
    "main-head-left": lambda g: [g["nozzle_depression"] - head(g["fuel_density"], g["spill_height"])],
    "main-cruise-mixture-case": cruise_mixture,
    "main-bleed-signal": lambda g: [well(g["nozzle_bore"], g["bleed_bore"], g["nozzle_depression"])],
    "main-bleed-mixture": lambda g: (lambda jet: [AIR / through(jet, g["signal_after"])])(
        bore_for(AIR / g["mixture_before"], g["signal_before"])
    ),
    "main-jet-for-mixture": lambda g: (lambda signal: [bore_for(AIR / g["mixture_wanted"], signal)])(
        pressure_for(AIR / g["mixture_now"], g["jet_bore"])
    ),
    "main-mixture-after-jet": lambda g: (lambda signal: [AIR / through(g["new_bore"], signal)])(
        pressure_for(AIR / g["mixture_before"], g["old_bore"])
    ),
    "main-lean-cruise-case": lean_cruise,
    "main-bench-jet-blocked": lambda g: [(AIR / g["cruise_sheet"] - AIR / g["cruise_reading"]) / (AIR / g["cruise_sheet"])],
    # examination
    "main-depression-two-barrels": lambda g: [
        pressure_for(g["engine_air_flow"] / 2, hole(g["throat_area"]), g["density_of_air"], g["venturi_coefficient"])
    ],
    "main-booster-case": booster,
    "main-jet-flow-at-load": lambda g: [
        through(
            g["jet_bore"],
            g["nozzle_depression"] - head(g["fuel_density"], g["spill_height"]),
            g["fuel_density"],
            g["jet_coefficient"],
        )
    ],
    "main-full-throttle-case": full_throttle,
    "main-bleed-blocked-fuel": lambda g: [through(HOLE, g["signal_blocked"]) / through(HOLE, g["signal_clean"]) - 1],
    "main-bleed-drill-case": lambda g: [ring(g["bleed_after"]) / ring(g["bleed_before"])],
    "main-jet-with-rod": lambda g: [ring_for_mixture(g)],
    "main-reamed-jet": lambda g: [through(g["gauge_bore"], 1e3) / through(g["right_bore"], 1e3) - 1],
    "main-air-from-signal": lambda g: [venturi_air(g, g["nozzle_reading"])],
    "main-nozzle-starts": lambda g: [venturi_air(g, head(g["fuel_density"], g["spill_height"]))],
    "main-signal-after-bleed": lambda g: (lambda jet: [pressure_for(AIR / g["mixture_after"], jet)])(
        bore_for(AIR / g["mixture_before"], g["signal_before"])
    ),
    "main-jet-swap-with-rod": lambda g: (
        lambda fuel: [AIR / (fuel * ring(g["new_jet"], g["rod_diameter"]) / ring(g["old_jet"], g["rod_diameter"]))]
    )(AIR / g["mixture_before"]),
    "main-air-from-two-readings": lambda g: (lambda barrel: [through(barrel, g["new_reading"])])(
        bore_for(g["known_air"], g["known_reading"])
    ),
    "main-throat-exchanged": lambda g: (lambda flow: [pressure_for(flow, g["new_throat"])])(
        through(g["old_throat"], g["old_depression"])
    ),
    "main-low-level-case": low_level,
    "main-signal-needed": lambda g: [signal_needed(g)],
    "main-bleed-against-nozzle": lambda g: (lambda bleed: [ring(bleed) / ring(HOLE)])(
        bore_for(through(HOLE, g["nozzle_depression"] - g["well_depression"]), g["well_depression"])
    ),
    "main-bleed-plugged-case": bleed_plugged,
    "main-rod-jet-case": rod_and_jet,
    "main-jet-for-flow": lambda g: [bore_for(g["wanted_fuel"], g["signal_at_jet"], g["fuel_density"], g["jet_coefficient"])],
    "main-bench-jet-case": lambda g: [(AIR / g["cruise_reading"] - AIR / g["cruise_sheet"]) / (AIR / g["cruise_sheet"])],
}


def test_every_computed_item_of_the_main_circuit_is_computed_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


def test_the_meter_is_a_textbook_s_jet() -> None:
    # H. B. Keswani, Internal Combustion Engines, ex. 9.1, as worked in an open companion: 1 mm, 0.65, 760 kg/m³, 104 cm of water:
    # 2.0100 g/s.
    assert through(1e-3, head(1000, 1.04), 760, 0.65) == pytest.approx(2.0100e-3, rel=1e-4)
    assert ring(0.095 * 0.0254, 0.067 * 0.0254) == pytest.approx(2.29843e-6, abs=5e-12)  # by hand
    assert well(3, 4, 1) == pytest.approx(3**4 / (3**4 + 4**4), rel=1e-9)  # as the fourth powers of the bores, by hand


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_the_orifice_meter_gives(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
