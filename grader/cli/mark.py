"""`grader mark`: mark a pile of answer files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from grader.cli.options import (
    REGISTER,
    as_json,
    asked_passphrase,
    by_person,
    counted,
    in_folder,
    instant,
    opens_keys,
    tell,
    tell_who,
)

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from grader.marking.mark import Marks
    from grader.register.cluster import Cluster
    from grader.register.pile import PileOutcome
    from grader.register.records import Assessment


@click.command()
@click.argument("sitting")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE_OR_FOLDER...")
@click.option("--again", metavar="CANDIDATE", help="Let the answers in FILE count for this candidate, who is marked already.")
@click.option("--reason", default="", metavar="TEXT", help="Why these answers count instead; needed with --again, and kept.")
@click.option("--cluster", metavar="ADDRESS", help="Let the workers of a Dask cluster mark: where its scheduler is.")
@in_folder
@opens_keys
@by_person
@as_json
def command(
    sitting: str,
    files: tuple[Path, ...],
    again: str | None,
    reason: str,
    cluster: str | None,
    folder: Path,
    passphrase_file: Path | None,
    person: str,
    json_wanted: bool,
) -> int:
    """
    Mark answer files of SITTING: files, folders, zip archives.

    Answer files are JSON, YAML or a class's table (CSV); assessors' files of bench stations may lie among them. Whatever cannot
    be marked is set aside with the reason, and the rest goes on; run again, it marks only what is new. Exit status 1 where a
    file, or what assessors put down, needs a person.

    Where other answers shall count than those a candidate was marked for, a person says so with --again and the reason. Both
    markings are kept, with who said it; the newest counts, and the sitting has to be decided again.

    A pile of very many files can be marked on a Dask cluster (extra `cluster`) where every worker has this version of grader.
    The marks are the same, and what a lost worker was marking is marked again. Keys go to the workers: let it be a cluster of
    your own, at a tls:// address. All marks as one table for other programs: grader export sitting SITTING --to parquet.

    \b
    Example:
      grader mark spring-1 handed-in/
      grader mark national-1 handed-in/ --cluster tls://marks.weirgate.example:8786
      grader mark spring-1 second.json --again c-07 --reason "the first file was a draft"
    """
    import json
    from contextlib import nullcontext

    from grader.base.errors import UseError
    from grader.register.pile import mark_pile
    from grader.register.stations import flags_of
    from grader.register.store import Register

    if again is not None:
        if cluster is not None:
            raise UseError("--again marks one paper, which needs no cluster; leave out --cluster")
        return _again(sitting, files, again, reason, folder, passphrase_file, person, json_wanted)
    if reason:
        raise UseError("--reason says why a paper is marked again; name the candidate with --again")
    each = None if json_wanted else lambda _: None
    with (
        Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register,
        nullcontext() if cluster is None else _joined(cluster) as workers,
    ):
        outcome = mark_pile(register, sitting, files, instant(), tell, person, each, cluster=workers)
        flags = flags_of(register, sitting, outcome.assessed)
    for flag in flags:
        tell(f"{flag}; settle it: grader award {sitting} CANDIDATE STATION/STEP done")
    if json_wanted:
        click.echo(json.dumps(_plain(sitting, outcome) | {"flags": list(flags)}, ensure_ascii=False, indent=1))
    else:
        aside = len({a.file for a in outcome.asides if a.level == "error"})
        before = f"{counted(outcome.passed_over, 'file')} marked before, {counted(aside, 'file')} set aside"
        benches = f"{counted(len(outcome.assessed), 'station')} taken in, " if outcome.assessed else ""
        click.echo(f"{counted(outcome.files, 'file')}: {counted(outcome.papers, 'paper')} marked, {benches}{before}")
    return 1 if outcome.needs_a_person or flags else 0


def _joined(address: str) -> AbstractContextManager[Cluster]:
    from grader.register.cluster import joined

    return joined(address, tell)


def _again(
    sitting: str,
    files: tuple[Path, ...],
    candidate: str,
    reason: str,
    folder: Path,
    passphrase_file: Path | None,
    person: str,
    json_wanted: bool,
) -> int:
    import json

    from grader.marking.mark import Marks
    from grader.register.pile import mark_again
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        made = mark_again(register, sitting, candidate, files, reason, instant(), person)
    marked = [_marks(made)] if isinstance(made, Marks) else []
    assessed = [] if isinstance(made, Marks) else [_assessment(made)]
    if json_wanted:
        plain = {"sitting": sitting, "reason": reason, "marked": marked, "assessed": assessed}
        click.echo(json.dumps(plain, ensure_ascii=False, indent=1))
    else:
        counts = (
            f"{made.mark} of {made.out_of}" if isinstance(made, Marks) else f"what {made.assessor} put down at {made.station}"
        )
        click.echo(f"{candidate}: {counts} counts now; decide again: grader decide {sitting}")
    tell_who("marked again", person)
    return 0


def _plain(sitting: str, outcome: PileOutcome) -> dict[str, Any]:
    """What was marked and set aside, as plain data."""
    marked = [_marks(marks) for marks in outcome.marked]
    asides = [finding.as_json() for finding in outcome.asides]
    assessed = [_assessment(one) for one in outcome.assessed]
    counts = {"sitting": sitting, "files": outcome.files, "passed_over": outcome.passed_over}
    return counts | {"marked": marked, "assessed": assessed, "asides": asides}


def _assessment(one: Assessment) -> dict[str, Any]:
    names = ("candidate", "station", "assessor", "steps", "readings", "remarks")
    return {name: getattr(one, name) for name in names}


def _marks(marks: Marks) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "paper": marks.paper,
        "candidate": marks.candidate,
        "mark": marks.mark,
        "out_of": marks.out_of,
        "marks": [asdict(one) for one in marks.marks],
    }
