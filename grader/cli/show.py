"""`grader show`: an item or a bench station as its author wants to see it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.base.errors import FindingsError, UseError

if TYPE_CHECKING:
    from grader.items.course import Course
    from grader.items.station_file import Station

EPILOG = """\b
Examples:
  grader show power-open-area
  grader show power-open-area --variants 5 --html item.html
  grader show float-level --html float-level.html
"""


@click.command("show", epilog=EPILOG)
@click.argument("item_id", metavar="ITEM")
@click.option("--course", "folder", default=".", type=click.Path(path_type=Path), help="The course's folder; here, if left out.")
@click.option("--variants", default=3, show_default=True, type=click.IntRange(1, 200), help="How many variants to draw.")
@click.option("--html", "page", type=click.Path(path_type=Path, dir_okay=False), help="Write a page to look at into this file.")
def command(item_id: str, folder: Path, variants: int, page: Path | None) -> int:
    """Show variants of ITEM with stem, key, bounds, slips and working; or a bench station with its steps and tolerances.

    The page of an item holds the key: it is for authors, not for learners. The page of a station is the assessor's sheet, for a
    candidate who is typed in.
    """
    from grader.base.files import write_atomic
    from grader.items.course import load_course
    from grader.items.item_checks import check_item
    from grader.items.shapes import nearest
    from grader.items.showing import as_page, as_text, drawn

    course = load_course(folder)
    item = course.items.get(item_id)
    if item is None and item_id in course.stations:
        return _station(course.stations[item_id], course, page)
    if item is None:
        _broken_station(item_id, course)
        if any(item_id == broken for _, broken, _ in course.broken):
            raise FindingsError(finding for finding in course.findings if finding.path.split("/")[0] == item_id)
        names = [name.replace("-", "_") for name in (*course.items, *course.stations)]
        near = nearest(item_id.replace("-", "_"), names).replace("_", "-")
        raise UseError(f"there is no item `{item_id}`; " + (f"did you mean `{near}`?" if near else "the ids stand in questions/"))
    told = [finding for finding in course.findings if finding.path.split("/")[0] == item_id]
    wrong = [finding for finding in (*told, *check_item(item)) if finding.level == "error"]
    if wrong:
        raise FindingsError(wrong)
    questions = drawn(item, course.figures, variants)
    if page is not None:
        write_atomic(page, as_page(item, questions))
        click.echo(f"{page}: {variants} variants of {item_id}", err=True)
    else:
        click.echo(as_text(item, questions), nl=False)
    return 0


def _station(station: Station, course: Course, page: Path | None) -> int:
    """A station as text, or the assessor's sheet for nobody in particular."""
    from grader.base.files import write_atomic
    from grader.items.station_showing import station_text
    from grader.papers.station import BenchSheet
    from grader.papers.station_sheet import write_station_sheet

    if page is None:
        click.echo(station_text(station), nl=False)
        return 0
    about = course.about
    sheet = BenchSheet(station=station, school=about.school.name, place=about.school.place, language=about.language)
    write_atomic(page, write_station_sheet(sheet))
    click.echo(f"{page}: the assessor's sheet of {station.id}", err=True)
    return 0


def _broken_station(name: str, course: Course) -> None:
    """What is wrong with a station that could not be read, where it is one."""
    told = [finding for finding in course.findings if finding.file == f"questions/stations/{name}.yaml"]
    if told:
        raise FindingsError(told)
