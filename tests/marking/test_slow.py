"""The marker against a second one made of fractions: the same verdict, mark, reading and sentence on everything."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking.key import Case, Key, Numeric, Reading
from grader.marking.mark import mark_question
from grader.marking.numbers import ReadNumber, read_number
from tests.marking import slow
from tests.marking.test_marker import HOSTILE, PIECES, corpus
from tests.marking.written_answers import written_answers

# What plain numbers are made of: where the short way is taken, and where it must not be.
NUMBERS = st.from_regex(r"[-−+–]?[0-9]{0,4}([.,][0-9]{1,4})?", fullmatch=True)
TAILS = st.sampled_from(
    ["", " mm²", "mm2", "\u202fmm²", " in", '"', "'", " in. Hg", " °F", "°", " K", ":1", " : 1", "%", " MPa", " per", "e3",
     "e-3", " e3", "x10^3", " x10-2", "×10³ mm", "^3", "**2", "/32 in", " 1/4 in", " 234", " 23", "mm.", " mm 4", " Mar", "-Mar"]
)  # fmt: skip


def same_reading(key: Key, text: str, unit: str) -> None:
    ours, theirs = read_number(text, key.units, unit), slow.read(text, key.units, unit)
    if isinstance(ours, ReadNumber):
        assert not isinstance(theirs, str), (text, theirs)
        assert (ours.number, ours.written, ours.unit, ours.entry, ours.read, ours.si) == (
            theirs.number, theirs.written, theirs.unit, theirs.entry, theirs.read, theirs.si
        ), text  # fmt: skip
    else:
        assert ours.reason == theirs, text


def same_marks(key: Key, question: Any, answers: dict[str, str]) -> None:
    ours = mark_question(question, answers, key.units)
    if isinstance(question, Case):
        assert ours == slow.mark_case(question, answers, key.units), answers
    else:
        assert ours == (slow.mark(question, answers[""], key.units),), answers


def test_every_written_answer_and_every_hostile_one_is_read_alike(key: Key) -> None:
    for row in written_answers():
        same_reading(key, row.text, row.asked)
    for text in [*HOSTILE, *corpus(1500, 3)]:
        for unit in ("mm^2", "degF", "1"):
            same_reading(key, text, unit)


@given(number=NUMBERS, tail=TAILS, unit=st.sampled_from(["mm^2", "in", "inHg", "degF", "dK", "deg", "1", "%"]))
@settings(max_examples=200, deadline=None)
def test_the_short_way_to_read_a_number_is_never_another_reading(key: Key, number: str, tail: str, unit: str) -> None:
    same_reading(key, number + tail, unit)


@given(texts=st.lists(st.one_of(st.text(max_size=12), st.sampled_from(PIECES)), min_size=1, max_size=4), tail=TAILS)
@settings(max_examples=120, deadline=None)
def test_any_text_is_read_alike(key: Key, texts: list[str], tail: str) -> None:
    same_reading(key, "".join(texts) + tail, "mm^2")


NEAR = st.sampled_from(
    ["2.2525", "2.25249999", "2.3444", "2.34440001", "2.298", "4.57", "0.397", "0.0230 cm²", "0.003563 in²", "229.8", "0.02298",
     "1", "5", "0", "-2.3", "2.3 kPa", "", "—", "large", "2,300", "4,573", "9/4", "1e-90", "72", "71", "70.9999", "22.2 °C"]
)  # fmt: skip


@given(text=st.one_of(NEAR, st.decimals(-10, 100, places=4).map(str), NUMBERS), place=st.sampled_from([0, 6]))
@settings(max_examples=120, deadline=None)
def test_a_number_is_marked_alike(key: Key, text: str, place: int) -> None:
    question = key.questions[place]
    assert isinstance(question, Numeric | Reading)
    same_marks(key, question, {"": text})


STARTS = ["2.30", "4.573", "0.397", "3 mm²", "0.04 cm²", "", "large", "2 kPa", "0", "-4.573", "1e-90", "1e90", "5/32 in²"]
FLOWS = ["3.87", "7.709", "0.6696", "5.451", "2.74", "27.75 kg/h", "", "x", "0", "-7.709", "1e-90 g/s", "5.057"]
RATIOS = ["14.45", "7.264", "83.6", "10.27", "20.44", "", "0"]


@given(
    a=st.one_of(st.sampled_from(STARTS), st.decimals(0, 6, places=3).map(str)),
    b=st.one_of(st.sampled_from(FLOWS), st.decimals(0, 9, places=3).map(str)),
    d=st.one_of(st.sampled_from(RATIOS), st.decimals(0, 30, places=2).map(str)),
)
@settings(max_examples=120, deadline=None)
def test_a_case_is_marked_alike(key: Key, a: str, b: str, d: str) -> None:
    same_marks(key, key.questions[3], {"a": a, "b": b, "c": "a", "d": d})


def test_a_chain_with_offsets_is_marked_alike(key: Key, warming: Case) -> None:
    degrees = ["", "0", "20", "25 °C", "77 °F", "298.15 K", "-273.15", "60", "50", "10"]
    texts = [*degrees, "35", "35.5", "34.5", "35.51", "95 °F", "318.15 K", "15"]
    for a in degrees:
        for b in texts:
            for c in ("", "45", "40", "113 °F"):
                same_marks(key, warming, {"a": a, "b": b, "c": c})


def test_what_was_met_before_changes_nothing(key: Key) -> None:
    # the spellings that are remembered: the same texts in any order, each after all the others
    texts = [
        f"{number}{tail}" for number in ("1", "10", "1.5", "-3") for tail in (" mm²", "e3", " Mar", " per", "x10^3", " in", "°")
    ]
    first = [read_number(text, key.units, "mm^2") for text in texts]
    for seed in range(5):
        order = random.Random(seed).sample(range(len(texts)), len(texts))  # noqa: S311 - an order, not a secret
        for place in order:
            assert read_number(texts[place], dict(key.units), "mm^2") == first[place]
