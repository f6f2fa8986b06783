"""The pen that all instruments are drawn with: strokes, words, graduations and needles, as the text of a figure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from xml.sax.saxutils import escape

from grader.items.figures import SVG

Point = tuple[float, float]
Stroke = tuple[Point, Point]

PIVOT = (195.0, 268.0)
"""Where the needle of a meter with a window turns, in units of the viewBox: below the window."""

CAPITAL = 5.0
"""Half the height of a figure of the scale: how far below its middle its base line lies, in units of the viewBox."""


def written(number: float) -> str:
    """
    A coordinate as it is written: two decimals at most, no minus before a zero.

    >>> written(12.0), written(-0.001), written(3.14159)
    ('12', '0', '3.14')
    """
    return f"{round(number, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def around(centre: Point, radius: float, angle: float) -> Point:
    """
    The point at a radius and an angle: in degrees, clockwise from straight up.

    >>> [tuple(map(written, around((100, 100), 50, angle))) for angle in (0, 90, 180)]
    [('100', '50'), ('150', '100'), ('100', '150')]
    """
    turn = math.radians(angle)
    return centre[0] + radius * math.sin(turn), centre[1] - radius * math.cos(turn)


def rays(centre: Point, inner: float, outer: float, angles: Iterable[float]) -> list[Stroke]:
    """Graduations of a dial: a stroke from the inner to the outer radius at each angle."""
    return [(around(centre, inner, angle), around(centre, outer, angle)) for angle in angles]


class Pen:
    """
    Collects the elements of one figure.

    >>> pen = Pen("instrument-jet", 90, 40, "Jet", "A hole.")
    >>> pen.strokes("fig-scale", [((10, 5), (10, 15)), ((20, 5), (20, 15))])
    >>> pen.words(10, 30, "0 < 1", "fig-middle")
    >>> print(pen.figure())
    <svg xmlns="http://www.w3.org/2000/svg" class="figure-drawing" viewBox="0 0 90 40">
    <title>Jet</title>
    <desc>A hole.</desc>
    <path class="fig-scale" d="M10 5 L10 15 M20 5 L20 15"/>
    <text class="fig-label fig-middle" x="10" y="30">0 &lt; 1</text>
    </svg>
    <BLANKLINE>
    """

    def __init__(self, name: str, width: float, height: float, title: str, desc: str) -> None:
        self.name = name
        self.size = f"0 0 {written(width)} {written(height)}"
        self.said = (escape(title), escape(desc))
        self.elements: list[str] = []

    def path(self, look: str, d: str, fill: str = "") -> None:
        """A path as it is written; `fill` is what `hatching` gave."""
        filled = f' fill="{fill}"' if fill else ""
        self.elements.append(f'<path class="{look}"{filled} d="{d}"/>')

    def hatching(self) -> str:
        """Hatching for metal that is cut through, as a fill."""
        name = f"{self.name}-hatch"
        self.elements.append(
            f'<defs><pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            '<rect class="fig-metal" width="6" height="6"/><path class="fig-hatch" d="M3 0 V6"/></pattern></defs>'
        )
        return f"url(#{name})"

    def strokes(self, look: str, strokes: Iterable[Stroke]) -> None:
        """Straight strokes, all in one path; nothing where there are none."""
        steps = _straight(tuple(strokes))
        if steps:
            self.path(look, steps)

    def polygon(self, look: str, points: Iterable[Point]) -> None:
        """A closed shape."""
        self.path(look, _through(points) + " Z")

    def polyline(self, look: str, points: Iterable[Point]) -> None:
        """An open line through points."""
        self.path(look, _through(points))

    def box(self, look: str, left: float, top: float, right: float, foot: float, corner: float = 0) -> None:
        """An upright rectangle by its edges."""
        round_off = f' rx="{written(corner)}"' if corner else ""
        self.elements.append(
            f'<rect class="{look}" x="{written(left)}" y="{written(top)}" width="{written(right - left)}" '
            f'height="{written(foot - top)}"{round_off}/>'
        )

    def circle(self, look: str, centre: Point, radius: float) -> None:
        """A circle."""
        x, y = map(written, centre)
        self.elements.append(f'<circle class="{look}" cx="{x}" cy="{y}" r="{written(radius)}"/>')

    def arc(self, look: str, centre: Point, radius: float, start: float, end: float) -> None:
        """A part of a circle, clockwise from one angle to another, less than a whole turn on."""
        (x1, y1), (x2, y2) = around(centre, radius, start), around(centre, radius, end)
        far = int(end - start > 180)
        r = written(radius)
        self.path(look, f"M{written(x1)} {written(y1)} A{r} {r} 0 {far} 1 {written(x2)} {written(y2)}")

    def words(self, x: float, y: float, text: str, look: str = "", *, bold: bool = False) -> None:
        """Words on a base line; they begin at x unless `look` says fig-middle or fig-end."""
        look = f"{'fig-letter' if bold else 'fig-label'} {look}".strip()
        self.elements.append(f'<text class="{look}" x="{written(x)}" y="{written(y)}">{escape(text)}</text>')

    def figures(self, centre: Point, radius: float, marks: Iterable[tuple[float, str]]) -> None:
        """The figures of a dial: each pair is an angle and what stands there, upright, its middle on the radius."""
        for angle, text in marks:
            x, y = around(centre, radius, angle)
            self.words(x, y + CAPITAL, text, "fig-middle")

    def needle(self, centre: Point, angle: float, reach: float, tail: float, hub: float, breadth: float = 8.0) -> None:
        """A needle that tapers from its breadth at the hub to a blunt blade at `reach`, with a tail behind the hub."""
        tip, end, half = around(centre, reach, angle), around(centre, tail, angle + 180), breadth / 2
        outline = [(tip, -0.8), (tip, 0.8), (centre, half), (end, half * 1.3), (end, -half * 1.3), (centre, -half)]
        self.polygon("fig-needle", [around(point, side, angle + 90) for point, side in outline])
        self.circle("fig-needle", centre, hub)
        self.circle("fig-level", centre, hub * 0.3)

    def meter(self, radius: float, sweep: float, needle: float) -> None:
        """
        The window of a meter 390 units wide: an arc `sweep` degrees to either side of straight up, and a needle at an angle.

        The needle ends outside the arc, among the lines, which the meter draws itself.
        """
        self.box("fig-face", 18, 18, 372, 190, 6)
        self.arc("fig-thin", PIVOT, radius, -sweep, sweep)
        blade = [(radius + 11, -0.8), (radius + 11, 0.8), (82 / math.cos(math.radians(needle)), 2.2)]
        blade.append((blade[2][0], -2.2))
        self.polygon("fig-needle", [around(around(PIVOT, reach, needle), side, needle + 90) for reach, side in blade])

    def figure(self) -> str:
        """The text of the figure."""
        title, desc = self.said
        return "\n".join(
            (
                f'<svg xmlns="{SVG}" class="figure-drawing" viewBox="{self.size}">',
                f"<title>{title}</title>",
                f"<desc>{desc}</desc>",
                *self.elements,
                "</svg>\n",
            )
        )


@lru_cache(maxsize=64)  # the graduations of an instrument are the same in each of its drawings
def _straight(strokes: tuple[Stroke, ...]) -> str:
    return " ".join(f"M{written(x1)} {written(y1)} L{written(x2)} {written(y2)}" for (x1, y1), (x2, y2) in strokes)


def _through(points: Iterable[Point]) -> str:
    return "M" + " L".join(f"{written(x)} {written(y)}" for x, y in points)
