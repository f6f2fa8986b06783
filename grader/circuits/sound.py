"""What must hold of a specimen before it is computed: every value between its ends, and values that fit one another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import RangeError
from grader.base.quantities import show_number, unit, with_unit
from grader.circuits.sheet import Values
from grader.circuits.specimens import Carburetor, Specimen, entries


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
    found = {name: fault for name, fault in wrong.items() if fault and wrong.get(name.removeprefix("set_")) in {"", fault}}
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
        says = "bleed_signal_share is not 0; in this model the bleed of an emulsion tube opens where no depression reaches it"
        need("bleed_signal_share", np.all(s.bleed_signal_share == 0), says)
    need("points", bool(s.points), "points is empty; give at least one operating point")
    names = [point.name for point in s.points]
    twice = next((name for name in names if names.count(name) > 1), "")
    need("points", not twice, f"points: `{twice}` stands twice; give each operating point a name of its own")
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
