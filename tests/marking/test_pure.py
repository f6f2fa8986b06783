"""Marking is a pure function: nothing that was marked before, no order, no process has a say in anybody's marks."""

from __future__ import annotations

import json
import multiprocessing
import random
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking import units
from grader.marking.key import Key, read_key
from grader.marking.mark import Marker, Marks, mark, mark_bytes
from grader.marking.numbers import read_number

NUMBERS = ("1", "4a", "4b", "4d", "2", "6", "7")
TEXTS = st.sampled_from(
    ["2.30", "2.30 mm²", "4.573", "7.709 g/s", "14.5:1", "7.264", "a", "b", "1-c 2-a 3-b", "72°", "72 K", "1e3 mm2", "5 Mar", "?"]
)
ANSWERS = st.dictionaries(st.sampled_from(NUMBERS), TEXTS)


def forgotten(key: Key, answers: dict[str, str]) -> Marks:
    """The marks of somebody who is the first ever to be marked."""
    units._table.cache_clear()
    return mark(key, answers)


@given(before=st.lists(ANSWERS, max_size=6), answers=ANSWERS)
@settings(max_examples=100, deadline=None)
def test_nobodys_marks_depend_on_who_was_marked_before(key: Key, before: list[dict[str, str]], answers: dict[str, str]) -> None:
    alone = forgotten(key, answers)
    marker = Marker(key)
    for one in before:
        marker.mark(one)
        mark(key, one)
    assert marker.mark(answers) == alone == mark(key, answers)


def test_a_pile_of_strange_spellings_changes_nothing(key: Key) -> None:
    texts = ["2.30 mm²", "2.30 sq mm", "1.5 inHg", "3 e3", "3 kPa", "72 °F"]
    alone = [forgotten(key, {"1": text}) for text in texts]
    for place in range(2000):  # more than are remembered
        read_number(f"3 x{place}", key.units, "mm^2")
    assert [mark(key, {"1": text}) for text in texts] == alone
    assert len(units.table_of(key.units).asked("mm^2").spelt) <= 500


def _one(job: tuple[bytes, bytes]) -> str:
    return repr(mark_bytes(*job))


def test_two_processes_mark_as_one_does_in_any_order(key: Key, perfect: dict[str, str]) -> None:
    chance = random.Random(4)  # noqa: S311 - an order, not a secret
    sealed = key.encoded()
    jobs = []
    for place in range(40):
        answers = perfect | {number: chance.choice(["4.573", "7.709 g/s", "7.264", "b", "", "1,234"]) for number in NUMBERS[:4]}
        file = {"paper": key.paper, "candidate": f"c-{place}", "answers": answers}
        jobs.append((sealed, json.dumps(file).encode()))
    alone = dict(zip(jobs, map(_one, jobs), strict=True))
    shuffled = chance.sample(jobs, len(jobs))
    with multiprocessing.get_context("forkserver").Pool(2) as pool:
        assert dict(zip(shuffled, pool.map(_one, shuffled, chunksize=3), strict=True)) == alone


def test_a_golden_key_marks_the_same_whatever_the_order_of_its_units() -> None:
    golden = Path(__file__).with_name("golden")
    key = read_key((golden / "key.json").read_bytes())
    answers = json.loads((golden / "followed.json").read_bytes())["answers"]
    backwards = msgspec.structs.replace(key, units=dict(reversed(key.units.items())))
    assert mark(backwards, answers) == mark(key, answers)


@pytest.mark.parametrize("number", NUMBERS)
def test_a_mark_depends_on_its_own_question_alone(key: Key, perfect: dict[str, str], number: str) -> None:
    # but for the parts of a case, which follow each other
    whole = {m.number: m for m in mark(key, perfect).marks}
    rest = {m.number: m for m in mark(key, perfect | {number: "something else"}).marks}
    assert {n: m for n, m in rest.items() if n[0] != number[0]} == {n: m for n, m in whole.items() if n[0] != number[0]}
