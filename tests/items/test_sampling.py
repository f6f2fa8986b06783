"""Variants by the thousand come to the numbers that are drawn one by one, and refuse what they refuse."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.findings import Finding
from grader.items.course import Course, load_course
from grader.items.drawing import Rejected, Variant, numbered
from grader.items.item_file import read_items
from grader.items.model import Item
from grader.items.sampling import Sample, sampled, values_of
from grader.relations.language import parse
from grader.relations.relation import Relation

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def course() -> Course:
    """The course itself: every item of it is sampled."""
    return load_course(ROOT)


def item(text: str, relations: Mapping[str, Relation]) -> Item:
    findings: list[Finding] = []
    bank = read_items("tank.yaml", "tank", text.encode(), relations, findings)
    assert findings == []
    return bank.items[0]


def exactly(sample: Sample, place: int) -> Variant | None:
    try:
        return numbered(sample.item, sample.at(place))
    except Rejected:
        return None


def test_every_item_of_the_course_comes_to_the_same_numbers_both_ways(course: Course) -> None:
    compared = 0
    for each in course.items.values():
        sample = sampled(each, 300)
        for place in {0, 1, sample.size // 3, sample.size - 1} & set(range(sample.size)):
            variant = exactly(sample, place)
            assert (variant is not None) == bool(sample.good[place]), f"{each.id}: {sample.at(place)}"
            if variant is None:
                continue
            for part, asked, numbers in zip(each.parts, sample.parts, variant.parts, strict=True):
                if part.answer is not None and numbers.key is not None and asked.key is not None and asked.reach is not None:
                    factor = float(part.answer.unit.factor)
                    key = float(numbers.key.value) * factor + float(part.answer.unit.offset)
                    assert asked.key[place] == pytest.approx(key, rel=1e-9)
                    assert asked.reach[place] == pytest.approx(float(numbers.key.high - numbers.key.low) / 2 * factor, rel=1e-9)
                    compared += 1
                    for slip, found in zip(numbers.slips, asked.slips, strict=True):
                        written = float(slip.value) * factor + float(part.answer.unit.offset)
                        assert found[place] == pytest.approx(written, rel=1e-9, abs=1e-12 * abs(key))
                for (value, _), options in zip(numbers.options, asked.options, strict=True):
                    assert options[place] == pytest.approx(value, rel=1e-9)
    assert compared > 500


SMALL = """- id: tank-x
  objective: tank.1
  kind: numeric
  given:
    bore: {from: 0.50 m, to: 0.80 m, step: 0.10 m}
    depth: {pick: [40 cm, 50 cm, 60 cm]}
  require: bore > 1.1 * depth
  stem: A tank has a bore of {bore} and is filled {depth} deep. How much water is in it?
  answer: {value: "cylinder_volume(bore, depth)", unit: L, within: 5 %}
"""


def test_all_variants_are_looked_at_where_there_are_few(toy_relations: Mapping[str, Relation]) -> None:
    sample = sampled(item(SMALL, toy_relations), 2000)
    assert sample.size == 12
    assert len({tuple(sorted(sample.at(place).items())) for place in range(12)}) == 12
    # By hand: of the twelve, 0.5 m with 50 cm and 60 cm and 0.6 m with 60 cm do not fulfil what is required.
    assert sample.accepted == 9
    assert [(count, reason.code, reason.line) for count, reason in sample.reasons()] == [(3, "require-unmet", 7)]


def test_all_variants_are_looked_at_whatever_the_sizes_share(toy_relations: Mapping[str, Relation]) -> None:
    sample = sampled(item(SMALL.replace("[40 cm, 50 cm, 60 cm]", "[40 cm, 50 cm]"), toy_relations), 2000)
    assert len({tuple(sorted(sample.at(place).items())) for place in range(sample.size)}) == sample.size == 8


CHOICE = """- id: tank-x
  objective: tank.1
  kind: choice
  given:
    bore: {from: 0.50 m, to: 0.80 m, step: 0.10 m}
    depth: {from: 0.500 m, to: 0.560 m, step: 0.005 m}
    sheet_depth: 0.530 m
  stem: A tank has a bore of {bore}; it is filled {depth} deep instead of {sheet_depth}. How much water is in it?
  options:
    - {value: "cylinder_volume(bore, depth)", unit: L, right: true}
    - {value: "cylinder_volume(bore, sheet_depth)", unit: L}
"""


def test_options_are_refused_where_the_exact_draw_refuses_them(toy_relations: Mapping[str, Relation]) -> None:
    sample = sampled(item(CHOICE, toy_relations), 2000)
    exact = [exactly(sample, place) is not None for place in range(sample.size)]
    assert exact == sample.good.tolist()
    # By hand: 0.530 m lies within 2 % of 0.520, 0.525, 0.530, 0.535 and 0.540 m, five of the thirteen.
    assert (sample.accepted, sample.size) == (4 * 8, 4 * 13)


@pytest.mark.parametrize(("plausible", "accepted"), [("1 L to 200 L", 5), ("100 L to 900 L", 8), ("1 L to 900 L", 9)])
def test_what_is_not_plausible_is_refused_at_both_ends(
    toy_relations: Mapping[str, Relation], plausible: str, accepted: int
) -> None:
    # By hand, pi/4 D^2 h of the nine: 79, 113, 141, 154, 192, 201, 231, 251 and 302 L.
    sample = sampled(item(SMALL.replace("within: 5 %", f"within: 5 %, plausible: {plausible}"), toy_relations), 100)
    assert sample.accepted == accepted


@settings(max_examples=30, deadline=None)
@given(st.integers(4, 400), st.integers(2, 60), st.integers(1, 60))
def test_a_spread_reaches_the_corners_and_every_part_of_the_ranges(
    toy_relations: Mapping[str, Relation], count: int, first: int, second: int
) -> None:
    text = SMALL.replace("to: 0.80 m, step: 0.10 m", f"to: {0.5 + first / 100:.2f} m, step: 0.01 m")
    text = text.replace("[40 cm, 50 cm, 60 cm]", str([f"{40 + n} cm" for n in range(second)]))
    sample = sampled(item(text, toy_relations), count)
    assert sample.size == min(count, (first + 1) * second)
    for name, size in (("bore", first + 1), ("depth", second)):
        drawn = sample.drawn[name]
        assert 0 <= drawn.min() <= drawn.max() < size
        if sample.size >= 16:
            assert (drawn.min(), drawn.max()) == (0, size - 1)
            # Roughly as many in the lower half as in the upper.
            assert abs(float(np.mean(drawn < size / 2)) - np.ceil(size / 2) / size) < 0.25


@pytest.mark.parametrize(
    "text", ["1 / (x - 2)", "sqrt(x - 2)", "log(x - 2)", "x if x > 2 else 1 / (x - 2)", "1 if x > 2 and x < 4 else 0", "x**-1.5"]
)
def test_an_expression_has_no_value_where_it_has_none_on_floats(text: str) -> None:
    expression = parse(text)
    values = np.array([1.0, 2.0, 3.0, 4.0])
    found = values_of(expression, {"x": values}, 4)
    for value, alone in zip(values, found, strict=True):
        try:
            assert alone == expression.evaluate({"x": float(value)})
        except RangeError:
            assert np.isnan(alone)


def test_a_relation_is_refused_outside_its_range_also_where_another_calls_it(toy_relations: Mapping[str, Relation]) -> None:
    expression = parse("1 + fill_time(cylinder_volume(bore, 1), 1)", toy_relations)
    found = values_of(expression, {"bore": np.array([1.0, -1.0])}, 2)
    assert np.isfinite(found[0])
    assert np.isnan(found[1])
