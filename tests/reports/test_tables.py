"""`results.csv` and `marks.csv`."""

from __future__ import annotations

import csv
import io

from grader.reports.tables import marks_csv, results_csv
from grader.reports.view import View


def test_results_have_the_fixed_columns_and_one_line_a_candidate(view: View) -> None:
    assert results_csv(view).splitlines() == [
        "candidate,name,paper,mark,out_of,percent,decision",
        "c-1,<script>alert(1)</script> Ilse,7M2KQ8D4X0,6,6,100.0,pass",
        "c-2,'=cmd|'/c calc'!A0,7M2KQ8D4X1,1,6,16.7,",
        "c-3,Ó Dálaigh & Søn,7M2KQ8D4X2,0,6,0.0,",
        "c-4,Absent,7M2KQ8D4X3,,,,",
    ]


def test_marks_have_the_fixed_columns_and_one_line_a_number(view: View) -> None:
    rows = list(csv.DictReader(io.StringIO(marks_csv(view))))
    assert list(rows[0]) == ["candidate", "paper", "number", "item", "answer", "mark", "out_of", "verdict", "why"]
    assert [(r["number"], r["verdict"]) for r in rows if r["candidate"] == "c-2"] == [
        ("1", "slip"), ("2", "wrong"), ("3a", "wrong"), ("3b", "followed"), ("4", "wrong"), ("5", "blank"),
    ]  # fmt: skip


def test_marks_add_up_to_the_results(view: View) -> None:
    totals: dict[str, float] = {}
    for row in csv.DictReader(io.StringIO(marks_csv(view))):
        totals[row["candidate"]] = totals.get(row["candidate"], 0) + float(row["mark"])
    for row in csv.DictReader(io.StringIO(results_csv(view))):
        assert totals.get(row["candidate"], 0) == float(row["mark"] or 0)
