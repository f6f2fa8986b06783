"""Wrong answers that are right for another paper."""

from __future__ import annotations

import itertools
import math
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from grader.marking.key import FORM, Answer, Key, Numeric, unit_entries
from grader.marking.mark import mark
from grader.marking.strays import at_least, pairs, strays


@pytest.fixture(scope="module")
def keys(key: Key) -> dict[str, Key]:
    """Three papers: the first as it is, the others with other areas in question 1."""

    def other(paper: str, value: float) -> Key:
        plain: dict[str, Any] = msgspec.to_builtins(key)
        answer = {
            "value": str(value),
            "low": str(value * 0.98),
            "high": str(value * 1.02),
            "unit": "mm^2",
            "shown": "",
            "within": "2 %",
        }
        plain["questions"][0]["answer"] = answer
        plain["questions"][0]["slips"] = []
        plain["paper"], plain["candidate"] = paper, f"of {paper}"
        return msgspec.convert(plain, Key)

    return {key.paper: key, "B": other("B", 3.0), "C": other("C", 3.02)}


def test_an_answer_that_fits_other_papers_is_a_stray(keys: dict[str, Key], key: Key) -> None:
    (stray,) = strays(keys, [mark(key, {"1": "0.0301 cm²"})])
    assert (stray.paper, stray.candidate, stray.number, stray.item) == (key.paper, "c-01", "1", "power-open-area")
    assert (stray.answer, stray.others, stray.papers) == ("0.0301 cm²", ("B", "C"), 2)


@pytest.mark.parametrize("text", ["2.30", "", "large", "3 kPa", "1.1", "1,234"])
def test_right_blank_unreadable_and_plainly_wrong_answers_are_none(keys: dict[str, Key], key: Key, text: str) -> None:
    assert strays(keys, [mark(key, {"1": text})]) == ()


def test_a_stray_never_changes_a_mark(keys: dict[str, Key], key: Key) -> None:
    marks = mark(key, {"1": "3.0"})
    strays(keys, [marks])
    assert marks == mark(key, {"1": "3.0"})
    assert marks.marks[0].mark == "0"


def test_parts_of_a_case_are_looked_at_too(keys: dict[str, Key], key: Key) -> None:
    plain: dict[str, Any] = msgspec.to_builtins(keys["B"])
    plain["questions"][3]["parts"][1]["answer"] |= {"value": "5", "low": "4.9", "high": "5.1"}
    changed = keys | {"B": msgspec.convert(plain, Key)}
    (stray,) = strays(changed, [mark(key, {"4b": "18 kg/h"})])  # 5 g/s
    assert (stray.number, stray.others) == ("4b", ("B",))


def test_an_answer_that_was_followed_is_none(keys: dict[str, Key], key: Key) -> None:
    plain: dict[str, Any] = msgspec.to_builtins(keys["B"])
    plain["questions"][3]["parts"][1]["answer"] |= {"value": "7.7", "low": "7.6", "high": "7.8"}
    changed = keys | {"B": msgspec.convert(plain, Key)}
    assert strays(changed, [mark(key, {"4a": "4.573", "4b": "7.709"})]) == ()


def test_the_order_of_the_marks_does_not_matter(keys: dict[str, Key], key: Key) -> None:
    both = [mark(key, {"1": "3.0"}), mark(keys["B"], {"1": "2.3"})]
    assert strays(keys, both) == strays(keys, both[::-1])
    assert len(strays(keys, both)) == 2


def test_the_chance_is_what_the_bounds_cover_of_the_plausible_range(keys: dict[str, Key], key: Key) -> None:
    (stray,) = strays(keys, [mark(key, {"1": "3.0"})])
    low, high = (float(end) for end in key.questions[0].plausible)  # type: ignore[union-attr]
    # by hand: papers B and C are right from 2.94 to 3.0804 mm², their bounds laid over each other
    assert stray.chance == pytest.approx(math.log(3.0804 / 2.94) / math.log(high / low), rel=1e-9)


def test_who_fits_whom_most_stands_first(keys: dict[str, Key], key: Key) -> None:
    found = pairs(keys, [mark(key, {"1": "3.0"}), mark(keys["B"], {"1": "2.3"})])
    assert {(pair.paper, pair.other) for pair in found} == {(key.paper, "B"), (key.paper, "C"), ("B", key.paper)}
    assert all((pair.hits, pair.tried) == (1, 1) for pair in found)
    assert [pair.chance for pair in found] == sorted(pair.chance for pair in found)
    assert pairs(keys, []) == ()


@given(st.lists(st.floats(0, 1), max_size=8), st.integers(0, 9))
def test_at_least_so_many_agrees_with_every_outcome_listed(chances: list[float], hits: int) -> None:
    listed = sum(
        math.prod(chance if happens else 1 - chance for chance, happens in zip(chances, outcome, strict=True))
        for outcome in itertools.product((True, False), repeat=len(chances))
        if sum(outcome) >= hits
    )
    assert at_least(hits, chances) == pytest.approx(listed, abs=1e-9)


def test_at_least_so_many_agrees_with_the_binomial() -> None:
    assert at_least(3, [0.1] * 20) == pytest.approx(binom.sf(2, 20, 0.1), rel=1e-12)  # scipy


@given(st.lists(st.tuples(st.integers(1, 400), st.integers(1, 40)), min_size=2, max_size=12), st.integers(0, 500))
def test_an_answer_fits_exactly_the_papers_whose_bounds_hold_it(bounds: list[tuple[int, int]], answer: int) -> None:
    asked = {f"P{n}": _one(f"P{n}", low / 10, (low + width) / 10) for n, (low, width) in enumerate(bounds)}
    own = asked["P0"]
    marks = mark(own, {"1": f"{answer / 10}"})
    fits = {code for code, one in asked.items() if code != "P0" and _low(one) <= answer / 10 <= _high(one)}
    found = strays(asked, [marks])
    assert {other for stray in found for other in stray.others} == (fits if marks.marks[0].verdict == "wrong" else set())


def _one(code: str, low: float, high: float) -> Key:
    answer = Answer(value=str(low), low=str(low), high=str(high), unit="mm", shown="", within="")
    ask = Numeric(item="level", objective="float.1", circuit="float", points="1", stem="?", number="1", answer=answer)
    return Key(
        form=FORM, sitting="s", paper=code, candidate=code, blueprint="b", bank="", nonce="", units=unit_entries(["mm"]),
        questions=(ask,),
    )  # fmt: skip


def _low(key: Key) -> float:
    return float(key.questions[0].answer.low)  # type: ignore[union-attr]


def _high(key: Key) -> float:
    return float(key.questions[0].answer.high)  # type: ignore[union-attr]
