"""The dial gauge, read back from its two needles: turns from the small one, the rest from the large one."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.dial_gauge import SCALES, draw
from tests.items.instruments.drawn import Drawn, bearing, tip

TURN = {"inch": 0.1, "mm": 1.0}
"""Travel for a turn of the large needle: 100 lines of 0.001 in or 0.01 mm. Public teaching texts, several alike."""


def turns_of(drawn: Drawn) -> tuple[float, float]:
    """What part of a turn each needle has made: the small one, the large one."""
    small, large = (tip(needle) for needle in drawn.polygons("fig-needle")[:2])
    small_centre, large_centre = drawn.circles("fig-needle")[:2]
    return bearing(small_centre, small) / 360 % 1, bearing(large_centre, large) / 360 % 1


def read(drawn: Drawn, turn: float) -> float:
    """Whole turns as the small needle says, minding that it moves along with the large one; then lines of the large dial."""
    small, large = turns_of(drawn)
    return (round(10 * small - large) % 10 + round(100 * large) / 100) * turn


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_is_read_back_from_the_two_needles(name: str) -> None:
    scale = SCALES[name]
    for step in range(1000):
        reading = float(step * scale.division)
        assert read(Drawn(draw(scale, reading)), TURN[name]) == pytest.approx(reading, abs=float(scale.division) / 100)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 0.999))
def test_the_small_needle_goes_a_tenth_of_the_large_ones_way(reading: float) -> None:
    small, large = turns_of(Drawn(draw(SCALES["inch"], reading)))
    off = (10 * small - large + 0.5) % 1 - 0.5
    assert off == pytest.approx(0, abs=0.02)


def test_a_worked_example_of_a_teaching_text() -> None:
    # Exercises on dial indicators, public page: five turns counted and the large pointer at 4 is 5.04 mm; 2 and 63 is 2.63 mm.
    for reading, turns, line in ((5.04, 5, 4), (2.63, 2, 63)):
        small, large = turns_of(Drawn(draw(SCALES["mm"], reading)))
        assert int(10 * small) == turns
        assert round(100 * large) == line


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_dials_have_their_lines_and_figures(name: str) -> None:
    drawn = Drawn(draw(SCALES[name], 0))
    small_centre, large_centre = drawn.circles("fig-needle")[:2]
    lines = drawn.lines()
    small = [end for _, end in lines if abs(end[0] - small_centre[0]) < 45 and abs(end[1] - small_centre[1]) < 45]
    assert len(small) == 10
    assert len(lines) - len(small) == 100
    for end in small:
        turned = bearing(small_centre, end) / 36
        assert turned == pytest.approx(round(turned), abs=0.02)
    for figure, place in drawn.figures():
        near = abs(place[0] - small_centre[0]) < 40 and abs(place[1] - small_centre[1]) < 40
        angle = bearing(small_centre if near else large_centre, place) % 360
        assert angle == pytest.approx(figure * (36 if near else 3.6), abs=0.5)
