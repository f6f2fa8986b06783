"""Tables of numbers as instructors keep them."""

from __future__ import annotations

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import FindingsError
from grader.reports.number_table import grades_of, numbers_of


def faults(data: bytes) -> list[tuple[int, str]]:
    with pytest.raises(FindingsError) as told:
        numbers_of("t.csv", data)
    return [(finding.line, finding.code) for finding in told.value.findings]


@pytest.mark.parametrize(
    "data",
    [
        b"who,q1,q2\nc-1,1,0.5\nc-2,,1\n",
        b"\xef\xbb\xbfwho;q1;q2\r\nc-1;1;0,5\r\nc-2;;1\r\n",
        b'who;q1;q2\n\n"c-1";1;50e-2\nc-2;;1 %\n',
    ],
)
def test_a_table_is_read_however_an_office_saved_it(data: bytes) -> None:
    table = numbers_of("t.csv", data)
    assert (table.rows, table.columns) == (("c-1", "c-2"), ("q1", "q2"))
    assert np.array_equal(table.numbers, [[1, 0.5], [np.nan, 1]], equal_nan=True)


def test_every_fault_is_told_at_once_with_its_line() -> None:
    assert faults(b"who,a,a\nc-1,1,2\nc-1,1\n,3,4\n") == [(1, "repeated-name"), (3, "wrong-count"), (4, "empty-name")]
    assert faults(b"who,a,b\nc-1,x,1\nc-2,1,nan\nc-3,1e999,inf\n") == [
        (2, "no-number"), (3, "no-number"), (4, "no-number"), (4, "no-number"),
    ]  # fmt: skip
    assert faults(b'who,a\nc-1,"1,5"\n') == [(2, "no-number")]
    assert faults("who,q1\nc-1,1\n".encode("utf-16"))  # with how to save it
    assert faults(b"") == faults(b"who\nc-1\n") == faults(b"who,a\n") == [(1, "no-table")]


def test_a_row_can_be_taken_out_by_its_name() -> None:
    rest, row = numbers_of("t.csv", b"who,a\nOut of,4\nc-1,3\n").without("out of")
    assert (rest.rows, rest.lines, rest.numbers.tolist()) == (("c-1",), (3,), [[3.0]])
    assert row is not None
    assert row.tolist() == [4.0]
    assert numbers_of("t.csv", b"who,a\nc-1,3\n").without("out of")[1] is None


def test_grades_may_be_words_and_are_numbers_only_where_all_are() -> None:
    table, words = grades_of("t.csv", b"who,A,B\nc-1,Done,not done\nc-2,done,\n")
    assert words == ("done", "not done")
    assert np.array_equal(table.numbers, np.array([[0, 1], [0, np.nan]]), equal_nan=True)
    table, words = grades_of("t.csv", b"who,A,B\nc-1,1,2\nc-2,3,\n")
    assert words == ()
    assert table.numbers[0].tolist() == [1, 2]


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_findings(data: bytes) -> None:
    with suppress(FindingsError):
        table = numbers_of("t.csv", data)
        assert table.numbers.shape == (len(table.rows), len(table.columns))
