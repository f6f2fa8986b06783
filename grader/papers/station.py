"""
An assessor's sheet for a bench station as PDF: a sheet for each candidate, or one to fill in by hand.

What a step is held against, value, tolerance and both ends, is printed as the specimen's sheet has it. The sheet goes to whoever
assesses; the station's text is open, so nothing on it is secret but the names.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from grader.base.printing import language_and_region, replaced
from grader.base.quantities import with_unit
from grader.items.station_file import Measure, Station, Step
from grader.papers.paper import own_minutes, shown_points
from grader.papers.pdf import breakable, compile_pdf

RULES = [
    "Watch; neither help nor judge before the end. Stop at once what is dangerous: that step is then not done.",
    "A step is done where what stands under it was seen, in its place in the order. Tick one box for each step.",
    "Write each reading with its unit, as it was read. A reading on an end of the range is inside.",
    "A critical step that is not done fails the station, whatever the points.",
]


@dataclass(frozen=True, slots=True)
class Sitter:
    """A candidate who comes to the station, and how long in minutes, extra time already added."""

    candidate: str
    name: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSheet:
    """What the assessors of one station need at one sitting; without sitters, sheets to be filled in by hand."""

    station: Station
    school: str
    language: str
    place: str = ""
    sitting: str = ""
    date: str = ""
    sitters: tuple[Sitter, ...] = ()


def sitters(people: Iterable[tuple[str, str, Fraction]], station: Station) -> tuple[Sitter, ...]:
    """
    Candidates with the time that each has at a station.

    Parameters
    ----------
    people : iterable of (candidate, name, extra time as a share)
    """
    minutes = Fraction(str(station.minutes))
    return tuple(Sitter(candidate, name, own_minutes(minutes, extra)) for candidate, name, extra in people)


def set_station(sheet: BenchSheet) -> bytes:
    """
    The assessor's sheets of a station as one PDF, a sheet for each candidate in their order.

    Raises `UseError` where it cannot be set: a sign that no font has.

    >>> from grader.items.station_file import Step
    >>> steps = (Step(1, "Measure it.", 1, "The rule stands upright."),)
    >>> station = Station("a", "a.yaml", 1, "Measure", "tank.2", 5.0, ("a rule",), ("a tank",), steps, ("Written down.",))
    >>> set_station(BenchSheet(station=station, school="Weirgate Workshop School", language="en-GB"))[:5]
    b'%PDF-'
    """
    data = json.dumps(_data(sheet), ensure_ascii=False)
    return compile_pdf("station.typ", {"sheet": data}, f"the sheet of station {sheet.station.id}")


def critical_line(station: Station) -> str:
    """
    Which steps fail the station, in a sentence.

    >>> from grader.items.station_file import Step
    >>> steps = tuple(Step(n, "Do.", 1, critical=n < 3) for n in (1, 2, 3))
    >>> critical_line(Station("a", "a.yaml", 1, "A", "tank.2", 5.0, (), (), steps, ()))
    'Critical: steps 1 and 2.'
    """
    numbers = [str(step.number) for step in station.critical]
    if not numbers:
        return "No step is critical."
    listed = " and ".join([*([", ".join(numbers[:-1])] if numbers[1:] else []), numbers[-1]])
    return f"Critical: step{'s' if numbers[1:] else ''} {listed}."


def _data(sheet: BenchSheet) -> dict[str, Any]:
    station = sheet.station
    language, region = language_and_region(sheet.language)
    return {
        "lang": language,
        "region": region,
        "school": breakable(sheet.school),
        "place": sheet.place,
        "title": breakable(station.title),
        "id": station.id,
        "sitting": breakable(sheet.sitting),
        "date": sheet.date,
        "specimen": station.specimen,
        "points": shown_points(str(station.points)),
        "minutes": own_minutes(Fraction(str(station.minutes)), Fraction(0)),
        "critical": critical_line(station),
        "cautions": _broken(station.cautions),
        "rules": RULES,
        "tools": _broken(station.tools),
        "supplied": _broken(station.supplied),
        "done": _broken(station.done),
        "steps": [_step(step) for step in station.steps],
        "sitters": [
            {"candidate": sitter.candidate, "name": breakable(replaced(sitter.name)), "minutes": sitter.minutes}
            for sitter in sheet.sitters
        ],
    }


def _broken(texts: Iterable[str]) -> list[str]:
    return [breakable(text) for text in texts]


def _step(step: Step) -> dict[str, Any]:
    return {
        "number": step.number,
        "text": breakable(step.text),
        "sees": breakable(step.sees),
        "critical": step.critical,
        "reason": breakable(step.reason),
        "points": shown_points(str(step.points)),
        "measure": measured(step.measure) if step.measure else None,
    }


def measured(measure: Measure) -> dict[str, str]:
    """
    What is printed of a measurement: what is measured, the sheet's value with its tolerance, the range, the unit of the reading.
    """
    says = measure.says[:1].upper() + measure.says[1:]
    return {
        "says": f"{says}." if says and not says.endswith(".") else says,
        "wanted": measure.wanted,
        "range": measure.range,
        "unit": with_unit("", measure.unit).strip(),
    }
