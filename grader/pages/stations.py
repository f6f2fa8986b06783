"""A `station` block: a task at the bench as learners see it, with the cautions, the order, and the tolerance from the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from grader.base.errors import UseError
from grader.items.lesson_file import read_pairs
from grader.items.model import Fence
from grader.items.station_file import Measure, Station, Step
from grader.pages.fences import nearest
from grader.pages.lessons import Fault


def station_html(fence: Fence, stations: Mapping[str, Station]) -> str:
    """
    The station that a block names with `name: float-level`.

    Raises `Fault` for an unknown name and for lines of another form.
    """
    try:
        pairs = read_pairs(fence)
    except UseError as error:
        raise Fault.of("wrong-block", error, "write `name: …`") from error
    name = pairs.get("name", "")
    if name not in stations:
        raise Fault("unknown-station", f"there is no station `{name[:60]}`", nearest(name, stations))
    station = stations[name]
    tools = (
        f"<p><strong>Tools</strong></p>{_list(station.tools)}<p><strong>What stands ready</strong></p>{_list(station.supplied)}"
    )
    return (
        f'<div class="course-station" id="station-{station.id}" role="group" aria-label="Bench station: {escape(station.title)}">'
        f'<p class="course-name">Bench station: {escape(station.title)}</p>'
        f'<p class="course-note">{escape(_facts(station))}</p>'
        f"{_cautions(station)}"
        f"<details><summary>Tools, and what stands ready</summary>{tools}</details>"
        f'<ol class="course-station-steps">{"".join(map(_step, station.steps))}</ol>'
        f"<p><strong>Done when</strong></p>{_list(station.done)}</div>"
    )


def _facts(station: Station) -> str:
    points = f"{station.points.normalize():f} points"
    on = f"Specimen {station.specimen}, " if station.specimen else ""
    critical = len(station.critical)
    steps = f", {critical} of {len(station.steps)} steps critical: failing one fails the station" if critical else ""
    return f"{on}{station.minutes:g} min, {points}{steps}. An assessor watches and signs."


def _list(texts: tuple[str, ...]) -> str:
    return f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in texts)}</ul>"


def _cautions(station: Station) -> str:
    if not station.cautions:
        return ""
    return f'<div class="admonition danger"><p class="admonition-title">Cautions</p>{_list(station.cautions)}</div>'


def _step(step: Step) -> str:
    critical = f"<br><strong>Critical.</strong> {escape(step.reason)}" if step.critical else ""
    measured = f"<br>{_measured(step.measure)}" if step.measure else ""
    return f"<li>{escape(step.text)}{measured}{critical}</li>"


def _measured(measure: Measure) -> str:
    says = f" {escape(measure.says[:1].upper() + measure.says[1:])}." if measure.says else ""
    wanted, ends = (f'<span class="course-whole">{escape(text)}</span>' for text in (measure.wanted, measure.range))
    return f"<strong>{wanted}: {ends}</strong>.{says}"
