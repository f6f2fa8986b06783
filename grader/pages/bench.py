"""
A `bench` block: a specimen's whole carburetor to work on, computed at build for each fault, altitude and fuel there is to choose.

    specimen: T-1
    altitudes: 0 ft, 4000 ft, 8000 ft

Without a script stands its healthy curve with the table below it; `assets/bench.js` lets faults, altitude and fuel be chosen, and
hides a fault to be found from its readings.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from html import escape
from typing import Any

from grader.base.errors import UseError
from grader.base.quantities import show, unit
from grader.circuits.carburetor import Conditions
from grader.circuits.curves import Curve, Reading, curves
from grader.circuits.faults import FAULTS
from grader.circuits.fuels import FUELS
from grader.circuits.specimens import Specimen
from grader.items.exploring import read_bench
from grader.items.model import Fence
from grader.items.sheet_values import NotThere, Sheets, conditions_at
from grader.pages.curves import curves_html
from grader.pages.lessons import Fault, Page


def bench_html(fence: Fence, page: Page, sheets: Sheets) -> str:
    """A `bench` block; `Fault` where it names no specimen or no altitudes."""
    try:
        specimen, altitudes = read_bench(fence, sheets)
    except UseError as error:
        code = error.code if isinstance(error, NotThere) else "wrong-block"
        raise Fault.of(code, error, "write `specimen: T-1`, and if wanted `altitudes: 0 ft, 4000 ft`") from error
    page.benches.append(specimen.id)
    still = curves_html(Fence("curves", fence.line, (f"specimen: {specimen.id}",)), page, sheets)
    settings = json.dumps(_settings(specimen, altitudes), ensure_ascii=False, separators=(",", ":")).replace("</", "<\\/")
    title = f"{escape(specimen.id)} on the bench"
    return (
        f'<course-bench data-search-exclude><p class="course-name">{title}</p><div class="bench-still">{still}</div>'
        f'<script type="application/json">{settings}</script></course-bench>'
    )


def _settings(specimen: Specimen, altitudes: Sequence[float]) -> dict[str, Any]:
    faults = [fault for fault in FAULTS.values() if fault.fits(specimen)]
    return {
        "points": [point.name for point in specimen.points],
        "rpm": [round(point.speed * 60) for point in specimen.points],
        "altitudes": ["sea level" if not height else show(height, unit("ft"), 4) for height in altitudes],
        "fuels": [{"name": fuel.says, "even": fuel.stoichiometric} for fuel in FUELS.values()],
        "faults": [{"name": fault.name.replace("-", " "), "says": fault.says} for fault in faults],
        "states": [[_states(specimen, name, height) for height in altitudes] for name in FUELS],
    }


@lru_cache(maxsize=64)
def _states(specimen: Specimen, fuel: str, altitude: float) -> list[dict[str, Any]]:
    """The healthy carburetor, then one for each fault: mixture and vacuum at every point; null where there is none."""
    conditions = Conditions(conditions_at(altitude).air, FUELS[fuel])
    faults = [fault for fault in FAULTS.values() if fault.fits(specimen)]
    return [_readings(curve) for curve in curves(specimen, faults, conditions)]


def _readings(curve: Curve) -> dict[str, Any]:
    said: Mapping[str, Any] = {
        "ratio": [_number(reading.air_fuel, 2) for reading in curve.readings],
        "vacuum": [_number(reading.vacuum_inHg, 1) for reading in curve.readings],
    }
    notes = {place: _note(reading) for place, reading in enumerate(curve.readings) if _note(reading)}
    return {**said, "notes": notes} if notes else dict(said)


def _note(reading: Reading) -> str:
    if reading.reason:
        return reading.reason
    return "starved: the inlet lets in less than is drawn" if reading.starved else "the bowl floods" if reading.flooded else ""


def _number(value: float, places: int) -> float | None:
    return round(value, places) if value == value else None
