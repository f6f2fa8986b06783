"""How a value of a specification sheet is stated: once, with its place, its unit, what it is, and its two ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grader.base.quantities import Unit, show_number, unit, with_unit

Values = float | NDArray[np.float64]
Steps = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """
    One value of the sheet.

    Parameters
    ----------
    name, group : str
        Its name, and the circuit under which it stands on the sheet ("" for what belongs to no sheet).
    unit : Unit
        In which the sheet gives it; the ends are in it too.
    says : str
        What it is.
    least, greatest : float
        The ends between which it must lie, both inside.
    default : str
        The number, in that unit, where a sheet leaves it out; "" where it must be there.
    pair : tuple of Entry
        For a list of steps: the two values of a step.
    """

    name: str
    group: str
    unit: Unit
    says: str
    least: float
    greatest: float
    default: str = ""
    pair: tuple[Entry, ...] = ()

    def si(self, number: str | float) -> float:
        """A number in the sheet's unit as SI."""
        return self.unit.to_si(Fraction(str(number)))

    def fault_of(self, value: float) -> str:
        """What is wrong with an SI value: its name, the value, the valid range; "" where nothing is."""
        number = self.unit.from_si(value)
        reach = 1e-9 * max(abs(self.least), abs(self.greatest))
        if self.least - reach <= number <= self.greatest + reach:
            return ""
        wrong = with_unit(show_number(number, 5), self.unit) if np.isfinite(number) else str(number)
        return f"{self.name} ({self.says}) is {wrong}; it must lie from {self.range()}"

    def range(self) -> str:
        """The two ends, as printed."""
        return f"{with_unit(f'{self.least:g}', self.unit)} to {with_unit(f'{self.greatest:g}', self.unit)}"


def value(group: str, measure: str, says: str, least: float, greatest: float, default: str = "") -> Any:
    """A value of a dataclass: its group on the sheet, its unit there, what it is, its two ends, what it is if left out."""
    about = {"group": group, "unit": measure, "says": says, "ends": (least, greatest), "default": default}
    if not default:
        return field(metadata=about)
    return field(default=unit(measure).to_si(Fraction(default)), metadata=about)


def steps(group: str, says: str, first: tuple[str, str, str, float, float], second: tuple[str, str, str, float, float]) -> Any:
    """A list of steps, each of two values: name, unit, what it is, two ends."""
    about = {"group": group, "unit": "1", "says": says, "ends": (0.0, 0.0), "default": "", "pair": (first, second)}
    return field(default=(), metadata=about)


def entry_of(name: str, about: Mapping[str, Any]) -> Entry:
    """What a dataclass field says about itself as an `Entry`."""
    least, greatest = about["ends"]
    pair = tuple(Entry(n, about["group"], unit(u), says, low, high) for n, u, says, low, high in about.get("pair", ()))
    return Entry(name, about["group"], unit(about["unit"]), about["says"], least, greatest, about["default"], pair)
