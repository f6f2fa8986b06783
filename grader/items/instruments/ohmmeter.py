"""
The ohmmeter with a needle: nought at the right, lines that crowd to the left, and a switch whose range multiplies what is read.

It is a series ohmmeter: meter, battery and inner resistance in one loop with what is measured. So the needle's part of its full
travel is inner / (inner + measured), and half of it is reached where the two are equal. Source: US Army signal training text on
ohmmeters (the resistance at mid-scale is the meter's own; full travel is nought). Only the right half is asked for, where the
lines are open.
"""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import PIVOT, Pen, around, rays

KIND = "ohmmeter"
RADIUS, SWEEP = 180.0, 54.0
"""Of the arc, in units of the viewBox; how far the needle turns to either side of straight up, in degrees."""

INNER = 10
"""What the face says at mid-scale: the meter's own resistance on its lowest range, ohm."""

_FACE = (
    *(Fraction(n, 2) for n in range(21)),
    *map(Fraction, (*range(11, 21), 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 200)),
)
"""The lines of the face."""

_LONG = frozenset((0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 15, 20, 30, 40, 50, 100))
_FIGURES = (0, 1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)


def _scale(times: int) -> Scale:
    line = Fraction(times, 2)
    says = "read to the nearest line, times the range"
    return Scale(f"x{times}", "ohm", Fraction(0), Fraction(INNER * times), line, line, line / 2, says)


SCALES = MappingProxyType({f"x{times}": _scale(times) for times in (1, 10, 100)})


def angle_of(face: float) -> float:
    """Where the needle stands for what the face says. [degrees clockwise from straight up]"""
    return -SWEEP + 2 * SWEEP * INNER / (INNER + face)


def draw(scale: Scale, reading: float) -> str:
    """
    The meter with so much between its leads.

    Raises `UseError` off the scale.

    >>> draw(SCALES["x10"], 45) == draw(SCALES["x10"], 45)
    True
    """
    reading = on_scale(KIND, scale, reading)
    times = int(scale.greatest) // INNER
    pen = Pen(
        name_of(KIND),
        390,
        322,
        "Ohmmeter with a needle",
        f"A meter with a needle, a range switch and two leads. Its scale runs from 0 ohm at the right end to infinity at the "
        f"left, where the lines crowd together. From 0 to 10 there is a line every half. The switch stands at times {times}.",
    )
    pen.box("fig-rim", 4, 4, 386, 318, 16)
    pen.meter(RADIUS, SWEEP, angle_of(reading / times))
    pen.strokes("fig-scale", rays(PIVOT, RADIUS, RADIUS + 10, (angle_of(float(n)) for n in _FACE if n not in _LONG)))
    pen.strokes("fig-scale-long", rays(PIVOT, RADIUS, RADIUS + 15, (angle_of(float(n)) for n in _FACE if n in _LONG)))
    pen.strokes("fig-scale-long", rays(PIVOT, RADIUS, RADIUS + 15, [-SWEEP]))
    pen.figures(PIVOT, RADIUS + 27, [(-SWEEP, "∞"), *((angle_of(n), str(n)) for n in _FIGURES)])
    pen.words(32, 40, "Ω")
    _switch(pen, times)
    for x, sign in ((60, "−"), (330, "+")):
        pen.circle("fig-face", (x, 282), 13)
        pen.circle("fig-dot", (x, 282), 6)
        pen.words(x, 256, sign, "fig-middle")
    return pen.figure()


def _switch(pen: Pen, times: int) -> None:
    """The range switch; its pointer stands at what multiplies the face."""
    centre = (195.0, 274.0)
    places = {1: -62, 10: 0, 100: 62}
    pen.circle("fig-body", centre, 30)
    pen.strokes("fig-scale", rays(centre, 33, 39, places.values()))
    pen.words(around(centre, 44, -62)[0], around(centre, 44, -62)[1] + 5, "×1", "fig-end fig-on-metal")
    pen.words(195, centre[1] - 44, "×10", "fig-middle fig-on-metal")
    pen.words(around(centre, 44, 62)[0], around(centre, 44, 62)[1] + 5, "×100", "fig-on-metal")
    tip, angle = around(centre, 28, places[times]), places[times]
    pen.polygon("fig-needle", [tip, *(around(around(centre, 24, angle + 180), side, angle + 90) for side in (5, -5))])


INSTRUMENT = Instrument(KIND, "the resistance of a heater, a solenoid or a lead, taken off its circuit", SCALES, draw)
