from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.papers.weights import Weight
from grader.register.measured import shrunk, weights_of

ITEM: Any = SimpleNamespace(id="pump-shot", difficulty=0.6, minutes=3.0)


def mark(got: str, item: str = "pump-shot", out_of: str = "2") -> Any:
    return SimpleNamespace(item=item, mark=got, out_of=out_of)


def register(*papers: list[Any], sittings: int = 1) -> Any:
    marks = {f"p{n}": SimpleNamespace(marks=paper) for n, paper in enumerate(papers)}
    return SimpleNamespace(sittings=lambda: tuple(map(str, range(sittings))), marks=lambda _name: marks)


def test_below_ten_answers_an_item_keeps_its_author_s_estimate() -> None:
    assert weights_of([ITEM], register(*[[mark("0")]] * 9)) == {"pump-shot": Weight(0.6, 3.0, 0)}


def test_ten_answers_count_as_much_as_the_estimate() -> None:
    assert weights_of([ITEM], register(*[[mark("0")]] * 10)) == {"pump-shot": Weight(0.3, 3.0, 10)}


def test_answers_of_all_sittings_count_together() -> None:
    # 5 papers in each of 2 sittings, all with 1 of 2: (10 * 0.5 + 10 * 0.6) / 20.
    assert weights_of([ITEM], register(*[[mark("1")]] * 5, sittings=2)) == {"pump-shot": Weight(0.55, 3.0, 10)}


def test_the_parts_of_a_case_are_one_answer() -> None:
    paper = [mark("1", out_of="1"), mark("0", out_of="3"), mark("2", item="other")]
    assert weights_of([ITEM], register(*[paper] * 30)) == {"pump-shot": Weight(0.3375, 3.0, 30)}


@given(estimate=st.floats(0, 1), got=st.lists(st.fractions(0, 1), min_size=1, max_size=40))
def test_a_measured_difficulty_lies_between_estimate_and_facility(estimate: float, got: list[Fraction]) -> None:
    # And it is the mean of a beta distribution with ten answers' weight on the estimate: Fraction arithmetic.
    found, facility = shrunk(estimate, got), sum(got) / len(got)
    assert min(estimate, facility) - 1e-6 <= found <= max(estimate, facility) + 1e-6
    assert found == pytest.approx(float((10 * Fraction(estimate) + sum(got)) / (10 + len(got))), abs=1e-6)
