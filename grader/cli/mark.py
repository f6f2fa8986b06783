"""`grader mark`: mark a pile of answer files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from grader.cli.options import REGISTER, as_json, by_person, counted, in_folder, instant, tell, tell_who

if TYPE_CHECKING:
    from grader.marking.mark import Marks
    from grader.register.pile import PileOutcome


@click.command()
@click.argument("sitting")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE_OR_FOLDER...")
@click.option("--again", metavar="CANDIDATE", help="Let the answers in FILE count for this candidate, who is marked already.")
@click.option("--reason", default="", metavar="TEXT", help="Why these answers count instead; needed with --again, and kept.")
@in_folder
@by_person
@as_json
def command(
    sitting: str, files: tuple[Path, ...], again: str | None, reason: str, folder: Path, person: str, json_wanted: bool
) -> int:
    """
    Mark answer files of SITTING: files, folders, zip archives.

    Answer files are JSON, YAML or a class's table (CSV). Whatever cannot be marked is set aside with the reason, and the rest
    goes on; run again, it marks only what is new. Exit status 1 where a file needs a person.

    Where other answers shall count than those a candidate was marked for, a person says so with --again and the reason. Both
    markings are kept, with who said it; the newest counts, and the sitting has to be decided again.

    \b
    Example:
      grader mark spring-1 handed-in/
      grader mark spring-1 second.json --again c-07 --reason "the first file was a draft"
    """
    import json

    from grader.base.errors import UseError
    from grader.register.pile import mark_pile
    from grader.register.store import Register

    if again is not None:
        return _again(sitting, files, again, reason, folder, person, json_wanted)
    if reason:
        raise UseError("--reason says why a paper is marked again; name the candidate with --again")
    with Register(folder / REGISTER, existing=True) as register:
        outcome = mark_pile(register, sitting, files, instant(), tell, person)
    if json_wanted:
        click.echo(json.dumps(_plain(sitting, outcome), ensure_ascii=False, indent=1))
    else:
        aside = len({a.file for a in outcome.asides if a.level == "error"})
        before = f"{counted(outcome.passed_over, 'file')} marked before, {counted(aside, 'file')} set aside"
        click.echo(f"{counted(outcome.files, 'file')}: {counted(len(outcome.marked), 'paper')} marked, {before}")
    return 1 if outcome.needs_a_person else 0


def _again(
    sitting: str, files: tuple[Path, ...], candidate: str, reason: str, folder: Path, person: str, json_wanted: bool
) -> int:
    import json

    from grader.register.pile import mark_again
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        marks = mark_again(register, sitting, candidate, files, reason, instant(), person)
    if json_wanted:
        click.echo(json.dumps({"sitting": sitting, "reason": reason, "marked": [_marks(marks)]}, ensure_ascii=False, indent=1))
    else:
        click.echo(f"{candidate}: {marks.mark} of {marks.out_of} counts now; decide again: grader decide {sitting}")
    tell_who("marked again", person)
    return 0


def _plain(sitting: str, outcome: PileOutcome) -> dict[str, Any]:
    """What was marked and set aside, as plain data."""
    marked = [_marks(marks) for marks in outcome.marked]
    asides = [finding.as_json() for finding in outcome.asides]
    return {"sitting": sitting, "files": outcome.files, "passed_over": outcome.passed_over, "marked": marked, "asides": asides}


def _marks(marks: Marks) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "paper": marks.paper,
        "candidate": marks.candidate,
        "mark": marks.mark,
        "out_of": marks.out_of,
        "marks": [asdict(one) for one in marks.marks],
    }
