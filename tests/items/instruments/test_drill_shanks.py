"""Drill shanks in a gap, read back as the largest that is drawn through it."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.circuits.drills import DRILLS
from grader.items.instruments.drill_shanks import SCALES, draw
from tests.items.instruments.drawn import Drawn

INCH = 0.0254


def shanks(drawn: Drawn) -> list[tuple[int, str, float, float]]:
    """Each shank's number, what is written of it, how far its tip reaches, and how high it is drawn."""
    found = []
    for word, path in zip(drawn.words(), drawn.paths("fig-part"), strict=True):
        numbers = re.match(r"M\S+ (\S+) H(\S+) V(\S+)", path)
        assert numbers is not None
        roof, tip, floor = (float(number) for number in numbers.groups())
        told = re.fullmatch(r"#(\d+)(?:, (.*) in)?", word.text)
        assert told is not None
        found.append((int(told[1]), told[2] or "", tip, floor - roof))
    return found


def edges(drawn: Drawn) -> list[tuple[float, float, float]]:
    """Of each gap: where its mouth is, where it ends, how high it is."""
    near = [re.match(r"M(\S+) (\S+) V\S+ H(\S+)", path) for path in drawn.paths("fig-cut")]
    corners = [tuple(float(number) for number in one.groups()) for one in near if one]
    pairs = zip(corners[::2], corners[1::2], strict=True)
    return [(mouth, end, floor - roof) for (mouth, roof, end), (_, floor, _) in pairs]


@pytest.mark.parametrize("name", sorted(SCALES))
@pytest.mark.parametrize("number", range(2, 81))
def test_for_every_drill_as_the_gap_the_largest_shank_that_goes_through_is_that_drill(name: str, number: int) -> None:
    drawn = Drawn(draw(SCALES[name], DRILLS[number] / INCH))
    through: list[int] = []
    before: list[int] = []
    for (drill, _, tip, height), (mouth, end, gap) in zip(shanks(drawn), edges(drawn), strict=True):
        assert (tip > end) == (height <= gap), "what goes is what is not higher than the gap"
        assert tip > end or tip <= mouth, "through, or stopped in front"
        (through if tip > end else before).append(drill)
    assert min(through) == number
    assert max(before) == number - 1, "and the next size stops"
    assert [drill for drill, *_ in shanks(drawn)] == sorted((*through, *before), reverse=True), "the smallest first"


@pytest.mark.parametrize("number", [80, 69, 56, 54, 30, 2])
def test_shanks_and_gap_are_drawn_in_the_ratio_of_their_sizes(number: int) -> None:
    drawn = Drawn(draw(SCALES["inch"], DRILLS[number] / INCH))
    first = shanks(drawn)[0]
    for drill, _, _, height in shanks(drawn):
        assert height / first[3] == pytest.approx(DRILLS[drill] / DRILLS[first[0]], rel=1e-3)
    gap = edges(drawn)[0][2] * DRILLS[number] / next(height for drill, _, _, height in shanks(drawn) if drill == number)
    assert DRILLS[number] < gap < DRILLS[number - 1]


def test_a_shank_bears_its_diameter_only_on_the_scale_that_says_so() -> None:
    # #56 0.0465 in, #69 0.0292 in: three public lists of numbered drills, see grader/circuits/drills.py
    told = {drill: inches for drill, inches, *_ in shanks(Drawn(draw(SCALES["inch"], 0.0465)))}
    assert told[56] == "0.0465"
    assert {inches for _, inches, *_ in shanks(Drawn(draw(SCALES["number"], 0.0465)))} == {""}


def test_the_largest_that_goes_does_not_always_stand_at_the_same_place() -> None:
    places = {
        [drill for drill, *_ in shanks(Drawn(draw(SCALES["number"], DRILLS[number] / INCH)))].index(number)
        for number in range(50, 70)
    }
    assert places == {0, 1, 2}


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0135, 0.221))
def test_a_gap_between_two_sizes_lets_the_smaller_through_and_stops_the_larger(size: float) -> None:
    drawn = Drawn(draw(SCALES["number"], size))
    through = [drill for (drill, _, tip, _), (_, end, _) in zip(shanks(drawn), edges(drawn), strict=True) if tip > end]
    assert DRILLS[min(through)] / INCH <= size * (1 + 1e-9) < DRILLS[min(through) - 1] / INCH


def test_within_tells_every_drill_from_its_neighbours() -> None:
    sizes = sorted(bore / INCH for bore in DRILLS.values())
    least = min(after - before for before, after in itertools.pairwise(sizes))
    assert 2 * float(SCALES["inch"].within) < least
