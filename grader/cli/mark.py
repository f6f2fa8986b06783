"""`grader mark`: mark a pile of answer files."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import REGISTER, as_json, by_person, in_folder, instant


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
    from dataclasses import asdict

    from grader.register.pile import mark_pile
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        outcome = mark_pile(register, sitting, files, instant(), lambda line: click.echo(line, err=True), person)
    aside = len({a.file for a in outcome.asides if a.level == "error"})
    if json_wanted:
        result = {
            "sitting": sitting,
            "files": outcome.files,
            "passed_over": outcome.passed_over,
            "marked": [
                {
                    "paper": marks.paper,
                    "candidate": marks.candidate,
                    "mark": marks.mark,
                    "out_of": marks.out_of,
                    "marks": [asdict(m) for m in marks.marks],
                }
                for marks in outcome.marked
            ],
            "asides": [finding.as_json() for finding in outcome.asides],
        }
        click.echo(json.dumps(result, ensure_ascii=False, indent=1))
    else:
        done = f"{len(outcome.marked)} papers marked, {outcome.passed_over} files marked before, {aside} files set aside"
        click.echo(f"{outcome.files} files: {done}")
    return 1 if outcome.needs_a_person else 0
