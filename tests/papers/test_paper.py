from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.marking.key import AnyQuestion
from grader.papers.paper import asked, own_minutes, shown_points


def test_what_is_asked_carries_nothing_of_the_answer(questions: tuple[AnyQuestion, ...]) -> None:
    text = repr([asked(question) for question in questions]).replace("SECRET title", "").replace("SECRET description", "")
    for word in ("SECRET", "7771", "7770", "8881", "6661", "9991"):  # the figure's own words are taken out where it is printed
        assert word not in text


def test_an_instrument_keeps_its_rule_and_nothing_else_has_one(questions: tuple[AnyQuestion, ...]) -> None:
    assert {seen.kind: seen.rule for seen in map(asked, questions) if seen.rule} == {"reading": "Read to half a line."}


def test_a_case_is_answered_part_by_part(questions: tuple[AnyQuestion, ...]) -> None:
    assert [one.label for question in questions for one in asked(question).answered()] == [
        "1",
        "2",
        "3",
        "4",
        "5",
        "6a",
        "6b",
        "6c",
        "7",
        "8",
    ]


def test_the_unit_asked_for_is_the_sign_people_know(questions: tuple[AnyQuestion, ...]) -> None:
    assert [asked(questions[n]).unit for n in (0, 6, 7)] == ["mm²", "inHg", ""]


@given(minutes=st.integers(1, 600), percent=st.integers(0, 100))
def test_extra_time_is_never_cut_and_never_a_minute_too_long(minutes: int, percent: int) -> None:
    exact = minutes * (1 + Fraction(percent, 100))
    assert 0 <= own_minutes(Fraction(minutes), Fraction(percent, 100)) - exact < 1


@pytest.mark.parametrize(("written", "shown"), [("1", "1"), ("2.50", "2.5"), ("0.25", "0.25")])
def test_points_are_shown_without_needless_zeros(written: str, shown: str) -> None:
    assert shown_points(written) == shown


@pytest.mark.parametrize(
    ("points", "shown"),
    # By hand; forty steps of 999999.999999 points are 39999999.99996.
    [
        ("10", "10"),
        ("0", "0"),
        ("0.000001", "0.000001"),
        ("1000000", "1000000"),
        ("39999999.99996", "39999999.99996"),
        ("1/3", "0.333333"),
    ],
)
def test_points_are_never_written_in_powers_of_ten(points: str, shown: str) -> None:
    assert shown_points(points) == shown
