"""A sitting's marks as one long table, a line a number of a paper: as CSV, or as Parquet for whoever works on many."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping

from grader.base.errors import UseError
from grader.base.tables import csv_text
from grader.reports.view import View

COLUMNS = ("sitting", "candidate", "group", "paper", "number", "item", "objective", "circuit", "mark", "out_of", "verdict")
NUMBERS = ("mark", "out_of")


def marks_rows(views: Iterable[View]) -> list[dict[str, str]]:
    """Every mark that counts. No name and no answer as typed: a candidate's id alone."""
    return [
        {
            "sitting": view.sitting.name,
            "candidate": sat.paper.candidate,
            "group": sat.paper.group,
            "paper": sat.paper.code,
            "number": mark.number,
            "item": mark.item,
            "objective": mark.objective,
            "circuit": mark.circuit,
            "mark": mark.mark,
            "out_of": mark.out_of,
            "verdict": mark.verdict,
        }
        for view in views
        for sat in view.marked
        for mark in sat.marks
    ]


def marks_csv(rows: Iterable[Mapping[str, str]]) -> str:
    """
    The table as CSV.

    >>> marks_csv([]).strip()
    'sitting,candidate,group,paper,number,item,objective,circuit,mark,out_of,verdict'
    """
    return csv_text(COLUMNS, ([row[column] for column in COLUMNS] for row in rows))


def marks_parquet(rows: Iterable[Mapping[str, str]]) -> bytes:
    """
    The table as Parquet, marks as numbers.

    Raises `UseError` where the library for it is not installed.
    """
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError as error:
        raise UseError("Parquet needs the extra `cluster`: pip install 'grader[cluster]'; or choose --to csv") from error
    listed = list(rows)
    columns = {column: [float(row[column]) if column in NUMBERS else row[column] for row in listed] for column in COLUMNS}
    kinds = [(column, pyarrow.float64() if column in NUMBERS else pyarrow.string()) for column in COLUMNS]
    data = io.BytesIO()
    parquet.write_table(pyarrow.table(columns, schema=pyarrow.schema(kinds)), data)
    return data.getvalue()
