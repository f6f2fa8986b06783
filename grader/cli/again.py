"""What marking again changed, as `grader correct` and `grader award` print it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from grader.base.text import visible
from grader.cli.options import counted

if TYPE_CHECKING:
    from grader.register.remarking import Change, MarkedAgain


def shown(found: MarkedAgain, *, json_wanted: bool, trial: bool = False) -> None:
    """Every number that came out otherwise, and each paper's total, to stdout."""
    import json

    if json_wanted:
        plain = {
            "looked_at": found.looked_at,
            "trial": trial,
            "changed": [_plain(change) for change in found.changes],
            "resting": [{"candidate": one.candidate, "decision": one.decision, "date": one.date} for one in found.resting],
        }
        click.echo(json.dumps(plain, ensure_ascii=False, indent=1))
        return
    for change in found.changes:
        before, after = change.totals
        click.echo(f"{change.after.candidate}  {before.points} -> {after.points}")
        for pair in change.differences:
            marks = f"{pair.before.mark} of {pair.before.out_of} -> {pair.after.mark} of {pair.after.out_of}"
            verdicts = f"{pair.before.verdict} -> {pair.after.verdict}"
            click.echo(f"  {pair.after.number:4} {pair.after.item}  {marks}  {verdicts}  “{visible(pair.after.answer)}”")
    would = "would be changed; nothing was kept" if trial else "changed"
    click.echo(f"{counted(found.looked_at, 'paper')} looked at, {len(found.changes)} {would}", err=True)


def _plain(change: Change) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "candidate": change.after.candidate,
        "paper": change.after.paper,
        "before": change.totals[0].points,
        "after": change.totals[1].points,
        "numbers": [{"before": asdict(pair.before), "after": asdict(pair.after)} for pair in change.differences],
    }


def tell_resting(found: MarkedAgain, sitting: str) -> int:
    """Name the decisions that rest on an earlier mark, to stderr; the exit status."""
    for decision in found.resting:
        click.echo(f"{decision.candidate}: decided {decision.decision} on {decision.date}, rests on the earlier mark", err=True)
    if found.resting:
        click.echo(f"decide again: grader decide {sitting}", err=True)
    return 1 if found.resting else 0
