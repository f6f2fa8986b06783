"""Letters as people write them, and the kinds that ask for letters: choice, choices, order, match."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kendalltau

from grader.marking.key import Key, Match
from grader.marking.letters import letters_of, letters_written, plain_letters
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


@pytest.mark.parametrize(("place", "text"), [(CHOICE, "a" + " " * 100), (CHOICES, "a " * 50 + "c"), (ORDER, "a " * 50 + "b")])
def test_what_is_longer_than_an_answer_may_be_is_not_read(key: Key, place: int, text: str) -> None:
    assert len(text) == 101
    assert marked(key, place, text).why == "Longer than 100 characters; write the answer alone."
    assert marked(key, place, text[:-2]).verdict != "unreadable"


def test_many_rows_are_read_up_to_the_length_of_an_answer(key: Key) -> None:
    rows = [str(number) for number in range(10, 35)]
    plain = msgspec.to_builtins(key.questions[MATCH]) | {
        "rows": [{"number": row, "text": row} for row in rows],
        "right": dict.fromkeys(rows, "a"),
    }
    question = msgspec.convert(plain, Match)
    text = " ".join(f"{row}-a" for row in rows)
    verdicts = [mark_question(question, {"": cut}, key.units)[0].verdict for cut in (text[:99], text[:104], text)]
    assert verdicts == ["part", "unreadable", "unreadable"]


@given(
    text=st.one_of(
        st.text("abcdeABCD ().,>-&12345", max_size=14),
        st.lists(st.sampled_from(["a", "b", "c", "d", "e", "B", "and", "or", "1-a", "2-c", "3-b", "1a", "4-a"]), max_size=6).map(
            " ".join
        ),
    )
)
@settings(max_examples=200, deadline=None)
def test_the_short_way_to_read_letters_is_never_another_reading(text: str) -> None:
    letters = ("a", "b", "c", "d")
    short = letters_written(text, plain_letters(letters))
    assert short is None or short == letters_of(text, letters)
