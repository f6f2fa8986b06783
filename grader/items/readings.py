"""An item's instrument: how a reading is written, what is told about how fine to read, and the drawing that goes into a key."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from grader.base.quantities import Quantity, Unit, show_number, unit, with_unit
from grader.items.figures import described
from grader.items.grid import as_decimal, as_fraction, decimals_of
from grader.items.instruments.instrument import Scale
from grader.items.model import InstrumentUse, Item
from grader.items.template import places
from grader.marking import key

MOST_COUNTED = 64
"""More divisions than these nobody counts one by one."""

SMALLEST_DECIMAL = 8
"""From an eighth down, halves of halves are written as a workshop says them: 3/64, not 0.046875."""


def tolerance(scale: Scale) -> Quantity:
    """
    How far an answer may be off where its author leaves `within` out: what the scale says of itself.

    >>> from grader.items.instruments.catalog import INSTRUMENTS
    >>> tolerance(INSTRUMENTS["vacuum gauge"].scales["inHg"]).shown.replace("\\u202f", " ")
    '0.5 inHg'
    """
    return Quantity(as_read(scale.within, scale.within), scale.within, unit(scale.unit))


def as_read(number: Fraction, step: Fraction) -> str:
    """
    A number as it is read off a scale by such steps: a fraction where the steps are small halves of halves, else a decimal.

    Raises `ValueError` where it should be a decimal and has none.

    >>> as_read(Fraction(45, 64), Fraction(1, 64)), as_read(Fraction(29, 2), Fraction(1, 2)), as_read(Fraction(3), Fraction(1, 2))
    ('45/64', '14.5', '3.0')
    >>> as_read(Fraction("1.238"), Fraction(1, 1000))
    '1.238'
    """
    if step.denominator >= SMALLEST_DECIMAL and step.denominator & (step.denominator - 1) == 0:
        return as_fraction(number)
    exact, by = decimals_of(number), decimals_of(step)
    if exact is None or by is None:
        raise ValueError(f"{number} has no exact decimal")
    return as_decimal(number, max(_places(exact), _places(by)))


def _places(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def answer_shown(scale: Scale, value: Decimal, answer_unit: str) -> str:
    """The right answer as it would be read off the scale; nothing where it is asked in another unit or lies between the steps."""
    if answer_unit != scale.unit or not scale.readable(float(value)):
        return ""
    return _shown(scale.nearest(float(value)), scale.resolution, unit(scale.unit))


def told(scale: Scale, indicated: Decimal) -> str:
    """
    What the instrument shows and how that is counted, for the worked answer.

    >>> from grader.items.instruments.catalog import INSTRUMENTS
    >>> print(told(INSTRUMENTS["vacuum gauge"].scales["inHg"], Decimal("18.5")).replace("\u202f", " "))
    The instrument shows 18.5 inHg: 18 divisions of 1 inHg make 18 inHg, and 0.5 inHg more.
    """
    measure, value = unit(scale.unit), Fraction(indicated)
    if scale.readings or not scale.readable(float(value)):
        return f"The instrument shows {with_unit(show_number(indicated, 6).rstrip('0').rstrip('.'), measure)}."
    value = scale.nearest(float(value))
    shown = f"The instrument shows {_shown(value, scale.resolution, measure)}"
    count, rest = divmod(value - scale.least, scale.division)
    if not count or scale.least or (count > MOST_COUNTED and not rest):
        return f"{shown}."
    each = "1 division" if count == 1 else f"{count} divisions"
    counted = f"{shown}: {each} of {_shown(scale.division, scale.division, measure)}"
    if not rest:
        return f"{counted}."
    makes = "makes" if count == 1 else "make"
    return (
        f"{counted} {makes} {_shown(count * scale.division, scale.division, measure)}, "
        f"and {_shown(rest, scale.resolution, measure)} more."
    )


def _shown(number: Fraction, step: Fraction, measure: Unit) -> str:
    return with_unit(as_read(number, step), measure)


def rule(scale: Scale, within: Quantity) -> str:
    """
    How fine the instrument is to be read, and how far off an answer still counts, for whoever reads it.

    >>> from grader.items.instruments.catalog import INSTRUMENTS
    >>> gauge = INSTRUMENTS["vacuum gauge"].scales["inHg"]
    >>> rule(gauge, tolerance(gauge)).replace("\\u202f", " ")
    'Read to half a division; an answer within 0.5 inHg is right.'
    """
    return f"{scale.says[:1].upper()}{scale.says[1:]}; an answer within {within.shown} is right."


def drawing(use: InstrumentUse, indicated: Decimal) -> key.Figure:
    """The instrument as it stands for a variant, with the words that say what it is and never what it shows."""
    svg = use.instrument.draw(use.scale, float(indicated)).strip()
    return key.Figure(svg=svg, alt=described(svg))


def hidden(item: Item) -> set[str]:
    """The given values that only the instrument tells: what it shows depends on them, and the stem does not print them."""
    if item.instrument is None:
        return set()
    needed = depends(item, set(item.instrument.shows.expression.names))
    return {given.name for given in item.given if given.name in needed} - {place.name for place in places(item.stem)}


def depends(item: Item, names: set[str]) -> set[str]:
    """The names, and those that the values in between among them come from."""
    found = set(names)
    for let in reversed(item.let):
        if let.name in found:
            found |= set(let.value.expression.names)
    return found


def given_away(item: Item, told: set[str]) -> bool:
    """Whether what the instrument shows can be computed from what is told, by name."""
    if item.instrument is None:
        return False
    known = set(told)
    for let in item.let:
        if set(let.value.expression.names) <= known:
            known.add(let.name)
    return set(item.instrument.shows.expression.names) <= known
