"""The computed carburetor as a technician reads it: a row for each operating point, a block for each fault, in the trade's
units."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from grader.base.quantities import unit
from grader.circuits.carburetor import SEA_LEVEL, Conditions, Reason, States, points_of, solve
from grader.circuits.cold import solve_cold
from grader.circuits.faults import Fault
from grader.circuits.specimens import Specimen, healthy, side_by_side

LEANER_BY = (0.01, 0.05, 0.15)
"""Changes of mixture at which a signature gets its first, second and third sign."""

_INHG, _INCH, _DEGREE = (float(unit(name).factor) for name in ("inHg", "in", "deg"))


@dataclass(frozen=True, slots=True)
class Reading:
    """
    One operating point of one carburetor in the trade's units; a number is NaN where the point has no solution, `reason` says
    why.

    `change` is that of the air-fuel ratio over the healthy carburetor's in the same conditions: 0.05 is 5 % leaner;
    `vacuum_change_inHg` that of the vacuum.
    """

    point: str
    rpm: float
    vacuum_inHg: float
    air_g_s: float
    fuel_g_s: float
    air_fuel: float
    lam: float
    rod_lift_in: float
    level_in: float
    starved: bool
    flooded: bool
    throttle_deg: float
    choke_deg: float
    change: float
    vacuum_change_inHg: float
    reason: str

    def as_json(self) -> dict[str, str | float | bool | None]:
        """As `grader curves --json` prints it; what has no number is null."""
        return {
            "point": self.point,
            "rpm": _number(self.rpm),
            "vacuum_inHg": _number(self.vacuum_inHg),
            "air_g_s": _number(self.air_g_s),
            "fuel_g_s": _number(self.fuel_g_s),
            "air_fuel": _number(self.air_fuel),
            "lambda": _number(self.lam),
            "rod_lift_in": _number(self.rod_lift_in),
            "level_in": _number(self.level_in),
            "starved": self.starved,
            "flooded": self.flooded,
            "throttle_deg": _number(self.throttle_deg),
            "choke_deg": _number(self.choke_deg),
            "change_percent": _number(100 * self.change),
            "vacuum_change_inHg": _number(self.vacuum_change_inHg),
            "reason": self.reason,
        }


def _number(value: float) -> float | None:
    return float(f"{value:.9g}") if math.isfinite(value) else None


@dataclass(frozen=True, slots=True)
class Curve:
    """The readings of one carburetor: the healthy one (`name` is "") or one with faults."""

    name: str
    says: str
    readings: tuple[Reading, ...]


def curves(
    specimen: Specimen,
    faults: Sequence[Fault] = (),
    conditions: Conditions = SEA_LEVEL,
    *,
    together: bool = False,
    coil_temperature: float | None = None,
) -> tuple[Curve, ...]:
    """
    The healthy carburetor's curve, then one for each fault; with `together`, one for all of them at once.

    With a `coil_temperature` [K] the engine is cold: the choke and the fast-idle cam stand where they come to rest.
    """
    made = healthy(specimen)
    if together and faults:
        spoilt = made
        for fault in faults:
            spoilt = fault.applied(spoilt)
        columns, names = [made, spoilt], [(" and ".join(f.name for f in faults), " ".join(f.says for f in faults))]
    else:
        columns, names = [made, *(fault.applied(made) for fault in faults)], [(f.name, f.says) for f in faults]
    beside, points = side_by_side(columns), points_of(specimen.points)
    if coil_temperature is None:
        states = solve(beside, points, conditions)
    else:
        states = solve_cold(beside, points, coil_temperature, conditions)
    return tuple(
        Curve(name, says, readings(specimen, states, column)) for column, (name, says) in enumerate([("", "healthy"), *names])
    )


def readings(specimen: Specimen, states: States, column: int = 0, healthy_column: int = 0) -> tuple[Reading, ...]:
    """One column of states as readings."""
    change = states.air_fuel[:, column] / states.air_fuel[:, healthy_column] - 1
    found = []
    for row, point in enumerate(specimen.points):
        at = (row, column)
        code = Reason(int(states.reason[at]))
        found.append(
            Reading(
                point=point.name,
                rpm=point.speed * 60,
                vacuum_inHg=float(states.vacuum[at]) / _INHG,
                air_g_s=float(states.engine_air[at]) * 1000,
                fuel_g_s=float(states.fuel[at]) * 1000,
                air_fuel=float(states.air_fuel[at]),
                lam=float(states.lam[at]),
                rod_lift_in=float(states.rod_lift[at]) / _INCH,
                level_in=float(states.level[at]) / _INCH,
                starved=bool(states.starved[at]),
                flooded=bool(states.flooded[at]),
                throttle_deg=float(states.throttle[at]) / _DEGREE,
                choke_deg=float(states.choke[at]) / _DEGREE,
                change=float(change[row]),
                vacuum_change_inHg=float(states.vacuum[at] - states.vacuum[row, healthy_column]) / _INHG,
                reason="" if code is Reason.SOLVED else code.says,
            )
        )
    return tuple(found)


def signs(change: float) -> str:
    """
    A change of mixture as a signature prints it: + leaner, - richer; one sign from 1 %, two from 5 %, three from 15 %.

    >>> [signs(change) for change in (0.004, 0.03, -0.07, 0.4, float("nan"))]
    ['0', '+', '--', '+++', '?']
    """
    if math.isnan(change):
        return "?"
    times = sum(abs(change) >= step for step in LEANER_BY)
    return ("+" if change > 0 else "-") * times or "0"


def vacuum_sign(inches: float) -> str:
    """
    A change of vacuum [inHg] as a table prints it; nothing that a gauge cannot show is called a change.

    >>> [vacuum_sign(change) for change in (0.04, 1.26, -3.0, float("nan"))]
    ['0', '+1.3', '-3.0', '?']
    """
    if math.isnan(inches):
        return "?"
    return f"{inches:+.1f}" if abs(inches) >= 0.05 else "0"


def in_words(change: float) -> str:
    """
    A change of mixture in words.

    >>> in_words(0.083), in_words(-0.2), in_words(0.0004)
    ('8.3 % leaner', '20.0 % richer', 'the same')
    """
    if math.isnan(change):
        return "no mixture"
    if abs(change) < 0.0005:
        return "the same"
    return f"{abs(change) * 100:.1f} % {'leaner' if change > 0 else 'richer'}"


def mixture_span(found: Sequence[Curve]) -> tuple[float, float]:
    """The least and the greatest air-fuel ratio that the curves reach."""
    numbers = [r.air_fuel for curve in found for r in curve.readings if np.isfinite(r.air_fuel)]
    return (min(numbers), max(numbers)) if numbers else (math.nan, math.nan)
