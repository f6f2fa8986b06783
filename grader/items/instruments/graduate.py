"""
The graduate: a glass cylinder that a pump's strokes are caught in; beside it the stretch round the liquid's surface, enlarged.

A liquid that wets the glass, as gasoline does, climbs a little at the wall. It is read at the lowest point of that curve, the eye
level with it. Source: a US national laboratory's teaching page on graduated cylinders, and other public texts that agree with it;
the standards (ISO 4787, ISO 4788) not seen.
"""

from __future__ import annotations

import math
from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import CAPITAL, Pen

KIND = "graduate"
FOOT, STEP = 282.0, 4.8
"""Of the whole cylinder: the height of its nought, and units of the viewBox a division."""

TOP, BOTTOM, LARGE = 14.0, 308.0, 14.0
"""Of the enlarged stretch: its ends, and units of the viewBox a division."""

CLIMB = 1
"""How high the liquid stands at the wall above its lowest point, in divisions: whoever reads there is off by so much."""

LINES, LONG, FIGURED = 50, 5, 10
"""Divisions of the cylinder; every so many a longer line; every so many a figure."""


def _scale(greatest: int, division: str) -> Scale:
    line = Fraction(division)
    return Scale(f"{greatest} cc", "cm^3", Fraction(0), Fraction(greatest), line, line / 2, line / 2, "read to half a division")


SCALES = MappingProxyType({one.name: one for one in (_scale(10, "0.2"), _scale(25, "0.5"), _scale(50, "1"))})


def draw(scale: Scale, reading: float) -> str:
    """
    The cylinder with so much in it.

    Raises `UseError` off the scale.

    >>> draw(SCALES["25 cc"], 13.5) == draw(SCALES["25 cc"], 13.5)
    True
    """
    reading = on_scale(KIND, scale, reading)
    level = reading / float(scale.division)
    pen = Pen(
        name_of(KIND),
        360,
        322,
        f"Graduate, {scale.name}",
        f"A glass cylinder on a foot with liquid in it, seen level with the liquid's surface, which is lower in the middle than "
        f"at the glass. It is marked from 0 to {scale.greatest} cc, with a line every {float(scale.division):g} cc and a figure "
        f"every {float(scale.division * FIGURED):g} cc. Beside it the stretch round the surface is enlarged.",
    )
    _cylinder(pen, scale, level)
    _enlarged(pen, scale, level)
    return pen.figure()


def _liquid(pen: Pen, left: float, right: float, foot: float, low: float, climb: float) -> None:
    """Liquid up to its curved surface, which touches `low` in the middle with a level tangent; and that surface as a line."""
    middle, reach = (left + right) / 2, (right - left) / 4
    wall = low - climb
    curve = (
        f"M{left:.2f} {wall:.2f} Q{middle - reach:.2f} {low:.2f} {middle:.2f} {low:.2f} "
        f"Q{middle + reach:.2f} {low:.2f} {right:.2f} {wall:.2f}"
    )
    if low < foot:
        pen.path("fig-fuel", f"{curve} V{foot:.2f} H{left:.2f} Z")
    pen.path("fig-surface", curve)


def _cylinder(pen: Pen, scale: Scale, level: float) -> None:
    """The whole cylinder: spout, foot, lines, liquid. Its figures stand outside the glass, where nothing crosses them."""
    left, right = 62.0, 118.0
    top = FOOT - LINES * STEP - 18
    _liquid(pen, left, right, FOOT + 10, FOOT - level * STEP, CLIMB * STEP)
    pen.path("fig-line", f"M{left + 2:g} {FOOT + 10:g} H{right - 2:g}")
    pen.path(
        "fig-line",
        f"M{left - 10:g} {top - 8:g} Q{left:g} {top - 4:g} {left:g} {top + 8:g} V{FOOT + 12:g} L{left - 22:g} {FOOT + 26:g} "
        f"H{right + 22:g} L{right:g} {FOOT + 12:g} V{top - 6:g} Q{right:g} {top - 8:g} {right - 3:g} {top - 8:g} H{left - 10:g}",
    )
    lengths = {n: 26 if not n % FIGURED else 19 if not n % LONG else 12 for n in range(LINES + 1)}
    pen.strokes("fig-scale", [((left, FOOT - n * STEP), (left + reach, FOOT - n * STEP)) for n, reach in lengths.items()])
    for n in range(FIGURED, LINES + 1, FIGURED):
        pen.words(left - 6, FOOT - n * STEP + CAPITAL, _figure(scale, n), "fig-end")


def _enlarged(pen: Pen, scale: Scale, level: float) -> None:
    """The stretch round the surface; the lines reach past the middle, where it is read."""
    left, right = 216.0, 346.0
    half = (BOTTOM - TOP) / 2 / LARGE
    start = min(max(round(level) - half, -0.7), LINES + 2.2 - 2 * half)  # the division at its lower end
    middle = (left + right) / 2

    def height(n: float) -> float:
        return BOTTOM - (n - start) * LARGE

    _liquid(pen, left, right, BOTTOM, height(level), CLIMB * LARGE)
    pen.strokes("fig-line", [((left, TOP), (left, BOTTOM)), ((right, TOP), (right, BOTTOM))])
    seen = range(max(0, math.ceil(start)), min(LINES, math.floor(start + 2 * half)) + 1)
    figured = [n for n in seen if not n % FIGURED]
    pen.strokes("fig-scale-long", [((left, height(n)), (middle + 22, height(n))) for n in figured])
    plain = {n: middle + (10 if n % LONG else 16) for n in seen if n not in figured}
    pen.strokes("fig-scale", [((left, height(n)), (end, height(n))) for n, end in plain.items()])
    for n in figured:
        pen.words(left - 7, height(n) + CAPITAL, _figure(scale, n), "fig-end")


def _figure(scale: Scale, n: int) -> str:
    return f"{float(n * scale.division):g}"


INSTRUMENT = Instrument(KIND, "a small volume: what the pump delivers in so many strokes", SCALES, draw)
