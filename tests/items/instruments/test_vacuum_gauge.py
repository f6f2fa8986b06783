"""The vacuum gauge, read back from its needle and its figures."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.vacuum_gauge import SCALES, draw
from tests.items.instruments.drawn import Drawn, bearing, on_marks, read_between, tip


def read(drawn: Drawn) -> float:
    """Between which figures the needle points, and how far along."""
    centre = drawn.circles("fig-face")[0]
    long = [bearing(centre, end) for _, end in drawn.lines("fig-scale-long")]
    marks = on_marks(long, [(bearing(centre, place), value) for value, place in drawn.figures()], 2)
    return read_between(marks, bearing(centre, tip(drawn.polygons("fig-needle")[0])))


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_of_the_grid_is_read_back_from_the_needle(name: str) -> None:
    scale = SCALES[name]
    for step in range(int(scale.greatest / scale.resolution) + 1):
        reading = float(step * scale.resolution)
        assert read(Drawn(draw(scale, reading))) == pytest.approx(reading, abs=float(scale.division) / 50)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 30))
def test_the_needle_follows_the_vacuum_between_the_lines_too(reading: float) -> None:
    assert read(Drawn(draw(SCALES["inHg"], reading))) == pytest.approx(reading, abs=0.02)


@pytest.mark.parametrize(("name", "lines", "figures"), [("inHg", 31, 7), ("kPa", 51, 11)])
def test_the_scale_has_its_lines_and_the_needle_goes_clockwise_round_three_quarters(name: str, lines: int, figures: int) -> None:
    drawn = Drawn(draw(SCALES[name], 0))
    centre = drawn.circles("fig-face")[0]
    angles = sorted(bearing(centre, end) for _, end in drawn.lines())
    assert len(angles) == lines
    assert len(drawn.figures()) == figures
    assert angles[0] == pytest.approx(-135, abs=0.02)
    assert angles[-1] == pytest.approx(135, abs=0.02)
    gaps = [after - before for before, after in itertools.pairwise(angles)]
    assert max(gaps) - min(gaps) < 0.04, "even divisions"
    for figure, place in drawn.figures():
        share = figure / float(SCALES[name].greatest)
        assert bearing(centre, place) == pytest.approx(-135 + 270 * share, abs=0.1)


def test_one_gauge_shows_one_vacuum_in_both_units() -> None:
    # 20 inHg is 67.7 kPa: conventional inch of mercury 3386.389 Pa, NIST SP 811 appendix B.
    inches, pascals = (read(Drawn(draw(SCALES[name], value))) for name, value in (("inHg", 20), ("kPa", 20 * 3.386389)))
    assert pascals / inches == pytest.approx(3.386389, rel=2e-3)
