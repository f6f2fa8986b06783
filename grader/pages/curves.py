"""A `curves` block: the computed carburetor's plot, and below it what each fault changes, point by point, set for a phone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from html import escape

from grader.base.errors import UseError
from grader.base.quantities import show, unit
from grader.circuits.carburetor import SEA_LEVEL
from grader.circuits.chart import page_chart, page_style
from grader.circuits.curves import LEANER_BY, Curve, Reading, curves, signs
from grader.items.lesson_file import read_curves
from grader.items.model import Fence
from grader.items.sheet_values import AskedCurves, NotThere, Sheets, conditions_at
from grader.pages.lessons import Fault, Page

MINUS = "\u2212"


def curves_style() -> str:
    """The look of the plots, light, dark and in print."""
    return page_style(".course-curves", '[data-md-color-scheme="slate"] .course-curves')


def curves_html(fence: Fence, page: Page, sheets: Sheets) -> str:
    """The block as HTML: everything in it is computed now. Raises `Fault`."""
    try:
        asked = read_curves(fence, sheets)
    except UseError as error:
        code = error.code if isinstance(error, NotThere) else "wrong-block"
        raise Fault.of(code, error, "write `specimen: T-1` and `faults: rod-stuck-down, rod-stuck-up`") from error
    found = [_spoken(curve) for curve in curves(asked.specimen, asked.faults, conditions_at(asked.altitude))]
    low = curves(asked.specimen)[0] if asked.altitude else None
    title = f"{asked.specimen.id}{_place(asked)}"
    chart = page_chart(title, f"{page.mark}c{len(page.blocks)}", found, SEA_LEVEL.fuel.stoichiometric, low)
    caption = f"{escape(asked.caption)} " if asked.caption else ""
    return (
        f'<figure class="course-figure course-curves">{chart}<figcaption>{caption}'
        f"{escape(title)}, computed at fixed speed and throttle, warm, gasoline.</figcaption></figure>{_table(found)}"
    )


def _place(asked: AskedCurves) -> str:
    return f" at {show(asked.altitude, unit('ft'), 4)}" if asked.altitude else " at sea level"


def _spoken(curve: Curve) -> Curve:
    """A curve under its fault's name as people say it."""
    return replace(curve, name=curve.name.replace("-", " "))


def _table(found: Sequence[Curve]) -> str:
    """What each fault changes: a block of rows for each, so that six points go side by side on a phone."""
    healthy, faults = found[0], found[1:]
    heads = "".join(f'<th scope="col">{escape(reading.point)}</th>' for reading in healthy.readings)
    wide = f'colspan="{len(healthy.readings)}"'
    rows = [_row(wide, "healthy, air-fuel ratio", "", "".join(f"<td>{_ratio(r)}</td>" for r in healthy.readings))]
    rows += [_row(wide, f.name, f.says, "".join(f"<td>{_change(r)}</td>" for r in f.readings)) for f in faults]
    readings = [reading for curve in faults for reading in curve.readings]
    notes = [_legend()] if faults else []
    notes += ["* starved: the inlet lets in less fuel than the circuits draw."] if any(r.starved for r in readings) else []
    notes += ["† the float does not shut the needle: the bowl floods."] if any(r.flooded for r in readings) else []
    below = f'<p class="course-note">{" ".join(notes)}</p>' if notes else ""
    return f'<table class="course-table course-signs"><thead><tr>{heads}</tr></thead>{"".join(rows)}</table>{below}'


def _row(wide: str, name: str, says: str, cells: str) -> str:
    about = f" <span>{escape(says)}</span>" if says else ""
    return f'<tbody><tr><th scope="rowgroup" {wide}>{escape(name)}{about}</th></tr><tr>{cells}</tr></tbody>'


def _change(reading: Reading) -> str:
    """Sign, word and number of one point; where nothing is felt, the sign is 0."""
    sign = signs(reading.change)
    word = {"+": "leaner", "-": "richer", "0": "same", "?": "none"}[sign[0]]
    return f"<b>{sign.replace('-', MINUS)}</b><span>{word}</span>{_ratio(reading)}"


def _ratio(reading: Reading) -> str:
    if reading.reason:
        return "–"
    return f"{reading.air_fuel:.1f}" + ("*" if reading.starved else "") + ("†" if reading.flooded else "")


def _legend() -> str:
    first, second, third = (f"{100 * step:.0f} %" for step in LEANER_BY)
    return (
        f"+ leaner, {MINUS} richer than healthy: one sign from {first}, two from {second}, three from {third}; "
        f"0 where it is less than {first}. Below it, the air-fuel ratio."
    )
