"""The steel rule, read back by counting lines from its end."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.items.instruments.steel_rule import SCALES, draw
from tests.items.instruments.drawn import Drawn

COUNTED = {"inch 32nds": 32, "inch 64ths": 64, "mm": 1, "half mm": 2}
"""Lines to the unit of each edge."""


def end_of(drawn: Drawn) -> float:
    """The right end of the part."""
    return drawn.boxes("fig-part")[0][2]


@pytest.mark.parametrize("name", sorted(SCALES))
def test_every_reading_of_the_grid_is_read_back_by_counting_lines_to_the_end_of_the_part(name: str) -> None:
    scale = SCALES[name]
    for step in range(1, int(scale.greatest / scale.resolution) + 1):
        reading = step * scale.resolution
        drawn = Drawn(draw(scale, float(reading)))
        zero = drawn.boxes("fig-soft")[0][2]
        places = [zero, *sorted(start[0] for start, _ in drawn.lines())]
        assert drawn.boxes("fig-part")[0][0] == zero, "the part stands against the stop"
        before = max(n for n, place in enumerate(places) if place <= end_of(drawn) + 0.02)
        rest = end_of(drawn) - places[before]
        division = places[1] - places[0]
        assert rest < 0.02 or rest == pytest.approx(division / 2, abs=0.02), "on a line, or half way where halves are read"
        assert Fraction(2 * before + round(2 * rest / division), 2 * COUNTED[name]) == reading


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_lines_are_even_and_the_figures_stand_at_what_they_say(name: str) -> None:
    scale = SCALES[name]
    drawn = Drawn(draw(scale, float(scale.greatest) / 2))
    zero = drawn.boxes("fig-soft")[0][2]
    places = sorted(start[0] for start, _ in drawn.lines())
    assert len(places) == int(scale.greatest * COUNTED[name])
    division = (places[-1] - zero) / len(places)
    for count, place in enumerate(places, 1):
        assert place == pytest.approx(zero + count * division, abs=0.02)
    for figure, (x, _) in drawn.figures():
        count = round((x - zero) / division)
        if scale.unit == "mm":
            assert count == figure * COUNTED[name]
        else:  # between the inches the figures count the parts: 8, 16, 24 … within each inch
            assert count % COUNTED[name] == figure % COUNTED[name] or count == figure * COUNTED[name]


@pytest.mark.parametrize(("name", "parts"), [("inch 32nds", 32), ("inch 64ths", 64)])
def test_a_line_is_the_longer_the_coarser_the_fraction_it_ends(name: str, parts: int) -> None:
    drawn = Drawn(draw(SCALES[name], 0.5))
    heights: dict[int, set[float]] = {}
    for count, (start, end) in enumerate(sorted(drawn.lines()), 1):
        heights.setdefault(Fraction(count, parts).denominator, set()).add(round(end[1] - start[1], 2))
    assert all(len(same) == 1 for same in heights.values())
    by_fraction = [heights[part].pop() for part in sorted(heights)]
    assert by_fraction == sorted(by_fraction, reverse=True)
    assert len(set(by_fraction)) == len(by_fraction)


def test_nothing_lies_against_the_rule_at_nought() -> None:
    assert Drawn(draw(SCALES["mm"], 0)).boxes("fig-part") == []
