from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.marking.mark import Mark
from grader.register.rule import FAIL, PASS, Rule, Share, decimal, judged, percent, reason, rounded, rule_of, shares

RULE = Rule(Fraction(3, 5), Fraction(2, 5))


def _mark(circuit: str, mark: str, out_of: str, number: str = "1") -> Mark:
    return Mark(number, "item", f"{circuit}.1", circuit, "", "", mark, out_of, "part")


# Arithmetic, no source needed: a cut of 70.5 % of 40 marks is 28.2, so 28 fails and 29 passes; a mark on the cut passes.
@pytest.mark.parametrize(
    ("cut", "mark", "out_of", "decision"),
    [
        ("141/200", "28", "40", FAIL),
        ("141/200", "28.2", "40", PASS),
        ("141/200", "29", "40", PASS),
        ("3/5", "18", "30", PASS),
        ("3/5", "17.99", "30", FAIL),
        ("1/3", "1", "3", PASS),
        ("0.55", "11", "20", PASS),  # in binary floats 11/20 is below 0.55 as 55/100 may come out
        ("0.07", "7", "100", PASS),  # and 0.07 * 100 is 7.000000000000001
        ("0", "0", "10", PASS),
        ("1", "10", "10", PASS),
        ("1", "9.999999", "10", FAIL),
    ],
)
def test_a_mark_on_the_cut_passes_and_one_below_it_does_not(cut: str, mark: str, out_of: str, decision: str) -> None:
    assert judged(Rule(Fraction(cut), Fraction(0)), [_mark("main", mark, out_of)])[0] == decision


def test_every_circuit_has_its_least_share() -> None:
    marks = [_mark("main", "10", "10"), _mark("power", "10", "10", "2"), _mark("pump", "3.9", "10", "3")]
    decision, evidence = judged(RULE, marks)
    assert decision == FAIL
    assert evidence["short_of"] == ["39.0 % in pump, below 40 %"]
    assert judged(RULE, [*marks[:2], _mark("pump", "4", "10", "3")])[0] == PASS


def test_all_that_a_candidate_falls_short_of_is_said() -> None:
    decision, evidence = judged(RULE, [_mark("main", "1", "10"), _mark("pump", "0", "10", "2")])
    assert decision == FAIL
    assert evidence == {
        "mark": "1",
        "out_of": "20",
        "percent": "5.0",
        "circuits": {
            "main": {"mark": "1", "out_of": "10", "percent": "10.0"},
            "pump": {"mark": "0", "out_of": "10", "percent": "0.0"},
        },
        "short_of": [
            "below the cut of 60 %",
            "10.0 % in main, below 40 %",
            "0.0 % in pump, below 40 %",
        ],
    }


def test_marks_of_a_circuit_are_added_exactly() -> None:
    whole, circuits = shares([_mark("main", "0.1", "0.3", str(number)) for number in range(3)] + [_mark("pump", "1", "2", "9")])
    assert circuits == {"main": Share(Fraction(3, 10), Fraction(9, 10)), "pump": Share(Fraction(1), Fraction(2))}
    assert whole == Share(Fraction(13, 10), Fraction(29, 10))


def test_a_paper_of_no_marks_passes_no_cut() -> None:
    assert judged(RULE, [])[0] == FAIL


@pytest.mark.parametrize(
    ("mark", "out_of", "cut", "text"),
    [("17.99", "30", "3/5", "59.9"), ("18", "30", "3/5", "60.0"), ("17.99", "30", "59/100", "60.0"), ("1", "3", "0", "33.3")],
)
def test_59_97_percent_is_not_shown_as_the_60_that_was_not_reached(mark: str, out_of: str, cut: str, text: str) -> None:
    assert rounded(Share(Fraction(mark), Fraction(out_of)), Fraction(cut)) == text


@settings(deadline=None)
@given(st.integers(0, 400), st.integers(1, 400), st.fractions(0, 1))
def test_the_percentage_shown_never_contradicts_the_decision(mark: int, out_of: int, cut: Fraction) -> None:
    share = Share(Fraction(min(mark, out_of)), Fraction(out_of))
    text = rounded(share, cut)
    assert abs(Fraction(Decimal(text)) - share.mark * 100 / share.out_of) <= Fraction(1, 10)
    if not share.reaches(cut):
        assert Fraction(Decimal(text)) < cut * 100


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10), st.sampled_from(["main", "pump"])), min_size=1, max_size=8), st.fractions(0, 1))
def test_one_mark_more_never_makes_a_pass_a_fail(marks: list[tuple[int, str]], cut: Fraction) -> None:
    rule = Rule(cut, cut)
    before = judged(rule, [_mark(circuit, str(mark), "10") for mark, circuit in marks])[0]
    after = judged(rule, [_mark(circuit, str(min(mark + 1, 10)), "10") for mark, circuit in marks])[0]
    assert (before, after) != (PASS, FAIL)


@pytest.mark.parametrize(
    ("text", "share"), [("60 %", "3/5"), ("70.5 %", "141/200"), ("3/5", "3/5"), ("0 %", "0"), ("100 %", "1")]
)
def test_a_share_is_read_exactly(text: str, share: str) -> None:
    assert rule_of({"pass": {"cut": text, "each_circuit": text}}) == Rule(Fraction(share), Fraction(share))


@pytest.mark.parametrize("text", ["60", "101 %", "-1 %", "60 mm", "", "sixty"])
def test_what_is_no_share_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        rule_of({"pass": {"cut": text}})


@pytest.mark.parametrize("blueprint", [{}, {"pass": None}, {"pass": {"each_circuit": "40 %"}}])
def test_a_blueprint_without_a_cut_decides_on_nobody(blueprint: dict[str, object]) -> None:
    with pytest.raises(UseError, match="has no pass rule"):
        rule_of(blueprint)


def test_how_the_cut_was_set_goes_with_the_rule_into_every_decision() -> None:
    rule = rule_of({"pass": {"cut": "70.5 %", "set_by": "modified Angoff, 4 judges, 2031-03-02"}})
    assert rule.as_json()["set_by"] == "modified Angoff, 4 judges, 2031-03-02"
    assert "set_by" not in rule_of({"pass": {"cut": "60 %"}}).as_json()


def test_a_rule_is_said_in_words() -> None:
    assert Rule(Fraction(141, 200), Fraction(0)).in_words() == "To pass: 70.5 % of all marks."
    assert percent(Fraction(1, 3)) == "33.333333"
    assert decimal(Fraction(0)) == "0"


def test_a_pass_is_told_in_one_line() -> None:
    assert reason(judged(RULE, [_mark("main", "24.5", "32")])[1]) == "24.5 of 32, 76.6 %"
