"""
The fuel's way through the carburetor: float level, rods, and one unknown, the depression at the idle circuit's node.

Numbers in parentheses are those of the equations in `model.md` beside this file. Depressions are
counted below the air over the fuel in the bowl, so that a depression of a head of fuel just holds that head.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from grader.circuits.air import CRITICAL_RATIO, Air, Array, Values, circle, in_series
from grader.circuits.principles import GRAVITY
from grader.circuits.solving import Method, roots
from grader.circuits.specimens import Carburetor
from grader.circuits.whole.breathing import Breath
from grader.circuits.whole.columns import taken

SET_DENSITY = 736.3
"""Density of the fuel with which a specimen's level was set. [kg/m³]"""
NOMINAL_MIXTURE = 14.0
"""The float's inflow is reckoned at this mixture, so that it needs no iteration."""


class Flows(NamedTuple):
    """
    Flows of one barrel at a depression of the idle node, kg/s, and what is left over.

    Fuel: through the main jet, to the idle circuit, back out of the main bleed, from the nozzle; air: into the nozzle, back
    through the idle jet. `well` is the depression in the main well at the level of the bowl [Pa]; `rest` the equation's left
    side.
    """

    jet: Array
    idle: Array
    bleed_fuel: Array
    nozzle: Array
    nozzle_air: Array
    back_bleed: Array
    well: Array
    rest: Array


@dataclass(frozen=True)
class FuelPath:
    """The balance of fuel and air in one barrel's main well and idle node, as an equation in the idle node's depression (part
    6)."""

    density: Values
    air_density: Values
    slip: Values  # C of 2.6
    slip_in_air: Values  # the same times the root of air's density over the fuel's
    air: Values  # depressions: where the bleeds open
    mouth: Values  # at the main bleed's mouth
    nozzle_depression: Values
    below_plate: Values
    above_plate: Values
    jet: Values  # conductances: area times discharge coefficient
    nozzle: Values
    idle_jet: Values
    low: Values
    high: Values
    idle_bleed: Values
    main_bleed: Values
    gasket: Values
    further_air: Values  # into the nozzle from the air horn: the gasket's leak, a compensator's bleed
    idle_head: Values
    spill_head: Values
    tube: tuple[tuple[float, float], ...]  # depth and conductance of each hole; empty in a solid-fuel well
    hole_span: Values
    tube_share: Values
    emulsion: bool

    def __call__(self, x: Array) -> Array:
        """(6.11) Falls or stays as x rises; its root is the state."""
        return self.flows(x).rest

    def take(self, places: NDArray[Any]) -> FuelPath:
        """The equations at some places, flat."""
        return taken(self, places)

    def flows(self, x: Array) -> Flows:
        """(6.3 to 6.11) Every flow at a depression x of the idle node."""
        two_air = 2 * self.air_density
        idle, back = self._idle(x)
        at_jet = self.idle_jet
        well = x - self.idle_head - idle * idle / (2 * self.density * at_jet * at_jet)
        if np.any(back):
            held = at_jet * np.sqrt(two_air * np.maximum(self.idle_head, 1.0))
            lifted = self.idle_head * np.minimum(back / held, 1.0)
            well = well + back * back / (two_air * at_jet * at_jet) + lifted
        jet = self.jet * _root(2 * self.density * well)
        joint = well if self.emulsion else well + self.spill_head
        bleed = self._main_bleed(well)
        fall = joint - self.mouth
        bleed_fuel = bleed * _root(-2 * self.density * fall)
        nozzle_air = bleed * _root(two_air * fall) + back
        if np.any(self.further_air):
            nozzle_air = nozzle_air + self.further_air * _root(two_air * (joint - self.air))
        nozzle = jet - idle - bleed_fuel
        flowing = np.maximum(nozzle, 0.0)
        square = 2 * self.nozzle * self.nozzle
        # L of 2.6: mf²/ρf + C mf ma/√(ρf ρa) + ma²/ρa
        loss = flowing * flowing / self.density + nozzle_air * (self.slip_in_air * flowing + nozzle_air) / self.air_density
        driven = square * (self.nozzle_depression - well - self.spill_head) - loss
        return Flows(jet, idle, bleed_fuel, nozzle, nozzle_air, back, well, np.maximum(driven, -1e6 * square * nozzle))

    def _idle(self, x: Array) -> tuple[Array, Array]:
        """(6.3 to 6.5) Fuel that the idle node takes from the well; or, where it takes none, air that it gives back."""
        out_low, out_high = self.below_plate - x, self.above_plate - x
        out = self.low * _root(2 * out_low) + self.high * _root(2 * out_high)
        into = self.low * _root(-2 * out_low) + self.high * _root(-2 * out_high)
        into = into + (self.idle_bleed + self.gasket) * _root(2 * (x - self.air))
        spare = np.maximum((out - into) * (out + into), 0.0)
        half = self.slip * into / 2
        fuel = np.sqrt(self.density) * spare / np.maximum(half + np.sqrt(half * half + spare), 1e-300)
        return fuel, np.sqrt(self.air_density) * np.maximum(into - out, 0.0)

    def _main_bleed(self, well: Array) -> Values:
        """(6.8) The bleed's conductance: the bleed alone, or in series with the tube's holes that the falling fuel has laid
        bare."""
        if not self.emulsion:
            return self.main_bleed
        fallen = self.tube_share * np.maximum(well, 0.0) / (self.density * GRAVITY)
        bare: Values = np.zeros_like(well)
        for depth, hole in self.tube:
            bare = bare + hole * np.minimum(np.maximum((fallen - depth) / self.hole_span, 0.0), 1.0)
        return in_series(self.main_bleed, bare)


def _root(square: Values) -> Array:
    return np.sqrt(np.maximum(square, 0.0))


def float_level(c: Carburetor, fuel_density: Values, air: Array) -> Values:
    """(4.1 to 4.3) Level of the fuel above the set one, while the engine draws `air` [kg/s] through the carburetor. [m]"""
    speed = np.sqrt(2 * np.maximum(c.fuel_pressure, 1.0) / fuel_density)
    lift = np.minimum(
        air / NOMINAL_MIXTURE / (c.seat_discharge * np.pi * c.needle_seat_bore * fuel_density * speed), c.needle_lift
    )
    now = _submersion(c, c.fuel_pressure, c.float_weight, fuel_density)
    when_set = _submersion(c, c.set_fuel_pressure, c.set_float_weight, SET_DENSITY)
    return now - when_set - lift * c.float_arm / c.needle_arm + c.level_error


def _submersion(c: Carburetor, pressure: Values, weight: Values, density: Values) -> Values:
    """(4.1) How deep the float stands in fuel when it just shuts the needle."""
    moment = pressure * circle(c.needle_seat_bore) * c.needle_arm / c.float_arm + weight * c.float_weight_arm / c.float_arm
    return np.clip(moment / (density * GRAVITY), 0.0, c.float_area * c.float_height) / c.float_area


def greatest_inflow(c: Carburetor, fuel_density: Values) -> Values:
    """(4.4) The most fuel that the inlet lets in. [kg/s]"""
    speed = np.sqrt(2 * np.maximum(c.fuel_pressure, 1.0) / fuel_density)
    opening = np.minimum(np.pi * c.needle_seat_bore * c.needle_lift, circle(c.needle_seat_bore))
    return c.inlet_open_share * fuel_density * speed * c.seat_discharge * opening


def rod_lift(c: Carburetor, vacuum: Array, throttle: Values) -> Array:
    """(5.1, 5.2) Lift of the rods, from the vacuum under the piston (below the air horn) and the linkage. [m]"""
    by_spring = (
        c.power_spring_force - c.piston_weight - np.maximum(vacuum, 0.0) * circle(c.vacuum_piston_bore)
    ) / c.power_spring_rate
    by_spring = np.clip(by_spring, 0.0, c.greatest_rod_lift)
    by_linkage = c.lifter_offset + c.lifter_rate * (throttle - c.lifter_start)
    free = np.clip(np.maximum(c.rods_follow_vacuum * by_spring, c.rods_follow_linkage * by_linkage), 0.0, c.greatest_rod_lift)
    return np.asarray(np.where(np.isnan(c.rod_held_at), free, c.rod_held_at))


def jet_area(c: Carburetor, lift: Array) -> Array:
    """(5.3) What the rod leaves of the main jet. [m²]"""
    lifts, diameters = zip(*c.rod_steps, strict=True)
    rod = np.interp(lift, lifts, diameters)
    return np.asarray(c.main_jet_open_share * np.maximum(circle(c.main_jet) - circle(rod), 0.0))


def bowl_depression(c: Carburetor, ambient: Values, b: Breath) -> Array:
    """(7.1) How far the air over the fuel lies below that in the air horn; less than 0 where the vent opens outside it."""
    seals, vent = c.bowl_seal_leak**2, c.bowl_vent_area**2
    return np.asarray(b.main_depression * (seals / (seals + vent)) - c.vent_outside * (ambient - b.horn))


def fuel_path(c: Carburetor, air: Air, fuel_density: Values, b: Breath, throttle: Values, level: Values, rods: Array) -> FuelPath:
    """The equation of part 6 for carburetors `c` that breathe `b`, with the level and the rods where they stand."""
    bowl = bowl_depression(c, air.pressure, b)
    edge = c.throttle_bore / 2 * (np.sin(c.throttle_closed_angle + throttle) - np.sin(c.throttle_closed_angle))
    edge = edge / np.cos(c.throttle_closed_angle)  # (6.2)
    below = np.clip((edge - c.slot_foot) / c.slot_length, 0.0, 1.0)
    slot = c.slot_width * c.slot_length
    port = c.mixture_screw_turns / c.mixture_screw_travel * circle(c.mixture_port)
    economiser = c.idle_discharge * circle(c.economiser) * c.economiser_open_share
    ratio = fuel_density / air.density
    slip = ratio**0.25 + ratio**-0.25
    return FuelPath(
        density=fuel_density,
        air_density=air.density,
        slip=slip,
        slip_in_air=slip / np.sqrt(ratio),
        air=-bowl,
        mouth=c.bleed_signal_share * b.main_depression - bowl,
        nozzle_depression=b.nozzle_depression - bowl,
        below_plate=np.minimum(b.horn - b.manifold, (1 - CRITICAL_RATIO) * b.horn) - bowl,
        above_plate=b.horn - b.above_throttle - bowl,
        jet=in_series(c.jet_discharge * jet_area(c, rods), c.pickup_discharge * circle(c.pickup_bore)),
        nozzle=c.nozzle_discharge * circle(c.nozzle_bore) * c.nozzle_open_share,
        idle_jet=c.idle_discharge * circle(c.idle_jet) * c.idle_jet_open_share,
        low=in_series(c.idle_discharge * (slot * below + port), economiser),
        high=in_series(c.idle_discharge * slot * (1 - below), economiser),
        idle_bleed=c.bleed_discharge * (circle(c.idle_bleed) * c.idle_bleed_open_share + circle(c.compensator_idle_bleed)),
        main_bleed=c.bleed_discharge * circle(c.main_bleed) * c.main_bleed_open_share,
        gasket=c.gasket_leak,
        further_air=c.gasket_leak + c.bleed_discharge * circle(c.compensator_main_bleed),
        idle_head=fuel_density * GRAVITY * (c.idle_rise - level),
        spill_head=fuel_density * GRAVITY * (c.spill_height - level),
        tube=tuple((depth, float(c.hole_discharge) * float(circle(bore))) for depth, bore in c.tube_holes),
        hole_span=c.hole_span,
        tube_share=c.tube_share,
        emulsion=c.well == "emulsion tube",
    )


def meter(path: FuelPath, method: Method) -> tuple[Array, Flows]:
    """Solve the fuel's path: the idle node's depression and every flow; NaN where none balances."""
    shape = np.broadcast_shapes(*(value.shape for value in vars(path).values() if isinstance(value, np.ndarray)))
    low = _spread(np.minimum(path.air, 0.0) - 1, shape)
    strongest = np.maximum(np.maximum(path.below_plate, path.above_plate), np.maximum(path.nozzle_depression, 0.0))
    high = _spread(strongest + np.maximum(path.idle_head, 0.0) + 1, shape)
    x = roots(path, low, high, method)
    with np.errstate(all="ignore"):
        return x, path.flows(x)


def _spread(value: Values, shape: tuple[int, ...]) -> Array:
    return np.array(np.broadcast_to(value, shape), dtype=np.float64)


def pull_over(c: Carburetor, air: Air, fuel_density: Values, b: Breath, level: Values) -> Array:
    """(8.3, 8.4) Fuel drawn from the pump jets of one barrel with no stroke of the pump. [kg/s]"""
    jet = c.pump_jet_discharge * (c.pump_jets / c.barrels) * circle(c.pump_jet)
    bleed = c.pump_jet_discharge * circle(c.pump_jet_bleed)
    signal = c.pump_signal_share * b.main_depression - bowl_depression(c, air.pressure, b)
    signal = signal * (jet * jet / (jet * jet + bleed * bleed))
    head = fuel_density * GRAVITY * (c.pump_jet_height - level)
    lifts = c.check_weight_share * c.discharge_check_weight / circle(c.discharge_check_seat) + head
    leak = c.check_leak_share * jet
    return np.asarray(jet * _root(2 * fuel_density * (signal - lifts)) + leak * _root(2 * fuel_density * (signal - head)))
