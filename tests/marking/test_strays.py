"""Wrong answers that are right for another paper."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from grader.marking.key import Key
from grader.marking.mark import mark
from grader.marking.strays import strays


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
