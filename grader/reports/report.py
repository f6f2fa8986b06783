"""The examiner's report: who passed, how the class did, what needs a person, question by question. One file that prints well."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from grader.base.quantities import read_quantity
from grader.marking.strays import Stray
from grader.reports import analysis
from grader.reports.charts import bars, distribution, histogram
from grader.reports.page import render
from grader.reports.view import View, by, score
from grader.stats.classical import wilson


def report_page(view: View, strays: Sequence[Stray], objectives: Mapping[str, str], lessons: Mapping[str, str]) -> str:
    """
    The report of a sitting.

    Parameters
    ----------
    view : View
    strays : sequence of Stray
        Wrong answers that fit another paper of the sitting.
    objectives, lessons : mapping
        Objective's id to its text; circuit to its lesson's title.
    """
    marked = view.marked
    percents = [float(sat.total.percent) for sat in marked if sat.total.percent is not None]
    cut = cut_percent(view)
    everybody = tuple(mark for sat in marked for mark in sat.marks)
    circuits = {name: score([m for m in everybody if m.circuit == name]) for name in by(everybody, "circuit")}
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
        near=analysis.near_the_cut(view, Decimal(repr(cut)), precision.error) if cut is not None else [],
        strays=strays,
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
        rule=rule_in_words(view),
    )


def cut_percent(view: View) -> float | None:
    """The cut of the blueprint's rule in percent; None where it names none."""
    cut = view.rule.get("cut")
    return None if cut is None else float(read_quantity(str(cut)).number)


def rule_in_words(view: View) -> str:
    """The pass rule as a sentence a candidate can check."""
    words = []
    if "cut" in view.rule:
        words.append(f"at least {view.rule['cut']} of the whole paper")
    if "each_circuit" in view.rule:
        words.append(f"at least {view.rule['each_circuit']} in each circuit")
    return " and ".join(words) or "none stated"
