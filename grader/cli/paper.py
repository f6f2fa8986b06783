"""`grader paper`: hold a sitting, or look at one paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.cli.options import (
    REGISTER,
    as_json,
    asked_passphrase,
    by_person,
    counted,
    instant,
    new_passphrase,
    opens_keys,
    tell,
)

if TYPE_CHECKING:
    from grader.items.course import Course
    from grader.items.model import Blueprint
    from grader.register.sitting import Held


@click.command()
@click.argument("blueprint")
@click.option(
    "--roster",
    type=click.Path(path_type=Path),
    help="The class: a CSV with `candidate,name` and, if wanted, `group,email,extra_time,print`.",
)
@click.option("--sitting", help="The sitting's name; its folder is called so.")
@click.option(
    "--in",
    "folder",
    type=click.Path(path_type=Path),
    default=Path(),
    help="Where `sittings/` and the register stand. Default: here.",
)
@click.option(
    "--course",
    type=click.Path(path_type=Path),
    default=Path(),
    help="The course: a folder with `lessons/` and `questions/`. Default: here.",
)
@click.option("--date", help="The day of the sitting, as 2031-05-12. Default: today.")
@click.option(
    "--preview",
    type=click.Path(path_type=Path),
    metavar="FILE.pdf",
    help="Write one paper of nobody's to look at; nothing is kept.",
)
@click.option(
    "--lock",
    is_flag=True,
    help="Lock the keys of the new sitting with a passphrase; whatever opens them asks for it. It cannot be found again if lost.",
)
@opens_keys
@by_person
@as_json
def command(
    blueprint: str,
    roster: Path | None,
    sitting: str | None,
    folder: Path,
    course: Path,
    date: str | None,
    preview: Path | None,
    lock: bool,
    passphrase_file: Path | None,
    person: str,
    json_wanted: bool,
) -> int:
    """
    Hold a sitting: a paper and an answer sheet for every candidate.

    BLUEPRINT is the name of a file in questions/blueprints. Keys go into the register first; papers and sheets are printed from
    them into sittings/NAME, with the assessors' sheets of the bench stations that the blueprint names. Run it again after an
    interruption: what is there stays, what is missing is made. Run it again with more lines in the roster: who came late gets a
    paper, nobody else's changes. Any other change is refused, and what differs is named. At the end stands how alike the papers
    weigh and how far they differ.

    \b
    grader paper module-main-power-pump --roster class.csv --sitting spring-2031
    grader paper module-main-power-pump --roster class.csv --sitting spring-2031 --lock
    grader paper module-main-power-pump --preview look.pdf
    """
    from grader.base.errors import UseError
    from grader.base.files import make_folder
    from grader.items.course import load_course
    from grader.items.roster import read_roster
    from grader.register.sitting import check_inputs, hold_sitting
    from grader.register.store import Register

    held_on = day(date)
    loaded = load_course(course)
    plan = _plan(loaded, blueprint)
    if preview is not None:
        from grader.base.files import write_atomic
        from grader.register.sitting import preview_paper

        write_atomic(preview, preview_paper(loaded, plan, held_on))
        click.echo(preview)
        return 0
    if roster is None or not sitting:
        raise UseError(
            "a sitting needs its candidates and its name; add --roster class.csv --sitting NAME, or look at one with --preview"
        )
    people = read_roster(roster)
    check_inputs(loaded, plan, people, sitting)
    ask = new_passphrase(passphrase_file) if lock else None
    with Register(make_folder(folder) / REGISTER, passphrase=asked_passphrase(passphrase_file)) as register:
        held = hold_sitting(register, loaded, plan, people, sitting, folder, held_on, None, _tell, person, instant(), ask)
    _say_json(held) if json_wanted else _say(held)
    return 1 if held.findings else 0


def day(date: str | None) -> str:
    """The day as it was given, else today; `UseError` for what is no day."""
    from datetime import UTC, datetime

    from grader.base.errors import UseError

    today = datetime.now(UTC).astimezone().date().isoformat()
    try:
        return datetime.strptime(date or today, "%Y-%m-%d").replace(tzinfo=UTC).date().isoformat()
    except ValueError as error:
        raise UseError(f"{date!r} is no day; write it as {today}") from error


def _plan(course: Course, name: str) -> Blueprint:
    from grader.base.errors import FindingsError, UseError
    from grader.items.shapes import nearest

    plan = course.blueprints.get(name.removesuffix(".yaml"))
    if plan is not None:
        return plan
    errors = [finding for finding in course.findings if finding.level == "error"]
    if errors:
        raise FindingsError(errors)
    near = nearest(name, [known.replace("-", "_") for known in course.blueprints]).replace("_", "-")
    meant = f"did you mean {near!r}?" if near else f"there is: {', '.join(course.blueprints) or 'none'}"
    raise UseError(f"no blueprint {name[:80]!r} in questions/blueprints; {meant}")


def _say(held: Held) -> None:
    click.echo(f"{held.folder}: {counted(len(held.papers), 'paper')}, {held.sealed} sealed and {held.printed} printed now")
    click.echo(f"papers to print: {held.folder / 'papers'}")
    click.echo(f"answer sheets to hand out: {held.folder / 'sheets'}")
    if held.stations:
        where = f"{counted(len(held.stations), 'bench station')}, to print and to tick on a phone"
        click.echo(f"assessors' sheets: {held.folder / 'stations'} ({where})")
    click.echo(f"who has which: {held.folder / 'manifest.csv'}")
    if held.likeness is not None:
        from grader.papers.likeness import told

        for line in told(held.likeness):
            click.echo(line)
    if held.locked:
        click.echo("keys: locked; whatever opens them asks for the passphrase")
    _warn(held)


def _say_json(held: Held) -> None:
    import json
    from dataclasses import asdict

    found = {
        "folder": str(held.folder),
        "papers": [{"candidate": paper.candidate, "paper": paper.code, "digest": paper.key_digest} for paper in held.papers],
        "sealed": held.sealed,
        "printed": held.printed,
        "stations": held.stations,
        "locked": held.locked,
        "likeness": None if held.likeness is None else asdict(held.likeness),
    }
    click.echo(json.dumps(found, ensure_ascii=False, indent=1))
    _warn(held)


def _warn(held: Held) -> None:
    for name in held.changed:
        tell(f"{name}: not as it was when the sitting was held; its papers stand as they were sealed")
    for finding in held.findings:
        tell(str(finding))


def _tell(done: int, total: int) -> None:
    if done == total or done % 10 == 0:
        tell(f"{done} of {counted(total, 'paper')}")
