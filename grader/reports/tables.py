"""`results.csv` and `marks.csv`: the columns are fixed, tools outside the project rely on them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from grader.reports.view import View

RESULTS = ("candidate", "name", "paper", "mark", "out_of", "percent", "decision")
MARKS = ("candidate", "paper", "number", "item", "answer", "mark", "out_of", "verdict", "why")

# What a spreadsheet would run as a formula. A plain number keeps its sign; anything else gets an apostrophe in front.
_FORMULA = re.compile(r"[=+\-@\t\r]")
_NUMBER = re.compile(r"[+-][\d.,]+\s*[\w°²³/%\"]*", re.ASCII)


def harmless(cell: str) -> str:
    """
    A cell that no spreadsheet takes for a formula.

    >>> harmless("=cmd|'/c calc'!A0"), harmless("-4.2"), harmless("c-01")
    ("'=cmd|'/c calc'!A0", '-4.2', 'c-01')
    """
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()


def results_csv(view: View) -> str:
    """One line a candidate in the roster's order; mark and percent are empty where nothing was marked."""
    rows = []
    for sat in view.candidates:
        total = sat.total
        marks = (f"{total.mark}", f"{total.out_of}", f"{total.percent or 0:.1f}") if sat.marking else ("", "", "")
        rows.append((sat.paper.candidate, sat.paper.name, sat.paper.code, *marks, sat.decided))
    return _csv(RESULTS, rows)


def marks_csv(view: View) -> str:
    """One line a number of a paper, for every paper that was marked."""
    return _csv(
        MARKS,
        (
            (sat.paper.candidate, sat.paper.code, m.number, m.item, m.answer, m.mark, m.out_of, m.verdict, m.why)
            for sat in view.marked
            for m in sat.marks
        ),
    )
