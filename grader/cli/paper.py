"""`grader paper`: hold a sitting, or look at one paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.cli.options import counted, tell

if TYPE_CHECKING:
    from grader.items.course import Course
    from grader.items.model import Blueprint


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
def command(
    blueprint: str, roster: Path | None, sitting: str | None, folder: Path, course: Path, date: str | None, preview: Path | None
) -> int:
    """
    Hold a sitting: a paper and an answer sheet for every candidate.

    BLUEPRINT is the name of a file in questions/blueprints. Keys go into the register first; papers and sheets are printed from
    them into sittings/NAME, with the assessors' sheets of the bench stations that the blueprint names. Run it again after an
    interruption: what is there stays, what is missing is made.

    \b
    grader paper module-main-power-pump --roster class.csv --sitting spring-2031
    grader paper module-main-power-pump --preview look.pdf
    """
    from grader.base.errors import UseError
    from grader.items.course import load_course

    day = _day(date)
    loaded = load_course(course)
    plan = _plan(loaded, blueprint)
    if preview is not None:
        from grader.base.files import write_atomic
        from grader.register.sitting import preview_paper

        write_atomic(preview, preview_paper(loaded, plan, day))
        click.echo(preview)
        return 0
    if roster is None or not sitting:
        raise UseError(
            "a sitting needs its candidates and its name; add --roster class.csv --sitting NAME, or look at one with --preview"
        )
    return _hold(loaded, plan, roster, sitting, folder, day)


def _day(date: str | None) -> str:
    from datetime import UTC, datetime

    from grader.base.errors import UseError

    today = datetime.now(UTC).astimezone().date().isoformat()
    try:
        return datetime.strptime(date or today, "%Y-%m-%d").replace(tzinfo=UTC).date().isoformat()
    except ValueError as error:
        raise UseError(f"{date!r} is no day; write it as {today}") from error


def _plan(course: Course, name: str) -> Blueprint:
    from grader.base.errors import FindingsError, UseError

    plan = course.blueprints.get(name.removesuffix(".yaml"))
    if plan is not None:
        return plan
    errors = [finding for finding in course.findings if finding.level == "error"]
    if errors:
        raise FindingsError(errors)
    raise UseError(f"no blueprint {name[:80]!r} in questions/blueprints; there is: {', '.join(course.blueprints) or 'none'}")


def _hold(course: Course, plan: Blueprint, roster: Path, sitting: str, folder: Path, day: str) -> int:
    from grader.base.files import make_folder
    from grader.items.roster import read_roster
    from grader.register.sitting import check_inputs, hold_sitting
    from grader.register.store import Register

    people = read_roster(roster)
    check_inputs(course, plan, people, sitting)
    with Register(make_folder(folder) / "register.sqlite") as register:
        held = hold_sitting(register, course, plan, people, sitting, folder, day, progress=_tell)
    click.echo(f"{held.folder}: {counted(len(held.papers), 'paper')}, {held.sealed} sealed and {held.printed} printed now")
    click.echo(f"papers to print: {held.folder / 'papers'}")
    click.echo(f"answer sheets to hand out: {held.folder / 'sheets'}")
    if held.stations:
        where = f"{counted(len(held.stations), 'bench station')}, to print and to tick on a phone"
        click.echo(f"assessors' sheets: {held.folder / 'stations'} ({where})")
    click.echo(f"who has which: {held.folder / 'manifest.csv'}")
    return 0


def _tell(done: int, total: int) -> None:
    if done == total or done % 10 == 0:
        tell(f"{done} of {counted(total, 'paper')}")
