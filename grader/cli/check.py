"""`grader check`: everything wrong with a course, at once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from grader.items.checks import Checked

EPILOG = """\b
Examples:
  grader check
  grader check courses/carburetors --variants 20000
"""


@click.command("check", epilog=EPILOG)
@click.argument("folder", default=".", type=click.Path(path_type=Path))
@click.option(
    "--variants",
    default=2000,
    show_default=True,
    type=click.IntRange(1, 100_000),
    help="How many variants of each item to look at; all of them where there are fewer.",
)
@click.option("--all", "with_waived", is_flag=True, help="Print waived warnings too, each with its reason.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: findings and counts.")
def command(folder: Path, variants: int, with_waived: bool, as_json: bool) -> int:
    """Check the lessons, banks, stations and blueprints of the course in FOLDER (here, if left out).

    Prints every finding as `file:line: what is wrong; how to mend it`. Ends with 1 where there is an error, with 0 where there is
    none or only warnings.
    """
    from grader.items.checks import check_course
    from grader.items.course import load_course

    checked = check_course(load_course(folder), variants)
    if as_json:
        findings = [finding.as_json() for finding in checked.findings]
        click.echo(json.dumps({"findings": findings, "counts": checked.counts}, ensure_ascii=False, indent=1))
    else:
        for finding in checked.findings:
            click.echo(str(finding))
    if with_waived:
        for finding, reason in checked.waived:
            click.echo(f"{finding} (waived: {reason})", err=as_json)
    for name, count in checked.waiting.items():
        waits = "1 further check waits" if count == 1 else f"{count} further checks wait"
        click.echo(f"{waits} until {name} can be read", err=True)
    click.echo(summary(checked), err=True)
    return 0 if checked.sound else 1


def summary(checked: Checked) -> str:
    """How much there is and how much is wrong, on two lines; practical objectives are practised and examined at the bench."""
    counts = checked.counts
    bench = f" ({counts['bench']} of them at the bench)" if counts["bench"] else ""
    taught = f"{counts['taught']} taught, {counts['practised']} practised, {counts['examined']} examined{bench}"
    have = (
        f"{_count(counts['objectives'], 'objective')}: {taught}; "
        f"{_count(counts['practice'], 'practice item')}, {_count(counts['exam'], 'exam item')}, "
        f"{_count(counts['stations'], 'station')}, {_count(counts['blueprints'], 'blueprint')}"
    )
    waived = f", {len(checked.waived)} waived" if checked.waived else ""
    return f"{have}\n{_count(counts['errors'], 'error')}, {_count(counts['warnings'], 'warning')}{waived}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
