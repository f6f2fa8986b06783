"""
Numbered drill shanks tried in a gap, one after the other: the gap is called by the largest that goes.

How a choke plate's or a vacuum break's gap is set: common practice, no source. The sizes are those of `circuits.drills`.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from grader.circuits.drills import DRILLS, drill_inches
from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen

KIND = "drill shanks"
GAP = 46.0
"""How high the gap is drawn, in units of the viewBox, whatever its size."""

TRIED = 4
"""How many shanks are tried."""

_BORES = MappingProxyType({number: Fraction(drill_inches(f"#{number}")) for number in DRILLS})
_READINGS = tuple(sorted(_BORES[number] for number in range(2, 81)))  # a larger one is tried besides


def _scale(name: str) -> Scale:
    steps = [after - before for before, after in pairwise(_READINGS)]
    # Nearer to the shank that goes than to any neighbour: a little less than half the least step of the series.
    within, says = Fraction("0.0004"), "read the largest shank that goes"
    return Scale(name, "in", _READINGS[0], _READINGS[-1], min(steps), min(steps), within, says, _READINGS)


SCALES = MappingProxyType({name: _scale(name) for name in ("number", "inch")})


def goes(reading: float) -> int:
    """The number of the largest drill that goes into a gap of so many inches."""
    return min(number for number, bore in _BORES.items() if float(bore) <= reading * (1 + 1e-9))


def tried(reading: float) -> list[int]:
    """The numbers of the drills that are tried, the smallest first; where the largest that goes stands among them differs."""
    largest = goes(reading)
    first = max(min(largest + largest % (TRIED - 1), max(DRILLS)), TRIED)
    return [first - step for step in range(TRIED)]


def draw(scale: Scale, reading: float) -> str:
    """
    Four shanks at a gap of that size, or a little more.

    Raises `UseError` off the scale.

    >>> draw(SCALES["inch"], 0.0465) == draw(SCALES["inch"], 0.0465)
    True
    """
    reading = on_scale(KIND, scale, reading)
    largest = goes(reading)
    bore, after = _BORES[largest], _BORES[largest - 1]
    size = max(reading, float(bore + (after - bore) * 2 / 5))  # a shank that goes has a little room
    pen = Pen(
        name_of(KIND),
        390,
        252,
        "Drill shanks in a gap",
        f"Four drawings of one gap between two edges, seen from the side. In each another numbered drill is tried by its shank, "
        f"the smallest first. Some shanks go through the gap, the others stop in front of it. Each bears its number"
        f"{' and its diameter in inches' if scale.name == 'inch' else ''}.",
    )
    hatching = pen.hatching()
    for place, number in enumerate(tried(reading)):
        label = f"#{number}, {drill_inches(f'#{number}')} in" if scale.name == "inch" else f"#{number}"
        _try(pen, (8 + 192 * (place % 2), 6 + 124 * (place // 2)), label, GAP * float(_BORES[number]) / size, hatching)
    return pen.figure()


def _try(pen: Pen, corner: tuple[float, float], label: str, height: float, hatching: str) -> None:
    """One shank at the gap; it lies on the lower edge and goes through where it is no higher than the gap."""
    left, top = corner
    roof, floor = top + 44, top + 44 + GAP
    mouth, end = left + 84, left + 168
    for near, far in ((roof, roof - 22), (floor, floor + 22)):
        pen.path("fig-cut", f"M{mouth:g} {near:g} V{far:g} H{end:g} V{near:g} Z", hatching)
    tip, roof_of_shank, half = (end + 10 if height <= GAP else mouth - 1), floor - height, height / 2
    pen.path(
        "fig-part",
        f"M{left + 4:g} {roof_of_shank:.2f} H{tip:g} V{floor:g} H{left + 4:g} q-5 {-half / 2:.2f} 0 {-half:.2f} t0 {-half:.2f} Z",
    )
    pen.words(left, top + 14, label)


INSTRUMENT = Instrument(KIND, "a gap at a plate's edge: choke pull-off, fast idle, unloader", SCALES, draw)
