"""
The specification sheet of a training carburetor, and a carburetor as it stands on the bench: the sheet and its condition.

Every value says here, once, where it stands on the sheet, in which unit, what it is and between which ends it must lie. The reader of
sheets, their schema, the checks and the curves all go by that. Inside, all is SI; a value may be an array, one for each of several
carburetors (a column for each fault), see `side_by_side`.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import RangeError, UseError
from grader.base.quantities import Unit, show_number, unit, with_unit

Array = NDArray[np.float64]
Values = float | Array
Steps = tuple[tuple[float, float], ...]
Well = Literal["emulsion tube", "solid fuel"]
WELLS: tuple[Well, ...] = ("emulsion tube", "solid fuel")


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


def _value(group: str, measure: str, says: str, least: float, greatest: float, default: str = "") -> Any:
    about = {"group": group, "unit": measure, "says": says, "ends": (least, greatest), "default": default}
    if not default:
        return field(metadata=about)
    return field(default=unit(measure).to_si(Fraction(default)), metadata=about)


def _steps(group: str, says: str, first: tuple[str, str, str, float, float], second: tuple[str, str, str, float, float]) -> Any:
    about = {"group": group, "unit": "1", "says": says, "ends": (0.0, 0.0), "default": "", "pair": (first, second)}
    return field(default=(), metadata=about)


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """A named point at which the sheet's carburetor is looked at; `on_stop` where the throttle rests on its stop, as at curb idle."""

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
    displacement: Values = _value("engine", "L", "displacement", 0.05, 20)
    volumetric_efficiency: Values = _value("engine", "1", "volumetric efficiency with no throttling, at its best speed", 0.2, 1.3)
    best_filling_speed: Values = _value("engine", "rev/min", "speed of best volumetric efficiency", 300, 8000)
    filling_loss: Values = _value("engine", "1", "share of filling lost at twice that speed, and at standstill", 0, 0.9, "0.12")
    residual_share: Values = _value(
        "engine", "1", "manifold pressure, as a share of ambient, at which nothing is drawn in", 0, 0.5, "0.22"
    )
    charge_heating: Values = _value("engine", "dK", "how much the manifold warms the charge", 0, 80, "15")
    manifold_leak: Values = _value("engine", "in^2", "area of leaks into the manifold", 0, 1, "0")

    # Air horn, choke plate, bowl vent. (3.3, 3.4, 7.1)
    air_cleaner_resistance: Values = _value(
        "air horn", "m^-4", "resistance of the air cleaner, on the whole flow", 0, 1e8, "60000"
    )
    air_horn_bore: Values = _value("air horn", "in", "air horn at the choke, a barrel", 0.2, 6)
    choke_shaft: Values = _value("air horn", "in", "choke shaft", 0, 1)
    choke_closed_angle: Values = _value("air horn", "deg", "choke plate, closed, from square to the bore", 0, 45)
    choke_travel: Values = _value("air horn", "deg", "choke plate, from closed to fully open", 10, 90)
    choke_clearance: Values = _value("air horn", "in^2", "clearance round the choke plate, a barrel", 0, 1)
    choke_discharge: Values = _value("air horn", "1", "discharge coefficient past the choke plate", 0.05, 1, "0.7")
    bowl_vent_area: Values = _value("air horn", "in^2", "bowl vent", 1e-6, 2, "0.05")
    bowl_seal_leak: Values = _value("air horn", "in^2", "leak from the bowl to the venturi past worn seals", 0, 0.1, "0.0004")

    # Throttle. (2.7, 3.6)
    barrels: Values = _value("throttle", "1", "barrels, all alike", 1, 4)
    throttle_bore: Values = _value("throttle", "in", "throttle bore", 0.2, 6)
    throttle_shaft: Values = _value("throttle", "in", "throttle shaft", 0, 1)
    throttle_closed_angle: Values = _value("throttle", "deg", "throttle plate, closed, from square to the bore", 0, 45)
    throttle_clearance: Values = _value("throttle", "in^2", "clearance round a closed throttle plate, a barrel", 0, 0.2, "0.004")
    throttle_discharge: Values = _value("throttle", "1", "discharge coefficient past the throttle plate", 0.05, 1, "0.82")
    idle_bypass: Values = _value("throttle", "in^2", "idle bypass air, all together", 0, 0.5)
    leak_discharge: Values = _value("throttle", "1", "discharge coefficient of bypass and leaks", 0.05, 1, "0.65")

    # Venturi and booster. (3.5, 3.7)
    venturi_bore: Values = _value("venturi", "in", "main venturi throat", 0.2, 6)
    booster_outside: Values = _value("venturi", "in", "booster outside", 0, 3)
    booster_bore: Values = _value("venturi", "in", "booster throat", 0, 3)
    booster_multiplication: Values = _value("venturi", "1", "depression in the booster over that at the main venturi", 1, 6)
    venturi_discharge: Values = _value("venturi", "1", "discharge coefficient of the venturi", 0.05, 1, "0.92")
    venturi_loss: Values = _value("venturi", "1", "share of the venturi's velocity head that is lost", 0, 2, "0.25")

    # Float. (part 4)
    needle_seat_bore: Values = _value("float", "in", "needle seat bore", 0.01, 0.5)
    seat_discharge: Values = _value("float", "1", "discharge coefficient of the needle's seat", 0.05, 1, "0.65")
    float_arm: Values = _value("float", "in", "hinge to float centre", 0.1, 10)
    needle_arm: Values = _value("float", "in", "hinge to needle", 0.05, 10)
    float_weight_arm: Values = _value("float", "in", "hinge to the float's centre of weight", 0.1, 10)
    float_weight: Values = _value("float", "lbf", "weight of float and arm", 0.001, 1)
    float_area: Values = _value("float", "in^2", "plan area of the float", 0.1, 20)
    float_height: Values = _value("float", "in", "height of the float", 0.1, 5)
    needle_lift: Values = _value("float", "in", "needle lift at full drop", 0.001, 0.5)
    fuel_pressure: Values = _value("float", "psi", "fuel pressure at the inlet", 0.1, 20)

    # Main circuit. (6.1, 6.7 to 6.9)
    spill_height: Values = _value("main", "in", "nozzle spill above the set fuel level", -0.5, 3)
    main_jet: Values = _value("main", "in", "main jet bore", 0.005, 0.5)
    jet_discharge: Values = _value("main", "1", "discharge coefficient of the main jet", 0.05, 1, "0.78")
    pickup_bore: Values = _value("main", "in", "restriction of the main well's pickup", 0.01, 1)
    pickup_discharge: Values = _value("main", "1", "discharge coefficient of the pickup", 0.05, 1, "0.78")
    nozzle_bore: Values = _value("main", "in", "nozzle", 0.01, 1)
    nozzle_discharge: Values = _value("main", "1", "discharge coefficient of the nozzle", 0.05, 1, "0.7")
    main_bleed: Values = _value("main", "in", "main air bleed", 0, 0.5)
    bleed_discharge: Values = _value("main", "1", "discharge coefficient of the air bleeds", 0.05, 1, "0.75")
    bleed_signal_share: Values = _value("main", "1", "share of the venturi's depression that the main bleed's mouth sees", 0, 1)
    tube_holes: Steps = _steps(
        "main",
        "holes of the emulsion tube, from the top down",
        ("depth", "in", "below the fuel level", 0, 6),
        ("bore", "in", "bore of the hole", 0.005, 0.5),
    )
    hole_discharge: Values = _value("main", "1", "discharge coefficient of the tube's holes", 0.05, 1, "0.65")
    hole_span: Values = _value("main", "in", "fall of the fuel over which a hole comes into play", 0.001, 1, "0.06")
    tube_share: Values = _value("main", "1", "fall of the fuel in the tube over the well's depression as a head", 0, 1, "0.1")

    # Metering rods. (part 5)
    rod_steps: Steps = _steps(
        "power",
        "diameter of the metering rod in the jet, by its lift",
        ("lift", "in", "lift of the rod", 0, 2),
        ("diameter", "in", "diameter then in the jet", 0, 0.5),
    )
    greatest_rod_lift: Values = _value("power", "in", "greatest lift of the rods", 0.005, 2)
    vacuum_piston_bore: Values = _value("power", "in", "vacuum piston", 0.05, 2)
    piston_weight: Values = _value("power", "lbf", "weight of piston and rods", 0, 1, "0.02")
    power_spring_force: Values = _value("power", "lbf", "force of the power spring with the rods down", 0, 10)
    power_spring_rate: Values = _value("power", "lbf/in", "rate of the power spring", 0.01, 100)
    lifter_offset: Values = _value("power", "in", "lifter tab, lift at the angle where it starts", -1, 1, "0")
    lifter_rate: Values = _value("power", "in/deg", "lift by the linkage for each degree of throttle", 0, 0.1)
    lifter_start: Values = _value("power", "deg", "throttle angle at which the linkage starts to lift", 0, 90)

    # Idle circuit. (6.1 to 6.6)
    idle_jet: Values = _value("idle", "in", "idle (low-speed) jet", 0.005, 0.2)
    economiser: Values = _value("idle", "in", "economiser restriction, below the bleed", 0.005, 0.3)
    idle_bleed: Values = _value("idle", "in", "idle air bleed", 0, 0.3)
    idle_discharge: Values = _value("idle", "1", "discharge coefficient of the idle circuit's restrictions", 0.05, 1, "0.75")
    idle_rise: Values = _value("idle", "in", "top of the idle passage above the set fuel level", 0, 3)
    slot_width: Values = _value("idle", "in", "transfer slot, width", 0.001, 0.5)
    slot_length: Values = _value("idle", "in", "transfer slot, length", 0.005, 1)
    slot_foot: Values = _value("idle", "in", "foot of the transfer slot above the closed plate's edge", -0.5, 0.5)
    mixture_port: Values = _value("idle", "in", "mixture port", 0.005, 0.3)
    mixture_screw_turns: Values = _value("idle", "1", "mixture screw, turns open", 0, 10)
    mixture_screw_travel: Values = _value("idle", "1", "turns from shut to a port fully open", 0.5, 10, "3")

    # Accelerator pump. (part 8)
    pump_bore: Values = _value("pump", "in", "pump bore", 0.1, 3)
    pump_stroke: Values = _value("pump", "in", "pump stroke", 0.01, 3)
    pump_spring_force: Values = _value("pump", "lbf", "duration spring, force at the start of the stroke", 0.01, 50)
    pump_spring_rate: Values = _value("pump", "lbf/in", "duration spring, rate", 0, 100)
    pump_delivery: Values = _value("pump", "1", "share of the swept volume that is delivered", 0.05, 1, "0.85")
    pump_jet: Values = _value("pump", "in", "pump jet", 0.005, 0.2)
    pump_jets: Values = _value("pump", "1", "pump jets, all together", 1, 8)
    pump_jet_discharge: Values = _value("pump", "1", "discharge coefficient of the pump jets", 0.05, 1, "0.75")
    pump_jet_bleed: Values = _value("pump", "in", "air bleed at the pump jets, a barrel", 0, 0.2)
    pump_signal_share: Values = _value("pump", "1", "share of the venturi's depression that the pump jets see", 0, 1)
    pump_jet_height: Values = _value("pump", "in", "pump jets above the set fuel level", 0, 3)
    discharge_check_weight: Values = _value("pump", "lbf", "weight of the discharge check in fuel", 0, 0.1)
    discharge_check_seat: Values = _value("pump", "in", "bore of the discharge check's seat", 0.01, 0.5)

    # Choke: coil, vacuum break, fast idle, warm-up. (part 10)
    coil_rate: Values = _value("choke", "N*m/rad", "torque of the coil for each radian it is held back", 1e-4, 1)
    coil_deflection: Values = _value("choke", "deg/dK", "free turn of the coil for each kelvin", 0.05, 10)
    coil_neutral: Values = _value("choke", "degC", "temperature at which the free coil just closes the choke", -40, 60)
    coil_index: Values = _value("choke", "deg", "coil cover turned lean of its mark", -60, 60, "0")
    air_torque_factor: Values = _value("choke", "1", "share of the air's simple torque on the offset plate that acts", 0, 3, "1")
    choke_plate_offset: Values = _value("choke", "in", "offset of the choke shaft from the middle of the plate", 0, 1)
    vacuum_break_acts: Values = _value("choke", "inHg", "vacuum above which the vacuum break acts", 0, 25)
    vacuum_break_spring: Values = _value(
        "choke", "N*m/rad", "spring in the vacuum break's link; large for a plain pull-off", 0, 10
    )
    vacuum_break_angle: Values = _value("choke", "deg", "choke opening at which the vacuum break ends", 0, 90)
    fast_idle_steps: Steps = _steps(
        "choke",
        "steps of the fast-idle cam, widest choke first",
        ("choke_below", "deg", "choke opening under which the step stands", 0, 90),
        ("throttle", "deg", "throttle angle on the step", 0, 60),
    )
    coil_warming_time: Values = _value("choke", "s", "time constant of the coil's warm-up", 1, 3600)
    coil_warming: Values = _value("choke", "dK", "rise of the coil above ambient without a heater, in the end", 0, 200)


@dataclass(frozen=True, kw_only=True)
class Carburetor(Specimen):
    """A specimen as it stands on the bench: its sheet, and its condition. Made by `healthy`, changed by `faults`."""

    set_float_weight: Values = _value("", "lbf", "weight of the float when its level was set", 0.001, 1)
    set_fuel_pressure: Values = _value("", "psi", "fuel pressure when the level was set", 0.1, 20)
    level_error: Values = _value("", "in", "fuel level set too high", -2, 2, "0")
    inlet_open_share: Values = _value("", "1", "share of the fuel inlet that is open", 0, 1, "1")
    main_jet_open_share: Values = _value("", "1", "share of the main jet that is open", 0, 1, "1")
    idle_jet_open_share: Values = _value("", "1", "share of the idle jet that is open", 0.001, 1, "1")
    economiser_open_share: Values = _value("", "1", "share of the economiser that is open", 0, 1, "1")
    idle_bleed_open_share: Values = _value("", "1", "share of the idle bleed that is open", 0, 1, "1")
    main_bleed_open_share: Values = _value("", "1", "share of the main bleed that is open", 0, 1, "1")
    nozzle_open_share: Values = _value("", "1", "share of the nozzle that is open", 0, 1, "1")
    gasket_leak: Values = _value("", "in^2", "air leak at the cluster's gasket, area times discharge coefficient", 0, 0.1, "0")
    rods_follow_vacuum: Values = _value("", "1", "1 where the vacuum piston moves the rods", 0, 1, "1")
    rods_follow_linkage: Values = _value("", "1", "1 where the linkage lifts the rods", 0, 1, "1")
    rod_held_at: Values = field(default=float("nan"), metadata={})  # a lift; NaN where the rods are free
    choke_held_at: Values = field(default=float("nan"), metadata={})  # an angle; NaN where the choke is free
    stop_error: Values = _value("", "deg", "throttle stop set too far open", -10, 30, "0")
    check_weight_share: Values = _value(
        "", "1", "share of the discharge check's weight on its seat; 0 where it is missing", 0, 1, "1"
    )
    check_leak_share: Values = _value("", "1", "leak past the discharge check, as a share of a barrel's pump jets", 0, 1, "0")
    vent_outside: Values = _value("", "1", "0 where the bowl is vented inside the air cleaner, 1 outside", 0, 1, "0")


@cache
def entries(kind: type[Specimen] = Specimen) -> Mapping[str, Entry]:
    """
    Every value by its name, in the order of the sheet.

    >>> entries()["main_jet"].unit.name, entries()["main_jet"].says
    ('in', 'main jet bore')
    """
    return MappingProxyType({f.name: _entry(f.name, f.metadata) for f in fields(kind) if f.metadata})


def _entry(name: str, about: Mapping[str, Any]) -> Entry:
    least, greatest = about["ends"]
    pair = tuple(Entry(n, about["group"], unit(u), says, low, high) for n, u, says, low, high in about.get("pair", ()))
    return Entry(name, about["group"], unit(about["unit"]), about["says"], least, greatest, about["default"], pair)


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
        if f.metadata and not f.metadata.get("pair") or f.name.endswith("_held_at"):
            if any(value is not column[0] and value != column[0] for value in column):
                changed[f.name] = np.array(column, dtype=np.float64)
        elif f.name not in {"id", "title", "points"} and any(value != column[0] for value in column):
            raise UseError(f"carburetors that differ in {f.name} cannot stand side by side; compute them one after the other")
    return replace(first, **changed)


def faults_of(specimen: Specimen) -> dict[str, str]:
    """
    Everything wrong with a specimen's values, by the name of the value: what it is, the value, the valid range.

    Bounds first; then what must hold between values (a rod thinner than its jet). Empty where all is well.
    """
    wrong: dict[str, str] = {}
    for name, entry in entries(type(specimen)).items():
        value = getattr(specimen, name)
        for number in _numbers(value) if not entry.pair else ():
            wrong.setdefault(name, entry.fault_of(number))
        for step in value if entry.pair else ():
            for part, number in zip(entry.pair, step, strict=True):
                wrong.setdefault(f"{name}.{part.name}", part.fault_of(number))
    found = {name: fault for name, fault in wrong.items() if fault}
    return found or _contradictions(specimen)


def _numbers(value: Values) -> list[float]:
    return [float(number) for number in np.ravel(value)]


def require_sound(specimen: Specimen) -> None:
    """Raise `RangeError` with everything wrong with a specimen's values; return where nothing is."""
    wrong = faults_of(specimen)
    if wrong:
        raise RangeError("; ".join(wrong.values()))


def _contradictions(s: Specimen) -> dict[str, str]:
    """What must hold between values."""
    inch, degree = unit("in"), unit("deg")
    rods = [diameter for _, diameter in s.rod_steps]
    lifts = [lift for lift, _ in s.rod_steps]
    wrong: dict[str, str] = {}

    def need(name: str, holds: bool | np.bool_, says: str) -> None:
        if not holds:
            wrong.setdefault(name, says)

    def size(value: Values) -> str:
        return with_unit(show_number(inch.from_si(float(np.min(value))), 4), inch)

    need("rod_steps", bool(rods), "rod_steps is empty; give at least one step, {lift: 0 in, diameter: …}")
    if rods:
        thick = max(rods)
        says = f"rod_steps: a rod of {size(thick)} does not fit a main_jet of {size(s.main_jet)}; it must be thinner than the jet"
        need("rod_steps", np.all(thick < s.main_jet), says)
    need("rod_steps", lifts == sorted(lifts), "rod_steps: the lifts do not rise; write the smallest lift first")
    for thin, wide in _NESTED:
        a, b = getattr(s, thin), getattr(s, wide)
        need(thin, np.all(a <= b), f"{thin} is {size(a)}, {wide} is {size(b)}; {thin} must be the smaller")
    open_most = np.pi / 2 - s.choke_closed_angle
    says = (
        f"choke_travel and choke_closed_angle come to more than {with_unit('90', degree)}; a plate stands along the bore at 90°"
    )
    need("choke_travel", np.all(s.choke_travel <= open_most + 1e-9), says)
    need("barrels", np.all(np.mod(s.barrels, 1) == 0), "barrels is not a whole number; write 1, 2 or 4")
    need("pump_jets", np.all(np.mod(s.pump_jets, 1) == 0), "pump_jets is not a whole number; write it as 2")
    if s.well == "emulsion tube":
        need("tube_holes", bool(s.tube_holes), "tube_holes is empty; an emulsion tube has holes, {depth: 0.1 in, bore: '#66'}")
        says = "bleed_signal_share is not 0; in this model the bleed of an emulsion tube opens where no venturi depression reaches it"
        need("bleed_signal_share", np.all(s.bleed_signal_share == 0), says)
    need("points", bool(s.points), "points is empty; give at least one operating point")
    for point in s.points:
        says = f"points: {point.name}: the throttle's angle and throttle_closed_angle come to more than {with_unit('90', degree)}"
        need("points", np.all(point.throttle + s.throttle_closed_angle <= np.pi / 2 + 1e-9), says)
    if not isinstance(s, Carburetor):  # a fault may well flood it
        says = "float_height times float_area does not lift the needle shut against fuel_pressure; make the float larger"
        need("float_height", bool(np.all(float_holds(s))), says)
    return wrong


_NESTED = (
    ("booster_outside", "venturi_bore"),
    ("booster_bore", "booster_outside"),
    ("throttle_shaft", "throttle_bore"),
    ("choke_shaft", "air_horn_bore"),
)


def float_holds(specimen: Specimen) -> NDArray[np.bool_]:
    """Whether the float, wholly under, shuts the needle against the fuel's pressure; where not, the bowl floods. (4.1)"""
    s = specimen
    seat = np.pi / 4 * s.needle_seat_bore**2
    needed = s.fuel_pressure * seat * s.needle_arm / s.float_arm + s.float_weight * s.float_weight_arm / s.float_arm
    return np.asarray(needed <= 736.3 * 9.80665 * s.float_area * s.float_height)


def nearest_of(name: str, names: Sequence[str]) -> str:
    """A hint at the name that was probably meant, for an error message."""
    near = difflib.get_close_matches(name.lower(), list(names), 1, 0.5)
    return f"did you mean `{near[0]}`?" if near else ""
