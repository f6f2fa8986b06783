"""
The assessors' sheets of a sitting: for each station that the blueprint names, one page for the class and one PDF to print.

They hold names and no key. Where a candidate comes late they are written again for the whole class; what an assessor has ticked
on a page is kept by the browser, not in the file.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import make_folder, write_atomic
from grader.items.course import Course
from grader.items.model import Blueprint
from grader.papers.station import BenchSheet, set_station, sitters
from grader.papers.station_sheet import write_station_sheet
from grader.register.records import Paper, Sitting

FOLDER = "stations"


def check_stations_are_there(blueprint: Blueprint, course: Course) -> None:
    """Refuse, with `UseError`, a blueprint that names a station the course does not have."""
    for name in blueprint.stations:
        if name not in course.stations:
            there = f"there is: {', '.join(course.stations)}" if course.stations else "write it into questions/stations"
            raise UseError(f"{blueprint.id} names a station {name!r} that the course does not have; {there}")


def write_benches(home: Path, sitting: Sitting, papers: Sequence[Paper], course: Course) -> tuple[str, ...]:
    """
    Write what is missing or no longer the class's into ``stations/NAME.pdf`` and ``stations/NAME.html``.

    Parameters
    ----------
    home : Path
        The sitting's folder.
    sitting : Sitting
        As the register has it; its blueprint names the stations.
    papers : sequence of Paper
        Every candidate of the sitting.

    Returns
    -------
    tuple of str
        The stations of the sitting.
    """
    names = tuple(str(name) for name in sitting.blueprint.get("stations", ()))
    if not names:
        return ()
    folder = make_folder(home / FOLDER)
    for left in folder.glob(".*.part"):
        left.unlink(missing_ok=True)
    people = [(paper.candidate, paper.name, Fraction(paper.extra_time.removesuffix("%").strip() or 0) / 100) for paper in papers]
    for name in names:
        station = course.stations[name]
        sheet = BenchSheet(
            station=station,
            school=str(sitting.school["name"]),
            place=str(sitting.school.get("place", "")),
            language=course.about.language,
            sitting=sitting.name,
            date=sitting.held,
            sitters=sitters(people, station),
        )
        _write(sheet, folder)
    return names


def _write(sheet: BenchSheet, folder: Path) -> None:
    """The page comes last and is cheap: where it stands as it should, so does the PDF."""
    pdf, page = (folder / f"{sheet.station.id}{ending}" for ending in (".pdf", ".html"))
    text = write_station_sheet(sheet).encode()
    if pdf.exists() and _stands(page, text):
        return
    write_atomic(pdf, set_station(sheet))
    write_atomic(page, text)


def _stands(page: Path, text: bytes) -> bool:
    try:
        return page.read_bytes() == text
    except OSError:  # not there, or not to be read: writing it says what is wrong
        return False
