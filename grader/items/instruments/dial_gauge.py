"""
The dial gauge: a large needle that goes round once in a hundred divisions, and a small one that counts its turns.

Both needles are geared together, so the small one stands between two of its lines as the large one stands between noughts.
Source: the rule of reading (turns from the small dial, the rest from the large one) as set out in several public teaching texts
on dial indicators; makers' standards not seen.
"""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen, rays

KIND = "dial gauge"
CENTRE = (170.0, 166.0)
COUNTER = (170.0, 225.0)
"""Where the two needles turn, in units of the viewBox."""

DIVISIONS, TURNS = 100, 10
"""Lines of the large dial; lines of the small one, a turn of the large needle each."""


def _scale(name: str, unit: str, division: str) -> Scale:
    line = Fraction(division)
    return Scale(name, unit, Fraction(0), line * (DIVISIONS * TURNS - 1), line, line, line / 2, "read to the nearest line")


SCALES = MappingProxyType({"inch": _scale("inch", "in", "0.001"), "mm": _scale("mm", "mm", "0.01")})


def angles_of(scale: Scale, reading: float) -> tuple[float, float]:
    """Where the large and the small needle stand. [degrees clockwise from straight up]"""
    turns = reading / float(scale.division * DIVISIONS)
    return 360 * (turns % 1), 360 * turns / TURNS


def draw(scale: Scale, reading: float) -> str:
    """
    The gauge with its spindle pushed in so far.

    Raises `UseError` off the scale.

    >>> draw(SCALES["inch"], 0.237) == draw(SCALES["inch"], 0.237)
    True
    """
    reading = on_scale(KIND, scale, reading)
    division = f"{float(scale.division):g} {scale.unit}"
    turn = f"{float(scale.division * DIVISIONS):g} {scale.unit}"
    pen = Pen(
        name_of(KIND),
        340,
        392,
        f"Dial gauge, {division}",
        f"A dial gauge with its spindle below. The large dial has {DIVISIONS} lines, numbered every tenth, {division} from line "
        f"to line, clockwise from 0 at the top. A small dial in its lower half has {TURNS} lines, every second one numbered, one "
        f"for each turn of the large needle, {turn}.",
    )
    x, y = CENTRE
    pen.box("fig-body", x - 11, y + 150, x + 11, y + 192, 2)
    pen.box("fig-part", x - 5, y + 192, x + 5, y + 214)
    pen.polygon("fig-solid", [(x - 5, y + 214), (x + 5, y + 214), (x + 2, y + 222), (x - 2, y + 222)])
    pen.circle("fig-rim", CENTRE, 160)
    pen.circle("fig-face", CENTRE, 150)
    steps = {n: 360 * n / DIVISIONS for n in range(DIVISIONS)}
    pen.strokes("fig-scale", rays(CENTRE, 138, 148, [angle for n, angle in steps.items() if n % 5]))
    pen.strokes("fig-scale", rays(CENTRE, 132, 148, [angle for n, angle in steps.items() if n % 10 == 5]))
    pen.strokes("fig-scale-long", rays(CENTRE, 128, 148, [angle for n, angle in steps.items() if not n % 10]))
    pen.figures(CENTRE, 113, ((angle, str(n)) for n, angle in steps.items() if not n % 10))
    pen.words(x, y - 62, division, "fig-middle")
    large, small = angles_of(scale, reading)
    counted = {n: 360 * n / TURNS for n in range(TURNS)}
    pen.circle("fig-thin", COUNTER, 41)
    pen.strokes("fig-scale", rays(COUNTER, 33, 41, (angle for n, angle in counted.items() if n % 2)))
    pen.strokes("fig-scale-long", rays(COUNTER, 33, 41, (angle for n, angle in counted.items() if not n % 2)))
    pen.figures(COUNTER, 23, ((angle, str(n)) for n, angle in counted.items() if not n % 2))
    pen.needle(COUNTER, small, 37, 7, 4, 5)
    pen.needle(CENTRE, large, 143, 15, 7, 3)
    return pen.figure()


INSTRUMENT = Instrument(KIND, "a small travel: play in a shaft, runout, how far a part has moved", SCALES, draw)
