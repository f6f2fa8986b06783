"""The angle gauge, read back as the angle between blade and rail."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.angle_gauge import SCALES, draw
from tests.items.instruments.drawn import Drawn, bearing, tip

DEGREES = SCALES["degree"]


def above_the_rail(drawn: Drawn, point: tuple[float, float]) -> float:
    """The angle at which a point is seen from the pivot, up from the level."""
    x, y = drawn.circles("fig-body")[0]
    return math.degrees(math.atan2(y - point[1], point[0] - x))


@pytest.mark.parametrize("reading", range(91))
def test_every_degree_is_read_back_from_blade_and_lines(reading: int) -> None:
    drawn = Drawn(draw(DEGREES, reading))
    needle = above_the_rail(drawn, tip(drawn.polygons("fig-needle")[0]))
    assert needle == pytest.approx(reading, abs=0.02)
    lines = sorted(above_the_rail(drawn, end) for _, end in drawn.lines())
    assert min(range(91), key=lambda n: abs(lines[n] - needle)) == reading, "counted from the rail"


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 90))
def test_the_needle_goes_on_straight_from_the_blade(reading: float) -> None:
    drawn = Drawn(draw(DEGREES, reading))
    pivot = drawn.circles("fig-body")[0]
    blade, needle = drawn.polygons("fig-part")[0], drawn.polygons("fig-needle")[0]
    far = tuple(sum(corner[axis] for corner in blade[1:3]) / 2 for axis in (0, 1))
    assert bearing(pivot, (far[0], far[1])) == pytest.approx(bearing(pivot, tip(needle)), abs=0.02)


def test_there_is_a_line_every_degree_and_each_figure_stands_at_its_own() -> None:
    drawn = Drawn(draw(DEGREES, 45))
    lines = sorted(above_the_rail(drawn, end) for _, end in drawn.lines())
    assert lines == pytest.approx(list(range(91)), abs=0.01)
    assert sorted(value for value, _ in drawn.figures()) == list(range(0, 91, 10))
    for value, place in drawn.figures():
        assert above_the_rail(drawn, place) == pytest.approx(value, abs=0.02)
