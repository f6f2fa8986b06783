"""The examiner's report: who passed, how the class did, what needs a person, question by question. One file that prints well."""

from __future__ import annotations

from collections.abc import Mapping

from grader.register.rule import by
from grader.reports import analysis
from grader.reports.charts import bars, distribution, histogram
from grader.reports.page import render
from grader.reports.view import NO_RULE, View
from grader.stats.classical import wilson


def report_page(view: View, objectives: Mapping[str, str], lessons: Mapping[str, str]) -> str:
    """
    The report of a sitting.

    Parameters
    ----------
    view : View
    objectives, lessons : mapping
        Objective's id to its text; circuit to its lesson's title.
    """
    marked = view.marked
    percents = [float(sat.total.percent) for sat in marked if sat.total.percent is not None]
    rule = view.rule or NO_RULE
    cut = float(100 * rule.cut) if view.rule else None
    everybody = tuple(mark for sat in marked for mark in sat.marks)
    circuits = by(everybody, "circuit")
    found = analysis.objectives(view)
    precision = analysis.precision(view)
    passed = sum(sat.decided == "pass" for sat in view.candidates)
    return render(
        "report.html",
        title=f"Report: {view.sitting.blueprint.get('title', view.sitting.name)}",
        view=view,
        sitting=view.sitting,
        passed=passed,
        passed_interval=wilson(passed, len(marked)) if passed <= len(marked) else None,
        precision=precision,
        few=len(marked) < analysis.FEW,
        limit=analysis.FEW,
        unreadable=[(sat, mark) for sat in marked for mark in sat.marks if mark.verdict == "unreadable"],
        near=analysis.near_the_cut(view, rule.cut, precision.error) if view.rule else [],
        strays=view.strays,
        histogram=histogram("How many candidates reached how many percent", percents, cut=cut),
        steps=distribution(percents),
        circuits=list(circuits),
        table=[(sat, by(sat.marks, "circuit")) for sat in view.candidates],
        circuit_bars=bars(
            "Percent of marks by circuit", {lessons.get(n, n): float(s.percent or 0) for n, s in circuits.items()}, cut=cut
        ),
        objective_bars=bars("Percent of marks by objective", {n: float(s.percent or 0) for n, s in found.items()}, cut=cut),
        objectives=found,
        texts=objectives,
        lines=analysis.items(view),
        rule=rule.in_words() if view.rule else "The blueprint states no rule to pass by.",
        least=rule.each_circuit,
    )
