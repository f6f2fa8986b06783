"""
Settings of a specification sheet: what is set or measured at the bench, to what, and how far it may be off.

A setting has a value of its own (`5/16 in`), or it names what the sheet says elsewhere (`pump_stroke`), or it is computed from
the sheet (`shots_volume(10, pump_bore, pump_stroke, pump_delivery)`), so that no number stands on a sheet twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

import numpy as np

from grader.base.errors import GraderError, UseError
from grader.base.quantities import Dimension, Quantity, Unit, read_quantity, show_number, unit, with_unit
from grader.circuits.catalog import relations
from grader.circuits.drills import drill_inches
from grader.circuits.specimens import Specimen, entries
from grader.items.fields import NAME, QUANTITY, TEXT, UNIT, WHOLE, read_size, read_whole
from grader.items.grid import as_fraction
from grader.items.shapes import Field, Named, Record, Report, nearest, text_of
from grader.items.yamlfile import Fields, short
from grader.relations.language import ExpressionError, parse

SETTING = Record(
    "a setting",
    {
        "says": Field(TEXT, "what is measured, from where to where, and how the part then stands", needed=True),
        "value": Field(
            TEXT,
            "to what it is set: a quantity (5/16 in), or an expression over the sheet's values and the settings above; "
            "left out where the sheet has a value of the setting's name",
        ),
        "unit": Field(UNIT, "the unit in which an expression is printed"),
        "figures": Field(WHOLE, "to how many significant figures it is printed, and used; 3 if left out"),
        "within": Field(QUANTITY, "how far it may be off: an amount with its unit (1/32 in) or a share (10 %)", needed=True),
    },
)
SETTINGS = Named(SETTING, NAME, "names like `float_level`")

_FINEST = 10**6
"""A tolerance below a millionth of its value is no tolerance of a workshop, and its ends could not be printed."""
_SMALLEST = Fraction(1, 10**9)  # of any unit: 1e-999 in is finer than anything too
_HALVED = frozenset(2**halvings for halvings in range(8))
"""The denominators of a workshop's fractions; a third has no decimals to judge a reading by."""


@dataclass(frozen=True, slots=True)
class Setting:
    """
    What a sheet wants set, and how far off it may be.

    `value`, `least` and `greatest` are as printed: what is printed is what is judged by. `within` is the author's own, an amount
    or a share.
    """

    name: str
    says: str
    value: Quantity
    least: Quantity
    greatest: Quantity
    within: Quantity

    def range_in(self, measure: Unit) -> tuple[Quantity, Quantity]:
        """
        The two ends in another unit of the kind, to four figures or more, the greatest rounded down and the least up.

        Raises `UseError` for a unit of another kind.
        """
        if measure.name == self.value.unit.name:
            return self.least, self.greatest
        if measure.kind != self.value.unit.kind:
            raise UseError(
                f"`{self.name}` is {_a(self.value.unit.kind)}, and {measure.name} is not its unit; "
                f"write {self.value.unit.name} or another unit of its kind, or leave it out"
            )
        low, high = (
            (end.number * end.unit.factor + end.unit.offset - measure.offset) / measure.factor
            for end in (self.least, self.greatest)
        )
        return _inward(low, high, measure, len(show_number(low, 4).partition(".")[2]))

    def value_in(self, measure: Unit) -> Quantity:
        """The value in another unit of the kind, to four figures."""
        if measure.name == self.value.unit.name:
            return self.value
        written = show_number(measure.from_si(self.value.si), 4)
        return Quantity(written, Fraction(written), measure)


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _inward(low: Fraction, high: Fraction, measure: Unit, places: int) -> tuple[Quantity, Quantity]:
    """Two ends to so many decimals, or to as many as cost less than a tenth of the range; rounded so that none lies outside."""
    while any((end * 10**places).denominator > 1 for end in (low, high)) and Fraction(10, 10**places) > high - low:
        places += 1
    scaled = ceil(low * 10**places), floor(high * 10**places)
    least, greatest = (Quantity(_decimal(end, places), Fraction(end, 10**places), measure) for end in scaled)
    return least, greatest


def read_settings(below: Fields, specimen: Specimen, written: Mapping[str, str], report: Report) -> dict[str, Setting]:
    """
    The settings of a sheet, in its order; every fault is added to `report`.

    Parameters
    ----------
    below : Fields
        The shaped group `settings`.
    specimen : Specimen
        The sheet's values in SI.
    written : mapping
        The same as the sheet writes them.
    """
    found: dict[str, Setting] = {}
    known = Known(specimen)
    for name, node in below.nodes.items():
        if not isinstance(node, Fields):
            continue
        try:
            found[name] = _setting(name, node, known, written)
        except SettingFault as fault:
            what, _, mend = str(fault).partition("; ")
            line = node.lines.get(fault.field, below.lines[name])
            report.note(line, fault.code, f"the setting `{name}`: {what}", mend or "mend the expression", f"settings/{name}")
            continue
        known.add(found[name])
    return found


class SettingFault(UseError):
    """What is wrong with a setting: the finding's name, and the field where it stands."""

    def __init__(self, code: str, field: str, message: str) -> None:
        self.code, self.field = code, field
        super().__init__(message)


class Known:
    """
    What an expression on a sheet may use: its values, the entries of its lists (`fast_idle_steps_2_choke_below`), speed and
    throttle of its operating points (`curb_idle_speed`), and the settings above.
    """

    def __init__(self, specimen: Specimen) -> None:
        self.values: dict[str, float] = {}
        self.dimensions: dict[str, Dimension] = {}
        for entry in entries().values():
            value = getattr(specimen, entry.name)
            if not entry.pair:
                self._put(entry.name, float(value), entry.unit.dimension)
                continue
            for place, pair in enumerate(value, 1):
                for part, one in zip(entry.pair, pair, strict=True):
                    self._put(f"{entry.name}_{place}_{part.name}", one, part.unit.dimension)
        for point in specimen.points:
            name = point.name.replace(" ", "_")
            self._put(f"{name}_speed", point.speed, unit("rev/min").dimension)
            self._put(f"{name}_throttle", point.throttle, unit("deg").dimension)

    def _put(self, name: str, value: float, dimension: Dimension) -> None:
        self.values[name] = value
        self.dimensions[name] = dimension

    def add(self, setting: Setting) -> None:
        """A setting may be used by those below it."""
        self._put(setting.name, setting.value.si, setting.value.unit.dimension)


def _setting(name: str, node: Fields, known: Known, written: Mapping[str, str]) -> Setting:
    value = _value(name, node, known, written)
    return Setting(name, text_of(node, "says"), value, *_ends(value, text_of(node, "within")))


def tolerated(name: str, written: str, within: str) -> Setting:
    """
    A value of a sheet with a tolerance that the sheet does not have.

    Raises `SettingFault` where the tolerance is of another kind.

    >>> found = tolerated("main_jet", "0.093 in", "0.001 in")
    >>> found.least.written, found.greatest.written
    ('0.092', '0.094')
    """
    value = _as_written(written)
    return Setting(name, "", value, *_ends(value, within))


def _ends(value: Quantity, text: str) -> tuple[Quantity, Quantity, Quantity]:
    within = read_size(text)
    if within.unit.name == "%":
        amount = abs(value.number) * within.number / 100
    elif within.unit.kind == value.unit.kind:
        amount = within.number * within.unit.factor / value.unit.factor
    else:
        what = f"`within` is {_a(within.unit.kind)}, the value {_a(value.unit.kind)}"
        raise SettingFault("dimension", "within", f"{what}; write it in {value.unit.name} or as a share: 10 %")
    if amount <= 0:
        raise SettingFault("bad-tolerance", "within", f"within {short(text)} leaves no room; write how far it may be off")
    if amount * _FINEST < max(abs(value.number), _SMALLEST):
        what = f"within {short(text)} is finer than anything at a bench is measured"
        raise SettingFault("bad-tolerance", "within", f"{what}; write how far it may be off")
    low, high = value.number - amount, value.number + amount
    if "/" in value.written and all(end.denominator in _HALVED for end in (low, high)):
        least, greatest = (Quantity(as_fraction(end), end, value.unit) for end in (low, high))
    else:
        least, greatest = _inward(low, high, value.unit, _places(value, within))
    return least, greatest, within


def _value(name: str, node: Fields, known: Known, written: Mapping[str, str]) -> Quantity:
    text = text_of(node, "value")
    if not text:
        if name not in written:
            near = nearest(name, written)
            meant = f"did you mean `{near}`?" if near else "write `value`, or call it as the sheet calls a value"
            raise SettingFault("missing-field", "value", f"no value is given, and the sheet has none of this name; {meant}")
        return _as_written(written[name])
    if name in written:
        raise SettingFault("repeated-value", "value", f"the sheet says already {written[name]}; take `value` out")
    try:
        found = read_quantity(text)
    except UseError:
        return _computed(text, node, known, written)
    try:
        read_size(text)
    except UseError as error:
        raise SettingFault("bad-quantity", "value", str(error)) from error
    for field in ("unit", "figures"):
        if field in node.nodes:
            raise SettingFault(
                "foreign-field", field, f"`{field}` belongs to an expression, and {short(text)} is none; take it out"
            )
    return found


def _as_written(text: str) -> Quantity:
    if text.startswith("#"):
        inches = drill_inches(text)
        return Quantity(inches, Fraction(inches), unit("in"))
    return read_quantity(text)


def _computed(text: str, node: Fields, known: Known, written: Mapping[str, str]) -> Quantity:
    if text in written and "unit" not in node.nodes:  # the sheet's own number, as the sheet writes it
        return _as_written(written[text])
    if "unit" not in node.nodes:
        raise SettingFault(
            "missing-field", "value", f"`{short(text)}` is an expression and has no unit; write `unit: in` or the like"
        )
    measure = unit(text_of(node, "unit"))
    figures = read_whole(text_of(node, "figures", "3"))
    if not 1 <= figures <= 6:
        raise SettingFault("bad-number", "figures", f"{figures} significant figures; write 1 to 6")
    try:
        expression = parse(text, relations())
        unknown = [name for name in expression.names if name not in known.values]
        if unknown:
            near = nearest(unknown[0], known.values)
            meant = f"did you mean `{near}`?" if near else "use values of this sheet and settings above"
            raise SettingFault("unknown-name", "value", f"`{unknown[0]}` is neither on the sheet nor a setting above; {meant}")
        dimension = expression.dimension(known.dimensions)
        if dimension != measure.dimension:
            what = f"`{short(text)}` does not come in {measure.name}"
            raise SettingFault("dimension", "unit", f"{what}; mend the unit or the expression")
        value = float(expression.evaluate(known.values))
    except ExpressionError as error:
        raise SettingFault("expression", "value", f"{error}; write it like `float_level + 0.1 * float_height`") from error
    except SettingFault:
        raise
    except GraderError as error:
        raise SettingFault("no-value", "value", str(error)) from error
    if not np.isfinite(value):
        raise SettingFault("no-value", "value", f"`{short(text)}` comes to no number; mend the expression")
    shown = show_number(measure.from_si(value), figures)
    return Quantity(shown, Fraction(shown), measure)


def _places(value: Quantity, within: Quantity) -> int:
    """The decimals of what is written; one more for a share, three at least where one of the two is a fraction."""
    written = [value.written, within.written]
    places = max((len(part.partition(".")[2]) for part in written if "/" not in part), default=0)
    places += within.unit.name == "%"
    return max(places, 3) if any("/" in part for part in written) else places


def _decimal(scaled: int, places: int) -> str:
    digits = f"{abs(scaled):0{places + 1}d}"  # whole, however many there are: a Decimal would round to 28
    point = len(digits) - places
    return f"{'-' if scaled < 0 else ''}{digits[:point]}{'.' if places else ''}{digits[point:]}"


def shown_range(least: Quantity, greatest: Quantity) -> str:
    """
    Two ends as printed, the unit once.

    >>> shown_range(read_quantity("9/32 in"), read_quantity("11/32 in")).replace("\\u202f", " ")
    '9/32 to 11/32 in'
    """
    return f"{with_unit(least.written, least.unit).removesuffix(least.unit.shown).rstrip()} to {greatest.shown}"


def written_settings(settings: Mapping[str, Setting]) -> dict[str, str]:
    """
    What lessons and items can take of a sheet's settings: `float_level`, `float_level within`, `float_level least`, `… greatest`.
    """
    found: dict[str, str] = {}
    for name, setting in settings.items():
        found[name] = _written(setting.value)
        found[f"{name} within"] = _written(setting.within)
        found[f"{name} least"], found[f"{name} greatest"] = _written(setting.least), _written(setting.greatest)
    return found


def _written(value: Quantity) -> str:
    return f"{value.written} {value.unit.name}".removesuffix(" 1")
