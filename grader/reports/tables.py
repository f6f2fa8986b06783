"""`results.csv` and `marks.csv`: the columns are fixed, tools outside the project rely on them."""

from __future__ import annotations

from grader.base.tables import csv_text
from grader.register.rule import decimal, rounded
from grader.reports.view import Sat, View

RESULTS = ("candidate", "name", "paper", "mark", "out_of", "percent", "decision")
MARKS = ("candidate", "paper", "number", "item", "answer", "mark", "out_of", "verdict", "why")


def results_csv(view: View) -> str:
    """One line a candidate in the roster's order; mark and percent are empty where nothing was marked."""
    rows = []
    for sat in view.candidates:
        total = sat.total
        marks = (decimal(total.mark), decimal(total.out_of), _percent(sat)) if sat.marking else ("", "", "")
        rows.append((sat.paper.candidate, sat.paper.name, sat.paper.code, *marks, sat.decided))
    return csv_text(RESULTS, rows)


def marks_csv(view: View) -> str:
    """One line a number of a paper, for every paper that was marked."""
    return csv_text(
        MARKS,
        (
            (sat.paper.candidate, sat.paper.code, m.number, m.item, m.answer, m.mark, m.out_of, m.verdict, m.why)
            for sat in view.marked
            for m in sat.marks
        ),
    )


def _percent(sat: Sat) -> str:
    """To one place; as decided, where it was: a decision never rounds up to a cut that was not reached."""
    decided = sat.decision.evidence.get("percent") if sat.decision else None
    return str(decided) if decided else rounded(sat.total, sat.rule.cut)
