"""
QTI 3.0 by structure, and marked as ours by a small reading of its response processing.

The facts (elements, cardinalities, templates, order of children) are those of the standard's published examples, repository
1EdTech/qti-examples, commit 49814742; its files may not be passed on, so none is here, and no schema could be had.
"""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from grader.exchange.qti import NAMESPACE, TEMPLATES, QtiItem, name_of, qti_item
from grader.items.course import Course, load_course
from grader.items.variants import draw_question
from grader.marking.key import AnyQuestion, Case, Choice, Choices, Match, Numeric, Order, Reading, unit_entries
from grader.marking.mark import mark_question

ROOT = Path(__file__).parent.parent.parent
Q = f"{{{NAMESPACE}}}"
UNITS = unit_entries()


@pytest.fixture(scope="module")
def course() -> Course:
    return load_course(ROOT)


@pytest.fixture(scope="module")
def made(course: Course) -> list[tuple[AnyQuestion, QtiItem]]:
    """Five open items of each kind."""
    found = []
    for kind in ("numeric", "reading", "choice", "choices", "order", "match", "case"):
        items = [item for item in course.practice if item.kind == kind][:5]
        questions = [draw_question(item, b"demo", "1", course.figures) for item in items]
        found += [(question, qti_item(question, name_of(question.item), "en-GB")) for question in questions]
    return found


def test_every_item_has_the_parts_of_the_standard_in_their_order(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    order = ["response-declaration", "outcome-declaration", "item-body", "response-processing"]
    for question, item in made:
        root = etree.fromstring(item.xml)
        assert root.tag == f"{Q}qti-assessment-item"
        assert {"identifier", "title", "time-dependent"} <= set(root.attrib)
        assert root.get("{http://www.w3.org/XML/1998/namespace}lang") == "en-GB"
        children = [child.tag.removeprefix(f"{Q}qti-") for child in root]
        assert [name for name in order if name in children] == list(dict.fromkeys(children))
        assert re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", item.identifier)
        assert question.stem.split("\n\n")[0] in "".join(root.itertext())


def test_every_answer_asked_for_is_declared_and_every_value_names_a_choice(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    for _, item in made:
        root = etree.fromstring(item.xml)
        declared = {one.get("identifier"): one for one in root.iter(f"{Q}qti-response-declaration")}
        asked = [one.get("response-identifier") for one in root.iter() if one.get("response-identifier")]
        assert sorted(declared) == sorted(asked)
        names = [
            one.get("identifier") for tag in ("simple-choice", "simple-associable-choice") for one in root.iter(f"{Q}qti-{tag}")
        ]
        for one in declared.values():
            if one.get("base-type") != "float":
                values = [part for value in one.iter(f"{Q}qti-value") for part in (value.text or "").split()]
                assert set(values) <= set(names)


def test_each_kind_is_asked_as_the_standard_s_examples_ask_it(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    wanted = {
        "numeric": ("text-entry", "single", "float"), "reading": ("text-entry", "single", "float"),
        "choice": ("choice", "single", "identifier"), "choices": ("choice", "multiple", "identifier"),
        "order": ("order", "ordered", "identifier"), "match": ("match", "multiple", "directedPair"),
    }  # fmt: skip
    for question, item in made:
        if isinstance(question, Case):
            continue
        root = etree.fromstring(item.xml)
        (declared,) = root.iter(f"{Q}qti-response-declaration")
        kind = question.__struct_config__.tag
        interaction, cardinality, base = wanted[str(kind)]
        assert root.find(f".//{Q}qti-{interaction}-interaction") is not None
        assert (declared.get("cardinality"), declared.get("base-type")) == (cardinality, base)


def scored(item: QtiItem, responses: dict[str, list[str]]) -> Decimal:
    """What the item's response processing comes to: just the part of the standard that our items use."""
    root = etree.fromstring(item.xml)
    declared = {str(one.get("identifier")): one for one in root.iter(f"{Q}qti-response-declaration")}
    (processing,) = root.iter(f"{Q}qti-response-processing")
    template = (processing.get("template") or "").removeprefix(TEMPLATES)
    if template == "match_correct.xml":
        return Decimal(_correct(declared["RESPONSE"]) == responses["RESPONSE"])
    if template == "map_response.xml":
        return _mapped(declared["RESPONSE"], responses["RESPONSE"])
    assert template == ""
    total = Decimal(0)
    for step in processing:
        if step.tag == f"{Q}qti-set-outcome-value":
            name = str(step[0][1].get("identifier"))
            total += _mapped(declared[name], responses[name])
            continue
        test, change = step[0]
        name = str(test[0].get("identifier"))
        if _true(test, _correct(declared[name]), responses[name]):
            total += Decimal(str(change[0][1].text))
    return total


def _correct(declared: etree._Element) -> list[str]:
    return [str(value.text) for value in declared.iter(f"{Q}qti-value")]


def _mapped(declared: etree._Element, given: list[str]) -> Decimal:
    (mapping,) = declared.iter(f"{Q}qti-mapping")
    worth = {entry.get("map-key"): Decimal(str(entry.get("mapped-value"))) for entry in mapping}
    total = sum((worth.get(value, Decimal(0)) for value in set(given)), Decimal(0))
    return min(max(total, Decimal(str(mapping.get("lower-bound")))), Decimal(str(mapping.get("upper-bound"))))


def _true(test: etree._Element, correct: list[str], given: list[str]) -> bool:
    if test.tag == f"{Q}qti-match":
        return correct == given
    assert (test.tag, test.get("tolerance-mode"), test[0].tag) == (f"{Q}qti-equal", "absolute", f"{Q}qti-correct")
    below, above = map(Decimal, str(test.get("tolerance")).split())
    return bool(given) and Decimal(correct[0]) - below <= Decimal(given[0]) <= Decimal(correct[0]) + above


def answered(question: AnyQuestion, chance: np.random.Generator) -> tuple[str, list[str]]:
    """Some answer, as our marker takes it and as the standard does."""
    match question:
        case Numeric() | Reading():
            low, high = Decimal(question.answer.low), Decimal(question.answer.high)
            text = f"{low + (high - low) * int(chance.integers(-3, 14)) / 10}"
            return text, [text]
        case Choice():
            letter = str(chance.choice([option.letter for option in question.options]))
            return letter, [letter]
        case Choices():
            letters = [option.letter for option in question.options if chance.random() < 0.5] or ["a"]
            return " ".join(letters), letters
        case Order():
            letters = [str(letter) for letter in chance.permutation([entry.letter for entry in question.entries])]
            return " ".join(letters), letters
        case Match():
            options = [option.letter for option in question.options]
            pairs = [(row.number, str(chance.choice(options))) for row in question.rows]
            return " ".join(f"{row}-{letter}" for row, letter in pairs), [f"row-{row} {letter}" for row, letter in pairs]
        case Case():
            raise AssertionError("a case is answered part by part")


def test_the_item_marks_as_our_marker_does_but_for_what_is_said_to_be_lost(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    chance = np.random.default_rng(20310512)
    for question, item in made:
        for _ in range(0 if isinstance(question, Case) else 40):
            given, response = answered(question, chance)
            (ours,) = mark_question(question, {"": given}, UNITS)
            theirs = scored(item, {"RESPONSE": response})
            if isinstance(question, Order) and ours.mark != ours.out_of:
                assert theirs == 0
                assert "part marks for an order: it is all or nothing" in item.lost
            else:
                assert float(theirs) == pytest.approx(float(ours.mark), abs=0.0051)  # ours to the hundredth


def test_a_case_answered_rightly_throughout_has_all_its_points(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    for question, item in made:
        if isinstance(question, Case):
            right = {
                f"RESPONSE_{part.part.upper()}": [part.answer.value if hasattr(part, "answer") else part.right]
                for part in question.parts
            }
            assert scored(item, right) == Decimal(question.points)
            assert scored(item, {name: [] for name in right}) == 0


def test_what_does_not_travel_is_said(made: list[tuple[AnyQuestion, QtiItem]]) -> None:
    lost = {left for _, item in made for left in item.lost}
    assert {
        "slips and what is said to them",
        "hint and worked answer",
        "marks for going on rightly from an own earlier value",
    } <= lost


@given(st.text(max_size=60))
def test_any_text_becomes_an_xml_name(text: str) -> None:
    assert re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", name_of(text))
