"""The long table of marks."""

from __future__ import annotations

import csv
import io

import pytest

from grader.base.errors import UseError
from grader.exchange.marks_table import COLUMNS, marks_csv, marks_parquet, marks_rows
from tests.reports.simulated import follows, sitting

VIEWS = [sitting("spring", 5, {"a": follows(0), "b": follows(1)}, 1, {"=day": 0.0}), sitting("autumn", 3, {"a": follows(0)}, 2)]


def test_every_mark_that_counts_is_a_line_without_name_or_answer() -> None:
    rows = list(csv.DictReader(io.StringIO(marks_csv(marks_rows(VIEWS)))))
    assert len(rows) == 5 * 2 + 3
    assert tuple(rows[0]) == COLUMNS
    assert {"name", "answer", "email"}.isdisjoint(COLUMNS)
    assert sum(float(row["mark"]) for row in rows) == sum(float(m.mark) for v in VIEWS for sat in v.marked for m in sat.marks)
    assert rows[0]["group"] == "'=day"  # no spreadsheet runs it


def test_parquet_has_the_same_lines_or_says_what_it_needs() -> None:
    try:
        from pyarrow import parquet
    except ImportError:
        with pytest.raises(UseError, match="cluster"):
            marks_parquet([])
        return
    table = parquet.read_table(io.BytesIO(marks_parquet(marks_rows(VIEWS))))
    assert table.column_names == list(COLUMNS)
    assert table.num_rows == 13
