"""The tachometer of a bench set: a needle in a window, lines evenly spaced over the speed of the engine."""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import PIVOT, Pen, rays

KIND = "tachometer"
RADIUS, SWEEP = 184.0, 47.0
"""Of the arc, in units of the viewBox; how far the needle turns to either side of straight up, in degrees."""

_LINES = MappingProxyType({"2000 rev/min": (50, 100, 500), "6000 rev/min": (100, 500, 1000)})
"""By scale: from line to line, from long line to long line, from figure to figure."""


def _scale(greatest: int, resolution: int, says: str) -> Scale:
    name = f"{greatest} rev/min"
    line, half = Fraction(_LINES[name][0]), Fraction(_LINES[name][0], 2)
    return Scale(name, "rev/min", Fraction(0), Fraction(greatest), line, Fraction(resolution), half, says)


SCALES = MappingProxyType(
    {one.name: one for one in (_scale(2000, 25, "read to half a division"), _scale(6000, 100, "read to the nearest line"))}
)


def angle_of(scale: Scale, reading: float) -> float:
    """Where the needle stands: the angle is in proportion to the speed. [degrees clockwise from straight up]"""
    return -SWEEP + 2 * SWEEP * reading / float(scale.greatest)


def draw(scale: Scale, reading: float) -> str:
    """
    The meter at an engine's speed.

    Raises `UseError` off the scale.

    >>> draw(SCALES["2000 rev/min"], 675) == draw(SCALES["2000 rev/min"], 675)
    True
    """
    reading = on_scale(KIND, scale, reading)
    division, long, figure = _LINES[scale.name]
    top = int(scale.greatest)
    pen = Pen(
        name_of(KIND),
        390,
        250,
        f"Tachometer, {scale.name}",
        f"A meter with a needle in a window. Its scale runs from 0 at the left to {top} rev/min at the right, with a line every "
        f"{division}, a longer one every {long} and a figure every {figure}.",
    )
    pen.box("fig-rim", 4, 4, 386, 246, 16)
    pen.meter(RADIUS, SWEEP, angle_of(scale, reading))
    values = range(0, top + 1, division)
    pen.strokes("fig-scale", rays(PIVOT, RADIUS, RADIUS + 10, (angle_of(scale, n) for n in values if n % long)))
    pen.strokes(
        "fig-scale", rays(PIVOT, RADIUS, RADIUS + 14, (angle_of(scale, n) for n in values if not n % long and n % figure))
    )
    pen.strokes("fig-scale-long", rays(PIVOT, RADIUS, RADIUS + 18, (angle_of(scale, n) for n in values if not n % figure)))
    pen.figures(PIVOT, RADIUS + 30, ((angle_of(scale, n), str(n)) for n in values if not n % figure))
    pen.words(32, 40, "rev/min")
    pen.circle("fig-face", (195, 216), 11)
    pen.strokes("fig-scale-long", [((188, 216), (202, 216))])
    for x in (60, 330):
        pen.circle("fig-face", (x, 216), 12)
        pen.circle("fig-dot", (x, 216), 5)
    return pen.figure()


INSTRUMENT = Instrument(KIND, "the speed of the engine, at idle and above", SCALES, draw)
