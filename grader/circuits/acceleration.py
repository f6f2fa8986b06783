"""
The moment after the throttle opens: the pump's discharge in time, and the mixture that air, circuits and pump make together.

The air is there at once. The fuel of the main circuit has to be set moving and follows later; the pump's shot stands in for it.
What is computed is what the carburetor delivers: fuel that wets the walls of the manifold is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from grader.base.errors import RangeError
from grader.circuits.air import circle
from grader.circuits.carburetor import SEA_LEVEL, Conditions, points_at, solve
from grader.circuits.pump import discharge_time, discharge_time_spring, shot_flow
from grader.circuits.specimens import Specimen

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AcceleratorPump:
    """
    A pump whose plunger a duration spring drives.

    Parameters
    ----------
    plunger_area, stroke : float
        [m²], [m]
    spring_force, spring_rate : float
        Force at the start of the stroke, and how fast it falls; a rate of 0 is a constant force. [N], [N/m]
    jet_area : float
        Of all pump jets together. [m²]
    jet_coefficient : float
        Discharge coefficient of the jets, above 0, at most 1.
    share_delivered : float
        What leaves by the jets of what the plunger sweeps, 0 to 1: the rest leaks past cup and checks.
    delay : float
        From the throttle's first movement to the plunger's: lost motion in the linkage. [s]
    """

    plunger_area: float
    stroke: float
    spring_force: float
    spring_rate: float
    jet_area: float
    jet_coefficient: float = 0.75
    share_delivered: float = 1.0
    delay: float = 0.0

    def __post_init__(self) -> None:
        _hold("share_delivered", self.share_delivered, 0.0, 1.0, "")
        _hold("delay", self.delay, 0.0, 10.0, " s")


@dataclass(frozen=True, slots=True)
class ThrottleStep:
    """
    What the steady engine draws before and after the throttle is opened at once.

    Parameters
    ----------
    air_before, air_after, fuel_before, fuel_after : float
        Of the whole carburetor, its pump left out. [kg/s]
    fuel_lag : float
        Time constant with which the circuits' fuel follows. Illustrative: 0.2 to 0.4 s. [s]
    """

    air_before: float
    air_after: float
    fuel_before: float
    fuel_after: float
    fuel_lag: float = 0.3

    def __post_init__(self) -> None:
        for name in ("air_before", "air_after", "fuel_before", "fuel_after"):
            _hold(name, getattr(self, name), 0.0, 10.0, " kg/s")
        _hold("fuel_lag", self.fuel_lag, 1e-6, 10.0, " s")


@dataclass(frozen=True, slots=True)
class Acceleration:
    """Arrays over time [s]: air, fuel of the circuits and fuel of the pump [kg/s], and the air-fuel ratio of them together."""

    time: Array
    air: Array
    circuit_fuel: Array
    pump_fuel: Array
    air_fuel: Array

    def leanest(self) -> tuple[float, float]:
        """The time at which the mixture is leanest, and the air-fuel ratio there."""
        place = int(np.argmax(self.air_fuel))
        return float(self.time[place]), float(self.air_fuel[place])

    def seconds_leaner_than(self, air_fuel: float) -> float:
        """How long the mixture is leaner than this: the length of a flat spot. To the step of the times that were asked for."""
        lean = self.air_fuel > air_fuel
        return float(np.sum(np.diff(self.time) * (lean[1:] & lean[:-1])))


def _hold(name: str, value: float, least: float, greatest: float, unit: str) -> None:
    if not least <= value <= greatest:
        raise RangeError(f"{name} is {value:g}{unit}; it must lie from {least:g}{unit} to {greatest:g}{unit}")


def pump_of(carburetor: Specimen, delay: float = 0.0) -> AcceleratorPump:
    """The pump of a carburetor's sheet; lost motion [s] is no part of a sheet."""
    c = carburetor
    return AcceleratorPump(
        plunger_area=float(circle(c.pump_bore)),
        stroke=float(c.pump_stroke),
        spring_force=float(c.pump_spring_force),
        spring_rate=float(c.pump_spring_rate),
        jet_area=float(c.pump_jets * circle(c.pump_jet)),
        jet_coefficient=float(c.pump_jet_discharge),
        share_delivered=float(c.pump_delivery),
        delay=delay,
    )


def step_of(
    carburetor: Specimen, speed: float, before: float, after: float, conditions: Conditions = SEA_LEVEL, fuel_lag: float = 0.3
) -> ThrottleStep:
    """
    The step of a carburetor whose throttle is opened at a speed [rev/s] from one angle to another [rad].

    The engine's speed is held: it takes longer to rise than the pump to deliver. Raises `RangeError` where either end has no
    steady state, and says why.
    """
    states = solve(carburetor, points_at([speed, speed], [before, after]), conditions)
    if states.reasons():
        raise RangeError(f"no steady state at one end of the step: {'; '.join(states.reasons())}")
    (air_before, air_after), (fuel_before, fuel_after) = states.engine_air[:, 0], states.fuel[:, 0]
    return ThrottleStep(float(air_before), float(air_after), float(fuel_before), float(fuel_after), fuel_lag)


def shot_duration(pump: AcceleratorPump, fuel_density: float) -> float:
    """
    How long the plunger takes for its stroke. [s]

    Raises `RangeError` where the spring is slack before the end of the stroke.

    Examples
    --------
    The pump of the training carburetor T-1:

    >>> t1 = AcceleratorPump(2.850230e-4, 8.89e-3, 8.451622, 262.6902, 3.97256e-7, share_delivered=0.85)
    >>> round(shot_duration(t1, 736.3), 2)
    1.02
    """
    of = (pump.plunger_area, pump.stroke, pump.spring_force)
    jets = (fuel_density, pump.jet_coefficient, pump.jet_area)
    if pump.spring_rate == 0:
        return float(discharge_time(*of, *jets))
    return float(discharge_time_spring(*of, pump.spring_rate, *jets))


def pump_discharge(pump: AcceleratorPump, fuel_density: float, time: ArrayLike) -> Array:
    """
    Fuel that leaves the pump jets. [kg/s]

    Parameters
    ----------
    time : array_like
        Since the throttle began to move; the discharge begins after the pump's delay. [s]

    Notes
    -----
    Falls on a straight line from the start of the stroke to its end, and is nothing before and after: the root of the spring's
    force falls evenly in time. What leaks is a constant share of it. Source: relation `shot_flow`.

    Examples
    --------
    >>> t1 = AcceleratorPump(2.850230e-4, 8.89e-3, 8.451622, 262.6902, 3.97256e-7, share_delivered=0.85)
    >>> [round(1000 * float(flow), 2) for flow in pump_discharge(t1, 736.3, [0.0, 0.5, 1.0, 1.1])]
    [1.67, 1.55, 1.43, 0.0]
    """
    since = np.asarray(time, dtype=np.float64) - pump.delay
    end = shot_duration(pump, fuel_density)
    moving = (since >= 0) & (since < end)
    flow = shot_flow(
        np.where(moving, since, 0.0),
        pump.plunger_area,
        pump.spring_force,
        pump.spring_rate,
        fuel_density,
        pump.jet_coefficient,
        pump.jet_area,
    )
    return np.where(moving, pump.share_delivered * np.asarray(flow), 0.0)


def accelerate(step: ThrottleStep, pump: AcceleratorPump | None, fuel_density: float, time: ArrayLike) -> Acceleration:
    """
    The mixture after the throttle is opened at once, with a pump or without one.

    Parameters
    ----------
    step : ThrottleStep
        The steady engine before and after.
    pump : AcceleratorPump or None
        None shows what the engine would have to live with.
    fuel_density : float
        [kg/m³]
    time : array_like
        Since the throttle moved, rising; before 0 the engine runs as it did. [s]

    Notes
    -----
    The circuits' fuel follows as a first-order lag; its time constant is illustrative, no source. The pump's jets are taken not
    to feel the venturi.

    Examples
    --------
    Without a pump the mixture is leanest just after the throttle has moved; the pump fills the hole:

    >>> step = ThrottleStep(air_before=0.010, air_after=0.040, fuel_before=0.7e-3, fuel_after=3.1e-3)
    >>> t1 = AcceleratorPump(2.850230e-4, 8.89e-3, 8.451622, 262.6902, 3.97256e-7, share_delivered=0.85)
    >>> times = np.linspace(0, 2, 201)
    >>> [round(accelerate(step, pump, 736.3, times).leanest()[1], 1) for pump in (None, t1)]
    [57.1, 16.9]
    """
    times = np.atleast_1d(np.asarray(time, dtype=np.float64))
    started = times >= 0
    air = np.where(started, step.air_after, step.air_before)
    left = np.exp(-np.maximum(times, 0.0) / step.fuel_lag)
    circuits = step.fuel_after + (step.fuel_before - step.fuel_after) * left
    shot = np.zeros_like(times) if pump is None else pump_discharge(pump, fuel_density, times)
    with np.errstate(divide="ignore", invalid="ignore"):  # no fuel at all: infinitely lean
        return Acceleration(times, air, circuits, shot, air / (circuits + shot))
