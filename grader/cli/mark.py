"""`grader mark`: mark a pile of answer files."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("sitting")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE_OR_FOLDER...")
@click.option(
    "--in",
    "folder",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    default=Path(),
    help="Where register.sqlite and sittings/ lie; default: here.",
)
@click.option("--person", default="", help="Who marks, for the register's log.")
@click.option("--json", "as_json", is_flag=True, help="Print what was marked and set aside as JSON.")
def command(sitting: str, files: tuple[Path, ...], folder: Path, person: str, as_json: bool) -> int:
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
    from datetime import UTC, datetime

    from grader.register.pile import mark_pile
    from grader.register.store import Register

    when = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    with Register(folder / "register.sqlite", existing=True) as register:
        outcome = mark_pile(register, sitting, files, when, lambda line: click.echo(line, err=True), person)
    aside = len({a.file for a in outcome.asides if a.level == "error"})
    if as_json:
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
