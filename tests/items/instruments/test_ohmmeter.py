"""The ohmmeter, read back from its crowded face, and held to the law of the circuit inside it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.ohmmeter import SCALES, draw
from tests.items.instruments.drawn import Drawn, bearing, tip

PIVOT = (195.0, 268.0)
TIMES = {"x1": 1, "x10": 10, "x100": 100}


def needle(drawn: Drawn) -> float:
    """Where the meter's needle points."""
    return bearing(PIVOT, tip(drawn.polygons("fig-needle")[0]))


def face(drawn: Drawn) -> list[float]:
    """The angles of the lines of the face, nought first: from right to left."""
    return sorted((bearing(PIVOT, end) for start, end in drawn.lines() if end[1] < 200), reverse=True)


def travel(drawn: Drawn, angle: float) -> float:
    """What part of the way from infinity, at the left end, to nought, at the right."""
    right, *_, left = face(drawn)
    return (angle - left) / (right - left)


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_is_read_back_by_counting_half_ohms_from_the_right_times_the_range(name: str) -> None:
    scale = SCALES[name]
    for step in range(21):
        reading = float(step * scale.resolution)
        drawn = Drawn(draw(scale, reading))
        angles = face(drawn)
        line = min(range(len(angles)), key=lambda n: abs(angles[n] - needle(drawn)))
        assert abs(angles[line] - needle(drawn)) < 0.03
        assert line / 2 * TIMES[name] == reading


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 100))
def test_the_needles_part_of_its_travel_is_the_inner_resistance_over_the_whole_loop(reading: float) -> None:
    # Ohm's law for meter, battery and the unknown in one loop; at mid-scale the unknown equals the meter's own resistance (US
    # Army signal training text on ohmmeters, public page). The inner resistance: 10 ohm times the range, the mid-scale figure.
    drawn = Drawn(draw(SCALES["x10"], reading))
    assert travel(drawn, needle(drawn)) == pytest.approx(100 / (100 + reading), abs=5e-4)


def test_a_quarter_of_the_travel_is_three_times_the_inner_resistance() -> None:
    # Worked example of a public teaching text: a quarter of full scale means three times the mid-scale resistance.
    drawn = Drawn(draw(SCALES["x1"], 0))
    thirty = next(place for value, place in drawn.figures() if value == 30)
    assert travel(drawn, bearing(PIVOT, thirty)) == pytest.approx(0.25, abs=2e-3)
    assert travel(drawn, 0) == pytest.approx(0.5, abs=1e-3)


def test_each_figure_of_the_face_stands_where_the_law_puts_it() -> None:
    drawn = Drawn(draw(SCALES["x1"], 5))
    figures = [(value, place) for value, place in drawn.figures() if place[1] < 200]
    assert len(figures) == 14
    for value, place in figures:
        assert travel(drawn, bearing(PIVOT, place)) == pytest.approx(10 / (10 + value), abs=2e-3)


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_switch_points_at_the_range_and_only_the_switch_differs(name: str) -> None:
    drawn = Drawn(draw(SCALES[name], 5 * TIMES[name]))
    knob = drawn.circles("fig-body")[0]
    pointer = bearing(knob, drawn.polygons("fig-needle")[1][0])
    ranges = {word.text: bearing(knob, (word.x, word.y - 5)) for word in drawn.words() if word.text.startswith("×")}
    assert min(ranges, key=lambda text: abs(ranges[text] - pointer)) == f"×{TIMES[name]}"
    assert needle(drawn) == needle(Drawn(draw(SCALES["x1"], 5)))
