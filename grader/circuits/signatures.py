"""The signature table: how each fault shows in the mixture, the vacuum and the idle speed, warm and cold. Computed, never
typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from grader.circuits.air import Array, standard_air
from grader.circuits.carburetor import SEA_LEVEL, Conditions, States, points_of, solve
from grader.circuits.cold import solve_cold
from grader.circuits.faults import FAULTS, Fault, with_faults
from grader.circuits.fuels import GASOLINE, Fuel
from grader.circuits.running import idle_speed
from grader.circuits.specimens import Specimen

FREEZING = 273.15


@dataclass(frozen=True)
class Signature:
    """
    What one fault changes, at the sheet's operating points, at fixed speed and throttle.

    `mixture` and `cold_mixture` are the air-fuel ratio over the healthy carburetor's, less 1 (+ leaner); `vacuum` and
    `cold_vacuum` the change of manifold vacuum [Pa]; `idle` that of the engine's free idle speed [rev/s], NaN where it stalls.
    """

    fault: Fault
    mixture: Array
    vacuum: Array
    cold_mixture: Array
    cold_vacuum: Array
    idle: float

    @property
    def stalls(self) -> bool:
        """Whether the engine no longer idles."""
        return bool(np.isnan(self.idle))


def signatures(
    specimen: Specimen, faults: Sequence[Fault] | None = None, *, coil_temperature: float = FREEZING, fuel: Fuel = GASOLINE
) -> tuple[Signature, ...]:
    """
    The signature of each fault that the carburetor can have (all of them if `faults` is left out), at sea level.

    Warm at 15 °C with the choke open; cold with air, fuel and coil at `coil_temperature` [K], the choke and the fast-idle cam
    where they come to rest.
    """
    chosen = [fault for fault in FAULTS.values() if fault.fits(specimen)] if faults is None else list(faults)
    columns, points = with_faults(specimen, chosen), points_of(specimen.points)
    warm = solve(columns, points, Conditions(SEA_LEVEL.air, fuel))
    outside = Conditions(standard_air(0.0, coil_temperature), fuel, coil_temperature)
    cold = solve_cold(columns, points, coil_temperature, outside)
    speed = idle_speed(columns, specimen, Conditions(SEA_LEVEL.air, fuel))
    return tuple(
        Signature(fault, *_changes(warm, column), *_changes(cold, column), float(speed[column] - speed[0]))
        for column, fault in enumerate(chosen, 1)
    )


def _changes(states: States, column: int) -> tuple[Array, Array]:
    mixture = states.air_fuel[:, column] / states.air_fuel[:, 0] - 1
    return mixture, states.vacuum[:, column] - states.vacuum[:, 0]
