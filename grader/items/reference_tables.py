"""
Tables to look numbers up in, as a lesson asks for them: drills, fractions of an inch, units of one kind into each other.

    ```table            ```table                      ```table
    list: drills        units: kPa, psi, inHg         from: 0 inHg
    ```                 ```                           to: 30 inHg
                                                      step: 1 inHg
                                                      units: kPa, psi
                                                      ```

Every number is computed from the lists and factors that mark answers; nothing is typed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from types import MappingProxyType

from grader.base.errors import UseError
from grader.base.quantities import Unit, show_number, unit
from grader.items.fields import read_size
from grader.items.shapes import nearest
from grader.items.yamlfile import short

FIGURES = 4
MOST_UNITS = 5
"""More columns would not go on a phone."""
MOST_ROWS = 120
LEAST_STEP = Fraction(1, 1000)
"""The first column has four decimals: by smaller steps its numbers would come out alike, or off by a good part of a step."""
MOST_NUMBER = 10**9
FIELDS = ("list", "units", "from", "to", "step")
_EXACT = 5  # figures of a factor that is printed as it is


@dataclass(frozen=True, slots=True)
class Table:
    """
    A table as printed: what it is, the heads of its columns, its rows; the first cell of a row names the row.

    `run` says that a row follows from the one before, so that the table may be cut into columns side by side.
    """

    says: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    run: bool = True


def table_asked(pairs: Mapping[str, str]) -> Table:
    """
    The table that the lines of a `table` block ask for.

    Raises `UseError` saying what is wrong.

    >>> table_asked({"list": "drills"}).rows[26]
    ('54', '0.0550', '1.397', '1.533')
    >>> table_asked({"units": "in, mm"}).rows
    (('1 in', '1', '25.4'), ('1 mm', '0.03937', '1'))
    >>> table_asked({"from": "0 degC", "to": "100 degC", "step": "50 degC", "units": "degF"}).rows
    (('0', '32'), ('50', '122'), ('100', '212'))
    """
    for name in pairs:
        if name not in FIELDS:
            near = nearest(name, FIELDS)
            mend = f"did you mean `{near}`?" if near else f"its fields are {', '.join(FIELDS)}"
            raise UseError(f"`{short(name)}` is not a field of a table block; {mend}")
    if "list" in pairs:
        if len(pairs) > 1:
            raise UseError("the table block names a list and units; make two blocks of it")
        return _list(pairs["list"])
    if "units" not in pairs:
        raise UseError(f"the table block asks for nothing; write `list: {next(iter(LISTS))}` or `units: kPa, psi, inHg`")
    units = _units(pairs["units"])
    asked = [name for name in ("from", "to", "step") if name in pairs]
    if not asked:
        return _factors(units)
    if len(asked) < 3:
        missing = next(name for name in ("from", "to", "step") if name not in pairs)
        raise UseError(f"the table block has `{asked[0]}` and no `{missing}`; write `from`, `to` and `step`")
    return _readings(units, *(pairs[name] for name in ("from", "to", "step")))


def _list(name: str) -> Table:
    if name not in LISTS:
        near = nearest(name, LISTS)
        mend = f"did you mean `{near}`?" if near else f"there are {', '.join(LISTS)}"
        raise UseError(f"there is no list `{short(name)}`; {mend}")
    return LISTS[name]()


def fixed(number: Fraction, places: int) -> str:
    """
    A number to so many decimals, half to even.

    >>> fixed(Fraction(127, 320), 3), fixed(Fraction(-40), 0)
    ('0.397', '−40')
    """
    exact = Decimal(number.numerator) / Decimal(number.denominator)
    rounded = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
    return f"{rounded if rounded else abs(rounded):f}".replace("-", "−")


def _drills() -> Table:
    from grader.circuits.drills import DRILLS, drill_inches  # only here: a course of another subject needs none
    from grader.circuits.principles import disc_area

    rows = []
    for number, bore in DRILLS.items():
        inches = drill_inches(f"#{number}")
        area = unit("mm^2").from_si(float(disc_area(bore)))
        millimetres = fixed(Fraction(inches) * Fraction("25.4"), 3)
        rows.append((str(number), fixed(Fraction(inches), 4), millimetres, show_number(area, FIGURES)))
    return Table("Numbered drills: bore and the area of the hole", ("No.", "in", "mm", "mm²"), tuple(rows))


def _fractions() -> Table:
    rows = []
    for place in range(1, 65):
        share = Fraction(place, 64)
        rows.append((str(share), f"{float(share):.6f}".rstrip("0").rstrip("."), fixed(share * Fraction("25.4"), 3)))
    return Table("Fractions of an inch, as decimals and in millimetres", ("fraction", "in", "mm"), tuple(rows))


LISTS: Mapping[str, Callable[[], Table]] = MappingProxyType({"drills": _drills, "fractions": _fractions})


def _units(text: str) -> tuple[Unit, ...]:
    units = tuple(unit(name.strip()) for name in text.split(","))
    if not 1 <= len(units) <= MOST_UNITS:
        raise UseError(f"{len(units)} units in one table; write {MOST_UNITS} at most, and a second block")
    if len(set(units)) < len(units):
        raise UseError("a unit stands twice in the table block; keep one of the two")
    _same_kind(units)
    return units


def _same_kind(units: Sequence[Unit]) -> None:
    for other in units[1:]:
        if (other.kind, other.dimension) != (units[0].kind, units[0].dimension):
            raise UseError(f"{units[0].name} and {other.name} are of two kinds; make a block for each")


def _factors(units: tuple[Unit, ...]) -> Table:
    """One of the unit on the left, in each of the units above."""
    if len(units) < 2:
        raise UseError("one unit alone is no table; write two or more, parted by commas")
    for each in units:
        if each.offset:
            raise UseError(f"{each.name} has a zero point of its own; write `from`, `to` and `step` beside the units")
    rows = [(f"1 {left.shown}", *(_factor(left.factor / above.factor) for above in units)) for left in units]
    return Table("One of the unit on the left, in the unit above", ("", *(each.shown for each in units)), tuple(rows), run=False)


def _factor(number: Fraction) -> str:
    """A factor: as it is where it has few figures, else rounded."""
    written = Decimal(number.numerator) / Decimal(number.denominator)
    if Fraction(written) == number and len(written.normalize().as_tuple().digits) <= _EXACT:
        return f"{written.normalize():f}"
    return show_number(number, FIGURES)


def _readings(units: tuple[Unit, ...], *ends: str) -> Table:
    """A row for each step of one unit, with what it comes to in the others."""
    first, last, step = (read_size(text) for text in ends)
    if len({first.unit, last.unit, step.unit}) > 1:
        raise UseError("`from`, `to` and `step` stand in different units; write all three in one")
    _same_kind((first.unit, *units))
    if first.unit in units:
        raise UseError(f"{first.unit.name} is the first column already; take it out of `units`")
    if step.number <= 0 or last.number <= first.number:
        raise UseError("the table has no rows; write a step above nought, and `to` above `from`")
    count = (last.number - first.number) / step.number
    if count.denominator != 1:
        raise UseError(
            f"from {first.written} in steps of {step.written} the table never comes to {last.written}; change one of them"
        )
    if count >= MOST_ROWS:
        raise UseError(f"the table has {int(count) + 1} rows; write {MOST_ROWS} at most")
    numbers = [first.number + step.number * place for place in range(int(count) + 1)]
    if step.number < LEAST_STEP or max(map(abs, numbers)) >= MOST_NUMBER:
        raise UseError(
            f"the table's numbers, {first.written} and on by {step.written}, are too small or too large to be printed; take "
            f"a unit that gives steps of {float(LEAST_STEP):g} or more and numbers below {MOST_NUMBER:,}"
        )
    columns = [_plain(numbers), *(_column(numbers, first.unit, other, step.number) for other in units)]
    heads = (first.unit.shown, *(other.shown for other in units))
    return Table(f"{first.unit.kind.capitalize()} in {', '.join(heads)}", heads, tuple(zip(*columns, strict=True)))


def _plain(numbers: Sequence[Fraction]) -> Iterator[str]:
    places = max(_places(number) for number in numbers)
    return (fixed(number, places) for number in numbers)


def _places(number: Fraction) -> int:
    """How many decimals a number needs, at most 4."""
    return next((places for places in range(5) if (number * 10**places).denominator == 1), 4)


def _column(numbers: Sequence[Fraction], given: Unit, wanted: Unit, step: Fraction) -> Iterator[str]:
    """
    The numbers in another unit, all to the same decimals: three figures of a step, fewer where nothing is lost.

    A temperature has one: its zero point lies elsewhere, so figures of a step say little.
    """
    found = [(number * given.factor + given.offset - wanted.offset) / wanted.factor for number in numbers]
    width = float(step * given.factor / wanted.factor)
    rounded = 1 if wanted.offset else max(0, 2 - math.floor(math.log10(width)))
    places = min(rounded, max(map(_places, found))) if all(_places(n) < 4 for n in found) else rounded
    return (fixed(number, places) for number in found)
