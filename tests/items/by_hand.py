"""
The keys of a bank against a second way to the same numbers: what the tests of every bank share.

A bank's test states, for each item that asks for a number, how the number comes out of what the stem gives; here variants are
drawn and the two are compared. Units are pint's, not the course's own table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path

import pint
import pytest
from fluids.flow_meter import flow_meter_discharge
from scipy.optimize import brentq

from grader.items.course import Course, load_course
from grader.items.drawing import PartNumbers, draw_variant
from grader.items.model import Item, Part

Givens = Mapping[str, float]
"""What a stem gives, by name, in SI."""
By = Callable[[Givens], Sequence[float]]
"""From what is given to the numbers asked for, in SI, in their order."""
VARIANTS = 10
WITHIN = 1e-5
FUEL = 740.0
"""A density that cancels where a stem gives none."""

_ROOT = Path(__file__).parents[2]
_OTHER_NAMES = {"1": "", "%": "percent", "in": "inch", "L": "liter", "rev/min": "1/min", "dK": "delta_degC"}


@cache
def course() -> Course:
    """The course, read once."""
    return load_course(_ROOT)


def asks_for_a_number(item: Item) -> bool:
    """Whether any part of an item has a computed answer, be it one to pick out of several numbers."""
    return any(part.answer is not None or any(option.value is not None for option in part.options) for part in item.parts)


def computed_items(circuit: str = "") -> list[Item]:
    """The items of both banks that ask for a number, of one circuit or of all."""
    every = (*course().practice, *course().exam)
    return [item for item in every if circuit in ("", item.circuit) and asks_for_a_number(item)]


def si(number: float, unit: str) -> float:
    """A number in a unit, in SI by pint; temperatures are absolute."""
    name = _OTHER_NAMES.get(unit, unit)
    return float(pint.get_application_registry().Quantity(number, name).to_base_units().magnitude)


def through(bore: float, pressure: float, density: float = FUEL, coefficient: float = 1.0) -> float:
    """Flow through a hole: fluids' orifice in a pipe a thousand times as wide, in which what comes has no speed."""
    return float(flow_meter_discharge(D=1e3 * bore, Do=bore, P1=1e6 + pressure, P2=1e6, rho=density, C=coefficient))


def root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Where a function of one number is 0, by SciPy."""
    return float(brentq(excess, low, high, xtol=1e-15, rtol=1e-13))


def assert_key_is(item: Item, by: By) -> None:
    """Ten variants of an item: each of its keys is what `by` makes of the numbers printed in the stem."""
    for number in range(VARIANTS):
        variant = draw_variant(item, b"by hand", f"paper {number}")
        wanted = by({name: si(float(quantity.number), quantity.unit.name) for name, quantity in variant.givens.items()})
        found = [key for part, drawn in zip(item.parts, variant.parts, strict=True) for key in _keys(part, drawn)]
        for key, value in zip(found, wanted, strict=True):
            assert key == pytest.approx(value, rel=WITHIN), (item.id, number)


def _keys(part: Part, drawn: PartNumbers) -> list[float]:
    """The number that a part of a variant asks for, in SI, or the right one of its options; none where it has none."""
    if part.answer is not None and drawn.key is not None:
        return [si(float(drawn.key.value), part.answer.unit.name)]
    return [value for option, (value, _) in zip(part.options, drawn.options, strict=False) if option.right]
