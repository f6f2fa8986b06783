"""
Quantities: numbers with units as an author writes them, and the one table of units.

A unit belongs to a *kind* ("area", "pressure", "temperature"): units of one kind convert into each other. Factors are exact
fractions to SI. inHg and inH2O are the conventional units (g = 9.80665 m/s², mercury 13595.1 kg/m³, water 1000 kg/m³), as in
NIST SP 811 appendix B to its printed digits.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from difflib import get_close_matches
from fractions import Fraction
from functools import cache, lru_cache
from types import MappingProxyType
from typing import cast

from grader.base.errors import UseError

NO_BREAK = "\u202f"  # narrow no-break space, between number and unit

# Exponents of metre, kilogram, second, kelvin, ampere. The radian is 1.
Dimension = tuple[Fraction, Fraction, Fraction, Fraction, Fraction]


def dimension(*exponents: int | Fraction) -> Dimension:
    """
    A dimension from its exponents of metre, kilogram, second, kelvin, ampere; those left out are 0.

    >>> dimension(1, 0, -1) == unit("m/s").dimension
    True
    """
    five = [Fraction(e) for e in (*exponents, 0, 0, 0, 0, 0)[:5]]
    return five[0], five[1], five[2], five[3], five[4]


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: one `name` in files and code, one way it is `shown`, and the ways people spell it (folded, see `fold`)."""

    name: str
    kind: str
    dimension: Dimension
    factor: Fraction
    shown: str
    offset: Fraction = Fraction(0)
    spelt: tuple[str, ...] = ()
    _floats: tuple[float, float] = field(init=False, repr=False, compare=False)  # factor and offset, converted once

    def __post_init__(self) -> None:
        """Convert what every value that is shown is divided by."""
        object.__setattr__(self, "_floats", (float(self.factor), float(self.offset)))

    def __hash__(self) -> int:
        """By name: what differs in anything else hardly ever shares it, and fractions are slow to hash."""
        return hash(self.name)

    def to_si(self, number: Fraction) -> float:
        """The SI value of a number in this unit."""
        return float(number * self.factor + self.offset)

    def from_si(self, value: float) -> float:
        """The number in this unit of an SI value."""
        factor, offset = self._floats
        return (value - offset) / factor if offset else value / factor


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit, and the number as it was `written`."""

    written: str
    number: Fraction
    unit: Unit
    _si: float | None = field(default=None, init=False, repr=False, compare=False)  # computed when first asked for

    def __hash__(self) -> int:
        """By what was written: fractions are slow to hash."""
        return hash((self.written, self.unit.name))

    @property
    def si(self) -> float:
        """The value in SI."""
        if self._si is None:
            object.__setattr__(self, "_si", self.unit.to_si(self.number))
        return cast("float", self._si)

    @property
    def shown(self) -> str:
        """As printed in a stem: the number as its author wrote it, then the unit's sign."""
        return with_unit(self.written, self.unit)


_KINDS: Mapping[str, Dimension] = MappingProxyType(
    {
        "ratio": dimension(),
        "angle": dimension(),
        "length": dimension(1),
        "area": dimension(2),
        "volume": dimension(3),
        "mass": dimension(0, 1),
        "time": dimension(0, 0, 1),
        "speed": dimension(1, 0, -1),
        "acceleration": dimension(1, 0, -2),
        "speed of rotation": dimension(0, 0, -1),
        "force": dimension(1, 1, -2),
        "pressure": dimension(-1, 1, -2),
        "torque": dimension(2, 1, -2),
        "spring rate": dimension(0, 1, -2),
        "mass flow": dimension(0, 1, -1),
        "volume flow": dimension(3, 0, -1),
        "density": dimension(-3, 1),
        "viscosity": dimension(2, 0, -1),
        "temperature": dimension(0, 0, 0, 1),
        "temperature difference": dimension(0, 0, 0, 1),
        "current": dimension(0, 0, 0, 0, 1),
        "voltage": dimension(2, 1, -3, 0, -1),
        "resistance": dimension(2, 1, -3, 0, -2),
        "power": dimension(2, 1, -3),
        "gas constant": dimension(2, 0, -2, -1),
    }
)

_G = Fraction("9.80665")
_INCH = Fraction("0.0254")
_FOOT = Fraction("0.3048")
_POUND = Fraction("0.45359237")
_GALLON = 231 * _INCH**3

# name, kind, factor to SI, shown, other spellings parted by commas (folded when read: case, spaces, ^ and stops do not matter)
# fmt: off
_TABLE: tuple[tuple[str, str, Fraction | int | str, str, str], ...] = (
    ("1", "ratio", 1, "", ":1, to 1, to one"),
    ("%", "ratio", "1/100", "%", "percent, per cent, pct"),
    ("rad", "angle", 1, "rad", "radian, radians"),
    ("deg", "angle", "0.017453292519943295", "°", "°, degree, degrees"),
    ("mm", "length", "0.001", "mm", "millimetre, millimetres, millimeter, millimeters"),
    ("cm", "length", "0.01", "cm", "centimetre, centimetres, centimeter, centimeters"),
    ("m", "length", 1, "m", "metre, metres, meter, meters"),
    ("in", "length", _INCH, "in", "inch, inches, ins, \", ''"),
    ("thou", "length", _INCH / 1000, "thou", "thousandth, thousandths"),
    ("ft", "length", _FOOT, "ft", "foot, feet, '"),
    ("mm^2", "area", "0.000001", "mm²", "sq mm, square mm, square millimetres, square millimeters"),
    ("cm^2", "area", "0.0001", "cm²", "sq cm, square cm, square centimetres, square centimeters"),
    ("m^2", "area", 1, "m²", "sq m, square metres, square meters"),
    ("in^2", "area", _INCH**2, "in²", 'sq in, square in, square inch, square inches, "2'),
    ("mm^3", "volume", "0.000000001", "mm³", "cubic mm, cu mm, cubic millimetres, cubic millimeters"),
    ("cm^3", "volume", "0.000001", "cm³", "cc, ccs, ccm, ml, millilitre, millilitres, milliliter, milliliters, "
     "cu cm, cubic cm, cubic centimetres, cubic centimeters"),
    ("L", "volume", "0.001", "L", "litre, litres, liter, liters, dm3"),
    ("m^3", "volume", 1, "m³", "cu m, cubic metres, cubic meters"),
    ("in^3", "volume", _INCH**3, "in³", "cu in, cubic in, cubic inch, cubic inches, cid"),
    ("floz", "volume", _GALLON / 128, "fl oz", "fluid ounce, fluid ounces, us fl oz"),
    ("gal", "volume", _GALLON, "gal", "gallon, gallons, us gal, us gallon, us gallons"),
    ("g", "mass", "0.001", "g", "gram, grams, gramme, grammes"),
    ("kg", "mass", 1, "kg", "kilogram, kilograms, kilo, kilos"),
    ("lb", "mass", _POUND, "lb", "lbs, lbm, pound, pounds"),
    ("oz", "mass", _POUND / 16, "oz", "ounce, ounces"),
    ("s", "time", 1, "s", "sec, secs, second, seconds"),
    ("ms", "time", "0.001", "ms", "msec, millisecond, milliseconds"),
    ("min", "time", 60, "min", "mins, minute, minutes"),
    ("h", "time", 3600, "h", "hr, hrs, hour, hours"),
    ("m/s", "speed", 1, "m/s", "mps, m s-1, metres per second, meters per second"),
    ("ft/s", "speed", _FOOT, "ft/s", "fps, feet per second, ft/sec"),
    ("m/s^2", "acceleration", 1, "m/s²", ""),
    ("rev/min", "speed of rotation", "1/60", "rev/min", "rpm, r/min, revs/min, revs per minute"),
    ("rev/s", "speed of rotation", 1, "rev/s", "rps, 1/s, hz"),
    ("N", "force", 1, "N", "newton, newtons"),
    ("lbf", "force", _POUND * _G, "lbf", "lb f, pound force, pounds force"),
    ("ozf", "force", _POUND * _G / 16, "ozf", "oz f, ounce force, ounces force"),
    ("Pa", "pressure", 1, "Pa", "pascal, pascals, n/m2"),
    ("kPa", "pressure", 1000, "kPa", "kilopascal, kilopascals"),
    ("mbar", "pressure", 100, "mbar", "hpa, millibar, millibars"),
    ("bar", "pressure", 100000, "bar", "bars"),
    ("atm", "pressure", 101325, "atm", "atmosphere, atmospheres"),
    ("psi", "pressure", _POUND * _G / _INCH**2, "psi", "lb/in2, lbf/in2, lb per sq in, lbs/sq in, pounds per square inch"),
    ("inHg", "pressure", Fraction("13595.1") * _G * _INCH, "inHg", 'in hg, inches hg, inch hg, inches of mercury, '
     'in of mercury, in mercury, "hg, "of mercury, \'\'hg'),
    ("inH2O", "pressure", 1000 * _G * _INCH, "inH₂O", 'in h2o, inches h2o, inch h2o, in wg, in wc, inches of water, '
     'in of water, inches wc, "h2o, "wc, "of water'),
    ("mmHg", "pressure", Fraction("13595.1") * _G / 1000, "mmHg", "mm hg, mm of mercury"),
    ("mmH2O", "pressure", _G, "mmH₂O", "mm h2o, mm of water"),
    ("N*m", "torque", 1, "N·m", "nm, n-m, newton metre, newton metres"),
    ("N*mm", "torque", "0.001", "N·mm", "nmm, newton millimetre, newton millimetres, newton millimeter, newton millimeters"),
    ("lbf*in", "torque", _POUND * _G * _INCH, "lbf·in", "lb in, lb-in, in lb, in-lb, in lbs, in-lbs, in lbf, inch pound, "
     "inch pounds, inch-pounds, pound inches"),
    ("lbf*ft", "torque", _POUND * _G * _FOOT, "lbf·ft", "lb ft, lb-ft, ft lb, ft-lb, ft lbs, ft-lbs, ft lbf, foot pound, "
     "foot pounds, foot-pounds, pound feet, pound-feet"),
    ("N/m", "spring rate", 1, "N/m", ""),
    ("N/mm", "spring rate", 1000, "N/mm", ""),
    ("lbf/in", "spring rate", _POUND * _G / _INCH, "lbf/in", "lb/in, pounds per inch"),
    ("g/s", "mass flow", "0.001", "g/s", "g/sec, grams per second, g s-1"),
    ("kg/s", "mass flow", 1, "kg/s", "kg/sec"),
    ("g/min", "mass flow", "1/60000", "g/min", ""),
    ("kg/min", "mass flow", "1/60", "kg/min", ""),
    ("kg/h", "mass flow", "1/3600", "kg/h", "kg/hr"),
    ("lb/h", "mass flow", _POUND / 3600, "lb/h", "lb/hr, lbs/hr, lbs/h, pounds per hour"),
    ("lb/min", "mass flow", _POUND / 60, "lb/min", "lbs/min"),
    ("cm^3/s", "volume flow", "0.000001", "cm³/s", "cc/s, ml/s, cc/sec, ml/sec"),
    ("cm^3/min", "volume flow", "1/60000000", "cm³/min", "cc/min, ml/min"),
    ("L/s", "volume flow", "0.001", "L/s", ""),
    ("L/min", "volume flow", "1/60000", "L/min", ""),
    ("m^3/s", "volume flow", 1, "m³/s", ""),
    ("ft^3/min", "volume flow", _FOOT**3 / 60, "ft³/min", "cfm, cu ft/min, cubic feet per minute"),
    ("kg/m^3", "density", 1, "kg/m³", "g/l, kg m-3"),
    ("g/cm^3", "density", 1000, "g/cm³", "g/cc, g/ml, kg/l"),
    ("lb/gal", "density", _POUND / _GALLON, "lb/gal", ""),
    ("lb/ft^3", "density", _POUND / _FOOT**3, "lb/ft³", ""),
    ("m^2/s", "viscosity", 1, "m²/s", ""),
    ("mm^2/s", "viscosity", "0.000001", "mm²/s", "cst, centistokes"),
    ("K", "temperature", 1, "K", "kelvin"),
    ("degC", "temperature", 1, "°C", "°c, c, deg c, degrees c, celsius, degrees celsius"),
    ("degF", "temperature", "5/9", "°F", "°f, f, deg f, degrees f, fahrenheit, degrees fahrenheit"),
    ("dK", "temperature difference", 1, "K", ""),
    ("dF", "temperature difference", "5/9", "°F", ""),
    ("A", "current", 1, "A", "amp, amps, ampere, amperes"),
    ("V", "voltage", 1, "V", "volt, volts"),
    ("ohm", "resistance", 1, "Ω", "ω, ohms"),
    ("W", "power", 1, "W", "watt, watts"),
    ("J/(kg*K)", "gas constant", 1, "J/(kg·K)", ""),
)
# fmt: on
_OFFSETS = {"degC": Fraction("273.15"), "degF": Fraction("459.67") * Fraction(5, 9)}

_PRIMES = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "\u00b5": "μ"})
_DROPPED = re.compile(r"[\s.^*·⋅×()]+")


def fold(spelling: str) -> str:
    """
    A spelling of a unit with all that does not tell units apart taken out: case, spaces, stops, `^`, raised digits.

    The marker in the browser folds in the same steps, in the same order.

    >>> [fold(s) for s in ("mm²", "sq. mm", "in. Hg", "kg/m^3", "cubic inches per minute")]
    ['mm2', 'sqmm', 'inhg', 'kg/m3', 'cubicinches/minute']
    """
    plain = unicodedata.normalize("NFKC", spelling.translate(_PRIMES)).lower()
    return _DROPPED.sub("", re.sub(r"\bper\b", "/", plain))


def _units() -> Mapping[str, Unit]:
    table = {}
    for name, kind, factor, shown, spellings in _TABLE:
        spelt = dict.fromkeys(fold(s) for s in (name, shown, *spellings.split(",")) if s.strip())
        if name == "1":
            spelt.pop("1")  # a bare 1 is a number, not a unit
        if kind == "temperature difference":
            spelt.clear()  # nobody answers in these: 10 °F is read as a temperature
        table[name] = Unit(name, kind, _KINDS[kind], Fraction(factor), shown, _OFFSETS.get(name, Fraction(0)), tuple(spelt))
    return MappingProxyType(table)


UNITS: Mapping[str, Unit] = _units()
"""Every unit by its name."""


def _unit_meant(name: str) -> str:
    """How to mend an unknown unit: the one it is another spelling of, or close to; else a few to choose from."""
    folded = fold(name)
    spelt = {spelling: entry.name for entry in UNITS.values() for spelling in entry.spelt}
    near = [spelt[one] for one in ([folded] if folded in spelt else get_close_matches(folded[:40], spelt, 3, 0.7))]
    if near:
        return f"did you mean {' or '.join(f'`{one}`' for one in dict.fromkeys(near))}?"
    return "write one such as mm, in, mm^2, cm^3, kPa, inHg, g/s, rev/min or %"


_PART = re.compile(r"([A-Za-z%0-9]+?)(?:\^(-?\d+))?$")


@cache
def unit(name: str) -> Unit:
    """
    A unit of the table by its name, or one made of them: ``kg/(m^2*s)``, ``N*m/rad``, ``1/m^4``.

    Raises `UseError` for a name that is not in the table.

    >>> unit("mm^2").factor, unit("lbf/in^2").factor == unit("psi").factor
    (Fraction(1, 1000000), True)
    >>> unit("1/m^4").shown, unit("deg/dK").shown
    ('1/m⁴', '°/K')
    """
    if name in UNITS:
        return UNITS[name]
    above, _, below = name.replace(" ", "").partition("/")
    factor, exponents = Fraction(1), [Fraction(0)] * 5
    for sign, side in ((1, above), (-1, below.replace("/", "*"))):
        for part in side.strip("()").split("*") if side else ():
            found = _PART.match(part)
            base = UNITS.get(found[1]) if found else None
            if found is None or base is None or base.offset:
                raise UseError(f"`{name[:40]}` is not a unit known here; {_unit_meant(name)}")
            power = sign * int(found[2] or 1)
            factor *= base.factor**power
            exponents = [e + power * b for e, b in zip(exponents, base.dimension, strict=True)]
    signs = re.sub(r"[A-Za-z][A-Za-z0-9]*", lambda m: UNITS[m[0]].shown if m[0] in UNITS else m[0], name)
    made = re.sub(r"\^(-?\d+)", lambda m: m[1].translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")), signs)
    return Unit(name, "made of others", dimension(*exponents), factor, made.replace("*", "·"))


_DECIMAL = r"[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?"
_QUANTITY = re.compile(
    rf"\s*(?P<number>(?:(?P<whole>\d+)\s+)?(?:(?P<over>\d+)/(?P<under>\d+)|(?P<decimal>{_DECIMAL})))\s*(?P<unit>\S.*?)?\s*"
)


@lru_cache(maxsize=8192)  # a course writes the same few over and over; what is the same object is compared at once
def read_quantity(text: str) -> Quantity:
    """
    A quantity as an author writes it: ``0.089 in``, ``5/32 in``, ``1 1/4 in``, ``2 %``, ``14.7``.

    Raises `UseError` saying what is wrong.

    >>> read_quantity("5/32 in").number, round(read_quantity("18 inHg").si, 1)
    (Fraction(5, 32), 60955.0)
    """
    found = _QUANTITY.fullmatch(text) if len(text) <= 80 else None
    if found is None or (found["whole"] and not found["over"]):
        raise UseError(f"`{text[:80]}` is not a number with a unit; write it as `0.089 in`, `5/32 in` or `2 %`")
    if found["over"]:
        if int(found["under"]) == 0:
            raise UseError(f"`{text}` divides by zero")
        number = int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))
    else:
        number = Fraction(found["decimal"])
    return Quantity(found["number"], number, unit(found["unit"] or "1"))


def with_unit(number: str, measure: Unit) -> str:
    """
    A printed number with its unit's sign.

    >>> with_unit("2.30", unit("mm^2")).replace(NO_BREAK, " "), with_unit("-8", unit("deg"))
    ('2.30 mm²', '−8°')
    """
    number = number.replace("-", "−", 1) if number.startswith("-") else number  # a minus, not a hyphen
    if not measure.shown:
        return number
    return f"{number}{'' if measure.shown == '°' else NO_BREAK}{measure.shown}"


def show_number(value: float | Decimal | Fraction, figures: int = 4) -> str:
    """
    A number to so many significant figures, half to even on the decimal numeral, never in powers of ten.

    >>> show_number(2.298434, 4), show_number(0.00012, 3), show_number(101325.0, 3), show_number(-0.0)
    ('2.298', '0.000120', '101000', '0')
    """
    if isinstance(value, Fraction):
        number = Decimal(value.numerator) / Decimal(value.denominator)
    else:
        number = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not number.is_finite():
        raise UseError(f"{value} cannot be shown as a number")
    if not number:
        return "0"
    step = Decimal(1).scaleb(number.adjusted() - figures + 1)
    rounded = number.quantize(step, ROUND_HALF_EVEN)
    if rounded.adjusted() > number.adjusted():  # 9.996 to three figures is 10.0, not 10.00
        rounded = rounded.quantize(step.scaleb(1), ROUND_HALF_EVEN)
    return f"{rounded:f}"


def show(value: float, measure: Unit, figures: int = 4) -> str:
    """
    An SI value in a unit, as printed.

    >>> show(0.002413, unit("in")).replace(NO_BREAK, " ")
    '0.09500 in'
    """
    return with_unit(show_number(measure.from_si(value), figures), measure)
