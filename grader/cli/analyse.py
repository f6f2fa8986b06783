"""`grader analyse`: item analysis of any table of marks."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.cli.options import as_json

if TYPE_CHECKING:
    from grader.reports.item_table import Analysis


@click.command()
@click.argument("table", type=click.Path(path_type=Path, dir_okay=False))
@as_json
def command(table: Path, json_wanted: bool) -> int:
    """
    Say how hard each question of TABLE was and how well it parts strong from weak.

    TABLE is a CSV: first column the person, then a column a question. Marks are 0 or 1; for others add a row `out of` with each
    question's greatest mark. Leave a cell empty where a person did not have the question.

    \b
    grader analyse marks.csv

    \b
    facility        mean mark as a share: 0.20 or less, is it taught, is the key right? Then the share with full marks, and
                    where it would lie if very many sat it (95 in 100 times)
    discrimination  -1 to 1, whether those strong on the rest are strong here: about 0.3 is good; below 0, work the key again
    difficulty      on one scale (Rasch, in logits): 0 is the middle, up is harder; behind +- how sure it is
    infit, outfit   about 1 is as it should be; above 1.3, answers that surprise: guessing, or something else is measured
    """
    from grader.reports.item_table import analyse
    from grader.reports.number_table import read_numbers

    found = analyse(read_numbers(table))
    click.echo(json.dumps(asdict(found), ensure_ascii=False, indent=1) if json_wanted else _printed(found))
    return 0


def _printed(found: Analysis) -> str:
    wide = max([8, *(len(question.name) for question in found.questions)])
    lines = [f"{'question':{wide}} people facility  full marks, 95 %  discrim.  difficulty      infit outfit"]
    for q in found.questions:
        scale = f"{q.difficulty:+6.2f} ± {q.error:.2f}" if q.difficulty is not None and q.error is not None else f"{'-':>13}"
        lines.append(
            f"{q.name:{wide}} {q.people:6}{q.facility:9.2f}  {q.full.share:5.2f} {q.full.low:5.2f}-{q.full.high:.2f}"
            f"{_or_dash(q.discrimination, 10)}  {scale:15}{_or_dash(q.infit, 6)}{_or_dash(q.outfit, 7)}"
        )
        lines += [f"{'':{wide}} look: {said}" for said in q.look]
    lines.append("")
    lines.append(f"{found.people} people. {_sure(found)}")
    return "\n".join([*lines, *found.notes])


def _sure(found: Analysis) -> str:
    from grader.reports.trust import agreement

    if found.alpha is None or found.error is None:
        return "How sure a mark is cannot be told: fewer than two people or questions, or totals all alike."
    return f"A mark is sure to about ±{found.error:.2f} marks (standard error of measurement). {agreement(found.alpha)}"


def _or_dash(value: float | None, width: int) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:{width}.2f}"
