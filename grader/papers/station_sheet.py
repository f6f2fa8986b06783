"""
An assessor's sheet for a bench station as one HTML file: it works from disk with no network, on a phone or a desk.

One page serves the whole class: the assessor chooses the candidate, ticks, writes readings, and saves a file for each. It is
whole without its script, keeps what was ticked, and says how a reading stands to the range on the specimen's sheet, with the
marker's own reader; it never ticks by itself.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape
from importlib.resources import files
from typing import Any

import msgspec

from grader.items.grid import decimals_of
from grader.items.station_file import Measure, Step
from grader.marking.browser import script as marker_script
from grader.marking.key import unit_entries
from grader.papers.paper import shown_points
from grader.papers.sheet import script_json, source_hash
from grader.papers.station import RULES, BenchSheet, critical_line, measured

_HOLE = re.compile(r"\{\{(\w+)\}\}")


def write_station_sheet(sheet: BenchSheet) -> str:
    """
    The assessor's sheet of a station, one HTML document; without sitters, sitting and candidate are typed in.

    >>> from grader.items.station_file import Station
    >>> steps = (Step(1, "Measure it.", 1, "The rule stands upright."),)
    >>> station = Station("a", "a.yaml", 1, "<Measure>", "tank.2", 5.0, ("a rule",), ("a tank",), steps, ("Written down.",))
    >>> page = write_station_sheet(BenchSheet(station=station, school="Weirgate Workshop School", language="en-GB"))
    >>> "&lt;Measure&gt;" in page, "<Measure>" in page
    (True, False)
    """
    station = sheet.station
    style = _text("sheet.css") + _text("station_sheet.css")
    marker, keeper, script = marker_script(), _text("kept.js"), _text("station_sheet.js")
    words = {
        "language": sheet.language,
        "title": station.title,
        "id": station.id,
        "school": sheet.school,
        "held": f" · sitting {sheet.sitting} · {sheet.date}" if sheet.sitting else "",
        "minutes": f"{station.minutes:g}",
        "points": shown_points(str(station.points)),
        "critical": critical_line(station).removeprefix("Critical: "),
        "count": str(len(station.steps)),
    }
    holes = {name: escape(value) for name, value in words.items()} | {
        "style": style,
        "style_hash": source_hash(style),
        "script_hashes": " ".join(map(source_hash, (marker, keeper, script))),
        "cautions": _cautions(station.cautions),
        "sitting_field": "" if sheet.sitting else _field("sitting", "Sitting"),
        "candidate_field": _candidates(sheet),
        "specimen": f"<div><dt>Specimen</dt><dd>{escape(station.specimen)}</dd></div>" if station.specimen else "",
        "tools": _items(station.tools),
        "supplied": _items(station.supplied),
        "rules": _items(tuple(RULES)),
        "steps": "\n".join(map(_step, station.steps)),
        "done": _items(station.done),
        "chips": "".join(
            f'<li><a id="chip-{step.number}" href="#s-{step.number}">{step.number}</a></li>' for step in station.steps
        ),
        "data": script_json(_data(sheet)),
        "marker": marker,
        "keeper": keeper,
        "script": script,
    }
    return _HOLE.sub(lambda hole: holes[hole[1]], _text("station_sheet.html"))


@cache
def _text(name: str) -> str:
    return files("grader.papers").joinpath(name).read_text(encoding="utf-8")


def _data(sheet: BenchSheet) -> dict[str, Any]:
    return {
        "station": sheet.station.id,
        "sitting": sheet.sitting,
        "minutes": float(sheet.station.minutes),
        "sitters": [{"candidate": sitter.candidate, "minutes": sitter.minutes} for sitter in sheet.sitters],
        "units": msgspec.to_builtins(unit_entries()),
        "steps": [
            {
                "number": str(step.number),
                "critical": step.critical,
                "wanted": _wanted(step.measure) if step.measure else None,
            }
            for step in sheet.station.steps
        ],
    }


def _wanted(measure: Measure) -> dict[str, str]:
    """The range in the form of a key's answer, so that a reading is read and held against it as an answer is."""
    value, low, high = (decimals_of(end.number) for end in (measure.value, measure.least, measure.greatest))
    return {
        "value": f"{value:f}" if value is not None else str(float(measure.value.number)),
        "low": f"{low:f}",
        "high": f"{high:f}",
        "unit": measure.unit.name,
        "shown": measure.value.shown,
        "within": measure.within,
        "range": measured(measure)["range"],
    }


def _items(sentences: tuple[str, ...]) -> str:
    return "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)


def _cautions(cautions: tuple[str, ...]) -> str:
    return f'<div class="caution"><h2>Caution</h2><ul>{_items(cautions)}</ul></div>' if cautions else ""


def _field(name: str, label: str) -> str:
    return (
        f'<p class="wide"><label for="{name}">{label}</label>'
        f'<input type="text" id="{name}" maxlength="80" autocomplete="off" autocapitalize="off" spellcheck="false"></p>'
    )


def _candidates(sheet: BenchSheet) -> str:
    if not sheet.sitters:
        return _field("candidate", "Candidate’s id")
    options = "".join(
        f'<option value="{escape(sitter.candidate)}">{escape(sitter.name)} · {escape(sitter.candidate)}</option>'
        for sitter in sheet.sitters
    )
    return (
        '<p class="wide"><label for="candidate">Candidate</label>'
        f'<select id="candidate" autocomplete="off"><option value="">not chosen</option>{options}</select></p>'
    )


def _step(step: Step) -> str:
    number = step.number
    points = shown_points(str(step.points))
    critical = f'<p class="reason"><strong>Critical:</strong> {escape(step.reason)}</p>' if step.critical else ""
    seen = f'<p class="seen">Seen: {escape(step.sees)}</p>' if step.sees else ""
    options = "".join(
        f'<label class="option"><input type="radio" name="s-{number}-done" value="{value}" data-step="{number}">{words}</label>'
        for value, words in (("done", "Done"), ("not done", "Not done"))
    )
    back = f'<button type="button" class="plain" id="back-{number}" data-back="{number}" hidden>Take back step {number}</button>'
    return (
        f'<section class="step{" critical" if step.critical else ""}" id="s-{number}" aria-labelledby="h-{number}">'
        f'<div class="title"><h2 id="h-{number}">Step {number}</h2>'
        f"<span>{points} point{'' if points == '1' else 's'}</span></div>"
        f"<p>{escape(step.text)}</p>{seen}{_reading(step)}{critical}"
        f'<fieldset><legend class="unseen">Step {number}</legend><div class="ticks">{options}</div></fieldset>{back}</section>'
    )


def _reading(step: Step) -> str:
    if step.measure is None:
        return ""
    number, shown = step.number, measured(step.measure)
    says = f" <span>{escape(shown['says'])}</span>" if shown["says"] else ""
    unit = f'<span class="unit">{escape(shown["unit"])}</span>' if shown["unit"] else ""
    wanted = f"Reading of step {number} ({escape(shown['unit'])})" if shown["unit"] else f"Reading of step {number}"
    return (
        f'<p class="wanted">{escape(shown["wanted"])}: {escape(shown["range"])}.{says}</p>'
        f'<label class="field" for="r-{number}">{wanted}</label>'
        f'<div class="line"><input type="text" id="r-{number}" data-step="{number}" maxlength="100" autocapitalize="off" '
        f'spellcheck="false" aria-describedby="read-{number}">{unit}</div>'
        f'<p class="read" role="status" id="read-{number}"></p>'
    )
