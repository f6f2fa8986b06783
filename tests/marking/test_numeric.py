"""One number: the order of the verdicts, and bounds that include themselves."""

from __future__ import annotations

from typing import Any

import pytest

from grader.marking.key import Key, Numeric, unit_entries
from grader.marking.mark import mark_question
from grader.marking.outcome import Outcome
from grader.marking.units import Units

UNITS = unit_entries()


def mark_numeric(question: Numeric, text: str, units: Units = UNITS) -> Outcome:
    (outcome,) = mark_question(question, {"": text}, units)
    return outcome


def told(key: Key, text: str) -> Outcome:
    question = key.questions[0]
    assert isinstance(question, Numeric)
    return mark_numeric(question, text, key.units)


@pytest.mark.parametrize(
    ("text", "verdict", "mark"),
    [
        ("2.30 mm²", "right", "2"),
        ("2.3", "right", "2"),
        ("0.0230 cm²", "right", "2"),
        ("0.003563 in²", "right", "2"),
        ("2.2525", "right", "2"),
        ("2.2524999999999999999999", "wrong", "0"),
        ("2.3444 mm2", "right", "2"),
        ("2.3444000000000000000001", "wrong", "0"),
        ("4.57 mm²", "slip", "0"),
        ("0.397", "slip", "0"),
        ("3 mm²", "wrong", "0"),
        ("230 mm²", "wrong", "0"),
        ("2.3 kPa", "unit", "0"),
        ("2.3 mm", "unit", "0"),
        ("2,300", "unreadable", "0"),
        ("large", "unreadable", "0"),
        ("", "blank", "0"),
        (" – ", "blank", "0"),
    ],
)
def test_an_answer_gets_its_verdict(key: Key, text: str, verdict: str, mark: str) -> None:
    found = told(key, text)
    assert (found.verdict, found.mark, found.out_of) == (verdict, mark, "2")


def test_a_slip_is_told_what_went_wrong(key: Key) -> None:
    assert told(key, "4.57").why == "That is the whole jet. Take away the rod's own area."


def test_a_wrong_answer_out_of_proportion_is_told_so(key: Key) -> None:
    assert "far from any value met in practice (1\u202fmm² to 5\u202fmm²)" in told(key, "230").why
    assert "in practice" not in told(key, "3").why


def test_another_kind_of_quantity_is_named(key: Key) -> None:
    assert told(key, "2 kPa").why == "2\u202fkPa is of another kind (pressure); wanted is area (mm²)."


@pytest.mark.parametrize(
    ("value", "low", "high", "typed"),
    [
        # Worked out by hand with decimals: binary floats get the first two wrong
        ("1.1", "0.99", "1.21", ["0.99", "1.21"]),
        ("0.3", "0.2", "0.4", ["0.4", "0.2"]),
        ("19.4", "19.012", "19.788", ["19.012", "19.788", "19.0120 mm"]),
    ],
)
def test_a_number_on_the_bound_is_inside(number_question: Any, value: str, low: str, high: str, typed: list[str]) -> None:
    question = number_question(value, low, high, "mm")
    assert {mark_numeric(question, text, UNITS).verdict for text in typed} == {"right"}


def test_a_bound_holds_exactly_through_a_conversion(number_question: Any) -> None:
    question = number_question("4", "3.96875", "4.1", "mm")
    assert mark_numeric(question, "5/32 in", UNITS).verdict == "right"
    assert mark_numeric(question, "0.15625 in", UNITS).verdict == "right"
    assert mark_numeric(question, "0.15624999 in", UNITS).verdict == "wrong"


def test_temperatures_convert_with_their_offsets(number_question: Any) -> None:
    # 212 °F is 100 °C (the definition of the scales)
    question = number_question("100", "100", "100", "degC")
    assert mark_numeric(question, "212 °F", UNITS).verdict == "right"
    assert mark_numeric(question, "373.15 K", UNITS).verdict == "right"


def test_right_goes_before_slip_and_slips_in_their_order(number_question: Any) -> None:
    slips = [
        {"value": "2", "low": "1", "high": "3", "says": "first"},
        {"value": "2.5", "low": "2", "high": "4", "says": "second"},
    ]
    question = number_question("2", "1.9", "2.1", "mm", slips)
    outcomes = [mark_numeric(question, text, UNITS) for text in ("2", "2.5", "3.5")]
    assert [(o.verdict, o.why) for o in outcomes] == [("right", "Right."), ("slip", "first"), ("slip", "second")]


def test_an_instrument_is_marked_like_a_number(key: Key) -> None:
    (outcome,) = mark_question(key.questions[6], {"": "22.2 °C"}, key.units)  # 71.96 °F
    assert outcome.verdict == "right"


def test_marks_are_rounded_once_half_to_even(key: Key) -> None:
    # 6 of 10 pairs of 0.125 points: 0.075, a tie between 0.07 and 0.08, to the even 0.08
    import msgspec

    question = msgspec.structs.replace(key.questions[4], points="0.125")
    (outcome,) = mark_question(question, {"": "bcdea"}, key.units)
    assert (outcome.mark, outcome.out_of) == ("0.08", "0.12")


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        # 0.0656 in is 1.666 mm (an inch is 25.4 mm), 640 Pa is 2.569 inH₂O (1 inH₂O is 249.089 Pa)
        (("0.0656", "0.0650", "0.0662", "in"), "1.666", "That number is the answer in mm; write the unit."),
        (("0.0656", "0.0650", "0.0662", "in"), "65.6", "That number is the answer in thou; write the unit."),
        (("55.7", "54.6", "56.8", "%"), "0.557", "That number is the answer as a plain number; wanted is %."),
        (("0.557", "0.546", "0.568", "1"), "55.7", "That number is the answer in %; write the unit."),
        (("2.569", "2.5", "2.64", "inH2O"), "640", "That number is the answer in Pa; write the unit."),
        (("1", "0.98", "1.02", "bar"), "0.0656 mm", None),
        (("0", "-1", "1", "mm"), "1.5", "Not within 2 % of the answer."),
    ],
)
def test_the_answers_number_in_another_unit_is_wrong_and_told_so(
    number_question: Any, key: Any, text: str, says: str | None
) -> None:
    found = mark_numeric(number_question(*key), text, UNITS)
    assert (found.verdict, found.why) == ("wrong", says) if says else found.verdict == "unit"


def test_of_several_other_units_the_nearest_is_named(number_question: Any) -> None:
    # 1 atm is 101.325 kPa, 1 bar 100 kPa: both within 2 % of 100.9 kPa
    question = number_question("100.9", "98.9", "102.9", "kPa")
    assert [mark_numeric(question, "1", UNITS).why.split()[6], mark_numeric(question, "1.01", UNITS).why.split()[6]] == [
        "atm;",
        "bar;",
    ]


def test_out_of_proportion_asks_for_the_unit(key: Key) -> None:
    assert told(key, "777").why.endswith("check the unit and the decimal point.")
