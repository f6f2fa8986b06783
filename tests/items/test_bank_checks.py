"""What shows only over a bank: places of right options, items that tell another's answer, items that ask the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from grader.base.findings import Finding
from grader.items.bank_checks import chance, check_bank, places_of
from grader.items.checks import check_course
from grader.items.course import load_course
from grader.items.item_file import read_items
from grader.items.model import Item
from grader.items.variants import draw_question
from grader.marking.key import Choice
from grader.relations.relation import Relation

NUMBERS = [
    "volume",
    "area",
    "length",
    "mass",
    "speed",
    "time",
    "force",
    "heat",
    "light",
    "sound",
    "wind",
    "rain",
    "snow",
    "ice",
    "fog",
    "dew",
    "hail",
    "mist",
]


def bank(text: str, relations: Mapping[str, Relation]) -> list[Item]:
    findings: list[Finding] = []
    found = read_items("tank.yaml", "tank", text.encode(), relations, findings)
    assert findings == []
    return list(found.items)


def told(text: str, relations: Mapping[str, Relation]) -> list[str]:
    return [str(finding) for finding in check_bank(bank(text, relations))]


def fixed(number: int, right: int) -> str:
    """A choice whose options stand as written, the right one at a place."""
    options = [f"{{text: {10 * (n + 1)} L{', right: true' if n == right else ''}}}" for n in range(4)]
    word = NUMBERS[number]
    return (
        f"- id: tank-{number}\n  objective: tank.1\n  kind: choice\n  keep_order: true\n"
        f"  stem: How much {word} goes {word} by {word}?\n  options: [{', '.join(options)}]\n"
    )


def computed(number: int, factors: tuple[str, ...]) -> str:
    options = [
        f'{{value: "{factor} * cylinder_volume(bore, depth)", unit: L{", right: true" if factor == "1" else ""}}}'
        for factor in factors
    ]
    word = NUMBERS[number]
    return (
        f"- id: tank-{number}\n  objective: tank.1\n  kind: choice\n"
        "  given: {bore: {from: 0.50 m, to: 0.80 m, step: 0.02 m}, depth: {pick: [40 cm, 50 cm]}}\n"
        f"  stem: How much {word} has {{bore}} by {{depth}} of {word}?\n  options: [{', '.join(options)}]\n"
    )


def test_right_options_that_stand_in_one_place_are_told(toy_relations: Mapping[str, Relation]) -> None:
    (line,) = told("".join(fixed(n, 1) for n in range(14)), toy_relations)
    assert line == (
        "tank.yaml: warning: the right options of 14 choices of the bank stand unevenly: a 0, b 14, c 0, d 0; let the right "
        "option stand in other places: shuffle, or add wrong numbers on the other side of it [key-places]"
    )


def test_right_options_spread_over_the_places_are_not(toy_relations: Mapping[str, Relation]) -> None:
    assert told("".join(fixed(n, n % 4) for n in range(14)), toy_relations) == []


def test_few_items_are_not_judged_by_their_places(toy_relations: Mapping[str, Relation]) -> None:
    assert told("".join(fixed(n, 1) for n in range(11)), toy_relations) == []


def test_numbers_whose_right_one_is_never_at_an_end_are_told(toy_relations: Mapping[str, Relation]) -> None:
    # Sorted, rising or falling as drawn: the right one of these is always the second or the third.
    (line,) = told("".join(computed(n, ("0.5", "1", "2", "4")) for n in range(16)), toy_relations)
    assert "stand unevenly: a 0, b 8, c 8, d 0" in line


def test_numbers_whose_right_one_is_at_an_end_as_often_are_not(toy_relations: Mapping[str, Relation]) -> None:
    low, middle = ("1", "2", "4", "8"), ("0.5", "1", "2", "4")
    assert told("".join(computed(n, low if n % 2 else middle) for n in range(16)), toy_relations) == []


@pytest.mark.parametrize("factors", [("1", "2", "4", "8"), ("0.5", "1", "2", "4"), ("0.25", "0.5", "1")])
def test_places_are_those_that_papers_draw(toy_relations: Mapping[str, Relation], factors: tuple[str, ...]) -> None:
    (item,) = bank(computed(0, factors), toy_relations)
    counts: Counter[str] = Counter()
    for number in range(400):
        question = draw_question(item, b"places", f"p{number}", {})
        assert isinstance(question, Choice)
        counts[question.right] += 1
    for letter, share in zip("abcd", places_of(item, item.parts[0]), strict=False):
        assert counts[letter] / 400 == pytest.approx(share, abs=0.08)


# scipy's chi-square distribution is the oracle of the tail, and its test that of the statistic.
@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(5, 60), min_size=2, max_size=8))
def test_the_chance_is_that_of_a_chi_square_test(counts: list[int]) -> None:
    want = [sum(counts) / len(counts)] * len(counts)
    assert chance(counts, want) == pytest.approx(stats.chisquare(counts).pvalue, rel=1e-9, abs=1e-14)


def test_places_that_few_items_have_are_joined() -> None:
    assert chance([10, 10, 9, 11, 1], [10, 10, 10, 10, 1]) == pytest.approx(
        stats.chisquare([10, 10, 9, 12], [10, 10, 10, 11]).pvalue
    )
    assert chance([2, 1], [1.5, 1.5]) == 1.0


TELLS = """- id: tank-a
  objective: tank.1
  kind: choice
  stem: What stops the water?
  options: [{text: the float valve shuts, right: true}, {text: the tap drips on}]
- id: tank-b
  objective: tank.1
  kind: choice
  stem: OTHER
  options: [{text: yes}, {text: sometimes, right: true}]
"""


def test_a_text_that_holds_another_items_answer_is_told(toy_relations: Mapping[str, Relation]) -> None:
    assert told(TELLS.replace("OTHER", "As the float valve shuts, does a hose burst?"), toy_relations) == [
        "tank.yaml:9: warning: tank-b: its text holds `the float valve shuts`, the right answer of tank-a; "
        "say it in other words, or ask something else [tells-another]"
    ]


@pytest.mark.parametrize("stem", ["As the float valve opens, does a hose burst?", "As the tap drips on, does a hose burst?"])
def test_a_text_with_some_words_of_an_answer_or_a_wrong_one_is_not(toy_relations: Mapping[str, Relation], stem: str) -> None:
    assert told(TELLS.replace("OTHER", stem), toy_relations) == []


CASE = """- id: tank-c
  objective: tank.1
  kind: case
  stem: A tank is full.
  parts:
    - {name: cause, kind: choice, stem: What stops it?, options: [{text: the float valve shuts, right: true}, {text: luck}]}
    - {name: next, kind: choice, stem: LATER, options: [{text: wait, right: true}, {text: run}]}
"""


def test_a_part_that_holds_the_answer_of_an_earlier_one_is_told(toy_relations: Mapping[str, Relation]) -> None:
    (line,) = told(CASE.replace("LATER", "What is done once the float valve shuts?"), toy_relations)
    assert line.startswith(
        "tank.yaml:7: warning: tank-c: the part `next` holds `the float valve shuts`, the right answer of `cause`"
    )
    assert told(CASE.replace("LATER", "What is done once it is full?"), toy_relations) == []


ALIKE = """- id: tank-a
  objective: tank.1
  kind: choice
  stem: A tank stands in the sun all day and nobody has put a lid on it. What becomes of the water?
  options: [{text: less, right: true}, {text: more}]
- id: tank-b
  objective: tank.1
  kind: choice
  stem: A tank stands in the sun all day and nobody has put a lid on it. What has become of the water?
  options: [{text: less, right: true}, {text: OPTION}]
"""


def test_two_items_that_ask_the_same_are_told(toy_relations: Mapping[str, Relation]) -> None:
    (line,) = told(ALIKE.replace("OPTION", "more"), toy_relations)
    assert line.startswith("tank.yaml:9: warning: tank-b: it asks nearly what tank-a asks: ")
    assert line.endswith("say it in other words, or ask something else [similar-stems]")


def test_one_scene_with_other_options_is_not(toy_relations: Mapping[str, Relation]) -> None:
    assert told(ALIKE.replace("OPTION", "warm"), toy_relations) == []


def test_an_item_at_fault_is_left_out_of_what_is_looked_at_together(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    path = copy / "questions/exam/tank.yaml"
    faulty = "".join(computed(n, ("1", "2", "4", "8")).replace('depth)"', 'dept)"') for n in range(14))
    path.write_text(path.read_text("utf-8") + faulty, "utf-8")
    found = check_course(load_course(copy, toy_relations), 10).findings
    assert {finding.code for finding in found if finding.level == "error"} == {"unknown-name"}


def test_what_shows_over_a_bank_can_be_waived_in_the_item(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    path = copy / "questions/exam/tank.yaml"
    two = ALIKE.replace("OPTION", "more").replace("tank-a", "tank-sun").replace("tank-b", "tank-shade")
    path.write_text(path.read_text("utf-8") + two, "utf-8")
    assert "similar-stems" in {finding.code for finding in check_course(load_course(copy, toy_relations), 10).findings}
    path.write_text(path.read_text("utf-8") + "  waive: {similar-stems: a pair on purpose}\n", "utf-8")
    checked = check_course(load_course(copy, toy_relations), 10)
    assert "similar-stems" not in {finding.code for finding in checked.findings}
    assert [(finding.code, reason) for finding, reason in checked.waived] == [("similar-stems", "a pair on purpose")]
