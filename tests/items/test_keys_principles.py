"""
The keys of the bank on pressure, flow and mixture, computed a second time with a units library and the laws written out by hand.

Nothing of the course's relations or unit table is used here: pint converts, each law stands as a textbook prints it, and the
density of the standard atmosphere comes from fluids.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import fluids.atmosphere
import pint
import pytest

from grader.items.course import load_course
from grader.items.drawing import draw_variant

UNITS: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
Q = UNITS.Quantity
G = Q(9.80665, "m/s^2")
R = Q(287.05287, "J/(kg*K)")
PI = 3.141592653589793
# The table's names where pint has others; a revolution is counted as 1, and E for a plain number.
NAMES = {"rev/min": "1/min", "inHg": "inHg", "inH2O": "inH2O", "1": "", "%": "percent", "L": "liter", "in": "inch", "psi": "psi"}


def area(bore: Any) -> Any:
    return PI / 4 * bore**2


def root(value: Any) -> Any:
    return value**0.5


def sigma(altitude: Any) -> float:
    h = altitude.to("m").magnitude  # geopotential; fluids takes the geometric height
    geometric = 6356766.0 * h / (6356766.0 - h)
    return float(fluids.atmosphere.ATMOSPHERE_1976(geometric).rho / fluids.atmosphere.ATMOSPHERE_1976(0).rho)


def kelvin(temperature: Any) -> Any:
    return temperature.to("K")


def mass_share(v: Any) -> Any:
    alcohol = v.ethanol_by_volume * v.ethanol_density
    return alcohol / (alcohol + (1 - v.ethanol_by_volume) * v.gasoline_density)


def blend(v: Any) -> Any:
    return mass_share(v) * v.ethanol_needs + (1 - mass_share(v)) * v.gasoline_needs


def cylinders(v: Any) -> Any:
    return v.cylinders * area(v.bore) * v.stroke


def fillings(v: Any) -> Any:
    return v.speed / 2


def perfect(v: Any, pressure: Any) -> Any:
    return area(v.jet_bore) * root(2 * v.fuel_density * pressure)


def compared(v: Any) -> Any:
    return v.barometer / v.pressure_where_set * kelvin(v.temperature_where_set) / kelvin(v.air_temperature)


def seasons(v: Any) -> Any:
    return v.winter_barometer / v.summer_barometer * kelvin(v.summer_temperature) / kelvin(v.winter_temperature)


def expansion(v: Any) -> float:
    r = float((1 - v.depression_shown / v.inlet_pressure).to("").magnitude)
    return float(fluids.nozzle_expansibility(D=1.0, Do=1e-6, P1=1.0, P2=r, k=1.4))


def plain(v: Any) -> Any:
    return v.venturi_coefficient * v.throat_area * root(2 * v.density_of_air * v.depression_shown)


def throat_speed(v: Any) -> Any:
    return v.inlet_speed * (v.inlet_bore / v.throat_bore) ** 2


def lifted(v: Any, height: Any) -> Any:
    return v.signal_at_nozzle - v.fuel_density * G * height


Law = Callable[[Any], Any]
LAWS: dict[str, Law | list[Law | None]] = {
    # practice
    "principles-vacuum-to-absolute": lambda v: v.barometer - v.vacuum_reading,
    "principles-fuel-line-absolute": lambda v: v.pump_pressure + v.barometer,
    "principles-mercury-to-water": lambda v: v.mercury_reading,
    "principles-throat-speed": lambda v: v.air_flow / v.density_of_air / area(v.throat_bore),
    "principles-throat-case": [throat_speed, lambda v: v.density_of_air / 2 * (throat_speed(v) ** 2 - v.inlet_speed**2), None],
    "principles-depression-at-flow": lambda v: v.depression_now * (v.flow_then / v.flow_now) ** 2,
    "principles-jet-under-head": lambda v: v.jet_coefficient * v.fuel_density * area(v.jet_bore) * root(2 * G * v.head),
    "principles-flow-at-signal": lambda v: v.fuel_now * root(v.signal_then / v.signal_now),
    "principles-signal-for-flow": lambda v: v.flow_rise**2 + 2 * v.flow_rise,
    "principles-mixture-from-flows": lambda v: v.air_flow / v.fuel_flow,
    "principles-lambda-of-blend": lambda v: v.mixture / v.blend_needs,
    "principles-blend-case": [mass_share, blend, None],
    "principles-engine-air-volume": lambda v: v.efficiency * v.displacement_of_engine * fillings(v),
    "principles-engine-air-mass": lambda v: v.efficiency * v.displacement_of_engine * fillings(v) * v.density_of_air,
    "principles-bore-and-stroke-case": [
        cylinders,
        lambda v: cylinders(v) * fillings(v) * v.efficiency * v.density_of_air,
        lambda v: cylinders(v) * fillings(v) * v.efficiency * v.density_of_air / v.mixture,
    ],
    "principles-density-here": lambda v: v.barometer / R / kelvin(v.air_temperature),
    "principles-hot-day-mixture": lambda v: v.mixture_then * root(kelvin(v.cool_day) / kelvin(v.hot_day)),
    "principles-mountain-shop-case": [compared, lambda v: compared(v) ** -0.5 - 1, None],
    # examination
    "principles-mountain-manifold": lambda v: v.barometer - v.vacuum_reading,
    "principles-gauge-from-absolute": lambda v: v.ambient_pressure - v.manifold_pressure,
    "principles-u-tube-case": [
        lambda v: v.water_density * G * v.difference_of_legs,
        lambda v: v.difference_of_legs * v.water_density / v.fuel_density,
        None,
    ],
    "principles-depression-from-flow": lambda v: (
        (v.air_flow / v.venturi_coefficient / area(v.throat_bore)) ** 2 / v.density_of_air / 2
    ),
    "principles-flow-from-depression": plain,
    "principles-expanding-air-case": [plain, lambda v: expansion(v) * plain(v), None],
    "principles-smaller-throat": lambda v: v.old_depression * (v.old_bore / v.new_bore) ** 4,
    "principles-throat-for-speed": lambda v: root(4 / PI * v.air_flow / v.density_in_throat / v.throat_speed),
    "principles-bore-for-flow": lambda v: root(4 / PI * v.wanted_flow / v.jet_coefficient / root(2 * v.fuel_density * v.signal)),
    "principles-flow-bench-case": [
        lambda v: v.fuel_density * G * v.bench_head,
        lambda v: v.collected / v.run_time / perfect(v, v.fuel_density * G * v.bench_head),
        lambda v: v.collected / v.run_time * root(v.signal_on_engine / (v.fuel_density * G * v.bench_head)),
    ],
    "principles-low-level-flow": lambda v: 1 - root(lifted(v, v.wrong_height) / lifted(v, v.right_height)),
    "principles-burette-mixture": lambda v: v.air_flow / (v.fuel_volume * v.fuel_density / v.run_time),
    "principles-blend-lambda-case": [mass_share, blend, lambda v: v.mixture / blend(v)],
    "principles-fuel-for-lambda": lambda v: v.air_flow / v.fuel_needs / v.wanted_lambda,
    "principles-air-from-analysis": lambda v: (32 / 12 * v.carbon + 16 / 2 * (1 - v.carbon)) / v.oxygen_in_air,
    "principles-measured-efficiency": lambda v: v.air_flow / v.density_of_air / fillings(v) / v.displacement_of_engine,
    "principles-carburetor-rating-case": [
        lambda v: v.efficiency * v.displacement_of_engine * fillings(v),
        lambda v: v.rated_drop * (v.efficiency * v.displacement_of_engine * fillings(v) / v.rated_flow) ** 2,
        None,
    ],
    "principles-speed-for-air": lambda v: v.greatest_flow / (v.efficiency * v.displacement_of_engine / 2),
    "principles-air-of-one-barrel": lambda v: v.density_of_air * v.efficiency * v.displacement_of_engine * v.speed / 4,
    "principles-richer-at-height": lambda v: Q(sigma(v.altitude) ** -0.5 - 1, ""),
    "principles-two-seasons-case": [seasons, lambda v: v.summer_mixture * root(seasons(v)), None],
    "principles-frost-against-mild": lambda v: root(kelvin(v.mild_day) / kelvin(v.frosty_day)) - 1,
    "principles-down-to-the-coast": lambda v: v.mixture_up_there * sigma(v.altitude) ** -0.5,
}
COURSE = load_course(Path(__file__).parents[1] if (Path(__file__).parents[1] / "questions").is_dir() else Path.cwd())
ITEMS = {item.id: item for item in (*COURSE.practice, *COURSE.exam) if item.id.startswith("principles-")}


def measured(quantity: Any) -> Any:
    name = quantity.unit.name
    return Q(float(quantity.number), NAMES.get(name, name))


def test_every_computed_item_on_the_principles_is_computed_here() -> None:
    assert {name for name, item in ITEMS.items() if any(part.answer for part in item.parts)} == set(LAWS)


@pytest.mark.parametrize("name", list(LAWS))
def test_the_key_is_what_the_law_gives_by_hand(name: str) -> None:
    item, laws = ITEMS[name], LAWS[name]
    for number in range(10):
        variant = draw_variant(item, b"by hand", f"{number}")
        v = SimpleNamespace(**{given: measured(quantity) for given, quantity in variant.givens.items()})
        for part, numbers, law in zip(item.parts, variant.parts, laws if isinstance(laws, list) else [laws], strict=True):
            if law is None:
                assert numbers.key is None
                continue
            assert part.answer is not None
            assert numbers.key is not None
            unit = part.answer.unit.name
            by_hand = law(v).to(NAMES.get(unit, unit)).magnitude
            assert float(numbers.key.value) == pytest.approx(by_hand, rel=2e-5), (name, number)
