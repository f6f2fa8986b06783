"""A given taken from a specimen: `{specimen: T-2, value: main_jet}`, or the name of one to be printed, `{specimen: T-2}`."""

from __future__ import annotations

from fractions import Fraction

from grader.base.errors import UseError
from grader.base.quantities import Quantity
from grader.items.fields import read_whole
from grader.items.grid import rounding
from grader.items.model import Given
from grader.items.shapes import Report, entries_of, text_of
from grader.items.sheet_values import Asked, NotThere, Sheets, quantity, read_altitude, sheet_named
from grader.items.yamlfile import Fields, Scalar


def from_specimen(name: str, below: Fields, line: int, report: Report, path: str, sheets: Sheets) -> Given | None:
    """The given that a shaped group of fields with `specimen` asks for, or None, with everything wrong with it reported."""
    names = [entry.text.strip() for entry in entries_of(below, "specimen") if isinstance(entry, Scalar)]
    draws = "specimen " + " ".join(names) if len(names) > 1 else ""
    before = len(report.findings)
    try:
        asked = _asked(below)
        found = [quantity(sheet_named(each, sheets), asked) if asked else _known(each, sheets) for each in names]
    except NotThere as error:
        _note(error, error.code, error.field, below, line, report, path)
    except UseError as error:
        _note(error, "bad-number", "altitude", below, line, report, path)
    if len(report.findings) > before:
        return None
    if len(set(names)) < len(names):
        report.note(below.lines["specimen"], "repeated-value", "a specimen stands twice in the list", "keep one of the two", path)
        return None
    if asked is None:
        return Given(name, line, (), Fraction(0), tuple(names), draws)
    values = tuple(value for value, _ in found if value is not None)
    units = dict.fromkeys(value.unit.name for value in values)
    if len(units) > 1:
        what = f"`{name}` stands in {', '.join(units)} on the sheets of {', '.join(names)}"
        report.note(below.lines["specimen"], "mixed-units", what, "write it in one unit on all of them", path)
        return None
    words = tuple(printed for _, printed in found)
    plain = tuple(value.shown for value in values)
    return Given(name, line, values, rounding(values), () if words == plain else words, draws)


def _known(name: str, sheets: Sheets) -> tuple[Quantity | None, str]:
    sheet_named(name, sheets)
    return None, name


def _asked(below: Fields) -> Asked | None:
    """What is asked of the specimen; None where only its name is."""
    value, point, fault = (text_of(below, field) for field in ("value", "point", "fault"))
    for field in ("point", "fault", "altitude", "figures"):
        if field in below.nodes and not (value if field == "point" else point):
            lacks, like = ("value", "air_fuel") if not value else ("point", "cruise")
            what = f"`{field}` stands here without a `{lacks}`"
            raise NotThere("missing-field", field, f"{what}; write `{lacks}: {like}`, or take it out")
    figures = read_whole(text_of(below, "figures", "3"))
    if not 1 <= figures <= 9:
        raise NotThere("bad-number", "figures", f"{figures} significant figures; write 1 to 9")
    altitude = read_altitude(text_of(below, "altitude")) if "altitude" in below.nodes else 0.0
    return Asked(value, point, fault, altitude, figures) if value else None


def _note(error: UseError, code: str, field: str, below: Fields, line: int, report: Report, path: str) -> None:
    what, _, mend = str(error).partition("; ")
    report.note(below.lines.get(field, line), code, what, mend or "see the specimen's sheet", path)
