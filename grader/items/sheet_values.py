"""
Numbers taken from a specimen instead of typed: a value of its sheet, or one that its computed carburetor comes to.

`main_jet` is on the sheet; of a list the place is said: `rod_steps 3 diameter`. `air_fuel` and the other names of `COMPUTED`
are computed at an operating point, healthy or with a fault.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from grader.base.errors import UseError
from grader.base.quantities import Quantity, Unit, read_quantity, show, show_number, unit
from grader.items.model import Fence
from grader.items.yamlfile import short

if TYPE_CHECKING:
    from grader.circuits.carburetor import Conditions
    from grader.circuits.curves import Reading
    from grader.circuits.faults import Fault
    from grader.circuits.specimens import Specimen
    from grader.items.specimen_file import Sheet

Sheets = Mapping[str, "Sheet"]
NO_SHEETS: Sheets = MappingProxyType({})

COMPUTED: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "vacuum": ("vacuum_inHg", "inHg"),
        "air": ("air_g_s", "g/s"),
        "fuel": ("fuel_g_s", "g/s"),
        "air_fuel": ("air_fuel", "1"),
        "lambda": ("lam", "1"),
        "rod_lift": ("rod_lift_in", "in"),
        "level": ("level_in", "in"),
        "throttle": ("throttle_deg", "deg"),
        "speed": ("rpm", "rev/min"),
    }
)
"""What can be asked of the computed carburetor: the name in a course's files, that of a reading, its unit."""

HIGHEST = 4500.0
"""No altitude above it is asked for. [m]"""
MOST_CURVES = 7
"""So many lines, each with a mark of its own, are told apart."""
_DRILL = "#"
_REFERENCE = re.compile(
    r"(?P<specimen>[A-Z][A-Za-z0-9]{0,7}-[1-9][0-9]{0,3})\s+(?P<what>\S.*?)(?:\s+with\s+(?P<fault>\S+))?"
    r"(?:\s+at\s+(?P<altitude>\d[\d.]*\s+\S+))?(?:\s+as\s+(?P<unit>\S+))?(?:\s+to\s+(?P<figures>[1-9])\s+figures?)?"
)


class NotThere(UseError):
    """A specimen, value, point or fault that is not there: the finding's name, and the field where it was asked for."""

    def __init__(self, code: str, field: str, message: str) -> None:
        self.code, self.field = code, field
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a specimen: a value of its sheet (`point` is ""), or one computed at a point."""

    value: str
    point: str = ""
    fault: str = ""
    altitude: float = 0.0
    figures: int = 3


def sheet_named(name: str, sheets: Sheets) -> Sheet:
    """The sheet of a specimen. Raises `NotThere` with the nearest."""
    if name in sheets:
        return sheets[name]
    message = f"`{short(name, 40)}` is not a specimen of this course, or its sheet cannot be read"
    raise NotThere("unknown-specimen", "specimen", f"{message}; there are {', '.join(sheets) or 'none'}")


def _meant(name: str, names: Iterable[str]) -> str:
    every = list(names)
    near = difflib.get_close_matches(name[:60], every, 1, 0.5)
    if near:
        return f"did you mean `{near[0]}`?"
    return f"there are {', '.join(every)}" if every and len(every) < 20 else "see `questions/specimens`"


def quantity(sheet: Sheet, asked: Asked) -> tuple[Quantity, str]:
    """
    What is asked, as a quantity and as printed. A drill is printed with its number and its bore.

    Raises `NotThere` for a value, point or fault that is not there, and where the carburetor has no numbers at that point.
    """
    listed = f"{asked.point} {asked.value}"  # `fast_idle_steps 3 throttle` stands on the sheet; no point has that name
    if asked.point and listed in sheet.written:
        return _printed(sheet, listed)
    if not asked.point:
        if asked.value in COMPUTED:
            message = f"{asked.value} is computed at an operating point, and none is named"
            raise NotThere("missing-field", "value", f"{message}; name one: {', '.join(p.name for p in sheet.specimen.points)}")
        return _printed(sheet, asked.value)
    found = _computed(sheet, asked)
    return found, found.shown


def _printed(sheet: Sheet, name: str) -> tuple[Quantity, str]:
    from grader.circuits.drills import drill_inches
    from grader.circuits.specimens import entries

    if name not in sheet.written:
        message = f"`{short(name, 40)}` is not a value of the sheet of {sheet.specimen.id}"
        raise NotThere("unknown-value", "value", f"{message}; {_meant(name, sheet.written)}")
    text = sheet.written[name]
    if text.startswith(_DRILL):
        inches = drill_inches(text)
        bore = Quantity(inches, Fraction(inches), unit("in"))
        return bore, f"{text} ({bore.shown})"
    found = read_quantity(text)
    entry = entries().get(name)
    if found.unit.offset and entry is not None and entry.unit.kind == "temperature difference":  # 54 °F of rise has no zero point
        rise = found.number * found.unit.factor
        found = Quantity(show_number(rise, 4), rise, unit("dK"))
    return found, found.shown


def _computed(sheet: Sheet, asked: Asked) -> Quantity:
    if asked.value not in COMPUTED:
        message = f"`{short(asked.value, 40)}` is not computed at an operating point"
        mend = "take the point out" if asked.value in sheet.written else _meant(asked.value, COMPUTED)
        raise NotThere("unknown-value", "value", f"{message}; {mend}")
    readings = _readings(sheet.specimen, asked.fault, asked.altitude)
    points = {reading.point: reading for reading in readings}
    if asked.point not in points:
        message = f"`{short(asked.point, 40)}` is not an operating point of {sheet.specimen.id}"
        raise NotThere("unknown-point", "point", f"{message}; {_meant(asked.point, points)}")
    name, measure = COMPUTED[asked.value]
    number = float(getattr(points[asked.point], name))
    if not math.isfinite(number):
        why = points[asked.point].reason or "nothing flows there"
        raise NotThere("no-value", "point", f"{sheet.specimen.id} has no {asked.value} at {asked.point}: {why}; ask elsewhere")
    written = show_number(number, asked.figures)
    return Quantity(written, Fraction(written), unit(measure))


@lru_cache(maxsize=256)
def _readings(specimen: Specimen, fault: str, altitude: float) -> tuple[Reading, ...]:
    from grader.circuits.curves import curves

    faults = [fault_of(specimen, fault)] if fault else []
    return curves(specimen, faults, conditions_at(altitude))[-1].readings


def fault_of(specimen: Specimen, name: str) -> Fault:
    """A fault by its name, that this specimen can have. Raises `NotThere`."""
    from grader.circuits.faults import fault_named

    try:
        found = fault_named(name)
    except UseError as error:
        raise NotThere("unknown-fault", "fault", str(error)) from error
    if not found.fits(specimen):
        raise NotThere("unknown-fault", "fault", f"{specimen.id} has no part that {found.name} can befall; take another fault")
    return found


def conditions_at(altitude: float) -> Conditions:
    """The standard atmosphere at an altitude [m], and straight gasoline."""
    from grader.circuits.air import standard_air
    from grader.circuits.carburetor import SEA_LEVEL, Conditions

    return Conditions(standard_air(altitude), SEA_LEVEL.fuel) if altitude else SEA_LEVEL


def read_altitude(text: str) -> float:
    """
    An altitude in SI. Raises `UseError` for what is none, or lies too high.

    >>> read_altitude("4000 ft")
    1219.2
    """
    found = read_quantity(text)
    if found.unit.kind != "length" or not 0 <= found.si <= HIGHEST:
        raise UseError(f"`{short(text)}` is not an altitude from 0 to {HIGHEST:g} m; write it as `4000 ft`")
    return found.si


def names_specimen(text: str) -> bool:
    """
    Whether a text in a lesson begins with a specimen, so that its number comes from there.

    >>> names_specimen("T-1 main_jet"), names_specimen("0.093 in")
    (True, False)
    """
    return _REFERENCE.fullmatch(text) is not None


def reference(text: str) -> tuple[str, Asked, Unit | None]:
    """
    What a lesson asks of a specimen: whose, what, and the unit to print it in where one is said.

    Raises `UseError` where it is not written so.

    >>> name, asked, measure = reference("T-1 heavy load air_fuel with rod-stuck-down at 4000 ft to 4 figures")
    >>> name, asked.point, asked.value, asked.fault, asked.altitude, asked.figures
    ('T-1', 'heavy load', 'air_fuel', 'rod-stuck-down', 1219.2, 4)
    """
    found = _REFERENCE.fullmatch(text)
    if found is None:
        raise UseError(f"`{short(text)}` asks nothing of a specimen; write it as `T-1 main_jet` or `T-1 cruise air_fuel`")
    before, _, last = found["what"].rpartition(" ")
    point, value = (before, last) if last in COMPUTED else ("", found["what"])
    if not point and (found["fault"] or found["altitude"]):
        raise UseError(f"`{short(text)}` has a fault or an altitude and no point; write it as `T-1 cruise air_fuel with FAULT`")
    asked = Asked(
        value=value,
        point=point,
        fault=found["fault"] or "",
        altitude=read_altitude(found["altitude"]) if found["altitude"] else 0.0,
        figures=int(found["figures"] or 3),
    )
    return found["specimen"], asked, unit(found["unit"]) if found["unit"] else None


def reference_quantity(text: str, sheets: Sheets) -> Quantity:
    """The quantity that a lesson asks of a specimen, `T-1 main_jet`. Raises `UseError`."""
    name, asked, _ = reference(text)
    return quantity(sheet_named(name, sheets), asked)[0]


def reference_printed(text: str, sheets: Sheets) -> str:
    """What a lesson asks of a specimen, as printed: as it stands on the sheet, or in the unit named. Raises `UseError`."""
    name, asked, measure = reference(text)
    found, printed = quantity(sheet_named(name, sheets), asked)
    if measure is None:
        return printed
    if measure.dimension != found.unit.dimension:
        what = f"{asked.value} does not come in {measure.name}"
        raise NotThere("dimension", "value", f"{what}; leave out `as {measure.name}`, or write a unit of its kind")
    return show(found.si, measure, asked.figures)


@dataclass(frozen=True, slots=True)
class AskedCurves:
    """A `curves` block: whose curves, with which faults, at which altitude [m]."""

    specimen: Specimen
    faults: tuple[Fault, ...]
    altitude: float
    caption: str


def asked_curves(fence: Fence, pairs: Mapping[str, str], sheets: Sheets) -> AskedCurves:
    """
    A `curves` block: `specimen: T-1`, `faults: rod-stuck-down, rod-stuck-up`, and if wanted `altitude: 4000 ft`, `caption: …`.

    Raises `UseError` for anything else.
    """
    for name in pairs.keys() - {"specimen", "faults", "altitude", "caption"}:
        raise NotThere("unknown-field", name, f"`{short(name)}` is not a field of a {fence.word} block; write `specimen: …`")
    specimen = sheet_named(pairs.get("specimen", ""), sheets).specimen
    names = [name.strip() for name in pairs.get("faults", "").split(",") if name.strip()]
    faults = tuple(fault_of(specimen, name) for name in names)
    if len({fault.name for fault in faults}) < len(faults):
        raise NotThere("repeated-value", "faults", "a fault stands twice in the block; keep one of the two")
    if len(faults) > MOST_CURVES:
        raise NotThere(
            "wrong-count", "faults", f"{len(faults)} faults in one picture; write {MOST_CURVES} at most, and a second block"
        )
    altitude = read_altitude(pairs["altitude"]) if "altitude" in pairs else 0.0
    return AskedCurves(specimen, faults, altitude, pairs.get("caption", ""))
