"""
The assessors' sheets of a sitting: for each station that the blueprint names, one page for the class and a PDF to print.

They hold names and no key. A class of more than `TOGETHER` is printed as several files, ``NAME-001-050.pdf`` and so on in the
order of the roster: to set a thousand sheets at once takes five gigabytes. Where a candidate comes late they are written again
for the whole class; what an assessor has ticked on a page is kept by the browser, not in the file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence, Set
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import make_folder, write_atomic
from grader.items.course import Course
from grader.items.model import Blueprint
from grader.papers.station import BenchSheet, set_station, sitters
from grader.papers.station_sheet import write_station_sheet
from grader.register.printing import side_by_side
from grader.register.records import Paper, Sitting

FOLDER = "stations"
TOGETHER = 50
"""The sheets of how many candidates go into one PDF: some 100 pages, a second or two to set."""


def check_stations_are_there(blueprint: Blueprint, course: Course) -> None:
    """Refuse, with `UseError`, a blueprint that names a station the course does not have."""
    for name in blueprint.stations:
        if name not in course.stations:
            there = f"there is: {', '.join(course.stations)}" if course.stations else "write it into questions/stations"
            raise UseError(f"{blueprint.id} names a station {name!r} that the course does not have; {there}")


def write_benches(home: Path, sitting: Sitting, papers: Sequence[Paper], course: Course) -> tuple[str, ...]:
    """
    Write what is missing or no longer the class's into ``stations/NAME.html`` and ``stations/NAME.pdf``.

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
    jobs: list[Callable[[], None]] = []
    pages: list[tuple[Path, bytes]] = []
    wanted: set[str] = set()
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
        page, text = folder / f"{name}.html", write_station_sheet(sheet).encode()
        files = {folder / file: part for file, part in _in_parts(sheet).items()}
        wanted |= {file.name for file in files}
        if not (_stands(page, text) and all(file.exists() for file in files)):
            jobs += [partial(_print, file, part) for file, part in files.items()]
            pages.append((page, text))
    side_by_side(jobs)
    for page, text in pages:  # last: where a page stands as it should, so do its PDFs
        write_atomic(page, text)
    _outgrown(folder, names, wanted)
    return names


def _in_parts(sheet: BenchSheet) -> dict[str, BenchSheet]:
    """The PDFs of a station by name: one for the class, or one for each `TOGETHER` of a large one."""
    name, count = sheet.station.id, len(sheet.sitters)
    if count <= TOGETHER:
        return {f"{name}.pdf": sheet}
    return {
        f"{name}-{first + 1:03}-{min(first + TOGETHER, count):03}.pdf": replace(
            sheet, sitters=sheet.sitters[first : first + TOGETHER]
        )
        for first in range(0, count, TOGETHER)
    }


def _print(file: Path, sheet: BenchSheet) -> None:
    write_atomic(file, set_station(sheet))


def _outgrown(folder: Path, names: Sequence[str], wanted: Set[str]) -> None:
    """Take away what the class has outgrown, or two files would hold the same candidates."""
    ours = re.compile(rf"({'|'.join(map(re.escape, names))})(-\d+-\d+)?\.pdf")
    for file in folder.iterdir():
        if ours.fullmatch(file.name) and file.name not in wanted:
            file.unlink(missing_ok=True)


def _stands(page: Path, text: bytes) -> bool:
    try:
        return page.read_bytes() == text
    except OSError:  # not there, or not to be read: writing it says what is wrong
        return False
