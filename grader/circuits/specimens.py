"""
The specification sheet of a training carburetor, and a carburetor as it stands on the bench: the sheet and its condition.

Every value says here, once, where it stands on the sheet, in which unit, what it is and between which ends it must lie. The
reader of sheets, their schema, the checks and the curves all go by that. Inside, all is SI; a value may be an array, one for
each of several carburetors (a column for each fault), see `side_by_side`.
"""

# ruff: noqa: RUF009 (`value` and `steps` are dataclass fields)

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, TypeVar

import numpy as np

from grader.base.errors import UseError
from grader.circuits.sheet import Entry, Steps, Values, entry_of, steps, value

Well = Literal["emulsion tube", "solid fuel"]
WELLS: tuple[Well, ...] = ("emulsion tube", "solid fuel")


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """A named point at which the sheet's carburetor is looked at; `on_stop` where the throttle rests on its stop, as at curb
    idle."""

    name: str
    speed: float
    throttle: float
    on_stop: bool = False


@dataclass(frozen=True, kw_only=True)
class Specimen:
    """A training carburetor and the engine it stands on, as its specification sheet says. Values in SI, angles in radians."""

    id: str
    title: str
    well: Well
    points: tuple[OperatingPoint, ...]

    # The engine. Four-stroke. (model 3.1)
    displacement: Values = value("engine", "L", "displacement", 0.05, 20)
    volumetric_efficiency: Values = value("engine", "1", "volumetric efficiency with no throttling, at its best speed", 0.2, 1.3)
    best_filling_speed: Values = value("engine", "rev/min", "speed of best volumetric efficiency", 300, 8000)
    filling_loss: Values = value("engine", "1", "share of filling lost at twice that speed, and at standstill", 0, 0.9, "0.12")
    residual_share: Values = value(
        "engine", "1", "manifold pressure, as a share of ambient, at which nothing is drawn in", 0, 0.5, "0.22"
    )
    charge_heating: Values = value("engine", "dK", "how much the manifold warms the charge", 0, 80, "15")
    manifold_leak: Values = value("engine", "in^2", "area of leaks into the manifold", 0, 1, "0")

    # Air horn, choke plate, bowl vent. (3.3, 3.4, 7.1)
    air_cleaner_resistance: Values = value(
        "air horn", "m^-4", "resistance of the air cleaner, on the whole flow", 0, 1e8, "60000"
    )
    air_horn_bore: Values = value("air horn", "in", "air horn at the choke, a barrel", 0.2, 6)
    choke_shaft: Values = value("air horn", "in", "choke shaft", 0, 1)
    choke_closed_angle: Values = value("air horn", "deg", "choke plate, closed, from square to the bore", 0, 45)
    choke_travel: Values = value("air horn", "deg", "choke plate, from closed to fully open", 10, 90)
    choke_clearance: Values = value("air horn", "in^2", "clearance round the choke plate, a barrel", 0, 1)
    choke_discharge: Values = value("air horn", "1", "discharge coefficient past the choke plate", 0.05, 1, "0.7")
    bowl_vent_area: Values = value("air horn", "in^2", "bowl vent", 1e-6, 2, "0.05")
    bowl_seal_leak: Values = value("air horn", "in^2", "leak from the bowl to the venturi past worn seals", 0, 0.1, "0.0004")

    # Throttle. (2.7, 3.6)
    barrels: Values = value("throttle", "1", "barrels, all alike", 1, 4)
    throttle_bore: Values = value("throttle", "in", "throttle bore", 0.2, 6)
    throttle_shaft: Values = value("throttle", "in", "throttle shaft", 0, 1)
    throttle_closed_angle: Values = value("throttle", "deg", "throttle plate, closed, from square to the bore", 0, 45)
    throttle_clearance: Values = value("throttle", "in^2", "clearance round a closed throttle plate, a barrel", 0, 0.2, "0.004")
    throttle_discharge: Values = value("throttle", "1", "discharge coefficient past the throttle plate", 0.05, 1, "0.82")
    idle_bypass: Values = value("throttle", "in^2", "idle bypass air, all together", 0, 0.5)
    leak_discharge: Values = value("throttle", "1", "discharge coefficient of bypass and leaks", 0.05, 1, "0.65")

    # Venturi and booster. (3.5, 3.7)
    venturi_bore: Values = value("venturi", "in", "main venturi throat", 0.2, 6)
    booster_outside: Values = value("venturi", "in", "booster outside", 0, 3)
    booster_bore: Values = value("venturi", "in", "booster throat", 0, 3)
    booster_multiplication: Values = value("venturi", "1", "depression in the booster over that at the main venturi", 1, 6)
    venturi_discharge: Values = value("venturi", "1", "discharge coefficient of the venturi", 0.05, 1, "0.92")
    venturi_loss: Values = value("venturi", "1", "share of the venturi's velocity head that is lost", 0, 2, "0.25")

    # Float. (part 4)
    needle_seat_bore: Values = value("float", "in", "needle seat bore", 0.01, 0.5)
    seat_discharge: Values = value("float", "1", "discharge coefficient of the needle's seat", 0.05, 1, "0.65")
    float_arm: Values = value("float", "in", "hinge to float centre", 0.1, 10)
    needle_arm: Values = value("float", "in", "hinge to needle", 0.05, 10)
    float_weight_arm: Values = value("float", "in", "hinge to the float's centre of weight", 0.1, 10)
    float_weight: Values = value("float", "lbf", "weight of float and arm", 0.001, 1)
    float_area: Values = value("float", "in^2", "plan area of the float", 0.1, 20)
    float_height: Values = value("float", "in", "height of the float", 0.1, 5)
    needle_lift: Values = value("float", "in", "needle lift at full drop", 0.001, 0.5)
    fuel_pressure: Values = value("float", "psi", "fuel pressure at the inlet", 0.1, 20)

    # Main circuit. (6.1, 6.7 to 6.9)
    spill_height: Values = value("main", "in", "nozzle spill above the set fuel level", -0.5, 3)
    main_jet: Values = value("main", "in", "main jet bore", 0.005, 0.5)
    jet_discharge: Values = value("main", "1", "discharge coefficient of the main jet", 0.05, 1, "0.78")
    pickup_bore: Values = value("main", "in", "restriction of the main well's pickup", 0.01, 1)
    pickup_discharge: Values = value("main", "1", "discharge coefficient of the pickup", 0.05, 1, "0.78")
    nozzle_bore: Values = value("main", "in", "nozzle", 0.01, 1)
    nozzle_discharge: Values = value("main", "1", "discharge coefficient of the nozzle", 0.05, 1, "0.7")
    main_bleed: Values = value("main", "in", "main air bleed", 0, 0.5)
    bleed_discharge: Values = value("main", "1", "discharge coefficient of the air bleeds", 0.05, 1, "0.75")
    bleed_signal_share: Values = value("main", "1", "share of the venturi's depression that the main bleed's mouth sees", 0, 1)
    tube_holes: Steps = steps(
        "main",
        "holes of the emulsion tube, from the top down",
        ("depth", "in", "below the fuel level", 0, 6),
        ("bore", "in", "bore of the hole", 0.005, 0.5),
    )
    hole_discharge: Values = value("main", "1", "discharge coefficient of the tube's holes", 0.05, 1, "0.65")
    hole_span: Values = value("main", "in", "fall of the fuel over which a hole comes into play", 0.001, 1, "0.06")
    tube_share: Values = value("main", "1", "fall of the fuel in the tube over the well's depression as a head", 0, 1, "0.1")

    # Metering rods. (part 5)
    rod_steps: Steps = steps(
        "power",
        "diameter of the metering rod in the jet, by its lift",
        ("lift", "in", "lift of the rod", 0, 2),
        ("diameter", "in", "diameter then in the jet", 0, 0.5),
    )
    greatest_rod_lift: Values = value("power", "in", "greatest lift of the rods", 0.005, 2)
    vacuum_piston_bore: Values = value("power", "in", "vacuum piston", 0.05, 2)
    piston_weight: Values = value("power", "lbf", "weight of piston and rods", 0, 1, "0.02")
    power_spring_force: Values = value("power", "lbf", "force of the power spring with the rods down", 0, 10)
    power_spring_rate: Values = value("power", "lbf/in", "rate of the power spring", 0.01, 100)
    lifter_offset: Values = value("power", "in", "lifter tab, lift at the angle where it starts", -1, 1, "0")
    lifter_rate: Values = value("power", "in/deg", "lift by the linkage for each degree of throttle", 0, 0.1)
    lifter_start: Values = value("power", "deg", "throttle angle at which the linkage starts to lift", 0, 90)

    # Idle circuit. (6.1 to 6.6)
    idle_jet: Values = value("idle", "in", "idle (low-speed) jet", 0.005, 0.2)
    economiser: Values = value("idle", "in", "economiser restriction, below the bleed", 0.005, 0.3)
    idle_bleed: Values = value("idle", "in", "idle air bleed", 0, 0.3)
    idle_discharge: Values = value("idle", "1", "discharge coefficient of the idle circuit's restrictions", 0.05, 1, "0.75")
    idle_rise: Values = value("idle", "in", "top of the idle passage above the set fuel level", 0, 3)
    slot_width: Values = value("idle", "in", "transfer slot, width", 0.001, 0.5)
    slot_length: Values = value("idle", "in", "transfer slot, length", 0.005, 1)
    slot_foot: Values = value("idle", "in", "foot of the transfer slot above the closed plate's edge", -0.5, 0.5)
    mixture_port: Values = value("idle", "in", "mixture port", 0.005, 0.3)
    mixture_screw_turns: Values = value("idle", "1", "mixture screw, turns open", 0, 10)
    mixture_screw_travel: Values = value("idle", "1", "turns from shut to a port fully open", 0.5, 10, "3")

    # Accelerator pump. (part 8)
    pump_bore: Values = value("pump", "in", "pump bore", 0.1, 3)
    pump_stroke: Values = value("pump", "in", "pump stroke", 0.01, 3)
    pump_spring_force: Values = value("pump", "lbf", "duration spring, force at the start of the stroke", 0.01, 50)
    pump_spring_rate: Values = value("pump", "lbf/in", "duration spring, rate", 0, 100)
    pump_delivery: Values = value("pump", "1", "share of the swept volume that is delivered", 0.05, 1, "0.85")
    pump_jet: Values = value("pump", "in", "pump jet", 0.005, 0.2)
    pump_jets: Values = value("pump", "1", "pump jets, all together", 1, 8)
    pump_jet_discharge: Values = value("pump", "1", "discharge coefficient of the pump jets", 0.05, 1, "0.75")
    pump_jet_bleed: Values = value("pump", "in", "air bleed at the pump jets, a barrel", 0, 0.2)
    pump_signal_share: Values = value("pump", "1", "share of the venturi's depression that the pump jets see", 0, 1)
    pump_jet_height: Values = value("pump", "in", "pump jets above the set fuel level", 0, 3)
    discharge_check_weight: Values = value("pump", "lbf", "weight of the discharge check in fuel", 0, 0.1)
    discharge_check_seat: Values = value("pump", "in", "bore of the discharge check's seat", 0.01, 0.5)

    # Choke: coil, vacuum break, fast idle, warm-up. (part 10)
    coil_rate: Values = value("choke", "N*m/rad", "torque of the coil for each radian it is held back", 1e-4, 1)
    coil_deflection: Values = value("choke", "deg/dK", "free turn of the coil for each kelvin", 0.05, 10)
    coil_neutral: Values = value("choke", "degC", "temperature at which the free coil just closes the choke", -40, 60)
    coil_index: Values = value("choke", "deg", "coil cover turned lean of its mark", -60, 60, "0")
    air_torque_factor: Values = value("choke", "1", "share of the air's simple torque on the offset plate that acts", 0, 3, "1")
    choke_plate_offset: Values = value("choke", "in", "offset of the choke shaft from the middle of the plate", 0, 1)
    vacuum_break_acts: Values = value("choke", "inHg", "vacuum above which the vacuum break acts", 0, 25)
    vacuum_break_spring: Values = value(
        "choke", "N*m/rad", "spring in the vacuum break's link; large for a plain pull-off", 0, 10
    )
    vacuum_break_angle: Values = value("choke", "deg", "choke opening at which the vacuum break ends", 0, 90)
    fast_idle_steps: Steps = steps(
        "choke",
        "steps of the fast-idle cam, widest choke first",
        ("choke_below", "deg", "choke opening under which the step stands", 0, 90),
        ("throttle", "deg", "throttle angle on the step", 0, 60),
    )
    coil_warming_time: Values = value("choke", "s", "time constant of the coil's warm-up", 1, 3600)
    coil_warming: Values = value("choke", "dK", "rise of the coil above ambient without a heater, in the end", 0, 200)


@dataclass(frozen=True, kw_only=True)
class Carburetor(Specimen):
    """A specimen as it stands on the bench: its sheet, and its condition. Made by `healthy`, changed by `faults`."""

    set_float_weight: Values = value("", "lbf", "weight of the float when its level was set", 0.001, 1)
    set_fuel_pressure: Values = value("", "psi", "fuel pressure when the level was set", 0.1, 20)
    level_error: Values = value("", "in", "fuel level set too high", -2, 2, "0")
    inlet_open_share: Values = value("", "1", "share of the fuel inlet that is open", 0, 1, "1")
    main_jet_open_share: Values = value("", "1", "share of the main jet that is open", 0, 1, "1")
    idle_jet_open_share: Values = value("", "1", "share of the idle jet that is open", 0.001, 1, "1")
    economiser_open_share: Values = value("", "1", "share of the economiser that is open", 0, 1, "1")
    idle_bleed_open_share: Values = value("", "1", "share of the idle bleed that is open", 0, 1, "1")
    main_bleed_open_share: Values = value("", "1", "share of the main bleed that is open", 0, 1, "1")
    nozzle_open_share: Values = value("", "1", "share of the nozzle that is open", 0, 1, "1")
    gasket_leak: Values = value("", "in^2", "air leak at the cluster's gasket, area times discharge coefficient", 0, 0.1, "0")
    rods_follow_vacuum: Values = value("", "1", "1 where the vacuum piston moves the rods", 0, 1, "1")
    rods_follow_linkage: Values = value("", "1", "1 where the linkage lifts the rods", 0, 1, "1")
    rod_held_at: Values = field(default=float("nan"), metadata={})  # a lift; NaN where the rods are free
    choke_held_at: Values = field(default=float("nan"), metadata={})  # an angle; NaN where the choke is free
    stop_error: Values = value("", "deg", "throttle stop set too far open", -10, 30, "0")
    check_weight_share: Values = value(
        "", "1", "share of the discharge check's weight on its seat; 0 where it is missing", 0, 1, "1"
    )
    check_leak_share: Values = value("", "1", "leak past the discharge check, as a share of a barrel's pump jets", 0, 1, "0")
    compensator_idle_bleed: Values = value("", "in", "bleed that an altitude compensator opens to the idle circuit", 0, 1, "0")
    compensator_main_bleed: Values = value("", "in", "bleed that an altitude compensator opens to the main nozzle", 0, 1, "0")
    vent_outside: Values = value("", "1", "0 where the bowl is vented inside the air cleaner, 1 outside", 0, 1, "0")


def entries(kind: type[Specimen] = Specimen) -> Mapping[str, Entry]:
    """
    Every value by its name, in the order of the sheet.

    >>> entries()["main_jet"].unit.name, entries()["main_jet"].says
    ('in', 'main jet bore')
    """
    return _entries(kind is Carburetor)


@cache
def _entries(condition: bool) -> Mapping[str, Entry]:
    kind = Carburetor if condition else Specimen
    return MappingProxyType({f.name: entry_of(f.name, f.metadata) for f in fields(kind) if f.metadata})


def healthy(specimen: Specimen) -> Carburetor:
    """The carburetor as its sheet says, nothing wrong with it."""
    values = {f.name: getattr(specimen, f.name) for f in fields(Specimen)}
    return Carburetor(**values, set_float_weight=specimen.float_weight, set_fuel_pressure=specimen.fuel_pressure)


C = TypeVar("C", bound=Specimen)


def side_by_side(carburetors: Sequence[C]) -> C:
    """
    Several carburetors as one, whose differing values are arrays: a column for each.

    Raises `UseError` where they differ in more than numbers: in their well, holes, rod steps or cam.
    """
    if not carburetors:
        raise UseError("no carburetor is given; give one or more")
    first = carburetors[0]
    changed: dict[str, Any] = {}
    for f in fields(first):
        column = [getattr(each, f.name) for each in carburetors]
        if (f.metadata and not f.metadata.get("pair")) or f.name.endswith("_held_at"):
            if any(value is not column[0] and value != column[0] for value in column):
                changed[f.name] = np.array(column, dtype=np.float64)
        elif f.name not in {"id", "title", "points"} and any(value != column[0] for value in column):
            raise UseError(f"carburetors that differ in {f.name} cannot stand side by side; compute them one after the other")
    return replace(first, **changed)
