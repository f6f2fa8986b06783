"""The graduate, read back at the lowest point of the liquid's surface."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.graduate import SCALES, draw
from tests.items.instruments.drawn import Drawn, on_marks, read_between

Curve = list[tuple[float, float]]


def surfaces(drawn: Drawn) -> list[Curve]:
    """The liquid's surface on the whole cylinder and on the enlarged stretch: 201 points along its two quadratic curves."""
    found = []
    for path in drawn.paths("fig-surface"):
        points = [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]
        start, control, middle, other, end = points
        curve: Curve = []
        for (x0, y0), (x1, y1), (x2, y2) in ((start, control, middle), (middle, other, end)):
            for n in range(101):
                t = n / 100
                curve.append(
                    tuple((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c for a, b, c in ((x0, x1, x2), (y0, y1, y2)))  # type: ignore[arg-type]
                )
        found.append(curve)
    assert len(found) == 2
    return found


def marks(drawn: Drawn, enlarged: bool) -> list[tuple[float, float]]:
    """Heights of the figured lines, with what their figures say."""
    lines = [start for start, _ in drawn.lines() if (start[0] > 200) == enlarged]
    figures = [(place[1], value) for value, place in drawn.figures() if (place[0] > 160) == enlarged]
    return on_marks([y for _, y in lines], figures, 0.02)


def read(drawn: Drawn, at_wall: bool = False) -> tuple[float, float]:
    """The reading at the lowest point on the whole cylinder and on the enlarged stretch; or, wrongly, at the wall."""
    readings = []
    for curve, enlarged in zip(surfaces(drawn), (False, True), strict=True):
        height = curve[0][1] if at_wall else max(y for _, y in curve)
        figured = sorted(marks(drawn, enlarged))
        # beyond the outermost figures the divisions go on as they are between two of them
        (y0, v0), (y1, v1) = figured[0], figured[-1]
        slope = (v1 - v0) / (y1 - y0)
        readings.append(v0 + slope * (height - y0))
    return readings[0], readings[1]


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_is_read_back_at_the_lowest_point_on_both_drawings(name: str) -> None:
    # Read at the lowest point of the curve: Argonne National Laboratory, teaching page on graduated cylinders; ISO 4787 not seen.
    scale = SCALES[name]
    for step in range(int(scale.greatest / scale.resolution) + 1):
        reading = float(step * scale.resolution)
        small, large = read(Drawn(draw(scale, reading)))
        assert small == pytest.approx(reading, abs=float(scale.division) / 50)
        assert large == pytest.approx(reading, abs=float(scale.division) / 200)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 25))
def test_the_surface_is_lowest_in_the_middle_level_there_and_alike_on_both_sides(reading: float) -> None:
    for curve in surfaces(Drawn(draw(SCALES["25 cc"], reading))):
        lowest = max(curve, key=lambda point: point[1])
        assert lowest[0] == pytest.approx((curve[0][0] + curve[-1][0]) / 2, abs=0.02)
        assert curve[0][1] == curve[-1][1] < lowest[1] - 3, "it climbs at the wall: the liquid wets the glass"
        middle = [y for x, y in curve if abs(x - lowest[0]) < 3]
        assert max(middle) - min(middle) < 0.15, "level where it is read"


@pytest.mark.parametrize("name", sorted(SCALES))
def test_whoever_reads_at_the_wall_is_a_division_too_high(name: str) -> None:
    scale = SCALES[name]
    reading = float(scale.greatest) / 2
    for wrong in read(Drawn(draw(scale, reading)), at_wall=True):
        assert wrong - reading == pytest.approx(float(scale.division), abs=float(scale.division) / 40)
        assert wrong - reading > float(scale.within), "the wrong way is not marked right"


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_enlarged_stretch_always_shows_a_figure_and_the_line_below_and_above_the_surface(name: str) -> None:
    scale = SCALES[name]
    for step in range(int(scale.greatest / scale.resolution) + 1):
        drawn = Drawn(draw(scale, float(step * scale.resolution)))
        low = max(y for _, y in surfaces(drawn)[1])
        heights = sorted(start[1] for start, _ in drawn.lines() if start[0] > 200)
        assert len(marks(drawn, True)) >= 2
        assert heights[0] <= low + 0.02
        assert heights[-1] >= low - 0.02
        assert low - 14 >= 14, "the liquid at the wall is inside the picture"


@pytest.mark.parametrize("name", sorted(SCALES))
def test_between_two_figures_there_are_ten_divisions(name: str) -> None:
    scale = SCALES[name]
    drawn = Drawn(draw(scale, float(scale.greatest) / 2))
    figured = sorted((value, y) for y, value in marks(drawn, False))
    assert len([start for start, _ in drawn.lines() if start[0] < 200]) == 51
    for (low, y0), (high, y1) in itertools.pairwise(figured):
        assert high - low == pytest.approx(10 * float(scale.division))
        between = [start[1] for start, _ in drawn.lines() if start[0] < 200 and y1 < start[1] < y0]
        assert len([y for y in between if y1 + 0.1 < y < y0 - 0.1]) == 9
    assert read_between([(y, value) for value, y in figured], figured[0][1]) == figured[0][0]
