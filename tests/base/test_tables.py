"""Tables as CSV."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.tables import csv_text, harmless


@pytest.mark.parametrize("cell", ["=1+1", "@SUM(A1)", "+cmd", "-2+3+cmd|' /C calc'!A0", "\t=1", "\r=1"])
def test_no_cell_is_a_formula(cell: str) -> None:
    assert harmless(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["-4", "-4.5 mm²", "+3", "2.30 mm²", "b", ""])
def test_answers_stay_as_they_were_written(cell: str) -> None:
    assert harmless(cell) == cell


@given(st.text(max_size=30))
def test_what_is_made_harmless_stays_so(cell: str) -> None:
    assert harmless(harmless(cell)) == harmless(cell)


@given(st.lists(st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1), min_size=2, max_size=2)))
def test_a_table_is_read_back_as_it_was(rows: list[list[str]]) -> None:
    read = list(csv.reader(io.StringIO(csv_text(["one", "two"], rows))))
    assert read == [["one", "two"], *([harmless(cell) for cell in row] for row in rows)]
