"""
Every computed key of the pump circuit's bank: volumes and balls added up slice by slice and shots stroke by stroke (SciPy), jets
and bleeds as fluids' orifice meter in a very wide pipe, heads by fluids, what is asked the other way about by root finding.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi

import pytest
from fluids.core import P_from_head
from scipy.integrate import quad

from grader.items.model import Item
from tests.items.by_hand import FUEL, By, Givens, assert_key_is, computed_items, root, through

ITEMS = computed_items("pump")
STROKES = 10  # into the graduate, as each stem says
PLUNGER = 0.02  # with its stroke, cancels where it is used
STROKE = 0.01


def circle(bore: float) -> float:
    return float(quad(lambda radius: 2 * pi * radius, 0, bore / 2)[0])


def hole(area: float) -> float:
    return root(lambda bore: circle(bore) - area, 1e-6, 0.1)


def swept(g: Givens) -> float:
    """What the plunger sweeps in a stroke."""
    return float(quad(lambda _: circle(g["pump_bore"]), 0, g["stroke"])[0])


def ball(diameter: float) -> float:
    """Volume of a ball, slice by slice."""
    radius = diameter / 2
    return float(quad(lambda z: pi * (radius**2 - z**2), -radius, radius)[0])


def shot(plunger: float, stroke: float, force: Callable[[float], float], jet: float, density: float, coefficient: float) -> float:
    """How long a spring takes to push the fuel out, small stroke by small stroke."""

    def slowness(place: float) -> float:
        return plunger * density / through(jet, force(place) / plunger, density, coefficient)

    return float(quad(slowness, 0, stroke, epsrel=1e-11)[0])


def passage(g: Givens) -> float:
    """The depression between a jet that draws and a bleed open to the air: what one lets in the other lets out."""
    return root(lambda dp: through(g["bleed_bore"], dp) - through(g["jet_bore"], g["draw"] - dp), 1e-6, g["draw"] - 1e-6)


def head(g: Givens) -> float:
    return float(P_from_head(g["jet_height"], g["fuel_density"], g=g["gravity"]))


def lifts(g: Givens) -> float:
    """The depression at the jet that carries the needle on its seat and the fuel up to the jet."""
    return root(lambda dp: (dp - head(g)) * circle(g["seat"]) - g["needle_mass"] * g["gravity"], 0, 1e8)


def both_jets(g: Givens, pressure: float) -> float:
    return 2 * through(g["jet_bore"], pressure, g["fuel_density"], g["jet_coefficient"])


def duration(g: Givens) -> list[float]:
    pressure = g["spring_force"] / circle(g["pump_bore"])
    flow = both_jets(g, pressure)
    return [pressure, flow, g["shot"] * g["fuel_density"] / flow]


def shot_and_time(g: Givens) -> list[float]:
    volume, flow = g["share_delivered"] * swept(g), both_jets(g, g["pump_pressure"])
    return [volume, flow, volume * g["fuel_density"] / flow]


def flat_spot(g: Givens) -> list[float]:
    found = g["found"] / STROKES
    return [found / swept(g), swept(g) - found]


def pulled_over(g: Givens) -> list[float]:
    flow = through(g["jet_bore"], g["draw"] - lifts(g), g["fuel_density"], g["jet_coefficient"])
    return [lifts(g), flow, g["air_flow"] / (g["main_fuel"] + flow)]


def spring_exchanged(g: Givens) -> float:
    """A jet that the old spring empties in the time before; the time of the new spring through it."""

    def lasts(force: float, jet: float) -> float:
        return shot(circle(PLUNGER), STROKE, lambda _: force, jet, FUEL, 1)

    jet = root(lambda bore: lasts(g["force_before"], bore) - g["duration_before"], 1e-5, 1e-2)
    return lasts(g["force_after"], jet)


def jets_drilled(g: Givens) -> float:
    """The spring that empties the pump in the time before; the time through the larger jets."""

    def lasts(force: float, jet: float) -> float:
        return shot(circle(PLUNGER), STROKE, lambda _: force, jet, FUEL, 1)

    force = root(lambda push: lasts(push, g["jet_before"]) - g["duration_before"], 1e-3, 1e3)
    return lasts(force, g["jet_after"])


def spring_for_duration(g: Givens) -> float:
    """The same pump with a jet that fits the time found; the spring that makes the time wanted."""

    def lasts(force: float, jet: float) -> float:
        return shot(circle(PLUNGER), STROKE, lambda _: force, jet, FUEL, 1)

    jet = root(lambda bore: lasts(g["spring_force"], bore) - g["duration_found"], 1e-5, 1e-2)
    return root(lambda force: lasts(force, jet) - g["duration_wanted"], 0.1, 1e3)


def short_shot(g: Givens) -> list[float]:
    missing = (g["sheet_volume"] - g["found_volume"]) / g["sheet_volume"]
    area = g["found_volume"] / STROKES / g["stroke_found"]  # swept and delivered, whatever the share
    return [missing, g["sheet_volume"] / STROKES / area]


def falling_spring(g: Givens) -> float:
    """Its mean force acting all the way, as the stem asks."""
    mean = quad(lambda place: g["force_at_start"] - g["spring_rate"] * place, 0, g["stroke"])[0] / g["stroke"]
    jet = hole(g["jet_area_open"])
    return shot(g["plunger_area"], g["stroke"], lambda _: mean, jet, g["fuel_density"], g["jet_coefficient"])


HAND: dict[str, By] = {
    # practice
    "pump-shot-volume": lambda g: [g["share_delivered"] * swept(g)],
    "pump-ten-strokes": lambda g: [STROKES * g["share_delivered"] * swept(g)],
    "pump-duration": lambda g: [
        shot(
            circle(g["pump_bore"]),
            g["stroke"],
            lambda _: g["spring_force"],
            g["jet_bore"],
            g["fuel_density"],
            g["jet_coefficient"],
        )
    ],
    "pump-duration-case": duration,
    "pump-ball-lift": lambda g: [
        ball(g["ball"]) * (g["steel_density"] - g["fuel_density"]) * g["gravity"] / circle(g["seat"]),
    ],
    "pump-needle-lift": lambda g: [lifts(g)],
    "pump-flat-spot-case": flat_spot,
    "pump-spring-exchanged": lambda g: [spring_exchanged(g)],
    "pump-pulled-over-case": pulled_over,
    "pump-bleed-share": lambda g: [passage(g)],
    # examination
    "pump-share-delivered": lambda g: [g["graduate"] / STROKES / swept(g)],
    "pump-stroke-wanted": lambda g: [
        root(lambda stroke: g["share_delivered"] * swept({**g, "stroke": stroke}) - g["wanted_shot"], 1e-4, 0.1)
    ],
    "pump-duration-two-jets": lambda g: [g["shot"] * g["fuel_density"] / both_jets(g, g["pump_pressure"])],
    "pump-jets-drilled": lambda g: [jets_drilled(g)],
    "pump-needle-mass": lambda g: [
        root(lambda mass: lifts({**g, "needle_mass": mass}) - g["jet_depression"], 1e-9, 0.1),
    ],
    "pump-ball-exchanged": lambda g: [g["right_lift"] / ball(g["right_ball"]) * ball(g["wrong_ball"])],
    "pump-pull-over-case": lambda g: [lifts(g), passage(g)],
    "pump-one-graduate": lambda g: [STROKES * g["share_delivered"] * swept(g) / 2],
    "pump-spring-for-duration": lambda g: [spring_for_duration(g)],
    "pump-short-shot-case": short_shot,
    "pump-two-graduates": lambda g: [(g["left_graduate"] + g["right_graduate"]) / STROKES / swept(g)],
    "pump-shot-and-time-case": shot_and_time,
    "pump-falling-spring": lambda g: [falling_spring(g)],
    "pump-seat-wanted": lambda g: [root(lambda seat: lifts({**g, "seat": seat}) - g["holds_to"], 1e-4, 0.1)],
    "pump-bleed-narrowed-case": lambda g: [
        root(lambda bleed: passage({**g, "bleed_bore": bleed}) - g["lifts_at"], 1e-4, 1e-2),
    ],
    "pump-pulled-fuel": lambda g: [
        through(g["jet_bore"], g["draw"] - g["lifts_at"], g["fuel_density"], g["jet_coefficient"]),
    ],
}


def test_every_computed_item_of_the_pump_circuit_is_computed_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


def test_slices_and_strokes_give_printed_values() -> None:
    # Bore 3/4 in, stroke 1/4 in: 1.80990 cm³; balls of 5/32 and 1/4 in: 32.731 and 134.066 mm³. By hand.
    inch = 0.0254
    assert swept({"pump_bore": 0.75 * inch, "stroke": 0.25 * inch}) == pytest.approx(1.80990e-6, abs=5e-12)
    assert ball(5 / 32 * inch) == pytest.approx(32.731e-9, abs=5e-13)
    assert ball(inch / 4) == pytest.approx(134.066e-9, abs=5e-13)
    # The course's model states 1.02 s for the pump of T-1: our own figure, to the digits stated.
    of = circle(0.75 * inch), 0.35 * inch
    lasts = shot(*of, lambda place: 4.4482216 * (1.9 - 1.5 * place / inch), 0.028 * inch, 736.3, 0.75)
    assert lasts == pytest.approx(1.02, abs=5e-3)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_slices_strokes_and_the_meter_give(item: Item) -> None:
    assert_key_is(item, HAND[item.id])
