"""
Every computed key of the float bank against plain arithmetic from the stem's own quantities: hydrostatics, moments and square
roots written out in SI, none of the project's relations.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import pi, sqrt
from pathlib import Path

import pytest

from grader.items.course import load_course
from grader.items.drawing import Rejected, attempted
from grader.items.model import Item

COURSE = load_course(Path(__file__).parents[2])
ITEMS = [item for item in (*COURSE.practice, *COURSE.exam) if item.circuit == "float" and item.given]
G = 9.80665  # standard gravity, exact by definition
By = Callable[[Mapping[str, float]], list[float]]


def area(bore: float) -> float:
    return pi * bore * bore / 4


HAND: dict[str, By] = {
    "float-push-at-float": lambda g: [area(g["seat_bore"]) * g["fuel_pressure"] * g["hinge_to_needle"] / g["hinge_to_float"]],
    "float-greatest-pressure": lambda g: [
        (g["greatest_lift"] - g["float_weight"]) * g["hinge_to_float"] / g["hinge_to_needle"] / area(g["seat_bore"])
    ],
    "float-larger-seat": lambda g: [g["greatest_pressure"] * area(g["right_seat"]) / area(g["wrong_seat"])],
    "float-balance-case": lambda g: (
        lambda P: (lambda L: [P, L, L / (g["fuel_density"] * G * g["plan_area"])])(
            (P * g["hinge_to_needle"] + g["float_weight"] * g["hinge_to_weight"]) / g["hinge_to_lift"]
        )
    )(area(g["seat_bore"]) * g["fuel_pressure"]),
    "float-lift-at-depth": lambda g: [g["plan_area"] * g["depth"] * g["fuel_density"] * G],
    "float-denser-fuel": lambda g: [g["depth"] * (1 - g["first_density"] / g["second_density"])],
    "float-logged-case": lambda g: (lambda L: [L, L / (g["fuel_density"] * G * g["plan_area"])])(
        (g["found_weight"] - g["new_weight"]) * g["hinge_to_weight"] / g["hinge_to_lift"]
    ),
    "float-high-level-mixture": lambda g: [
        g["mixture"]
        * sqrt(
            (g["depression"] - g["fuel_density"] * G * g["spill_height"])
            / (g["depression"] - g["fuel_density"] * G * (g["spill_height"] - g["level_rise"]))
        )
    ],
    "float-starting-depression": lambda g: [g["fuel_density"] * G * (g["spill_height"] + g["level_fall"])],
    "float-level-flow-case": lambda g: [
        g["spill_height"] - g["level_rise"],
        sqrt(
            (g["depression"] - g["fuel_density"] * G * (g["spill_height"] - g["level_rise"]))
            / (g["depression"] - g["fuel_density"] * G * g["spill_height"])
        )
        - 1,
    ],
    "float-drop-at-needle": lambda g: [g["float_drop"] * g["hinge_to_needle"] / g["hinge_to_float"]],
    "float-outside-vent-flow": lambda g: (lambda H: [sqrt((H + g["cleaner_loss"]) / H) - 1])(
        g["depression"] - g["fuel_density"] * G * g["spill_height"]
    ),
    "float-vent-blocked-case": lambda g: (lambda B, H: [B, sqrt((H - B) / H)])(
        g["throat_depression"] / (1 + (g["vent_area"] / g["leak_area"]) ** 2),
        g["nozzle_depression"] - g["fuel_density"] * G * g["spill_height"],
    ),
    "float-volume-test-case": lambda g: (lambda w: [w, g["collected"] * g["fuel_density"] / g["test_time"] / w])(
        g["full_air"] / g["full_mixture"]
    ),
    "float-seat-for-pressure": lambda g: [
        sqrt(4 / pi * (g["greatest_lift"] - g["float_weight"]) * g["hinge_to_float"] / g["hinge_to_needle"] / g["pump_pressure"])
    ],
    "float-new-pump-case": lambda g: (
        lambda P: [P, P * g["hinge_to_needle"] / g["hinge_to_lift"] / (g["fuel_density"] * G * g["plan_area"])]
    )(area(g["seat_bore"]) * (g["found_pressure"] - g["sheet_pressure"])),
    "float-hold-in-kilopascals": lambda g: [
        (g["plan_area"] * g["float_height"] * g["fuel_density"] * G - g["float_weight"])
        * g["hinge_to_float"]
        / g["hinge_to_needle"]
        / area(g["seat_bore"])
    ],
    "float-share-of-lift": lambda g: [
        (area(g["seat_bore"]) * g["fuel_pressure"] * g["hinge_to_needle"] / g["hinge_to_float"] + g["float_weight"])
        / g["greatest_lift"]
    ],
    "float-heaviest": lambda g: [
        g["float_volume"] * g["fuel_density"] * G
        - area(g["seat_bore"]) * g["fuel_pressure"] * g["hinge_to_needle"] / g["hinge_to_float"]
    ],
    "float-soaked-mixture-case": lambda g: (
        lambda e: [
            e,
            sqrt(
                (g["depression"] - g["fuel_density"] * G * (g["spill_height"] - e))
                / (g["depression"] - g["fuel_density"] * G * g["spill_height"])
            )
            - 1,
        ]
    )(g["weight_gain"] * g["hinge_to_weight"] / g["hinge_to_lift"] / (g["fuel_density"] * G * g["plan_area"])),
    "float-warm-fuel": lambda g: (
        lambda k: [
            k / (g["cool_density"] * (1 - 0.001 * (g["warm_temperature"] - g["cool_temperature"]))) - k / g["cool_density"]
        ]
    )(g["closing_lift"] / G / g["plan_area"]),
    "float-volume-under": lambda g: [g["float_height"] - g["closing_lift"] / (g["fuel_density"] * G * g["plan_area"])],
    "float-low-level-mixture": lambda g: [
        g["mixture"]
        * sqrt(
            (g["depression"] - g["fuel_density"] * G * g["spill_height"])
            / (g["depression"] - g["fuel_density"] * G * (g["spill_height"] + g["level_fall"]))
        )
    ],
    "float-sight-level-case": lambda g: (
        lambda h: [
            h,
            1
            - sqrt((g["depression"] - g["fuel_density"] * G * h) / (g["depression"] - g["fuel_density"] * G * g["spill_height"])),
        ]
    )(g["spill_height"] + g["found_depth"] - g["sheet_depth"]),
    "float-level-for-change": lambda g: [
        (g["depression"] - g["fuel_density"] * G * g["spill_height"]) * ((1 + g["more_fuel"]) ** 2 - 1) / (g["fuel_density"] * G)
    ],
    "float-level-at-full-throttle": lambda g: (lambda f: [f(g["light_depression"]) / f(g["full_depression"])])(
        lambda d: (
            sqrt(
                (d - g["fuel_density"] * G * (g["spill_height"] - g["level_rise"]))
                / (d - g["fuel_density"] * G * g["spill_height"])
            )
            - 1
        )
    ),
    "float-outside-vent-case": lambda g: (lambda H: [H, H * ((g["right_mixture"] / g["found_mixture"]) ** 2 - 1)])(
        g["depression"] - g["fuel_density"] * G * g["spill_height"]
    ),
    "float-blocked-vent-mixture-case": lambda g: [
        g["healthy_mixture"] / sqrt(1 - g["bowl_air"] / (g["nozzle_multiple"] * g["throat_depression"])),
        g["leak_area"] * sqrt((g["throat_depression"] - g["bowl_air"]) / g["bowl_air"]),
    ],
    "float-supply-case": lambda g: (lambda loss: [loss, g["bowl_store"] * g["fuel_density"] / loss])(
        g["engine_takes"] - g["collected"] * g["fuel_density"] / g["test_time"]
    ),
    "float-pressure-from-depth-case": lambda g: (
        lambda lift: [lift, (lift * g["to_lift"] - g["float_weight"] * g["to_weight"]) / g["to_needle"] / area(g["seat_bore"])]
    )(g["plan_area"] * g["depth"] * g["fuel_density"] * G),
    "float-which-vent-case": lambda g: (lambda H: [H * (g["richer_by"] ** 2 + 2 * g["richer_by"])])(
        g["depression"] - g["fuel_density"] * G * g["spill_height"]
    ),
    "float-bench-pressure": lambda g: [g["transition_sheet"] / g["transition_reading"] - 1],
    "float-bench-starved-case": lambda g: [g["full_air"] / g["full_reading"], g["full_sheet"] / g["full_reading"]],
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
            assert float(key.value) * float(answer.unit.factor) == pytest.approx(value, rel=1e-3)  # warm fuel: a given beta
            seen += 1
    assert seen
