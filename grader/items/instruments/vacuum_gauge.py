"""The vacuum gauge: a round dial that a hose joins to the manifold; nought at the lower left, clockwise up."""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen, rays

KIND = "vacuum gauge"
CENTRE = (160.0, 156.0)
START, SWEEP = -135.0, 270.0
"""Angle of the scale's beginning and the whole turn of the needle: three quarters of the dial. Common practice, no source."""

_LINES = {"inHg": (1, 5, 5), "kPa": (2, 10, 10)}
"""By scale: from line to line, from long line to long line, from figure to figure."""

SCALES = MappingProxyType(
    {
        "inHg": Scale(
            "inHg", "inHg", Fraction(0), Fraction(30), Fraction(1), Fraction(1, 2), Fraction(1, 2), "read to half a division"
        ),
        "kPa": Scale("kPa", "kPa", Fraction(0), Fraction(100), Fraction(2), Fraction(1), Fraction(1), "read to half a division"),
    }
)


def angle_of(scale: Scale, reading: float) -> float:
    """Where the needle stands: the angle is in proportion to the vacuum. [degrees clockwise from straight up]"""
    return START + SWEEP * (reading - float(scale.least)) / float(scale.greatest - scale.least)


def _hose_end(pen: Pen, x: float, top: float) -> None:
    """The hexagon that a wrench holds, and below it the nipple with the bead that keeps the hose on."""
    pen.box("fig-body", x - 15, top, x + 15, top + 32, 2)
    pen.strokes("fig-thin", [((x + side, top + 10), (x + side, top + 32)) for side in (-5, 5)])
    bead = [(8, 32), (8, 38), (10, 40), (8, 42), (8, 54)]
    pen.polygon("fig-body", [(x - out, top + down) for out, down in bead] + [(x + out, top + down) for out, down in bead[::-1]])


def draw(scale: Scale, reading: float) -> str:
    """
    The gauge with its needle at a reading in the scale's unit.

    Raises `UseError` off the scale.

    >>> drawing = draw(SCALES["inHg"], 17.5)
    >>> drawing == draw(SCALES["inHg"], 17.5), "17.5" in drawing
    (True, False)
    """
    reading = on_scale(KIND, scale, reading)
    division, long, figure = _LINES[scale.name]
    top = int(scale.greatest)
    pen = Pen(
        name_of(KIND),
        320,
        352,
        f"Vacuum gauge, {scale.unit}",
        f"A round gauge with a needle. Its scale runs clockwise from 0 at the lower left to {top} {scale.unit} at the lower "
        f"right, with a line every {division} {scale.unit}, a longer one every {long} and a figure every {figure}.",
    )
    x, y = CENTRE
    _hose_end(pen, x, y + 140)
    pen.circle("fig-rim", CENTRE, 150)
    pen.circle("fig-face", CENTRE, 141)
    pen.arc("fig-thin", CENTRE, 96, START, START + SWEEP)
    values = range(0, top + 1, division)
    pen.strokes("fig-scale", rays(CENTRE, 96, 107, (angle_of(scale, value) for value in values if value % long)))
    pen.strokes("fig-scale-long", rays(CENTRE, 96, 113, (angle_of(scale, value) for value in values if not value % long)))
    pen.figures(CENTRE, 126, ((angle_of(scale, value), str(value)) for value in values if not value % figure))
    pen.words(x, y + 52, "vacuum", "fig-middle")
    pen.words(x, y + 72, scale.unit, "fig-middle")
    pen.needle(CENTRE, angle_of(scale, reading), 105, 30, 9)
    return pen.figure()


INSTRUMENT = Instrument(KIND, "how far the pressure in the manifold lies below that of the air", SCALES, draw)
