"""Letters as people write them, and the kinds that ask for letters: choice, choices, order, match."""

from __future__ import annotations

import pytest
from scipy.stats import kendalltau

from grader.marking.key import Key
from grader.marking.mark import mark_question
from grader.marking.outcome import Outcome

CHOICE, CHOICES, ORDER, MATCH = 1, 2, 4, 5


def marked(key: Key, place: int, text: str) -> Outcome:
    (outcome,) = mark_question(key.questions[place], {"": text}, key.units)
    return outcome


@pytest.mark.parametrize(
    "text",
    [
        "a",
        "A",
        "a)",
        "(a)",
        "A.",
        " a ",
        "[a]",
        "ａ",
        "option a",
        "Answer: a",
        '"a"',
        "a a",
        "At a lower vacuum than before",
        "at a lower vacuum than before.",
    ],
)
def test_an_option_is_read_however_it_is_set_off(key: Key, text: str) -> None:
    assert (marked(key, CHOICE, text).verdict, marked(key, CHOICE, text).read) == ("right", "a")


@pytest.mark.parametrize(
    ("text", "verdict", "why"),
    [
        ("b", "wrong", "The rod still lifts, only later."),
        ("c", "wrong", "Not the right option."),
        ("d", "unreadable", "“d” is not one of the letters a b c."),
        ("a or b", "unreadable", "“a or b” is not one of the letters a b c."),
        ("a b", "unreadable", "“a b” names 2 options; one is wanted."),
        ("()", "unreadable", "“()” is not one of the letters a b c."),
        ("", "blank", "Nothing was written."),
    ],
)
def test_other_options_are_told_why(key: Key, text: str, verdict: str, why: str) -> None:
    assert (marked(key, CHOICE, text).verdict, marked(key, CHOICE, text).why) == (verdict, why)


@pytest.mark.parametrize(
    ("text", "verdict", "mark"),
    [
        ("a c d", "right", "3"),
        ("dca", "right", "3"),
        ("A, C and D", "right", "3"),
        ("a+c+d", "right", "3"),
        ("a a c d", "right", "3"),
        ("a c", "part", "2"),
        ("a b c", "part", "1"),
        ("a b c d", "part", "2"),
        ("b", "wrong", "0"),
        ("a b", "wrong", "0"),
        ("a e", "unreadable", "0"),
        ("", "blank", "0"),
    ],
)
def test_right_options_less_wrong_ones_over_all_right_ones(key: Key, text: str, verdict: str, mark: str) -> None:
    assert (marked(key, CHOICES, text).verdict, marked(key, CHOICES, text).mark) == (verdict, mark)


def test_a_wrong_option_among_several_is_told_why(key: Key) -> None:
    assert marked(key, CHOICES, "a b").why == "1 of 3 right options taken, 1 wrong. That is the choke's work."


# Counted by hand, order a b c d e; the shares agree with scipy's kendalltau: pairs = (tau + 1) / 2 * 10
ORDERS = [("abcde", 10), ("bacde", 9), ("abdce", 9), ("badec", 7), ("bcdea", 6), ("eabcd", 6), ("edcba", 0)]


@pytest.mark.parametrize(("text", "pairs"), ORDERS)
def test_an_order_earns_the_share_of_its_pairs(key: Key, text: str, pairs: int) -> None:
    tau = kendalltau([text.index(letter) for letter in "abcde"], range(5)).statistic
    assert round((tau + 1) / 2 * 10) == pairs
    outcome = marked(key, ORDER, " ".join(text))
    assert float(outcome.mark) == pytest.approx(2 * pairs / 10)
    assert outcome.verdict == ("right" if pairs == 10 else "part" if pairs else "wrong")


@pytest.mark.parametrize(
    "text",
    [
        "c a d b e",
        "cadbe",
        "C > A > D > B > E",
        "c, a, d, b, e",
        "c-a-d-b-e",
        "c → a → d → b → e",
        "c then a then d then b then e",
    ],
)
def test_an_order_is_read_however_it_is_set_off(key: Key, text: str) -> None:
    assert marked(key, ORDER, text).read == "c a d b e"


def test_an_entry_left_out_or_named_twice_has_no_place(key: Key) -> None:
    assert marked(key, ORDER, "a b c d").mark == "1.2"  # 6 of 10 pairs, of 2 points
    assert marked(key, ORDER, "a b c d e a").mark == "1.2"  # a was named twice: b c d e remain
    assert marked(key, ORDER, "a a a").verdict == "wrong"
    assert marked(key, ORDER, "a b x").verdict == "unreadable"


@pytest.mark.parametrize(
    "text",
    [
        "1-c 2-a 3-b",
        "1c 2a 3b",
        "1c2a3b",
        "1: c, 2: a, 3: b",
        "1=c;2=a;3=b",
        "3-b 1-c 2-a",
        "1 → c 2 → a 3 → b",
        "1) c 2) a 3) b",
        "(c a b)",
        "cab",
        "c, a, b",
    ],
)
def test_matches_are_read_however_they_are_written(key: Key, text: str) -> None:
    outcome = marked(key, MATCH, text)
    assert (outcome.verdict, outcome.read, outcome.mark) == ("right", "1-c 2-a 3-b", "3")


@pytest.mark.parametrize(
    ("text", "verdict", "mark"),
    [
        ("1-c 2-a", "part", "2"),
        ("1-c 2-b 3-a", "part", "1"),
        ("1-a 2-b 3-c", "wrong", "0"),
        ("1-c 1-a 2-a 3-b", "part", "2"),
        ("1-a 1-c 2-a 3-b", "part", "2"),
        ("1-c 1-c 2-a 3-b", "right", "3"),
        ("1-c 2-a 3-e", "unreadable", "0"),
        ("1-c 2-a 4-b", "unreadable", "0"),
        ("c a", "unreadable", "0"),
        ("1 c a", "unreadable", "0"),
        ("", "blank", "0"),
    ],
)
def test_matches_earn_the_share_of_their_rows(key: Key, text: str, verdict: str, mark: str) -> None:
    assert (marked(key, MATCH, text).verdict, marked(key, MATCH, text).mark) == (verdict, mark)
