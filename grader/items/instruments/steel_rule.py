"""The steel rule: a part stands against the same stop as the rule's end, and its other end is read on the rule's edge."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen, Stroke

KIND = "steel rule"
WIDTH, ZERO, EDGE, FOOT = 390.0, 26.0, 86.0, 170.0
"""Of the drawing, in units of its viewBox: its width; where the rule begins; height of the rule's upper and lower edge."""


@dataclass(frozen=True)
class _Edge:
    """How an edge is cut: units of the viewBox a unit of length, heights of lines by the step they belong to, longest first."""

    spread: float
    heights: tuple[tuple[Fraction, float], ...]
    figures: tuple[tuple[Fraction, str], ...]
    legend: str

    def height(self, value: Fraction) -> float:
        """The height of the line at a value: that of the longest step it is a multiple of."""
        return next(height for step, height in self.heights if not value % step)


def _inches(parts: int, spread: float, inches: int, legend: str, heights: tuple[float, ...]) -> _Edge:
    steps = tuple((Fraction(1, 2**power), height) for power, height in enumerate(heights))
    counts = range(8, inches * parts + 1, 8)  # the figures between the inches count the parts within each inch
    figures = tuple((Fraction(n, parts), str(n % parts or n // parts)) for n in counts)
    return _Edge(spread, steps, figures, legend)


def _millimetres(division: Fraction, spread: float, length: int, legend: str) -> _Edge:
    heights = ((Fraction(10), 40.0), (Fraction(5), 30.0), (Fraction(1), 21.0), (division, 12.0))
    return _Edge(spread, heights, tuple((Fraction(n), str(n)) for n in range(10, length + 1, 10)), legend)


_EDGES = MappingProxyType(
    {
        "inch 32nds": _inches(32, 170.0, 2, "32nds", (44.0, 38.0, 32.0, 25.0, 18.0, 12.0)),
        "inch 64ths": _inches(64, 340.0, 1, "64ths", (44.0, 38.0, 33.0, 27.0, 21.0, 16.0, 11.0)),
        "mm": _millimetres(Fraction(1), 6.8, 50, "mm"),
        "half mm": _millimetres(Fraction(1, 2), 11.2, 30, "½ mm"),
    }
)


def _scale(name: str, unit: str, greatest: int, division: str, resolution: str, says: str) -> Scale:
    line = Fraction(division)
    return Scale(name, unit, Fraction(0), Fraction(greatest), line, Fraction(resolution), line / 2, says)


SCALES = MappingProxyType(
    {
        scale.name: scale
        for scale in (
            _scale("inch 32nds", "in", 2, "1/32", "1/32", "read to the nearest line"),
            _scale("inch 64ths", "in", 1, "1/64", "1/64", "read to the nearest line"),
            _scale("mm", "mm", 50, "1", "1/2", "read to half a division"),
            _scale("half mm", "mm", 30, "1/2", "1/2", "read to the nearest line"),
        )
    }
)


def place_of(scale: Scale, reading: float) -> float:
    """How far to the right a reading lies, in units of the viewBox."""
    return ZERO + _EDGES[scale.name].spread * reading


@lru_cache(maxsize=len(SCALES))  # every drawing of a rule has the same
def _lines(name: str) -> tuple[tuple[str, tuple[Stroke, ...]], ...]:
    """The lines of a scale by their look, the short ones first."""
    scale, edge = SCALES[name], _EDGES[name]
    looks: dict[str, list[Stroke]] = {"fig-scale": [], "fig-scale-long": []}
    for n in range(1, int(scale.greatest / scale.division) + 1):
        value = scale.division * n
        place, height = place_of(scale, float(value)), edge.height(value)
        looks["fig-scale-long" if height >= 38 else "fig-scale"].append(((place, EDGE), (place, EDGE + height)))
    return tuple((look, tuple(lines)) for look, lines in looks.items())


def _said(scale: Scale) -> str:
    edge = _EDGES[scale.name]
    line = f"every {scale.division} {scale.unit}" if scale.unit == "in" else f"every {float(scale.division):g} mm"
    counted = f"; between the inches the figures count {edge.legend}" if scale.unit == "in" else ""
    return (
        f"A steel rule lies level. Its left end stands against a stop, and so does a part that lies along its upper edge. "
        f"The rule has a line {line} and is drawn from 0 to {scale.greatest} {scale.unit}, with a figure every "
        f"{'eighth line' if scale.unit == 'in' else '10 mm'}{counted}. The right end of the part is to be read."
    )


def draw(scale: Scale, reading: float) -> str:
    """
    The rule with a part of that length against it.

    Raises `UseError` off the scale.

    >>> draw(SCALES["mm"], 24.5) == draw(SCALES["mm"], 24.5)
    True
    """
    reading = on_scale(KIND, scale, reading)
    edge = _EDGES[scale.name]
    pen = Pen(name_of(KIND), WIDTH, 184, f"Steel rule, {edge.legend}", _said(scale))
    pen.box("fig-soft", 6, 14, ZERO, FOOT + 8)
    pen.box("fig-metal", ZERO, EDGE, WIDTH - 6, FOOT)
    pen.path("fig-thin", f"M{WIDTH - 6:g} {EDGE:g} H{ZERO:g} V{FOOT:g} H{WIDTH - 6:g}")
    if reading > 0:
        pen.box("fig-part", ZERO, 34, place_of(scale, reading), EDGE)
    for look, lines in _lines(scale.name):
        pen.strokes(look, lines)
    for value, text in edge.figures:
        whole = scale.unit == "in" and value.denominator == 1
        pen.words(place_of(scale, float(value)), EDGE + 57, text, "fig-middle", bold=whole)
    pen.words(ZERO + 6, FOOT - 6, edge.legend)
    return pen.figure()


INSTRUMENT = Instrument(KIND, "a length from a flat end: float level, float drop, pump stroke", SCALES, draw)
