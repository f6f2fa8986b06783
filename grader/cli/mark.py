"""`grader mark`: mark a pile of answer files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from grader.cli.options import REGISTER, as_json, by_person, in_folder, instant, tell

if TYPE_CHECKING:
    from grader.register.pile import PileOutcome


@click.command()
@click.argument("sitting")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE_OR_FOLDER...")
@in_folder
@by_person
@as_json
def command(sitting: str, files: tuple[Path, ...], folder: Path, person: str, json_wanted: bool) -> int:
    """
    Mark answer files of SITTING: files, folders, zip archives.

    Answer files are JSON, YAML or a class's table (CSV). Whatever cannot be marked is set aside with the reason, and the rest
    goes on; run again, it marks only what is new. Exit status 1 where a file needs a person.

    \b
    Example:
      grader mark spring-1 handed-in/
    """
    import json

    from grader.register.pile import mark_pile
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        outcome = mark_pile(register, sitting, files, instant(), tell, person)
    if json_wanted:
        click.echo(json.dumps(_plain(sitting, outcome), ensure_ascii=False, indent=1))
    else:
        aside = len({a.file for a in outcome.asides if a.level == "error"})
        done = f"{len(outcome.marked)} papers marked, {outcome.passed_over} files marked before, {aside} files set aside"
        click.echo(f"{outcome.files} files: {done}")
    return 1 if outcome.needs_a_person else 0


def _plain(sitting: str, outcome: PileOutcome) -> dict[str, Any]:
    """What was marked and set aside, as plain data."""
    from dataclasses import asdict

    marked = [
        {
            "paper": marks.paper,
            "candidate": marks.candidate,
            "mark": marks.mark,
            "out_of": marks.out_of,
            "marks": [asdict(one) for one in marks.marks],
        }
        for marks in outcome.marked
    ]
    asides = [finding.as_json() for finding in outcome.asides]
    return {"sitting": sitting, "files": outcome.files, "passed_over": outcome.passed_over, "marked": marked, "asides": asides}
