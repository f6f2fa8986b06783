"""Questions of every kind, written by hand with words that must never reach a candidate, and papers that ask them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from grader.marking.key import (
    Answer,
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Figure,
    Follow,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Reading,
    Row,
    Slip,
    Step,
)
from grader.papers.paper import Formula, Meaning, Paper, Typeset, asked

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="figure-drawing" viewBox="0 0 200 120"><title>SECRET title</title>'
    '<desc>SECRET description</desc><defs><pattern id="jet-hatch" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect class="fig-metal" width="6" height="6"/></pattern></defs><path class="fig-cut" fill="url(#jet-hatch)" '
    'd="M20 20 H180 V100 H20 Z"/><text class="fig-label" x="24" y="16">bore</text></svg>'
)
FIGURE = Figure(svg=SVG, alt="A rod in the bore of a jet")
STEM = (
    "A step of 0.067\u202fin stands in a jet of 0.095\u202fin. The rod is straight, the jet is clean, its edge is sharp, "
    "and both were measured with the same gauge at the same temperature. What area is left for fuel?"
)


def _answer(unit: str, value: str = "7771.23") -> Answer:
    return Answer(value=value, low="7770.11", high="7772.33", unit=unit, shown=f"{value} SECRET", within="2.77 %")


def _options(*texts: str) -> tuple[Option, ...]:
    return tuple(Option(letter=letter, text=text, says="SECRET says") for letter, text in zip("abcdefgh", texts, strict=False))


def _common(number: int, kind: str, points: str = "1") -> dict[str, Any]:
    common = {"item": f"SECRET-{kind}", "objective": "SECRET.1", "circuit": "SECRET", "points": points, "number": str(number)}
    return common | {"hint": "SECRET hint", "working": (Step(says="SECRET working", text="SECRET text"),)}


def all_kinds() -> tuple[AnyQuestion, ...]:
    slip = Slip(value="8881.23", low="8880.1", high="8882.1", says="SECRET slip")
    follow = Follow(tree=["*", ["name", "SECRET"], 2], values={"SECRET": 9991.5}, takes={"SECRET": "a"}, within="2 %")
    return (
        Numeric(
            stem=STEM, figure=FIGURE, answer=_answer("mm^2"), slips=(slip,), plausible=("6661", "9999"), **_common(1, "ring", "2")
        ),
        Choice(
            stem="Which check is shut?",
            options=_options("The intake check", "The discharge check", "Both"),
            right="b",
            **_common(2, "c"),
        ),
        Choices(
            stem="Which open it?", options=_options("Load", "Overrun", "A leak"), right=("a", "c"), **_common(3, "cs", "1.5")
        ),
        Order(stem="Put in order.", entries=_options("Lifts", "Seats", "Starts"), right=("c", "b", "a"), **_common(4, "o")),
        Match(
            stem="Match them.",
            rows=(Row(number="1", text="Dribble"), Row(number="2", text="Bog")),
            options=_options("Leak", "Blocked bleed", "Worn cup"),
            right={"1": "c", "2": "a"},
            **_common(5, "m"),
        ),
        Case(
            stem="An engine draws 28\u202fg/s.\n\nWork it through.",
            parts=(
                NumericPart(part="a", points="1", stem="What depression?", answer=_answer("Pa"), slips=(slip,), hint="SECRET"),
                NumericPart(
                    part="b", points="2", stem="What flow?", answer=_answer("g/s"), follow=follow, working=(Step(says="SECRET"),)
                ),
                ChoicePart(part="c", points="1", stem="Then?", options=_options("Richer", "Leaner"), right="b"),
            ),
            **_common(6, "case", "4"),
        ),
        Reading(stem="Read the gauge.", figure=FIGURE, answer=_answer("inHg"), rule="Read to half a line.", **_common(7, "r")),
        Numeric(stem="What ratio?", answer=_answer("1"), **_common(8, "ratio")),
    )


@pytest.fixture(name="questions")
def _questions() -> tuple[AnyQuestion, ...]:
    return all_kinds()


@pytest.fixture
def make_paper() -> Callable[..., Paper]:
    """A paper that asks one question of each kind; what is named differs."""
    area = Meaning(Typeset("A", "<math><mi>A</mi></math>", "A"), "area of the ring", "mm²")
    ring = Typeset("A = frac(pi, 4) (D^2 − d^2)", "<math><mi>A</mi><mo>=</mo><mn>1</mn></math>", "A = π/4 · (D² − d²)")
    formula = Formula("Area of a ring", ring, (area,))

    def make(**named: Any) -> Paper:
        fields: dict[str, Any] = {
            "school": "Weirgate Workshop School",
            "place": "Weirgate",
            "title": "Main, power and pump circuits",
            "language": "en-GB",
            "sitting": "spring",
            "date": "2031-05-12",
            "candidate": "c-014",
            "name": "Amina Okoye-Lindqvist",
            "code": "7M2KQ8D4XT",
            "key_digest": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            "minutes": 75,
            "extra": "25 %",
            "aids": ("a pocket calculator",),
            "cautions": ("No flame near fuel. Local codes and licensed practice decide.",),
            "formulas": (formula,),
            "asked": tuple(map(asked, all_kinds())),
        }
        return Paper(**{**fields, **named})

    return make
