"""The angle gauge: a quadrant on a flat rail, and a blade that is laid along what stands at an angle to the rail."""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen, around, rays, written

KIND = "angle gauge"
PIVOT = (34.0, 344.0)
OUTER, SHORT, MIDDLE, LONG = 308.0, 10.0, 19.0, 30.0
"""Where the blade turns; the radius at which the lines end; how long they are; in units of the viewBox."""

SCALES = MappingProxyType(
    {
        "degree": Scale(
            "degree", "deg", Fraction(0), Fraction(90), Fraction(1), Fraction(1), Fraction(1, 2), "read to the nearest line"
        )
    }
)


def angle_of(reading: float) -> float:
    """Where the blade points: as far up from the rail as the angle says. [degrees clockwise from straight up]"""
    return 90 - reading


def _plate(pen: Pen) -> None:
    """The plate, a little more than a quarter of a circle, its middle cut out, and the rail it stands on."""
    edge, inside, past = OUTER + 30, 216.0, 4.0
    corners = [around(PIVOT, radius, angle) for radius, angle in ((edge, -past), (edge, 90 + past), (inside, 90), (inside, 0))]
    (x1, y1), (x2, y2), (x3, y3), (x4, y4) = ((written(x), written(y)) for x, y in corners)
    foot = PIVOT[1] + 22
    pen.path(
        "fig-rim",
        f"M{x1} {y1} A{edge:g} {edge:g} 0 0 1 {x2} {y2} V{foot:g} H{x1} Z "
        f"M{x3} {y3} A{inside:g} {inside:g} 0 0 0 {x4} {y4} V{PIVOT[1]:g} Z",
    )
    pen.box("fig-body", 5, foot, 385, foot + 20, 2)


def draw(scale: Scale, reading: float) -> str:
    """
    The gauge with its blade at so many degrees from the rail.

    Raises `UseError` off the scale.

    >>> draw(SCALES["degree"], 27) == draw(SCALES["degree"], 27)
    True
    """
    reading = on_scale(KIND, scale, reading)
    pen = Pen(
        name_of(KIND),
        390,
        392,
        "Angle gauge, degrees",
        "A quadrant on a flat rail, with a blade that turns about the corner. It is marked from 0 degrees along the rail to 90 "
        "degrees straight up, with a line every degree, a longer one every 5 and a figure every 10. The blade ends in a needle "
        "that reaches up to the lines.",
    )
    _plate(pen)
    pen.arc("fig-thin", PIVOT, OUTER, 0, 90)
    values = range(91)
    pen.strokes("fig-scale", rays(PIVOT, OUTER - SHORT, OUTER, (angle_of(n) for n in values if n % 5)))
    pen.strokes("fig-scale", rays(PIVOT, OUTER - MIDDLE, OUTER, (angle_of(n) for n in values if n % 10 == 5)))
    pen.strokes("fig-scale-long", rays(PIVOT, OUTER - LONG, OUTER, (angle_of(n) for n in values if not n % 10)))
    pen.figures(PIVOT, OUTER + 15, ((angle_of(n), str(n)) for n in values if not n % 10))
    angle, reach = angle_of(reading), OUTER - SHORT - 1  # up to the shortest lines, none of which it covers
    for look, outline in (
        ("fig-part", [(254, 8), (268, 2), (268, -2), (254, -8), (-16, -8), (-16, 8)]),
        ("fig-needle", [(reach, -0.8), (reach, 0.8), (267, 2), (267, -2)]),
    ):
        pen.polygon(look, [around(around(PIVOT, far, angle), side, angle + 90) for far, side in outline])
    pen.circle("fig-body", PIVOT, 7)
    return pen.figure()


INSTRUMENT = Instrument(KIND, "the angle of a plate or a lever to a flat face", SCALES, draw)
