"""The tachometer, read back from its needle and its figures."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.tachometer import SCALES, draw
from tests.items.instruments.drawn import Drawn, bearing, on_marks, read_between, tip

PIVOT = (195.0, 268.0)


def read(drawn: Drawn) -> float:
    """Between which figures the needle points, and how far along."""
    long = [bearing(PIVOT, end) for start, end in drawn.lines("fig-scale-long") if end[1] < 200]
    marks = on_marks(long, [(bearing(PIVOT, place), value) for value, place in drawn.figures()], 2)
    return read_between(marks, bearing(PIVOT, tip(drawn.polygons("fig-needle")[0])))


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_is_read_back_from_the_needle(name: str) -> None:
    scale = SCALES[name]
    for step in range(int(scale.greatest / scale.resolution) + 1):
        reading = float(step * scale.resolution)
        assert read(Drawn(draw(scale, reading))) == pytest.approx(reading, abs=float(scale.division) / 40)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 2000))
def test_the_needle_follows_the_speed_between_the_lines_too(reading: float) -> None:
    assert read(Drawn(draw(SCALES["2000 rev/min"], reading))) == pytest.approx(reading, abs=1.5)


@pytest.mark.parametrize(("name", "lines"), [("2000 rev/min", 41), ("6000 rev/min", 61)])
def test_the_scale_has_its_lines_evenly(name: str, lines: int) -> None:
    drawn = Drawn(draw(SCALES[name], 0))
    angles = sorted(bearing(PIVOT, end) for _, end in drawn.lines() if end[1] < 200)
    assert len(angles) == lines
    assert angles[0] == pytest.approx(-angles[-1], abs=0.02), "half of the scale stands straight up"
    gaps = [after - before for before, after in itertools.pairwise(angles)]
    assert max(gaps) - min(gaps) < 0.03
