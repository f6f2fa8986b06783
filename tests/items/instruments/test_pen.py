"""The pen: coordinates, angles, escapes."""

from __future__ import annotations

import math
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from grader.items.instruments.pen import Pen, around, rays, written


@given(st.floats(-1e4, 1e4))
def test_a_coordinate_is_written_in_two_decimals_at_most(number: float) -> None:
    text = written(number)
    assert abs(float(text) - number) <= 0.005 + 1e-9
    assert len(text.partition(".")[2]) <= 2
    assert text != "-0"
    assert "e" not in text


@given(st.floats(0, 300), st.floats(-360, 360))
def test_a_point_around_a_centre_keeps_its_radius_and_turns_clockwise_from_the_top(radius: float, angle: float) -> None:
    x, y = around((10, 20), radius, angle)
    assert math.isclose(math.hypot(x - 10, y - 20), radius, abs_tol=1e-9)
    assert math.isclose(x - 10, radius * math.sin(math.radians(angle)), abs_tol=1e-9)
    assert y <= 20 or math.cos(math.radians(angle)) < 0


def test_rays_point_at_their_centre() -> None:
    ((inner, outer),) = rays((0, 0), 5, 10, [90])
    assert math.dist(inner, (5, 0)) < 1e-9
    assert math.dist(outer, (10, 0)) < 1e-9


def test_words_that_mean_something_to_xml_are_escaped() -> None:
    pen = Pen("instrument-x", 10, 10, "a < b", 'c & "d"')
    pen.words(1, 1, "<&>")
    root = ElementTree.fromstring(pen.figure())  # noqa: S314 (our own words)
    said = [element.text for element in root]
    assert said == ["a < b", 'c & "d"', "<&>"]


def test_no_strokes_give_no_path() -> None:
    pen = Pen("instrument-x", 10, 10, "a", "b")
    pen.strokes("fig-scale", [])
    assert pen.elements == []
