"""
The vernier caliper, read back by the rule alone.

The rule, from US Army Ordnance training text on measuring tools (seen as public web pages, two texts that agree): the beam in
fortieths of an inch, every fourth line a tenth and numbered; 25 parts of the vernier over 24 fortieths, so that a part is shorter
by 0.001 in; read inches, tenths and fortieths to the left of the vernier's nought, then add the vernier line that meets a line.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.instruments.vernier_caliper import EDGES, SCALES, draw
from tests.items.instruments.drawn import Drawn

LINES = {"inch": (40, 4, 25), "mm": (1, 10, 20)}
"""By scale: lines of the beam to the unit, lines to a figure, parts of the vernier."""

PIECES = {"inch": ((0, 13), (12, 25)), "mm": ((0, 10), (10, 20))}


class Piece:
    """One enlarged piece: lines of the beam above its edge, of the vernier below it, each in order of place."""

    def __init__(self, drawn: Drawn, edge: float) -> None:
        lines = drawn.lines("fig-scale")
        self.beam = sorted(end[0] for _, end in lines if end[1] == edge)
        self.vernier = sorted(start[0] for start, _ in lines if start[1] == edge)
        self.figures = [(value, x) for value, (x, y) in drawn.figures() if edge - 45 < y < edge]
        self.labels = [(value, x) for value, (x, y) in drawn.figures() if edge < y < edge + 45]

    def misses(self, worth: float) -> dict[int, float]:
        """By the number of each vernier line, how far it is from the nearest line of the beam, in main divisions."""
        division = (self.beam[-1] - self.beam[0]) / (len(self.beam) - 1)
        value, place = self.labels[0]
        labelled = min(range(len(self.vernier)), key=lambda n: abs(self.vernier[n] - place))
        assert abs(self.vernier[labelled] - place) < 0.02
        first = round(value / worth) - labelled
        return {
            first + n: min(abs(x - line) for line in self.beam) / division
            for n, x in enumerate(self.vernier)
            if self.beam[0] - 0.1 <= x <= self.beam[-1] + 0.1
        }


def read(name: str, drawn: Drawn) -> float:
    """The reading, by the rule."""
    per_unit, per_figure, parts = LINES[name]
    worth = {"inch": 1.0, "mm": 0.5}[name]  # what a line of the vernier adds to its figure
    pieces = [Piece(drawn, edge) for edge in EDGES]
    meeting = sorted({n for piece in pieces for n, miss in piece.misses(worth).items() if miss < 0.25 / parts})
    assert len(meeting) == 1 or meeting == [0, parts], f"one line meets, and these do: {meeting}"
    others = [miss for piece in pieces for n, miss in piece.misses(worth).items() if n not in meeting]
    assert min(others) > 0.9 / parts, "every other line stands off by a step or more"
    # The vernier's nought on the beam: count lines back from a figure, which says tenths, or millimetres.
    first = pieces[0]
    nought = first.vernier[0]
    whole = sum(x <= nought + 0.02 for x in first.beam) - 1
    figure, place = first.figures[0]
    lines = figure * (per_figure if name == "inch" else 1)
    if name == "inch" and place in {word.x for word in drawn.words() if "fig-letter" in word.look}:
        lines = 0  # a bold figure is a whole inch, no tenths
    counted = lines + whole - min(range(len(first.beam)), key=lambda n: abs(first.beam[n] - place))
    if name == "inch":  # the figures count tenths within an inch; the small drawing says which inch
        inches = small_inches(drawn)
        counted = min((counted + 40 * n for n in range(-1, 4)), key=lambda one: abs(one / 40 - inches))
    return counted / per_unit + meeting[0] / per_unit / parts


def small_inches(drawn: Drawn) -> float:
    """Roughly, where the vernier's nought stands on the small drawing's beam."""
    nought = min(start[0] for start, end in drawn.lines("fig-scale-long") if end[1] > start[1] and start[1] == 66 and end[1] > 70)
    marks = sorted((x, value) for value, (x, y) in drawn.figures() if y < 60)
    (zero, _), (one, _) = marks[:2]
    return (nought - zero) / (one - zero)


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_vernier_has_its_parts_over_one_main_division_fewer(name: str) -> None:
    parts = LINES[name][2]
    for edge, (first, last) in zip(EDGES, PIECES[name], strict=True):
        piece = Piece(Drawn(draw(SCALES[name], float(SCALES[name].greatest) / 3)), edge)
        main = (piece.beam[-1] - piece.beam[0]) / (len(piece.beam) - 1)
        part = (piece.vernier[-1] - piece.vernier[0]) / (len(piece.vernier) - 1)
        assert part / main == pytest.approx((parts - 1) / parts, abs=1e-3)
        assert len(piece.vernier) >= last - first + 1


def test_a_worked_example_of_the_training_text_meets_at_the_line_it_says() -> None:
    # 1.000 in + 4 tenths + 3 fortieths (0.075) + line 11 of the vernier (0.011) = 1.486 in
    drawn = Drawn(draw(SCALES["inch"], 1.486))
    misses = Piece(drawn, EDGES[0]).misses(1.0)
    assert min(misses, key=lambda n: misses[n]) == 11
    assert read("inch", drawn) == pytest.approx(1.486, abs=1e-9)


def test_every_thousandth_of_the_first_inch_is_read_back() -> None:
    for thousandths in range(1001):
        assert read("inch", Drawn(draw(SCALES["inch"], thousandths / 1000))) == pytest.approx(thousandths / 1000, abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(st.integers(1001, 3000))
def test_every_thousandth_beyond_is_read_back(thousandths: int) -> None:
    assert read("inch", Drawn(draw(SCALES["inch"], thousandths / 1000))) == pytest.approx(thousandths / 1000, abs=1e-9)


def test_every_twentieth_of_a_millimetre_is_read_back() -> None:
    for twentieths in range(1501):
        assert read("mm", Drawn(draw(SCALES["mm"], twentieths / 20))) == pytest.approx(twentieths / 20, abs=1e-9)


@pytest.mark.parametrize("name", sorted(SCALES))
def test_the_small_drawing_is_to_scale_too(name: str) -> None:
    """The jaws open by the reading, measured by the beam's own figures, and the slider's nought stands at it."""
    for share in (0.1, 0.5, 0.97):
        reading = float(SCALES[name].greatest) * share
        drawn = Drawn(draw(SCALES[name], reading))
        left, _, right, _ = drawn.boxes("fig-part")[0]
        marks = sorted((x, value) for value, (x, y) in drawn.figures() if y < 60)
        (zero, low), (last, high) = marks[0], marks[-1]
        spread = (last - zero) / (high - low)
        assert (right - left) / spread == pytest.approx(reading, rel=2e-3)
        if name == "inch":
            assert small_inches(drawn) == pytest.approx(reading, rel=2e-3)
