"""A `specimen` block: a training carburetor's whole sheet, circuit by circuit, its settings, and what it computes to."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape
from types import MappingProxyType

from grader.base.errors import UseError
from grader.base.quantities import with_unit
from grader.circuits.curves import Reading, curves
from grader.circuits.sheet import Entry
from grader.circuits.specimens import OperatingPoint, entries
from grader.items.model import Fence
from grader.items.settings import Setting, shown_range
from grader.items.sheet_values import Asked, NotThere, Sheets, quantity, sheet_named
from grader.items.specimen_file import Sheet
from grader.pages.curves import curves_html
from grader.pages.lessons import Fault, Heading, Page
from grader.relations.symbol import capital

# The parts of a sheet by what the course calls them; what stands here not is called as on the sheet.
_CALLED = MappingProxyType({"air horn": "Air horn, choke plate, bowl vent", "venturi": "Venturi and booster"})
_CIRCUITS = frozenset({"float", "main", "power", "idle", "pump"})

CAUTION = (
    '<div class="admonition warning"><p class="admonition-title">A sheet for study</p>'
    "<p>This carburetor was invented for the course: no casting of it exists, and its coefficients are chosen, not measured. "
    "Set nothing on a vehicle to it. The sheet of the carburetor on your bench, local codes and licensed practice decide. "
    "At the bench: no flame or spark near fuel, moving air, engine cool, eye protection.</p></div>"
)


def specimen_html(fence: Fence, page: Page, sheets: Sheets) -> str:
    """
    The block as HTML: a section for each part of the sheet, its settings, the computed curve and the operating points.

    Its headings go into the page's contents. Raises `Fault` for a specimen that is not there.
    """
    name = " ".join(line for line in fence.lines if line).strip()
    try:
        sheet = sheet_named(name, sheets)
        made = _Sections(page, sheet)
        return (
            f'<div class="course-sheet">{CAUTION}<p>{escape(sheet.specimen.title)}.</p>{"".join(made.all(fence, sheets))}</div>'
        )
    except UseError as error:
        code = error.code if isinstance(error, NotThere) else "wrong-block"
        raise Fault.of(code, error, "write the specimen's name: `T-1`") from error


@dataclass(slots=True)
class _Sections:
    page: Page
    sheet: Sheet

    def all(self, fence: Fence, sheets: Sheets) -> Iterator[str]:
        specimen = self.sheet.specimen
        groups: dict[str, list[Entry]] = {}
        for entry in entries().values():
            groups.setdefault(entry.group, []).append(entry)
        for group, found in groups.items():
            called = _CALLED.get(group, f"{group} circuit" if group in _CIRCUITS else group)
            yield self._heading(capital(called), group)
            yield self._values(group, found)
        own = list(self.sheet.settings.values())
        if own:
            yield self._heading("Set and measured at the bench", "settings")
            yield _settings(own)
        yield self._heading("What it computes to", "computed")
        asked = Fence("curves", fence.line, (f"specimen: {specimen.id}", "caption: Nothing wrong with it."))
        yield curves_html(asked, self.page, sheets)
        yield self._heading("Operating points", "points")
        yield _points(specimen.points, curves(specimen)[0].readings)

    def _heading(self, words: str, group: str) -> str:
        anchor = f"{self.sheet.specimen.id}-{group.replace(' ', '-')}".lower()
        self.page.headings.append(Heading(2, words, anchor))
        link = f'<a class="headerlink" href="#{anchor}" title="Link to this section">&para;</a>'
        return f'<h2 id="{anchor}">{escape(words)}{link}</h2>'

    def _values(self, group: str, found: list[Entry]) -> str:
        rows = [(capital(entry.says), self._printed(entry.name), self._within(entry)) for entry in found if self._stands(entry)]
        if group == "main":
            rows.insert(0, ("Main well", self.sheet.specimen.well, ""))
        body = "".join(
            f'<tr><th scope="row">{escape(says)}</th><td>{escape(value)}{within}</td></tr>' for says, value, within in rows
        )
        table = f'<table class="course-table course-values"><tbody>{body}</tbody></table>'
        return table + "".join(self._steps(entry) for entry in found if entry.pair)

    def _stands(self, entry: Entry) -> bool:
        return not entry.pair and entry.name in self.sheet.written

    def _printed(self, name: str) -> str:
        return quantity(self.sheet, Asked(name))[1]

    def _within(self, entry: Entry) -> str:
        setting = self.sheet.settings.get(entry.name)
        return f" <span>± {escape(setting.within.shown)}</span>" if setting is not None else ""

    def _steps(self, entry: Entry) -> str:
        count = len(getattr(self.sheet.specimen, entry.name))
        if not count:
            return ""
        first, second = entry.pair
        rows = [
            (str(place), *(self._printed(f"{entry.name} {place} {part.name}") for part in (first, second)))
            for place in range(1, count + 1)
        ]
        return f"<h3>{escape(capital(entry.says))}</h3>" + _table(("no.", first.says, second.says), rows, "course-steps-of")


def _settings(settings: list[Setting]) -> str:
    """A row for each setting: what it is called, its value and ends, and below that how it is measured."""
    rows = "".join(  # a space before what stands below, or the search would run the two together
        f'<tr><th scope="row">{escape(capital(setting.name.replace("_", " ")))} '
        f"<span>{escape(capital(setting.says))}.</span></th>"
        f"<td>{escape(setting.value.shown)} <span>{escape(shown_range(setting.least, setting.greatest))}</span></td></tr>"
        for setting in settings
    )
    return (
        '<table class="course-table course-settings"><thead><tr><td></td><th scope="col">value, and what is still right</th></tr>'
        f"</thead><tbody>{rows}</tbody></table>"
    )


Column = tuple[str, Callable[[OperatingPoint, Reading], str]]


def _number(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace("-", "−") if math.isfinite(value) else "–"


_DEGREE = entries()["choke_travel"].unit
_SPEED = entries()["best_filling_speed"].unit
_STAND: tuple[Column, ...] = (
    ("speed, rev/min", lambda point, _: _number(_SPEED.from_si(point.speed), 0)),
    ("throttle", lambda point, _: with_unit(_number(_DEGREE.from_si(point.throttle), 1), _DEGREE)),
    ("vacuum, inHg", lambda _, found: _number(found.vacuum_inHg, 1)),
)
_FLOW: tuple[Column, ...] = (
    ("air, g/s", lambda _, found: _number(found.air_g_s, 1)),
    ("fuel, g/s", lambda _, found: _number(found.fuel_g_s, 3)),
    ("air-fuel ratio", lambda _, found: _number(found.air_fuel, 1)),
    ("rod lift, in", lambda _, found: _number(found.rod_lift_in, 3)),
)


def _points(points: tuple[OperatingPoint, ...], readings: tuple[Reading, ...]) -> str:
    """Two tables of four columns each: seven would not go on a phone."""
    tables = []
    for columns in (_STAND, _FLOW):
        rows = [(point.name, *(cell(point, found) for _, cell in columns)) for point, found in zip(points, readings, strict=True)]
        tables.append(_table(("", *(head for head, _ in columns)), rows, "course-points"))
    note = "The throttle angle counts from closed. Warm engine, gasoline, sea level, at fixed speed and throttle."
    return "".join(tables) + f'<p class="course-note">{note}</p>'


def _table(heads: tuple[str, ...], rows: list[tuple[str, ...]], look: str) -> str:
    top = "".join(f'<th scope="col">{escape(head)}</th>' if head else "<td></td>" for head in heads)
    body = "".join(
        f'<tr><th scope="row">{escape(first)}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in rest)}</tr>'
        for first, *rest in rows
    )
    return f'<table class="course-table {look}"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'
