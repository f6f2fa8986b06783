"""A whole paper: a pure function of the key and the answers."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.marking import labels
from grader.marking.key import Key
from grader.marking.labels import number_of
from grader.marking.mark import mark, mark_bytes

NUMBERS = ["1", "2", "3", "4a", "4b", "4c", "4d", "5", "6", "7"]


def test_perfect_answers_get_full_marks(key: Key, perfect: dict[str, str]) -> None:
    marks = mark(key, perfect)
    assert (marks.mark, marks.out_of) == ("18", "18")
    assert [m.number for m in marks.marks] == NUMBERS
    assert {m.verdict for m in marks.marks} == {"right"}
    assert (marks.paper, marks.candidate, marks.unasked) == ("7M2KQ8D4XV", "c-01", ())


def test_the_keys_own_values_get_full_marks(key: Key) -> None:
    import msgspec

    def value(question: dict[str, object]) -> str:
        right = question.get("right")
        if isinstance(right, dict):
            return " ".join(f"{row}{letter}" for row, letter in right.items())
        if isinstance(right, list):
            return " ".join(right)
        return str(right or question["answer"]["value"])  # type: ignore[index]

    answers: dict[str, str] = {}
    for question in msgspec.to_builtins(key.questions):
        parts = question.get("parts", [question])
        answers |= {question["number"] + part.get("part", ""): value(part) for part in parts}
    assert mark(key, answers).mark == "18"


def test_numbers_are_found_however_the_file_writes_them(key: Key) -> None:
    marks = mark(key, {"Q1": "2.30", "4 (A)": "2.30", "04b.": "3.87"})
    assert ([m.number for m in marks.marks if m.verdict == "right"], marks.unasked) == (["1", "4a", "4b"], ())


def test_of_two_ways_to_write_a_number_the_first_counts(key: Key) -> None:
    # a file that does so is set aside; this is for whoever calls with what they have
    assert [mark(key, answers).marks[0].answer for answers in ({"1": "x", "01": "y"}, {"01": "y", "1": "x"})] == ["x", "y"]


def test_a_long_label_is_read_and_not_remembered() -> None:
    kept = labels._common.cache_info().currsize
    assert [number_of("0" * size + "7a") for size in (30, 3000)] == ["7a", "7a"]
    assert labels._common.cache_info().currsize == kept


def test_no_answers_are_all_blank(key: Key) -> None:
    marks = mark(key, {})
    assert (marks.mark, {m.verdict for m in marks.marks}) == ("0", {"blank"})


def test_a_mark_carries_what_the_reports_need(key: Key) -> None:
    found = mark(key, {"4b": " 3,87 g/s "}).marks[4]
    assert (found.number, found.item, found.objective, found.circuit) == ("4b", "power-jet-flow", "power.1", "power")
    assert (found.answer, found.read, found.mark, found.out_of) == (" 3,87 g/s ", "3.87\u202fg/s", "2", "2")


def test_answers_to_numbers_that_are_not_on_the_paper_are_flagged(key: Key, perfect: dict[str, str]) -> None:
    marks = mark(key, perfect | {"8": "b", "4": "3 mm", "4e": "", "remarks": "hello"})
    assert (marks.mark, marks.unasked) == ("18", ("8", "4", "remarks"))


@pytest.mark.parametrize(
    ("label", "number"),
    [("4a", "4a"), ("4 A", "4a"), ("Q4(a)", "4a"), ("4.a", "4a"), ("04", "4"), ("4)", "4"), ("x", ""), ("", ""), ("4ab", "")],
)
def test_a_number_is_known_however_it_is_written(label: str, number: str) -> None:
    assert number_of(label) == number


@given(texts=st.dictionaries(st.sampled_from([*NUMBERS, "9", "note"]), st.text(max_size=40)))
@settings(max_examples=150, deadline=None)
def test_any_answers_are_marked_within_their_points(key: Key, texts: dict[str, str]) -> None:
    marks = mark(key, texts)
    assert [m.number for m in marks.marks] == NUMBERS
    for m in marks.marks:
        assert 0 <= float(m.mark) <= float(m.out_of)
        assert (m.mark == m.out_of) == (m.verdict in ("right", "followed"))
        assert m.why


@given(seed=st.integers(0, 1000))
@settings(max_examples=20, deadline=None)
def test_the_order_of_the_answers_does_not_matter(key: Key, perfect: dict[str, str], seed: int) -> None:
    answers = list((perfect | {"1": "4.573", "4a": "4.573", "4b": "7.709"}).items())
    shuffled = random.Random(seed).sample(answers, len(answers))  # noqa: S311 - an order, not a secret
    assert mark(key, dict(shuffled)) == mark(key, dict(answers))


def test_a_key_that_went_through_its_bytes_marks_the_same(key: Key, perfect: dict[str, str]) -> None:
    import json

    file = json.dumps({"paper": "7M2KQ8D4XV", "candidate": "c-01", "answers": perfect | {"4a": "4.573", "4b": "7.709"}}).encode()
    marks = mark_bytes(key.encoded(), file)
    assert marks == mark(key, perfect | {"4a": "4.573", "4b": "7.709"})
    assert marks.mark == "17"


def test_bytes_of_another_paper_are_refused(key: Key) -> None:
    file = b'{"paper": "0000000000", "candidate": "c-01", "answers": {}}'
    with pytest.raises(UseError, match=r"0 answers to paper 7M2KQ8D4XV"):
        mark_bytes(key.encoded(), file)
    with pytest.raises(UseError, match="not JSON"):
        mark_bytes(key.encoded(), b"{")


def test_totals_add_what_is_written(key: Key) -> None:
    marks = mark(key, {})
    thirds = tuple(replace(m, mark="0.33") for m in marks.marks[:3])
    assert replace(marks, marks=thirds).mark == "0.99"


PROGRAM = """
import sys
from grader.marking.mark import mark_bytes
marks = mark_bytes(open(sys.argv[1], "rb").read(), open(sys.argv[2], "rb").read())
print(marks)
print(sorted({"numpy", "pint", "yaml", "sqlite3", "random", "grader.circuits", "grader.items"} & set(sys.modules)))
"""


def test_marking_is_the_same_in_a_fresh_interpreter_and_loads_nothing_it_does_not_need(
    key: Key, perfect: dict[str, str], tmp_path: Path
) -> None:
    import json

    folder = tmp_path
    (folder / "key.json").write_bytes(key.encoded())
    answers = perfect | {"4a": "4.573 mm²", "4b": "7.709 g/s", "1": "4.57"}
    (folder / "c.json").write_text(json.dumps({"paper": key.paper, "candidate": "c-01", "answers": answers}), "utf-8")
    said = set()
    for seed in ("0", "1", "77"):
        command: list[str | Path] = [sys.executable, "-c", PROGRAM, folder / "key.json", folder / "c.json"]
        done = subprocess.run(command, capture_output=True, text=True, env=os.environ | {"PYTHONHASHSEED": seed}, check=False)
        assert done.returncode == 0, done.stderr
        said.add(done.stdout)
    assert said == {f"{mark(key, answers)}\n[]\n"}
