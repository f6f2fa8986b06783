"""The numbers of a variant: what is printed is what is used, bounds are exact, and what will not do is drawn again."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.base.quantities import read_quantity, unit
from grader.items.course import Course
from grader.items.drawing import bounded, draw_variant, twelve
from grader.items.item_file import read_items
from grader.items.model import Formula, Item, NumericAnswer
from grader.relations.language import parse
from grader.relations.relation import Relation


def answer(measure: str, within: str) -> NumericAnswer:
    return NumericAnswer(Formula("1", 1, parse("1")), unit(measure), read_quantity(within), 1)


def item(text: str, relations: Mapping[str, Relation]) -> Item:
    findings: list[Finding] = []
    bank = read_items("tank.yaml", "tank", text.encode(), relations, findings)
    assert findings == []
    return bank.items[0]


# On the bound is inside, read as decimals: keys and typed values computed with `decimal`; on floats two of them come out wrong.
@pytest.mark.parametrize(
    ("value", "measure", "within", "low", "high"),
    [
        ("1.1", "1", "10 %", "0.99", "1.21"),
        ("0.3", "1", "0.1", "0.2", "0.4"),
        ("19.4", "mm^2", "2 %", "19.012", "19.788"),
        ("3.96875", "mm", "1/64 in", "3.571875", "4.365625"),
        ("20", "degC", "2 dK", "18", "22"),
        ("-10", "mm", "10 %", "-11", "-9"),
    ],
)
def test_bounds_are_exact_decimals(value: str, measure: str, within: str, low: str, high: str) -> None:
    found = bounded(unit(measure).to_si(Fraction(value)), answer(measure, within))
    assert (found.value, found.low, found.high) == (Decimal(value), Decimal(low), Decimal(high))
    assert found.holds(Decimal(low))
    assert not found.holds(Decimal(low) - Decimal("1e-9"))


@settings(max_examples=100, deadline=None)
@given(st.floats(1e-9, 1e9), st.sampled_from(["mm^2", "in", "inHg", "degF", "cm^3/min", "1"]))
def test_a_key_carries_twelve_figures(si: float, measure: str) -> None:
    found = twelve(si, unit(measure))
    assert len(found.normalize().as_tuple().digits) <= 12
    assert float(found) == pytest.approx(unit(measure).from_si(si), rel=1e-11, abs=1e-9)
    assert "E" not in f"{found:f}"


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=64), st.text(max_size=12), st.integers(0, 8))
def test_a_variant_keeps_its_own_promises(toy: Course, secret: bytes, paper: str, which: int) -> None:
    item = list(toy.items.values())[which]
    variant = draw_variant(item, secret, paper)
    for given_ in item.given:
        quantity = variant.givens[given_.name]
        assert quantity in given_.values
        assert read_quantity(f"{quantity.written} {quantity.unit.name}").si == variant.values[given_.name]
    assert all(condition.expression.evaluate(variant.values) for condition in item.require)
    for part, numbers in zip(item.parts, variant.parts, strict=True):
        if part.answer is None:
            continue
        assert numbers.key is not None
        assert numbers.key.low < numbers.key.value < numbers.key.high
        assert math.isfinite(float(numbers.key.value))
        assert all(not numbers.key.holds(slip.value) for slip in numbers.slips)
        if part.answer.plausible:
            low, high = (twelve(end.si, part.answer.unit) for end in part.answer.plausible)
            assert low <= numbers.key.value <= high


def test_the_same_secret_and_paper_give_the_same_numbers_and_others_do_not(toy: Course) -> None:
    tank = toy.items["tank-volume"]
    drawn = {paper: draw_variant(tank, b"s", paper).givens for paper in ("A", "B", "C", "D", "E", "F")}
    assert drawn["A"] == draw_variant(tank, b"s", "A").givens
    assert len({tuple(q.written for q in givens.values()) for givens in drawn.values()}) > 2


def test_a_variant_stays_what_it_was() -> None:
    """Our own, 2026-11-25: a change here changes every paper ever drawn, so it must not happen."""
    text = """
- id: tank-x
  objective: tank.1
  kind: numeric
  given:
    bore: {from: 0.50 m, to: 0.80 m, step: 0.02 m}
    depth: {pick: [40 cm, 50 cm, 60 cm]}
  require: depth < 0.8 * bore
  stem: "{bore} {depth}"
  answer: {value: "bore * depth", unit: cm^2, within: 5 %}
"""
    found = item(text, {})
    drawn = [draw_variant(found, b"secret", f"paper-{n}") for n in range(4)]
    assert [(v.attempt, v.givens["bore"].written, v.givens["depth"].written) for v in drawn] == [
        (0, "0.80", "60"),
        (2, "0.66", "50"),
        (1, "0.76", "40"),
        (2, "0.70", "40"),
    ]


def test_what_will_not_do_is_drawn_again(toy_relations: Mapping[str, Relation]) -> None:
    text = """
- id: tank-x
  objective: tank.1
  kind: numeric
  given:
    bore: {from: 1 m, to: 100 m, step: 1 m}
  stem: "{bore}"
  answer: {value: "2 * bore", unit: m, within: 5 %, plausible: 195 m to 300 m}
"""
    found = item(text, toy_relations)
    drawn = [draw_variant(found, b"s", f"p{n}") for n in range(20)]
    assert {variant.givens["bore"].written for variant in drawn} <= {"98", "99", "100"}
    assert max(variant.attempt for variant in drawn) > 5


def test_numbers_that_never_do_are_a_finding_on_the_line_that_says_so(toy_relations: Mapping[str, Relation]) -> None:
    text = """
- id: tank-x
  objective: tank.1
  kind: numeric
  given:
    bore: {from: 1 m, to: 3 m, step: 1 m}
  stem: "{bore}"
  answer: {value: "2 * bore", unit: m, within: 5 %}
  slips:
    - {value: "2.05 * bore", says: Nearly.}
"""
    with pytest.raises(FindingsError) as raised:
        draw_variant(item(text, toy_relations), b"s", "p")
    (finding,) = raised.value.findings
    assert (finding.line, finding.code) == (10, "slip-inside-tolerance")
    assert "slip 1 gives" in finding.message
