"""
The instruments that the lesson on measuring shows are drawn by the same hands as those of its questions.

Run as a module, it draws them anew: `python -m tests.items.test_reading_figures`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from grader.items.figures import check_figure
from grader.items.instruments.catalog import INSTRUMENTS
from grader.items.instruments.instrument import name_of

FIGURES = Path(__file__).parents[2] / "lessons" / "figures"

# figure: instrument, scale, reading, and what its description says besides
SHOWN = {
    "read-rule": ("steel rule", "inch 64ths", 5 / 16, "The part ends at the twentieth line: 20/64 in, or 5/16 in."),
    "read-dial": ("dial gauge", "inch", 0.347, "The small hand stands past 3, the long hand at 47: 0.347 in."),
    "read-vacuum": ("vacuum gauge", "inHg", 17.0, "The needle stands two divisions past 15: 17 inHg."),
    "read-ohms": ("ohmmeter", "x10", 35.0, "The switch stands at ×10, the needle at 3.5: 35 Ω."),
}


def drawn(name: str) -> str:
    """The text of a figure: the instrument as a question draws it, under the figure's name, its description with the reading."""
    kind, scale, reading, says = SHOWN[name]
    instrument = INSTRUMENTS[kind]
    svg = instrument.draw(instrument.scales[scale], reading).strip()
    return svg.replace(name_of(kind), name).replace("</desc>", f" {says}</desc>", 1) + "\n"


@pytest.mark.parametrize("name", SHOWN)
def test_a_figure_of_the_lesson_is_the_instrument_of_the_questions(name: str) -> None:
    assert (FIGURES / f"{name}.svg").read_text() == drawn(name), "run: python -m tests.items.test_reading_figures"


@pytest.mark.parametrize("name", SHOWN)
def test_a_figure_of_the_lesson_is_sound(name: str) -> None:
    assert check_figure(f"lessons/figures/{name}.svg", drawn(name)) == []


if __name__ == "__main__":
    for each in SHOWN:
        (FIGURES / f"{each}.svg").write_text(drawn(each))
