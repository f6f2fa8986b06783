"""`grader agree`: how far assessors agree."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.base.errors import UseError
from grader.cli.options import as_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from grader.reports.assessor_table import Agreement

SCALES = {"names": "nominal", "ranks": "ordinal", "numbers": "interval", "amounts": "ratio"}
MOST_NAMED = 12
"""So many subjects are named on whom assessors differ; --json names all."""


@click.command()
@click.argument("ratings", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--grades",
    type=click.Choice(list(SCALES)),
    default="names",
    show_default=True,
    help="What the grades are: names (done, not done), ranks, numbers with equal steps, amounts with a true zero.",
)
@click.option(
    "--apart",
    type=click.Choice(["none", "linear", "quadratic"]),
    default="none",
    show_default=True,
    help="How two assessors' grades of different rank weigh: all alike, by steps, by steps squared.",
)
@as_json
def command(ratings: Path, grades: str, apart: str, json_wanted: bool) -> int:
    """
    Say how far the assessors of RATINGS agree, beyond what chance alone would give.

    RATINGS is a CSV: first column whoever was assessed, then a column an assessor. Leave a cell empty where one did not grade.

    \b
    grader agree bench.csv
    grader agree scores.csv --grades numbers
    """
    from typing import Any, cast

    from grader.reports.assessor_table import agreement
    from grader.reports.number_table import read_grades

    table, words = read_grades(ratings)
    if words and grades != "names":
        raise UseError(f"{ratings}: grades such as `{words[0]}` are names; leave --grades {grades} away, or write numbers")
    if grades == "names" and apart != "none":
        raise UseError(f"--apart {apart} weighs ranks, and names have none; add --grades ranks")
    found = agreement(table, cast(Any, SCALES[grades]), cast(Any, apart))
    if json_wanted:
        interval = {"low": found.two.low, "high": found.two.high} if found.two else {}
        said = asdict(found)
        click.echo(json.dumps(said | ({"two": said["two"] | interval} if found.two else {}), ensure_ascii=False, indent=1))
    else:
        click.echo(_printed(found))
    return 0


def _printed(found: Agreement) -> str:
    from grader.reports.assessor_table import in_words, what_to_do

    lines = [f"{found.subjects} assessed by {found.assessors}"]
    if found.alike is not None:
        lines.append(f"all alike: {100 * found.alike:.0f} %, luck included")
    if found.two:
        two = found.two
        lines.append(f"kappa {two.value:.3f}, 95 % from {two.low:.3f} to {two.high:.3f}: {in_words(two.value)}")
    if found.many is not None and found.assessors > 2:
        lines.append(f"Fleiss' kappa {found.many:.3f}: {in_words(found.many)}")
    if found.alpha is not None:
        lines.append(f"Krippendorff's alpha {found.alpha:.3f}: {in_words(found.alpha)}")
    if found.scores:
        one = found.scores
        lines.append(f"intraclass correlation of one assessor's score {one.absolute:.3f}, severity aside {one.consistency:.3f}")
        lines.append(f"of the mean of all {one.mean_absolute:.3f}, severity aside {one.mean_consistency:.3f}")
    lines += _done(found, what_to_do)
    return "\n".join([*lines, *found.notes])


def _done(found: Agreement, what_to_do: Callable[[float], str]) -> list[str]:
    """What the figures mean, what to do, and on whom the assessors differ; of scores only what the figures mean."""
    measures = [found.two.value if found.two else None, found.many, found.alpha]
    beyond_luck = next((value for value in measures if value is not None), None)
    lines = []
    if beyond_luck is not None:
        lines.append(
            "1 is agreement in everything, 0 what luck alone would give; a wide range says that too few were assessed twice"
        )
        if found.scores is None:
            lines.append(what_to_do(beyond_luck))
    if found.differ and found.scores is None:
        shown = ", ".join(found.differ[:MOST_NAMED])
        more = len(found.differ) - MOST_NAMED
        lines.append(f"they differ on {len(found.differ)}: {shown}{f' and {more} more' if more > 0 else ''}")
    return lines
