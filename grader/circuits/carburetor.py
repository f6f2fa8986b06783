"""
The whole carburetor: the six circuits joined, at many operating points and for several carburetors at once.

Rows are operating points, columns carburetors (one for each fault, see `faults`). Two unknowns, each held between two ends: the
manifold pressure, into which fuel does not enter, then the depression at the idle circuit's node. Nothing else is iterated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import RangeError
from grader.circuits.air import VENTURI_MACH_LIMIT, Air, Array, Values, standard_air
from grader.circuits.fuels import GASOLINE, SET_TEMPERATURE, Fuel
from grader.circuits.solving import Method
from grader.circuits.sound import float_holds, require_sound
from grader.circuits.specimens import Carburetor, OperatingPoint, Specimen, healthy
from grader.circuits.whole.breathing import Breath, air_path, breathe
from grader.circuits.whole.metering import (
    Flows,
    float_level,
    fuel_path,
    greatest_inflow,
    meter,
    pull_over,
    rod_lift,
)

LEAST_FUEL = 1e-6
"""Fuel over air below which no fuel flows: what is left then is rounding."""

BLOCK = 16_384
"""States solved at a time: as many as stay in a processor's cache."""


class Reason(IntEnum):
    """Why an operating point has no numbers."""

    SOLVED = 0
    NO_AIR_BALANCE = 1
    VENTURI_NEAR_SONIC = 2
    NO_FUEL_BALANCE = 3
    NO_FUEL = 4
    NOT_REACHED = 5

    @property
    def says(self) -> str:
        """In words."""
        return _WORDS[self]


_WORDS = {
    Reason.SOLVED: "solved",
    Reason.NO_AIR_BALANCE: "no manifold pressure balances the air past the throttle with what the engine draws",
    Reason.VENTURI_NEAR_SONIC: f"the air in the venturi passes Mach {VENTURI_MACH_LIMIT}, where its law is not used",
    Reason.NO_FUEL_BALANCE: "no depression balances the fuel of the main and the idle circuit",
    Reason.NO_FUEL: "no fuel flows, so that there is no mixture",
    Reason.NOT_REACHED: "no throttle angle gives the load asked for at this speed",
}


@dataclass(frozen=True)
class Conditions:
    """What the carburetor works in: the air round it, the fuel, its temperature [K]. One for all points, or arrays, one each."""

    air: Air = standard_air()  # noqa: RUF009 (frozen, holds only numbers)
    fuel: Fuel = GASOLINE
    fuel_temperature: Values = SET_TEMPERATURE


SEA_LEVEL = Conditions()


@dataclass(frozen=True)
class Points:
    """
    Operating points, an array each: speed [rev/s], throttle angle from closed [rad]; `on_stop` where the throttle rests on
    its stop.

    `choke` is the choke's opening [rad]; left out, the choke is warm and fully open.
    """

    speed: Array
    throttle: Array
    on_stop: NDArray[np.bool_]
    choke: Array | None = None

    def __len__(self) -> int:
        return len(self.speed)

    def part(self, rows: slice) -> Points:
        """Some of the points."""
        choke = self.choke
        return Points(self.speed[rows], self.throttle[rows], self.on_stop[rows], None if choke is None else choke[rows])


def points_of(named: Sequence[OperatingPoint]) -> Points:
    """The operating points of a sheet as arrays."""
    return points_at([p.speed for p in named], [p.throttle for p in named], [p.on_stop for p in named])


def points_at(
    speed: Sequence[float] | Array, throttle: Sequence[float] | Array, on_stop: Sequence[bool] | NDArray[np.bool_] | None = None
) -> Points:
    """
    Operating points from speeds [rev/s] and throttle angles [rad], checked: 1 to 200 rev/s, 0 to 90 degrees.

    >>> len(points_at([700 / 60], [np.radians(4)]))
    1
    """
    n, th = np.atleast_1d(np.asarray(speed, dtype=np.float64)), np.atleast_1d(np.asarray(throttle, dtype=np.float64))
    n, th = np.broadcast_arrays(n, th)
    _refuse("speed", n, 1.0, 200.0, 60.0, "rev/min")
    _refuse("throttle", th, 0.0, np.pi / 2, 180 / np.pi, "°")
    stop = np.zeros(n.shape, dtype=bool) if on_stop is None else np.asarray(on_stop, dtype=bool)
    return Points(n, th, np.broadcast_to(stop, n.shape))


def _refuse(name: str, values: Array, least: float, greatest: float, factor: float, unit: str) -> None:
    wrong = values[~((values >= least) & (values <= greatest * (1 + 1e-12)))]
    if wrong.size:
        space = "" if unit == "°" else " "
        ends = f"{least * factor:g}{space}{unit} to {greatest * factor:g}{space}{unit}"
        raise RangeError(f"{name} is {wrong[0] * factor:g}{space}{unit}; it must lie from {ends}")


@dataclass(frozen=True)
class States:
    """
    What the carburetors do, arrays of (points, carburetors), all SI; NaN where `reason` is not 0.

    Pressures: `manifold_pressure`, `vacuum` (below ambient), `main_depression` and `nozzle_depression` (below the air horn),
    `idle_depression` and `well_depression` (below the bowl's air), `choke_drop` (across the choke plate). Flows:
    `engine_air`, `air` through the carburetor, `fuel`, and of it `nozzle_fuel`, `idle_fuel`, `bleed_fuel`, `pull_over`;
    `jet_fuel` through the main jet; `nozzle_air` (bleed air into the nozzle), `back_bleed` (the part of it that comes through
    the idle circuit). `air_fuel`, `lam` (lambda). `rod_lift`, `level` (above the set one) [m]; `throttle`, `choke` [rad];
    `mach` in the main venturi. `starved`: the inlet lets in less fuel than is drawn; every circuit's fuel is then cut in one
    proportion. `flooded`: the float, wholly under, does not shut the needle; the numbers are those of a level at the float's
    top, a real bowl would go on to overflow.
    """

    manifold_pressure: Array
    vacuum: Array
    engine_air: Array
    air: Array
    main_depression: Array
    nozzle_depression: Array
    choke_drop: Array
    horn_vacuum: Array
    mach: Array
    idle_depression: Array
    well_depression: Array
    jet_fuel: Array
    nozzle_fuel: Array
    idle_fuel: Array
    bleed_fuel: Array
    pull_over: Array
    nozzle_air: Array
    back_bleed: Array
    fuel: Array
    air_fuel: Array
    lam: Array
    rod_lift: Array
    level: Array
    throttle: Array
    choke: Array
    starved: NDArray[np.bool_]
    flooded: NDArray[np.bool_]
    reason: NDArray[np.int8]

    def reasons(self) -> list[str]:
        """In words, why numbers are missing; empty where none is."""
        return [Reason(code).says for code in np.unique(self.reason) if code]


def solve(
    carburetor: Specimen, points: Points, conditions: Conditions = SEA_LEVEL, method: Method = "fast", *, checked: bool = True
) -> States:
    """
    The states of a carburetor, or of several side by side, at operating points.

    Parameters
    ----------
    carburetor : Specimen or Carburetor
        A sheet alone is taken as healthy.
    points : Points
    conditions : Conditions
    method : {"fast", "reference"}
        How the two unknowns are found.
    checked : bool
        False where the caller has already checked the values (`specimens.require_sound`).

    Raises
    ------
    RangeError
        A value outside its range: the value, what it is, the range.

    Examples
    --------
    See `grader.items.specimen_file` for reading a sheet; then

        states = solve(specimen, points_of(specimen.points))
        states.air_fuel[:, 0]
    """
    made = carburetor if isinstance(carburetor, Carburetor) else healthy(carburetor)
    if checked:
        require_sound(made)
    rows = max(1, BLOCK // columns_of(made))
    blocks = []
    for start in range(0, max(len(points), 1), rows):
        cut = slice(start, start + rows)
        blocks.append(_block(made, points.part(cut), in_rows(conditions, cut), method))
    return blocks[0] if len(blocks) == 1 else _joined(blocks)


def columns_of(carburetor: Carburetor) -> int:
    """How many carburetors stand side by side."""
    values = (getattr(carburetor, f.name) for f in fields(carburetor))
    return max((value.shape[-1] for value in values if isinstance(value, np.ndarray) and value.ndim), default=1)


def in_rows(conditions: Conditions, rows: slice) -> Conditions:
    """The conditions of some rows, as columns that spread over carburetors."""

    def cut(value: Values) -> Values:
        return value[rows, None] if isinstance(value, np.ndarray) and value.ndim == 1 else value

    air = conditions.air
    return replace(
        conditions,
        air=Air(cut(air.pressure), cut(air.temperature), cut(air.density)),
        fuel_temperature=cut(conditions.fuel_temperature),
    )


def _joined(blocks: Sequence[States]) -> States:
    return States(**{f.name: np.concatenate([getattr(block, f.name) for block in blocks]) for f in fields(States)})


def positions(c: Carburetor, points: Points) -> tuple[Values, Values, Values]:
    """Speed, throttle and choke of points as columns; a stop set wrong and a choke that is stuck come into play here."""
    throttle = np.clip(
        points.throttle[:, None] + points.on_stop[:, None] * c.stop_error, 0.0, np.pi / 2 - c.throttle_closed_angle
    )
    asked: Values = c.choke_travel if points.choke is None else points.choke[:, None]
    choke = np.where(np.isnan(c.choke_held_at), asked, c.choke_held_at)
    speed = points.speed[:, None] if points.speed.ndim == 1 else points.speed  # rows, or one for each row and column
    return speed, throttle, choke if choke.ndim else float(choke)


def _block(c: Carburetor, points: Points, conditions: Conditions, method: Method) -> States:
    speed, throttle, choke = positions(c, points)
    path = air_path(c, conditions.air, speed, throttle, choke)
    return complete(c, conditions, breathe(c, path, method), throttle, choke, method)


def complete(c: Carburetor, conditions: Conditions, b: Breath, throttle: Values, choke: Values, method: Method) -> States:
    """The states of carburetors whose air is known: float, rods, fuel, mixture."""
    air, density = conditions.air, conditions.fuel.density(conditions.fuel_temperature)
    level = float_level(c, density, b.air)
    rods = rod_lift(c, b.horn - b.manifold, throttle)
    path = fuel_path(c, air, density, b, throttle, level, rods)
    x, flows = meter(path, method)
    shape = np.broadcast_shapes(b.air.shape, (columns_of(c),))
    return _states(c, conditions, b, throttle, choke, level, rods, x, flows, shape)


def _states(
    c: Carburetor,
    conditions: Conditions,
    b: Breath,
    throttle: Values,
    choke: Values,
    level: Values,
    rods: Array,
    x: Array,
    flows: Flows,
    shape: tuple[int, ...],
) -> States:
    density = conditions.fuel.density(conditions.fuel_temperature)
    drawn_over = c.barrels * pull_over(c, conditions.air, density, b, level)
    circuits = {
        "jet_fuel": c.barrels * flows.jet,
        "nozzle_fuel": c.barrels * np.maximum(flows.nozzle, 0.0),
        "idle_fuel": c.barrels * flows.idle,
        "bleed_fuel": c.barrels * flows.bleed_fuel,
        "pull_over": drawn_over,
    }
    wanted = circuits["nozzle_fuel"] + circuits["idle_fuel"] + circuits["bleed_fuel"] + circuits["pull_over"]
    most = greatest_inflow(c, density)
    starved = wanted > most
    share = np.where(starved, most / np.where(starved, wanted, 1.0), 1.0)
    fuel = wanted * share
    reason = _reasons(b, x, fuel)
    known = np.broadcast_to(reason == 0, shape)

    def told(value: Values) -> Array:
        return np.where(known, value, np.nan)

    with np.errstate(all="ignore"):
        mixture = b.engine_air / fuel
    return States(
        manifold_pressure=told(b.manifold),
        vacuum=told(conditions.air.pressure - b.manifold),
        engine_air=told(b.engine_air),
        air=told(b.air),
        main_depression=told(b.main_depression),
        nozzle_depression=told(b.nozzle_depression),
        choke_drop=told(b.horn - b.below_choke),
        horn_vacuum=told(b.horn - b.manifold),
        mach=told(b.mach),
        idle_depression=told(x),
        well_depression=told(flows.well),
        nozzle_air=told(c.barrels * flows.nozzle_air),
        back_bleed=told(c.barrels * flows.back_bleed),
        **{name: told(value * share) for name, value in circuits.items()},
        fuel=told(fuel),
        air_fuel=told(mixture),
        lam=told(mixture / conditions.fuel.stoichiometric),
        rod_lift=told(rods),
        level=told(level),
        throttle=np.array(np.broadcast_to(throttle, shape)),
        choke=np.array(np.broadcast_to(choke, shape)),
        starved=np.broadcast_to(starved, shape) & known,
        flooded=np.array(np.broadcast_to(~float_holds(c), shape)),
        reason=np.array(np.broadcast_to(reason, shape)),
    )


def _reasons(b: Breath, x: Array, fuel: Array) -> NDArray[np.int8]:
    """Why a state has no numbers; the first cause counts."""
    found = np.where(fuel > LEAST_FUEL * b.engine_air, Reason.SOLVED, Reason.NO_FUEL)
    found = np.where(np.isfinite(x), found, Reason.NO_FUEL_BALANCE)
    found = np.where(b.mach < VENTURI_MACH_LIMIT, found, Reason.VENTURI_NEAR_SONIC)
    return np.asarray(np.where(np.isfinite(b.manifold), found, Reason.NO_AIR_BALANCE), dtype=np.int8)
