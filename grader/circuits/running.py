"""The engine left to itself: the speed at which it idles, with the throttle on its stop and nothing to drive."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from grader.base.errors import UseError
from grader.circuits.air import Array, Values
from grader.circuits.carburetor import SEA_LEVEL, Conditions, Points, States, columns_of, solve
from grader.circuits.solving import Method
from grader.circuits.sound import require_sound
from grader.circuits.specimens import Carburetor, OperatingPoint, Specimen, healthy

SLOWEST, FASTEST = 300 / 60, 2500 / 60
STALLED = 310 / 60
HALVINGS = 40
HEAT = 2.95e6
"""Heat of a cylinder's charge per displaced volume at full filling [Pa]; *illustrative*, like every number of this file."""


def burning(lam: Array) -> Array:
    """(9.1) Share of the heat that becomes work, over that of the best mixture; 0 where it does not burn."""
    width = np.where(lam > 0.88, 0.55, 0.60)
    return np.maximum(1 - ((lam - 0.88) / width) ** 2, 0.0)


def mean_pressure(c: Specimen, states: States, speed: Array, ambient: Values) -> Array:
    """(9.1) Brake mean effective pressure: burning less friction less pumping. [Pa]"""
    share = states.engine_air * 2 / (speed * c.displacement)
    k = speed * 60 / 1000
    lost = 97e3 + 15e3 * k + 5e3 * k * k + (ambient - states.manifold_pressure)
    return np.asarray(0.30 * HEAT * share * burning(states.lam) - lost)


def idle_point(specimen: Specimen) -> OperatingPoint:
    """The sheet's point at which the throttle rests on its stop; `UseError` where it has none."""
    for point in specimen.points:
        if point.on_stop:
            return point
    raise UseError(f"{specimen.id} has no operating point with `on_stop: true`; mark curb idle so")


def idle_drag(specimen: Specimen) -> float:
    """(9.2) What turning over costs at idle: the healthy carburetor's mean pressure there, at sea level on gasoline. [Pa]"""
    point = idle_point(specimen)
    states = solve(healthy(specimen), _at(point, np.array([point.speed])))
    return float(mean_pressure(specimen, states, np.array([[point.speed]]), SEA_LEVEL.air.pressure)[0, 0])


def _at(point: OperatingPoint, speed: Array) -> Points:
    return Points(speed, np.full(speed.shape, point.throttle), np.ones(speed.shape, dtype=bool))


def idle_speed(carburetor: Carburetor, specimen: Specimen, conditions: Conditions = SEA_LEVEL, method: Method = "fast") -> Array:
    """
    The speed at which the engine idles with each carburetor, throttle on its stop. [rev/s]

    `specimen` is the healthy sheet, which says what the engine has to drag. An engine that would idle below 310 rev/min
    stalls: NaN.
    """
    require_sound(carburetor)
    point, drag = idle_point(specimen), idle_drag(specimen)
    width = columns_of(carburetor)
    low, high = np.full(width, SLOWEST), np.full(width, FASTEST)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        states = _each_at(carburetor, point, middle, conditions, method)
        faster = mean_pressure(carburetor, states, middle[None, :], conditions.air.pressure)[0] > drag
        low, high = np.where(faster, middle, low), np.where(faster, high, middle)
    speed = (low + high) / 2
    return np.where(speed < STALLED, np.nan, speed)


def _each_at(c: Carburetor, point: OperatingPoint, speed: Array, conditions: Conditions, method: Method) -> States:
    """Each column at a speed of its own."""
    return solve(c, replace(_at(point, np.array([point.speed])), speed=speed[None, :]), conditions, method, checked=False)
