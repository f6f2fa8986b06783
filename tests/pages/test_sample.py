from __future__ import annotations

from pathlib import Path

import pytest

from grader.items.course import load_practice
from grader.pages.packs import draw_variants
from grader.pages.sample import breakable, conditions, sample_html

COURSE = Path(__file__).with_name("course")


def sample(name: str) -> str:
    course = load_practice(COURSE)
    item = next(item for item in course.practice if item.id == name)
    return sample_html(draw_variants(item, 1, course.figures)[0], "s1")


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("power-ring", ["What area is left for fuel?", "The worked answer", "Answer: ", "Both outlines are circles", "<math"]),
        ("power-ring-twice", ["Part a", "Part b", "Part c", "Right: It becomes richer."]),
        ("power-why", ["What lifts the rods?", "Right: A spring", "The vacuum that held the rods down has gone."]),
        ("power-signs", ["Which of these", "Rich at cruise"]),
        ("power-sequence", ["In order", "Manifold vacuum falls"]),
        ("power-parts", ["Pairs", "Spring – lifts the rods"]),
        (
            "power-gauge",
            ["What does it show?", "practice-reading", "Read to half a division; an answer within", "The instrument shows"],
        ),
    ],
)
def test_each_kind_can_be_read_with_its_answer(name: str, wanted: list[str]) -> None:
    html = sample(name).replace("&#x27;", "'")
    assert [text for text in wanted if text not in html] == []
    assert html.count("<details>") == html.count("</details>") > 0


def sign(which: str) -> str:
    return f'<mo form="infix">{which}</mo>'


def test_an_equation_breaks_at_the_equals_signs_of_its_top_and_at_no_other() -> None:
    nested = (
        f"<math><mrow><mi>A</mi>{sign('=')}<mfrac><mrow><mi>a</mi>{sign('=')}<mi>b</mi></mrow><mi>c</mi></mfrac></mrow></math>"
    )
    assert breakable(nested).count("<wbr>") == 1


def test_a_side_breaks_at_signs_outside_brackets_fractions_and_roots() -> None:
    bracket = f"<mrow><mo>(</mo><mrow><mi>a</mi>{sign('−')}<mi>b</mi></mrow><mo>)</mo></mrow>"
    product = f"<mrow><mn>2</mn>{sign('×')}{bracket}</mrow>"
    html = breakable(f"<math><mrow><mi>L</mi>{sign('=')}<mrow>{product}{sign('+')}<mi>c</mi></mrow></mrow></math>")
    side = html.split("<wbr>", 1)[1]
    assert html.startswith("<math><mrow><mi>L</mi></mrow></math><wbr>")
    assert side.startswith('<span class="course-side">')
    parts = [f"{sign('=')}<mn>2</mn>", f"{sign('×')}{bracket}", f"{sign('+')}<mi>c</mi>"]
    assert side.removeprefix('<span class="course-side">').removesuffix("</span>").split("<wbr>") == [
        f"<math><mrow>{part}</mrow></math>" for part in parts
    ]


@pytest.mark.parametrize("text", ["", "<math></math>", "<math><mi>A</mi></math>", "no formula"])
def test_what_has_no_equals_sign_passes_unchanged(text: str) -> None:
    assert breakable(text) == text
    assert conditions(text) == text
