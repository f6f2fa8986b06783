"""
What stands in a drawn instrument, read back from its coordinates: the tests' own eye.

Nothing of the code under test is used here: a reading is worked out as a technician would, from lines, figures and needles.
"""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass

from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]
_STROKE = re.compile(r"M(\S+) (\S+) L(\S+) (\S+)(?= M|$)")


@dataclass(frozen=True)
class Word:
    """Words on a drawing: what they say, where they stand, their classes."""

    text: str
    x: float
    y: float
    look: frozenset[str]


class Drawn:
    """A drawing taken apart."""

    def __init__(self, svg: str) -> None:
        self.root = etree.fromstring(svg.encode())
        self.width, self.height = (float(number) for number in self.root.get("viewBox").split()[2:])
        self.said = tuple(self.root.findtext(f"{SVG}{tag}") for tag in ("title", "desc"))

    def paths(self, look: str) -> list[str]:
        """The paths of a class, in order."""
        return [path.get("d") for path in self.root.iter(f"{SVG}path") if look in path.get("class").split()]

    def lines(self, *looks: str) -> list[tuple[Point, Point]]:
        """All straight strokes of some classes."""
        found = []
        for look in looks or ("fig-scale", "fig-scale-long"):
            for path in self.paths(look):
                found += [((float(a), float(b)), (float(c), float(d))) for a, b, c, d in _STROKE.findall(path)]
        return found

    def polygons(self, look: str) -> list[list[Point]]:
        """The corners of each closed shape of a class, in order."""
        closed = [path for path in self.paths(look) if path.endswith("Z") and re.fullmatch(r"M[-\d. L]+ Z", path)]
        return [[(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)] for path in closed]

    def boxes(self, look: str) -> list[tuple[float, float, float, float]]:
        """Left, top, right and foot of each box of a class, in order."""
        sides = [
            [float(box.get(side)) for side in ("x", "y", "width", "height")]
            for box in self.root.iter(f"{SVG}rect")
            if box.get("class") == look
        ]
        return [(x, y, x + width, y + height) for x, y, width, height in sides]

    def circles(self, look: str) -> list[Point]:
        """The middle of each circle of a class, in order."""
        return [
            (float(one.get("cx")), float(one.get("cy"))) for one in self.root.iter(f"{SVG}circle") if one.get("class") == look
        ]

    def words(self) -> list[Word]:
        """All words."""
        return [
            Word("".join(one.itertext()), float(one.get("x")), float(one.get("y")), frozenset(one.get("class").split()))
            for one in self.root.iter(f"{SVG}text")
        ]

    def figures(self) -> list[tuple[float, Point]]:
        """The words that are numbers, each with its middle: a base line lies five units below that."""
        numbers = [word for word in self.words() if re.fullmatch(r"\d+(\.\d+)?", word.text)]
        return [(float(word.text), (word.x, word.y - 5)) for word in numbers]


def bearing(centre: Point, point: Point) -> float:
    """The angle at which a point is seen from a centre, clockwise from straight up, above -180 and at most 180."""
    return math.degrees(math.atan2(point[0] - centre[0], centre[1] - point[1]))


def tip(needle: list[Point]) -> Point:
    """Where a needle points: its outline begins with the two corners of its blunt end."""
    (x1, y1), (x2, y2) = needle[:2]
    assert math.dist(needle[0], needle[1]) < 2, "blunt end"
    return (x1 + x2) / 2, (y1 + y2) / 2


def read_between(marks: list[tuple[float, float]], place: float) -> float:
    """What a place says among marks (place, value), evenly divided from one mark to the next."""
    marks = sorted(marks)
    for (before, low), (after, high) in itertools.pairwise(marks):
        if before - 0.02 <= place <= after + 0.02:
            return low + (high - low) * (place - before) / (after - before)
    raise AssertionError(f"{place} is off the scale")


def on_marks(places: list[float], figures: list[tuple[float, float]], near: float) -> list[tuple[float, float]]:
    """Each figure (place, value) moved on to the line beside it, which stands no farther off than `near`."""
    moved = []
    for place, value in figures:
        line = min(places, key=lambda one: abs(one - place))
        assert abs(line - place) <= near, f"the figure {value} stands beside no line"
        moved.append((line, value))
    return moved
