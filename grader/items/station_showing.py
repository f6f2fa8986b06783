"""A bench station as its author wants to see it: cautions, steps in order, and what each is held against, as text."""

from __future__ import annotations

from collections.abc import Iterator

from grader.items.station_file import Station, Step


def station_text(station: Station) -> str:
    """
    A station as plain text.

    >>> step = Step(1, "Lay the rule across.", 7, "It passes the middle.", critical=True, reason="Else it reads short.")
    >>> station = Station("a", "a.yaml", 1, "Measure", "tank.2", 5.0, ("rule",), ("a tank",), (step,), ("Written down.",))
    >>> print(station_text(station).splitlines()[0])
    a  (station, objective tank.2, 1 point, 5 min)
    """
    worth = f"{station.points.normalize():f} point{'' if station.points == 1 else 's'}, {station.minutes:g} min"
    on = f", specimen {station.specimen}" if station.specimen else ""
    lines = [
        f"{station.id}  (station, objective {station.objective}, {worth}{on})",
        f"{station.file}:{station.line}",
        "",
        station.title,
    ]
    for name in ("cautions", "tools", "supplied"):
        texts = getattr(station, name)
        lines += ["", f"{name}:", *(f"- {text}" for text in texts)] if texts else []
    lines.append("")
    for step in station.steps:
        lines += _step(step)
    lines += ["", "done when:", *(f"- {text}" for text in station.done)]
    return "\n".join(lines) + "\n"


def _step(step: Step) -> Iterator[str]:
    points = f"{step.points.normalize():f} point{'' if step.points == 1 else 's'}"
    yield f"{step.number}. {step.text}  ({points})"
    if step.measure:
        yield f"   measured: {step.measure.name}, {step.measure.shown}"
    if step.sees:
        yield f"   seen: {step.sees}"
    if step.critical:
        yield f"   CRITICAL: {step.reason}"
