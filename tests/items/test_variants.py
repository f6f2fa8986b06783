"""A variant in the key's form."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.canon import canonical
from grader.base.errors import UseError
from grader.items.course import Course
from grader.items.variants import draw_question
from grader.marking import key
from grader.relations.tree import evaluate

FULL = {
    "numeric": key.Numeric,
    "choice": key.Choice,
    "choices": key.Choices,
    "order": key.Order,
    "match": key.Match,
    "case": key.Case,
}


def drawn(course: Course, item: str, paper: str = "P") -> key.AnyQuestion:
    return draw_question(course.items[item], b"secret", paper, course.figures)


def test_every_kind_comes_in_its_own_form_and_again_the_same(toy: Course) -> None:
    kinds: set[str] = set()
    for name, item in toy.items.items():
        found = drawn(toy, name)
        assert isinstance(found, FULL[item.kind])
        assert canonical(msgspec.to_builtins(found)) == canonical(msgspec.to_builtins(drawn(toy, name)))
        assert msgspec.json.decode(msgspec.json.encode(found), type=key.AnyQuestion) == found
        kinds.add(item.kind)
    assert kinds == set(FULL)


def test_another_shuffle_moves_options_and_nothing_else(toy: Course) -> None:
    for name, item in toy.items.items():
        papers = [f"P{n}" for n in range(6)]
        first = [drawn(toy, name, paper) for paper in papers]
        other = [draw_question(item, b"secret", paper, toy.figures, shuffle=1) for paper in papers]
        if item.kind == "choice" and not item.parts[0].keep_order:
            assert first != other
        if item.kind not in {"choice", "choices", "case"}:
            assert first == other
        for one, two in zip(first, other, strict=True):
            assert one.stem == two.stem
            if isinstance(one, key.Choice) and isinstance(two, key.Choice):
                assert sorted(option.text for option in one.options) == sorted(option.text for option in two.options)
                right = [next(o.text for o in found.options if o.letter == found.right) for found in (one, two)]
                assert right[0] == right[1]


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=10))
def test_the_letters_of_what_is_right_belong_to_what_is_right(toy: Course, paper: str) -> None:
    choice = drawn(toy, "tank-which-measure", paper)
    assert isinstance(choice, key.Choice)
    assert next(o.text for o in choice.options if o.letter == choice.right) == "bore and depth"
    ticks = drawn(toy, "hose-ticks", paper)
    assert isinstance(ticks, key.Choices)
    assert {o.text for o in ticks.options if o.letter in ticks.right} == {"a kink", "a half-shut tap"}
    order = drawn(toy, "hose-order", paper)
    assert isinstance(order, key.Order)
    texts = {entry.letter: entry.text for entry in order.entries}
    assert [texts[letter] for letter in order.right] == ["Open the tap", "Watch the level", "Shut the tap", "Roll up the hose"]
    assert list(order.right) != sorted(order.right)
    match = drawn(toy, "hose-match", paper)
    assert isinstance(match, key.Match)
    options = {option.letter: option.text for option in match.options}
    pairs = {row.text: options[match.right[row.number]] for row in match.rows}
    assert pairs == {"content": "litres", "flow": "litres a minute"}
    assert set(options.values()) == {"litres", "litres a minute", "bar"}


def test_options_come_in_different_orders(toy: Course) -> None:
    places = set()
    for number in range(30):
        found = drawn(toy, "tank-which-measure", f"p{number}")
        assert isinstance(found, key.Choice)
        assert [option.letter for option in found.options] == ["a", "b", "c"]
        places.add(found.right)
    assert places == {"a", "b", "c"}


def test_computed_options_rise_or_fall(toy: Course) -> None:
    places = set()
    for number in range(30):
        found = drawn(toy, "tank-choose", f"p{number}")
        assert isinstance(found, key.Choice)
        numbers = [float(option.text.split("\u202f")[0]) for option in found.options]
        assert numbers in (sorted(numbers), sorted(numbers, reverse=True))
        places.add(found.right)
    assert len(places) == 2


def test_the_numbers_of_a_question_are_those_of_its_text(toy: Course) -> None:
    found = drawn(toy, "tank-volume")
    assert isinstance(found, key.Numeric)
    words = found.stem.replace("\u202f", " ").split()
    bore, depth = (float(words[words.index(unit) - 1]) for unit in ("m", "cm"))
    # Plane geometry: area of a circle times a height.
    assert float(found.answer.value) == pytest.approx(3.141592653589793 / 4 * bore**2 * depth / 100 * 1000, rel=1e-11)
    assert found.answer.unit == "L"
    assert found.answer.within == "5\u202f%"
    assert found.plausible == ("50", "500")
    assert (found.points, found.hint, found.circuit) == ("2", "First the area.", "tank")
    assert found.figure is not None
    assert found.figure.svg.startswith("<svg")
    assert found.working[0].says == "Area of the circle, times the depth."
    assert found.working[-1].text.replace("\u202f", " ").endswith(" L")


def test_a_later_part_follows_what_was_written_earlier(toy: Course) -> None:
    found = drawn(toy, "hose-time")
    assert isinstance(found, key.Case)
    first, second, third = found.parts
    assert isinstance(first, key.NumericPart)
    assert isinstance(second, key.NumericPart)
    assert isinstance(third, key.ChoicePart)
    assert (first.part, second.part, third.part, found.points) == ("a", "b", "c", "4")
    assert first.follow is None
    assert second.follow is not None
    assert second.follow.takes == {"volume": "a"}
    assert second.follow.within == "5 %"
    # The tree on the key's own earlier value gives the key; on twice of it, twice the key.
    volume = float(first.answer.value) / 1000
    for times in (1, 2):
        followed = evaluate(second.follow.tree, second.follow.values | {"volume": times * volume}) / 60
        assert followed == pytest.approx(times * float(second.answer.value), rel=1e-9)
    tree = second.slips[0].tree
    assert tree is not None
    slip = evaluate(tree, second.follow.values | {"volume": volume}) / 60
    assert slip == pytest.approx(float(second.slips[0].value), rel=1e-9)


def test_a_value_in_between_is_worked_out_first_and_not_called_the_answer(toy: Course) -> None:
    says = [step.says for step in drawn(toy, "tank-depth").working]
    assert says[0] == "First, the plan:"
    assert says.count("The answer:") == 1


def test_a_tolerance_that_is_an_amount_is_written_in_the_answers_unit(toy: Course) -> None:
    found = drawn(toy, "tank-depth")
    assert isinstance(found, key.Numeric)
    value, low, high = (float(text) for text in (found.answer.value, found.answer.low, found.answer.high))
    assert [high - value, value - low] == pytest.approx([2, 2])


def test_a_figure_that_is_not_there_is_told(toy: Course) -> None:
    with pytest.raises(UseError, match="there is no figure `tank`"):
        draw_question(toy.items["tank-volume"], b"s", "P", {})


def test_a_figure_is_read_without_its_head(toy: Course, tmp_path: Path) -> None:
    file = tmp_path / "tank.svg"
    file.write_bytes(b'\xef\xbb\xbf<?xml version="1.0"?>\n<svg/>\n')
    found = draw_question(toy.items["tank-volume"], b"s", "P", {"tank": file})
    assert found.figure is not None
    assert found.figure.svg == "<svg/>"
