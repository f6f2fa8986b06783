"""
What must hold of bench stations: every practical objective has one, and what can hurt somebody there is said on it.

What a station comes near is found by words of the trade in its own texts; a sentence of its cautions must then speak of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from grader.base.findings import Finding
from grader.items.course import Course
from grader.items.course_checks import waiting
from grader.items.model import Blueprint, Objective
from grader.items.shapes import nearest
from grader.items.station_file import STATIONS, Station


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something that hurts: what it is called, the words that show it is near, and those of which a caution must hold one."""

    name: str
    near: re.Pattern[str]
    caution: re.Pattern[str]
    speaks_of: str


def _words(words: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{words})", re.IGNORECASE)


HAZARDS = (
    Hazard(
        "fuel",
        _words("fuel|gasoline|test liquid|graduate|bowl filled"),
        _words("flame|spark|ignition source|no smoking|fire"),
        "flame and spark",
    ),
    Hazard(
        "a running engine",
        _words(r"engine (?:\w+ )?(?:runs|running|idles|started|warm)|start the engine|running engine|tachometer|crank(?:ed|ing)"),
        _words("carbon monoxide|exhaust"),
        "exhaust and carbon monoxide",
    ),
    Hazard(
        "moving parts",
        _words(r"engine (?:\w+ )?(?:runs|running|idles|started|warm)|start the engine|running engine|fan\b|belts?\b"),
        _words("fan|belt|moving|sleeve"),
        "fan, belts and sleeves",
    ),
    Hazard(
        "a vehicle that can roll",
        _words("vehicle|parking brake|test stand"),
        _words("chock|roll|parking brake|brake"),
        "chocks and brake",
    ),
    Hazard(
        "something that flies",
        _words("compressed air|solvent|cleaner|springs?|check balls?|hand pump|sprays?|full stream"),
        _words("eyes?|eye protection|goggles|glasses"),
        "eye protection",
    ),
    Hazard(
        "emission law",
        _words("seal(?:s|ed)?\\b|rivet|emission|mixture screw|choke cover|coil(?:'s)? cover|curb idle|idle speed|fast idle"),
        _words("law|emission|sealed"),
        "what the law may forbid",
    ),
)
_DEFERS = _words("local codes?|licen[sc]ed|licen[sc]e\\b")


def check_stations(course: Course) -> Iterator[Finding]:
    """Everything wrong with a course's stations, and with objectives and blueprints that need them."""
    for station in course.stations.values():
        yield from _objective(station, course)
        yield from _cautions(station)
    for objective in course.objectives.values():
        if objective.level == "P":
            yield from _shown(objective, course)
    for blueprint in course.blueprints.values():
        yield from _named(blueprint, course)


def at_bench(course: Course) -> frozenset[str]:
    """The practical objectives that a station shows: practised and examined at the bench."""
    practical = {objective.id for objective in course.objectives.values() if objective.level == "P"}
    return frozenset(practical & {station.objective for station in course.stations.values()})


def _objective(station: Station, course: Course) -> Iterator[Finding]:
    objective = course.objectives.get(station.objective)
    line = station.lines.get("objective", station.line)
    unread = course.waits(station.circuit, "lessons")
    if objective is None and unread:
        yield waiting(unread)
    elif objective is None:
        near = nearest(station.objective, course.objectives)
        mend = f"did you mean {near}?" if near else "name one that stands in the head of a lesson"
        what = f"{station.id}: no lesson teaches {station.objective}"
        yield Finding(station.file, line, "unknown-objective", what, mend, path=station.id)
    elif objective.level != "P":
        what = f"{station.id}: {objective.id} is of level {objective.level}, and only P is shown at the bench"
        mend = "name an objective of level P, or write items for this one"
        yield Finding(station.file, line, "not-practical", what, mend, path=station.id)


def _shown(objective: Objective, course: Course) -> Iterator[Finding]:
    if any(station.objective == objective.id for station in course.stations.values()):
        return
    unread = next((name for name in course.unread if name.startswith(f"{STATIONS}/")), "")
    if unread:
        yield waiting(unread)
        return
    lesson = next(lesson for lesson in course.lessons if objective in lesson.objectives)
    what = f"the objective {objective.id} is shown at the bench, and no station is for it"
    yield Finding(lesson.file, objective.line, "no-station", what, f"write one into {STATIONS}")


def _texts(station: Station) -> Iterator[tuple[str, str]]:
    """Every text in which a hazard can show, and where it stands."""
    yield station.title, "the title"
    for name in ("tools", "supplied", "done"):
        for text in getattr(station, name):
            yield text, f"`{name}`"
    for step in station.steps:
        measured = step.measure.says if step.measure else ""
        yield f"{step.text} {step.sees} {measured}", f"step {step.number}"


def hazards(station: Station) -> dict[str, tuple[Hazard, str]]:
    """
    What a station comes near: each hazard by its name, and where it first shows.

    >>> from grader.items.station_file import Step
    >>> step = Step(1, "Start the engine.", 9, "It runs.")
    >>> station = Station("a", "a.yaml", 1, "Idle", "idle.10", 5.0, ("rule",), ("a bench",), (step,), ("Done.",))
    >>> list(hazards(station))
    ['a running engine', 'moving parts']
    """
    found: dict[str, tuple[Hazard, str]] = {}
    for hazard in HAZARDS:
        for text, place in _texts(station):
            shown = hazard.near.search(text)
            if shown:
                found[hazard.name] = hazard, f"{place} says “{shown[0]}”"
                break
    return found


def _cautions(station: Station) -> Iterator[Finding]:
    near = hazards(station)
    line = station.lines.get("cautions", station.line)
    if near and not station.cautions:
        what = f"{station.id} comes near {', '.join(near)} and has no cautions"
        mend = "write `cautions`: a sentence for each, and that local codes and licensed practice decide"
        yield Finding(station.file, line, "no-cautions", what, mend, path=station.id)
    elif near:
        for hazard, where in near.values():
            if not any(hazard.caution.search(caution) for caution in station.cautions):
                what = f"{station.id} comes near {hazard.name} ({where}), and no caution speaks of {hazard.speaks_of}"
                yield Finding(station.file, line, "missing-caution", what, "add a sentence to `cautions`", path=station.id)
        if not any(_DEFERS.search(caution) for caution in station.cautions):
            what = f"{station.id}: the cautions do not say who decides"
            mend = "add that local codes, the sheet and licensed practice come first"
            yield Finding(station.file, line, "no-deference", what, mend, path=station.id)
    if near and not station.critical:
        what = f"{station.id} comes near {', '.join(near)} and no step is critical"
        mend = "mark the step that makes it safe `critical: true`, with the reason"
        yield Finding(station.file, station.lines.get("steps", station.line), "no-critical-step", what, mend, path=station.id)


def _named(blueprint: Blueprint, course: Course) -> Iterator[Finding]:
    line = blueprint.lines.get("stations", blueprint.line)
    for name in blueprint.stations:
        if name in course.stations:
            continue
        if f"{STATIONS}/{name}.yaml" in course.unread:
            yield waiting(f"{STATIONS}/{name}.yaml")
            continue
        near = nearest(name.replace("-", "_"), [other.replace("-", "_") for other in course.stations]).replace("_", "-")
        there = f"the stations are {', '.join(course.stations)}" if course.stations else f"write it into {STATIONS}"
        yield Finding(
            blueprint.file, line, "unknown-station", f"there is no station `{name}`", f"did you mean `{near}`?" if near else there
        )
    if len(set(blueprint.stations)) < len(blueprint.stations):
        yield Finding(blueprint.file, line, "repeated-value", "a station stands twice in the list", "keep one of the two")
    if blueprint.stations and not blueprint.cautions:
        what = "the blueprint names stations and has no cautions, which the paper prints"
        yield Finding(blueprint.file, line, "no-cautions", what, "write `cautions` for whoever goes from the desk to the bench")
