"""The fuels that the course meters: what they weigh, and how much air they want."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import RangeError, UseError

SET_TEMPERATURE = 293.15
"""The temperature of fuel in a bowl unless another is given. [K]"""


@dataclass(frozen=True, slots=True)
class Fuel:
    """
    A fuel.

    Parameters
    ----------
    name, says : str
        Its name in commands, and in words.
    density_at_15 : float
        At 15 °C. [kg/m³]
    expansion : float
        Loss of density per kelvin, as a share. [1/K]
    stoichiometric : float
        Air-fuel ratio by mass that leaves neither air nor fuel.
    viscosity_at_20 : float
        Kinematic, at 20 °C. [m²/s]

    Notes
    -----
    Values from memory, inside the ranges that a public fuel table prints (specific gravity 0.72 to 0.78, 0.5 to 0.6 mm²/s at
    68 °F).
    """

    name: str
    says: str
    density_at_15: float
    expansion: float
    stoichiometric: float
    viscosity_at_20: float

    def density(self, temperature: float | NDArray[np.float64] = SET_TEMPERATURE) -> float | NDArray[np.float64]:
        """
        Density at a temperature in kelvin, 233.15 to 333.15 (-40 to 60 °C). [kg/m³]

        >>> round(GASOLINE.density(293.15), 1)
        736.3
        """
        if not np.all((np.asarray(temperature) >= 233.15) & (np.asarray(temperature) <= 333.15)):
            raise RangeError(f"fuel temperature is {temperature} K; it must lie from 233.15 K to 333.15 K (-40 °C to 60 °C)")
        return self.density_at_15 * (1 - self.expansion * (temperature - 288.15))


GASOLINE = Fuel("gasoline", "straight gasoline", 740.0, 1.00e-3, 14.7, 0.60e-6)
E10 = Fuel("E10", "gasoline with 10 % ethanol", 746.0, 1.02e-3, 14.1, 0.66e-6)
FUELS = {fuel.name: fuel for fuel in (GASOLINE, E10)}


def fuel_named(name: str) -> Fuel:
    """
    A fuel by its name; capitals do not matter. Raises `UseError` with the nearest name.

    >>> fuel_named("e10").stoichiometric
    14.1
    """
    found = {key.lower(): fuel for key, fuel in FUELS.items()}
    if name.lower() in found:
        return found[name.lower()]
    near = difflib.get_close_matches(name.lower(), list(found), 1, 0.4)
    meant = f"did you mean `{found[near[0]].name}`?" if near else f"the fuels are {', '.join(FUELS)}"
    raise UseError(f"`{name[:40]}` is not a fuel known here; {meant}")
