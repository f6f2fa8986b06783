"""Cases: each part on the candidate's own earlier values."""

from __future__ import annotations

import pytest

from grader.marking.case import carried_value, tolerance
from grader.marking.key import Case, Key, NumericPart
from grader.marking.mark import mark_question
from grader.marking.outcome import Outcome


def told(key: Key, **answers: str) -> dict[str, Outcome]:
    question = key.questions[3]
    assert isinstance(question, Case)
    return {o.part: o for o in mark_question(question, answers, key.units)}


def verdicts(key: Key, **answers: str) -> str:
    return " ".join(o.verdict for o in told(key, **answers).values())


def test_all_right(key: Key) -> None:
    assert verdicts(key, a="2.30", b="3.87", c="a", d="14.5") == "right right right right"


def test_a_wrong_start_costs_its_own_marks_only(key: Key) -> None:
    # The whole jet, 4.573035 mm²: 0.8 * 4.573035e-6 * 2107.131 = 7.708807 g/s; 56 / 7.708807 = 7.26442 (by hand)
    outcomes = told(key, a="4.573 mm²", b="7.709 g/s", c="a", d="7.264")
    assert [o.verdict for o in outcomes.values()] == ["slip", "followed", "right", "followed"]
    assert [o.mark for o in outcomes.values()] == ["0", "2", "1", "2"]


def test_the_chain_is_shown(key: Key) -> None:
    outcomes = told(key, a="4.573 mm²", b="7.709 g/s")
    assert outcomes["b"].why == "Right on your own earlier value: with a = 4.573\u202fmm² it comes to 7.709\u202fg/s."


def test_an_own_value_is_carried_on_where_it_was_itself_followed(key: Key) -> None:
    # d follows the b that was written (followed, rounded to 7.7), not the b that a would exactly give: 56 / 7.7 = 7.2727
    assert verdicts(key, a="4.573", b="7.7", d="7.273") == "slip followed blank followed"


def test_an_own_value_in_another_unit_is_carried_on(key: Key) -> None:
    assert verdicts(key, a="0.04573 cm²", b="27.75 kg/h", d="7.264") == "slip followed blank followed"  # 7.709 g/s


def test_a_right_but_coarse_start_is_not_held_against_the_rest(key: Key) -> None:
    # a = 2.34 is inside 2 %; b on it is 3.94455; 4.0 is outside the key's bounds, inside 2 % of 3.94455 (3.8657 to 4.0234)
    assert verdicts(key, a="2.34", b="4.0") == "right followed blank blank"


def test_the_keys_value_stands_in_where_nothing_usable_was_written(key: Key) -> None:
    for a in ("", "large", "2.3 kPa", "0 mm²"):
        assert verdicts(key, a=a, b="3.87").split()[1] == "right"
        assert verdicts(key, a=a, b="7.709").split()[1] == "wrong"


def test_nothing_is_not_followed(key: Key) -> None:
    assert verdicts(key, a="0 mm²", b="0 g/s", d="0") == "wrong wrong blank wrong"


def test_an_early_0_is_carried_on_where_it_leads_to_something(key: Key) -> None:
    import msgspec

    plain = msgspec.to_builtins(key.questions[3])
    plain["parts"][1]["follow"]["tree"] = ["+", ["name", "open_area"], 0.002]  # 2 g/s where the area is 0
    question = msgspec.convert(plain, Case)
    assert [o.verdict for o in mark_question(question, {"a": "0", "b": "2 g/s"}, key.units)][:2] == ["wrong", "followed"]


def test_a_slip_is_known_again_on_the_own_value(key: Key) -> None:
    # without the 2 under the root: 7.708807 / sqrt(2) = 5.45095
    outcomes = told(key, a="4.573", b="5.451")
    assert (outcomes["b"].verdict, outcomes["b"].why, outcomes["b"].mark) == (
        "slip",
        "Twice the pressure stands under the root.",
        "0",
    )


def test_a_slip_on_the_keys_value_is_known_too(key: Key) -> None:
    assert verdicts(key, a="2.30", b="2.74") == "right slip blank blank"


def test_a_negative_start_is_followed_without_harm(key: Key) -> None:
    assert verdicts(key, a="-4.573", b="-7.709", d="-7.264") == "wrong followed blank followed"


def test_a_followed_value_is_rounded_to_twelve_figures_before_its_bounds(key: Key) -> None:
    question = key.questions[3]
    assert isinstance(question, Case)
    part = question.parts[3]
    assert isinstance(part, NumericPart)
    assert part.follow is not None
    from grader.marking.numbers import ReadNumber, read_number

    own = read_number("7.7 g/s", key.units, "g/s")
    assert isinstance(own, ReadNumber)
    value = carried_value(part.follow, part.follow.tree, {"b": own}, {}, key.units, "1")
    assert value is not None
    assert str(value * 10**11) == "727272727273"  # 56/7.7 = 7.272727272727..., to 12 figures


def test_a_value_that_does_not_exist_is_not_followed(key: Key) -> None:
    # 56 / 0 has no value, and neither has the root of a negative number
    assert verdicts(key, a="2.3", b="0 g/s", d="3") == "right wrong blank wrong"


@pytest.mark.parametrize(
    ("within", "unit", "expected"),
    [("2 %", "mm", "1"), ("0.5 mm", "mm", "0.5"), ("0.02 in", "mm", "0.508"), ("1 degC", "degF", "1.8")],
)
def test_a_tolerance_is_a_share_or_an_amount(key: Key, within: str, unit: str, expected: str) -> None:
    from fractions import Fraction

    assert tolerance(Fraction(-50), within, key.units, unit) == Fraction(expected)


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        ({"a": "20", "b": "30", "c": "40"}, "right right right"),
        ({"a": "25 °C", "b": "35", "c": "45"}, "wrong followed followed"),
        ({"a": "77 °F", "b": "95 °F", "c": "318.15 K"}, "wrong followed followed"),  # 25, 35, 45 °C
        ({"a": "25", "b": "35.5"}, "wrong followed blank"),
        ({"a": "25", "b": "34.5"}, "wrong followed blank"),
        ({"a": "25", "b": "35.51"}, "wrong wrong blank"),
        ({"a": "25", "b": "34.49"}, "wrong wrong blank"),
        ({"a": "25", "b": "15"}, "wrong slip blank"),
        ({"a": "", "c": "40"}, "blank blank right"),
        ({"b": "35", "c": "45"}, "blank wrong followed"),
    ],
)
def test_offsets_and_amounts_hold_through_a_chain(key: Key, warming: Case, answers: dict[str, str], expected: str) -> None:
    assert " ".join(o.verdict for o in mark_question(warming, answers, key.units)) == expected


def test_a_slip_from_the_keys_value_goes_before_one_from_the_own_value(key: Key, warming: Case) -> None:
    # 50 °C is a slip from the key's 20 °C and, to whoever wrote 60 °C, one from their own: the first in the key's order is told
    outcomes = mark_question(warming, {"a": "60", "b": "50"}, key.units)
    assert (outcomes[1].verdict, outcomes[1].why) == ("slip", "a slip from the key's value")


def test_own_and_key_values_go_together_where_a_part_starts_from_two(key: Key, warming: Case) -> None:
    import msgspec

    plain = msgspec.to_builtins(warming)
    tree = ["+", ["name", "first"], ["name", "second"]]
    plain["parts"][2]["follow"] = {"tree": tree, "values": {}, "takes": {"first": "a", "second": "b"}, "within": "0.1 degC"}
    question = msgspec.convert(plain, Case)
    # nothing for a: the key's 293.15 K; 25 °C for b: 298.15 K; together 591.3 K, 318.15 °C
    outcomes = mark_question(question, {"b": "25", "c": "318.15"}, key.units)
    assert outcomes[2].verdict == "followed"
    assert outcomes[2].why == "Right on your own earlier value: with b = 25\u202f°C it comes to 318.2\u202f°C."


def test_a_part_is_followed_on_an_own_value_only(key: Key, warming: Case) -> None:
    import msgspec

    plain = msgspec.to_builtins(warming)
    plain["parts"][1]["answer"] |= {"low": "30", "high": "30"}  # tighter than what the author allows round a followed value
    question = msgspec.convert(plain, Case)
    assert [o.verdict for o in mark_question(question, {"b": "30.2"}, key.units)] == ["blank", "wrong", "blank"]
    assert [o.verdict for o in mark_question(question, {"a": "20", "b": "30.2"}, key.units)] == ["right", "followed", "blank"]
