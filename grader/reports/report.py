"""The examiner's report: who passed, how the class did, what needs a person, question by question. One file that prints well."""

from __future__ import annotations

from collections.abc import Mapping

from grader.marking.strays import Pair
from grader.register.records import Paper
from grader.register.rule import by
from grader.reports import analysis
from grader.reports.certainty import certainty
from grader.reports.charts import bars, distribution, histogram
from grader.reports.odds import anywhere, one_in
from grader.reports.page import render
from grader.reports.trust import trust
from grader.reports.view import NO_RULE, View
from grader.stats.classical import wilson

MOST_PAIRS = 20
"""Pairs that accident explains: so many are shown, those behind are likelier still."""
RARE = 0.05
"""A pair is to be looked at where a whole class would have one like it by accident no more often than this (house rule)."""


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
    compared = len(marked) * (len(view.candidates) - 1)
    told = [pair for pair in view.pairs if anywhere(pair.chance, compared) <= RARE]
    explained = view.pairs[len(told) :]
    people = {sat.paper.code: sat.paper for sat in view.candidates}
    decided = any(sat.decided for sat in view.candidates)
    passed = sum(sat.decided == "pass" for sat in view.candidates)
    lines = analysis.items(view)
    return render(
        "report.html",
        title=f"Report: {view.sitting.blueprint.get('title', view.sitting.name)}",
        view=view,
        sitting=view.sitting,
        passed=f"{passed} of {len(marked)} marked" if decided else "not decided yet",
        precision=precision,
        trust=trust(
            certainty(view, precision), precision, wilson(passed, len(marked)) if decided and passed <= len(marked) else None
        ),
        few=len(marked) < analysis.FEW,
        limit=analysis.FEW,
        unreadable=[(sat, mark) for sat in marked for mark in sat.marks if mark.verdict == "unreadable"],
        near=analysis.near_the_cut(view, rule.cut, precision.error) if view.rule else [],
        strays=view.strays,
        one_in=one_in,
        compared=f"{compared:,}",
        pairs=[_met(pair, people, compared) for pair in told],
        others=[_met(pair, people, compared) for pair in explained[:MOST_PAIRS]],
        unshown=max(0, len(explained) - MOST_PAIRS),
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
        lines=lines,
        known=[line for line in lines if line.facility == 1],
        parted=any(line.discrimination is not None for line in lines),
        fewest=analysis.FEWEST,
        rule=rule.in_words() if view.rule else "The blueprint states no rule to pass by.",
        least=rule.each_circuit,
    )


def _met(pair: Pair, people: Mapping[str, Paper], compared: int) -> dict[str, str]:
    """A pair as the report shows it. Who stands beside whom in the roster may well have sat there."""
    order = list(people)
    beside = abs(order.index(pair.paper) - order.index(pair.other)) == 1
    return {
        "who": people[pair.paper].candidate,
        "whom": people[pair.other].candidate,
        "hits": f"{pair.hits} of {pair.tried}",
        "chance": one_in(pair.chance),
        "anywhere": one_in(anywhere(pair.chance, compared)),
        "beside": "next to each other in the roster" if beside else "",
    }
