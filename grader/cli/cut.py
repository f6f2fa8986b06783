"""`grader cut`: a cut score from judges' ratings."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from grader.base.errors import FindingsError, UseError
from grader.base.findings import Finding
from grader.cli.options import as_json

FAR_APART = 20
"""Judges who lie so many percent apart on an item, or more, think of different people or of different items (house rule)."""


@click.command()
@click.argument("ratings", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--marks", type=click.IntRange(1), help="What the paper is out of: says the least mark that passes.")
@click.option(
    "--results", type=click.Path(path_type=Path, dir_okay=False), help="The class as a second look: results.csv of a sitting."
)
@click.option("--cut-between", type=float, nargs=2, help="Lowest and highest cut the judges would stand for, in percent.")
@click.option("--failing-between", type=float, nargs=2, help="Least and greatest share that may fail, in percent.")
@as_json
def command(
    ratings: Path,
    marks: int | None,
    results: Path | None,
    cut_between: tuple[float, float] | None,
    failing_between: tuple[float, float] | None,
    json_wanted: bool,
) -> int:
    """
    Work out where to cut, by the modified Angoff method.

    RATINGS is a CSV: a row a judge, a column an item; each number says how many in a hundred apprentices who are just good enough
    would get the item right. Write the cut that the panel settles on into the blueprint (`pass:`), with method, judges and date
    beside it.

    \b
    grader cut ratings.csv --marks 40
    grader cut ratings.csv --results sittings/spring/results/results.csv --cut-between 50 70 --failing-between 10 60
    """
    from fractions import Fraction

    from grader.reports.number_table import read_numbers
    from grader.stats.cut_score import angoff, least_passing

    table = read_numbers(ratings)
    _check(table)
    found = angoff(table.numbers / 100)
    said: dict[str, Any] = asdict(found) | {"judges": list(table.rows), "items": len(table.columns), "apart": _apart(table)}
    if marks is not None:
        said["least_passing"] = least_passing(Fraction(str(round(found.share, 9))), marks)
        said["marks"] = marks
    if results is not None or cut_between or failing_between:
        if results is None or not cut_between or not failing_between:
            raise UseError("the second look wants all three: --results FILE --cut-between LOW HIGH --failing-between LOW HIGH")
        said["second_look"] = _second_look(results, cut_between, failing_between)
    click.echo(json.dumps(said, ensure_ascii=False, indent=1) if json_wanted else _printed(said))
    return 0


def _check(table: Any) -> None:
    findings = [
        Finding(
            table.file,
            line,
            "no-rating",
            f"{judge} gives `{item}` {_written(rating)}",
            "a rating lies from 0 to 100, and none is left out",
        )
        for line, judge, row in zip(table.lines, table.rows, table.numbers, strict=True)
        for item, rating in zip(table.columns, row, strict=True)
        if not 0 <= rating <= 100
    ]
    if not findings and table.numbers.max() <= 1:
        findings.append(Finding(table.file, 0, "shares", "no rating is above 1", "write percent: 60, not 0.6"))
    if min(table.numbers.shape) < 2:
        findings.append(
            Finding(table.file, 0, "too-few", "one judge or one item", "a cut wants two judges and two items at least")
        )
    if findings:
        raise FindingsError(findings)


def _apart(table: Any) -> list[dict[str, Any]]:
    """The items on which the judges lie far apart, the widest first: to be talked over before the cut stands."""
    least, most = table.numbers.min(axis=0), table.numbers.max(axis=0)
    found = [
        {"item": item, "least": float(low), "most": float(high)}
        for item, low, high in zip(table.columns, least, most, strict=True)
        if high - low >= FAR_APART
    ]
    return sorted(found, key=lambda one: one["least"] - one["most"])


def _written(rating: float) -> str:
    return "nothing" if rating != rating else f"{rating:g}"


def _second_look(results: Path, cut: tuple[float, float], failing: tuple[float, float]) -> float | None:
    """Hofstee's cut, as a share; None where class and limits do not meet."""
    from grader.reports.tables import percents
    from grader.stats.cut_score import Limits, hofstee

    try:
        return hofstee([percent / 100 for percent in percents(results)], Limits(*(end / 100 for end in (*cut, *failing))))
    except ValueError as error:
        raise UseError(f"the second look: {error}") from error


def _printed(said: dict[str, Any]) -> str:
    judges = zip(said["judges"], said["sums"], strict=True)
    lines = [
        f"{len(said['judges'])} judges, {said['items']} items",
        *(f"  {judge}: {total:.2f} items, {100 * total / said['items']:.1f} %" for judge, total in judges),
        "",
        f"cut: {said['cut']:.3f} of {said['items']} items, {100 * said['share']:.1f} %",
        f"All judges of this kind would come to within ±{100 * said['error'] / said['items']:.1f} % of it, two times in three",
        f"(standard error over judges {said['error']:.3f} items; over items, had it been others, {said['error_over_items']:.3f})",
    ]
    if said["apart"]:
        listed = ", ".join(f"{one['item']} ({one['least']:g} to {one['most']:g})" for one in said["apart"])
        lines.append(f"To talk over before the cut stands, judges {FAR_APART} or more apart: {listed}")
    if "marks" in said:
        lines.append(f"out of {said['marks']} marks, {said['least_passing']} is the least that passes")
    if "second_look" in said:
        cut = said["second_look"]
        lines.append(
            "second look (Hofstee): class and limits do not meet, so it gives no cut; ask the judges for wider limits"
            if cut is None
            else f"second look (Hofstee): {100 * cut:.1f} %"
        )
    return "\n".join(lines)
