"""
The vernier caliper: a bar between its jaws, and below it the lines of beam and vernier enlarged, in two pieces.

The vernier has `parts` divisions over one main division fewer, so each is shorter than a main division by a `parts`-th of one.
The vernier's nought gives the whole divisions; the one line of the vernier that meets a line of the beam counts the rest.
Source of the principle: US Army Ordnance training text on measuring tools, 25 parts of the vernier over 24 fortieths of an inch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from grader.items.instruments.instrument import Instrument, Scale, name_of, on_scale
from grader.items.instruments.pen import Pen

KIND = "vernier caliper"
FACE, ZERO, BEAM_TOP, BEAM_FOOT = 58.0, 76.0, 30.0, 66.0
"""Of the small drawing, in units of its viewBox: the fixed jaw's face, the beam's nought, the beam's edges."""

LEFT, RIGHT, LEAD, REST = 8.0, 382.0, 1.5, 0.6
"""Of the enlarged pieces: their ends; how many main divisions are seen before the first and after the last vernier line."""

EDGES = (210.0, 314.0)
"""Of the enlarged pieces: the height at which the lines of beam and vernier meet."""


@dataclass(frozen=True)
class Cut:
    """How beam and vernier are cut; lengths in the scale's unit."""

    main: Fraction  # from line to line of the beam
    middle: int  # every so many lines of the beam a longer one
    figured: int  # every so many of them a figure
    parts: int  # divisions of the vernier
    labelled: int  # every so many lines of the vernier a figure
    counts: Fraction  # what a line of the vernier adds to its figure
    pieces: tuple[tuple[int, int], ...]  # first and last line of the vernier in each enlarged piece
    spread: float  # of the small drawing: units of the viewBox a unit of length

    @property
    def vernier(self) -> Fraction:
        """From line to line of the vernier."""
        return self.main * (self.parts - 1) / self.parts

    def figure(self, line: int) -> str:
        """The figure at a line of the beam: whole inches and, between them, tenths; or millimetres."""
        value = line * self.main
        return str(value) if value.denominator == 1 else str(int(value * 10) % 10)

    def height(self, line: int) -> float:
        """How long a line of the beam is in the enlarged pieces, in units of the viewBox."""
        return 22 if not line % self.figured else 16 if not line % self.middle else 11

    def magnified(self) -> float:
        """Units of the viewBox a unit of length in the enlarged pieces; the longest piece fills them."""
        lines = max(last - first for first, last in self.pieces)
        return (RIGHT - LEFT) / float((LEAD + REST) * self.main + lines * self.vernier)


CUTS = MappingProxyType(
    {
        "inch": Cut(Fraction(1, 40), 2, 4, 25, 5, Fraction(1), ((0, 13), (12, 25)), 80.0),
        "mm": Cut(Fraction(1), 5, 10, 20, 2, Fraction(1, 2), ((0, 10), (10, 20)), 3.14),
    }
)


def _scale(name: str, unit: str, greatest: int) -> Scale:
    step = CUTS[name].main / CUTS[name].parts
    says = "read to the line of the vernier that meets a line of the beam"
    return Scale(name, unit, Fraction(0), Fraction(greatest), step, step, step, says)


SCALES = MappingProxyType({"inch": _scale("inch", "in", 3), "mm": _scale("mm", "mm", 75)})


def draw(scale: Scale, reading: float) -> str:
    """
    The caliper closed on a bar of that thickness.

    Raises `UseError` off the scale.

    >>> draw(SCALES["inch"], 1.486) == draw(SCALES["inch"], 1.486)
    True
    """
    reading = on_scale(KIND, scale, reading)
    cut = CUTS[scale.name]
    step = f"{float(scale.resolution):g} {scale.unit}"
    main = f"{float(cut.main):g} {scale.unit}"
    figures = "whole inches and tenths of an inch" if scale.unit == "in" else "every ten millimetres"
    pen = Pen(
        name_of(KIND),
        390,
        362,
        f"Vernier caliper, {step}",
        f"A vernier caliper closed on a bar. Below it the lines are enlarged, in two pieces that follow one another. The beam "
        f"has a line every {main}, with figures at {figures}. The vernier under it has {cut.parts} divisions in the length of "
        f"{cut.parts - 1} of the beam's, so that a line of the vernier is worth {step}.",
    )
    _tool(pen, cut, int(scale.greatest), reading)
    for edge, lines in zip(EDGES, cut.pieces, strict=True):
        _piece(pen, cut, edge, lines, reading)
    return pen.figure()


def _tool(pen: Pen, cut: Cut, greatest: int, reading: float) -> None:
    """The whole caliper, small: jaws, bar, beam with its longer lines, slider."""
    shift = cut.spread * reading
    jaw, zero = FACE + shift, ZERO + shift
    if reading > 0:
        pen.box("fig-part", FACE, 106, jaw, 134)
    pen.polygon("fig-body", [(FACE, BEAM_TOP), (FACE, 6), (FACE + 5, 9), (FACE + 15, BEAM_TOP)])
    pen.path("fig-metal", f"M14 {BEAM_TOP:g} H384 V{BEAM_FOOT:g} H{FACE:g} V140 L46 150 L14 {BEAM_FOOT + 12:g} Z")
    pen.path("fig-line", f"M14 {BEAM_TOP:g} H384 V{BEAM_FOOT:g} H{FACE:g} V140 L46 150 L14 {BEAM_FOOT + 12:g} Z")
    pen.polygon("fig-body", [(jaw, BEAM_TOP - 6), (jaw, 6), (jaw - 5, 9), (jaw - 15, BEAM_TOP - 6)])
    slide = max(zero + cut.spread * float(cut.vernier * cut.parts) + 12, jaw + 84)
    pen.polygon(
        "fig-body",
        [(jaw, BEAM_FOOT), (slide, BEAM_FOOT), (slide, 90), (jaw + 44, 90), (jaw + 12, 150), (jaw, 140)],
    )
    pen.box("fig-body", jaw - 15, BEAM_TOP - 6, slide, BEAM_TOP)
    pen.box("fig-solid", slide - 30, BEAM_TOP - 15, slide - 18, BEAM_TOP - 6)
    ticks = range(0, int(greatest / cut.main) + 1)
    places = {line: ZERO + cut.spread * float(line * cut.main) for line in ticks}
    whole = cut.figured * 10 if cut.main < 1 else cut.figured  # the figures of the small drawing: inches, or tens of millimetres
    fine = cut.figured if cut.main < 1 else cut.middle
    pen.strokes("fig-scale", [((x, BEAM_FOOT - 9), (x, BEAM_FOOT)) for n, x in places.items() if n % whole and not n % fine])
    pen.strokes("fig-scale-long", [((x, BEAM_FOOT - 14), (x, BEAM_FOOT)) for n, x in places.items() if not n % whole])
    for n, x in places.items():
        if not n % whole:
            pen.words(x, BEAM_FOOT - 19, cut.figure(n), "fig-middle")
    ends = [zero, zero + cut.spread * float(cut.vernier * cut.parts)]
    pen.strokes("fig-scale-long", [((x, BEAM_FOOT), (x, BEAM_FOOT + 12)) for x in ends])


def _piece(pen: Pen, cut: Cut, edge: float, lines: tuple[int, int], reading: float) -> None:
    """One enlarged piece: the beam's lines above the edge, the vernier's below it."""
    first, last = lines
    main, vernier, large = float(cut.main), float(cut.vernier), cut.magnified()
    start = reading + first * vernier - LEAD * main  # what of the beam lies at the piece's left end
    right = LEFT + large * ((LEAD + REST) * main + (last - first) * vernier)
    pen.box("fig-metal", LEFT, edge - 42, right, edge)
    pen.box("fig-face", LEFT, edge, right, edge + 42)
    pen.path("fig-thin", f"M{LEFT:g} {edge - 42:g} H{right:.2f} V{edge:g} H{LEFT:g} Z")

    def place(value: float) -> float:
        return LEFT + large * (value - start)

    def inside(x: float, margin: float) -> bool:
        return LEFT + margin < x < right - margin

    lines_of = range(max(0, math.ceil(start / main - 1e-9)), math.floor((start + (right - LEFT) / large) / main + 1e-9) + 1)
    beam = [(n, place(n * main)) for n in lines_of]
    below = [(n, place(reading + n * vernier)) for n in range(max(0, first - 1), min(cut.parts, last + 1) + 1)]
    strokes = [((x, edge - cut.height(n)), (x, edge)) for n, x in beam if inside(x, 2.5)]
    strokes += [((x, edge), (x, edge + (13 if n % cut.labelled else 20))) for n, x in below if inside(x, 2.5)]
    pen.strokes("fig-scale", strokes)
    for n, x in beam:
        if not n % cut.figured and inside(x, 9):
            pen.words(x, edge - 26, cut.figure(n), "fig-middle", bold=cut.main < 1 and not n % (cut.figured * 10))
    for n, x in below:
        if not n % cut.labelled and inside(x, 2.5):
            pen.words(x, edge + 35, f"{float(n * cut.counts):g}", "fig-middle")


INSTRUMENT = Instrument(KIND, "the outside of a part: a rod, a shaft, a plunger, the thickness of a gasket", SCALES, draw)
