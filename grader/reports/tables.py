"""`results.csv`, `marks.csv`, `changes.csv`, `stations.csv`: the columns are fixed, tools outside the project rely on them."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.base.tables import csv_text
from grader.register.rule import decimal, rounded
from grader.reports.view import Sat, View

CHANGES = (
    "candidate", "paper", "number", "item", "answer", "mark_before", "out_of_before", "verdict_before", "mark_after",
    "out_of_after", "verdict_after", "cause", "reason", "person", "when",
)  # fmt: skip
STATIONS = (
    "candidate", "station", "step", "critical", "points", "assessor", "tick", "reading", "stands", "state", "flag",
)  # fmt: skip
RESULTS = ("candidate", "name", "paper", "mark", "out_of", "percent", "decision")
SIZE_LIMIT = 64_000_000
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


def changes_csv(view: View) -> str:
    """One line a number that came out otherwise when a paper was marked again, the oldest first."""
    return csv_text(
        CHANGES,
        (
            (
                *(change.after.candidate, change.after.paper, pair.after.number, pair.after.item, pair.after.answer),
                *(
                    pair.before.mark,
                    pair.before.out_of,
                    pair.before.verdict,
                    pair.after.mark,
                    pair.after.out_of,
                    pair.after.verdict,
                ),
                *(change.after.cause, change.after.reason, change.after.person, change.after.when),
            )
            for change in view.changes
            for pair in change.differences
        ),
    )


def stations_csv(view: View) -> str:
    """One line a step and assessor, for every candidate at every station that somebody assessed."""
    return csv_text(
        STATIONS,
        (
            (
                *(
                    bench.candidate,
                    bench.station.station,
                    seen.step.number,
                    "yes" if seen.step.critical else "",
                    seen.step.points,
                ),
                *(tick.assessor, tick.tick, tick.reading, tick.stands, seen.state, seen.flag),
            )
            for bench in view.benches
            for seen in bench.steps
            for tick in seen.ticks
        ),
    )


def _percent(sat: Sat) -> str:
    """To one place; as decided, where it was: a decision never rounds up to a cut that was not reached."""
    decided = sat.decision.evidence.get("percent") if sat.decision else None
    return str(decided) if decided else rounded(sat.total, sat.rule.cut)


def percents(path: Path) -> list[float]:
    """
    The percent of everybody who has one, from a `results.csv`.

    Raises
    ------
    UseError
        No column `percent`, or a value in it that is no number from 0 to 100.
    """
    rows = csv.DictReader(read_capped(path, SIZE_LIMIT).decode("utf-8-sig", "replace").splitlines())
    if "percent" not in (rows.fieldnames or ()):
        raise UseError(f"{path}: no column `percent`; give the results.csv that `grader report` wrote")
    found = []
    for row in rows:
        if text := (row["percent"] or "").strip():
            if not re.fullmatch(r"\d{1,3}(\.\d+)?", text) or float(text) > 100:
                raise UseError(f"{path}:{rows.line_num}: `{text[:20]}` is no percentage; write a number from 0 to 100")
            found.append(float(text))
    return found
