"""Assessors' sheets in a sitting: for the stations that the blueprint names, for everybody in the class, and nothing of a key."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from grader.base.errors import FindingsError, UseError
from grader.items.course import Course, load_course
from grader.items.model import Blueprint, Candidate
from grader.register import benches
from grader.register.sitting import Held, blueprint_json, check_inputs, hold_sitting
from grader.register.stations import seal_stations, sealed, sealed_stations
from grader.register.store import Register

pytestmark = pytest.mark.paper
FOLDER = Path(__file__).with_name("course")
ROSTER = (Candidate("c-01", "Ada Weir", line=2), Candidate("c-02", "Bo <Lind>", extra_time=0.25, line=3))
STATION = """\
id: look-round
title: Look round
objective: main.9
minutes: 10
tools: [eyes]
supplied: [a bay]
steps:
  - {text: Look round., sees: Both ways.}
done: [Nothing was missed.]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = Path(shutil.copytree(FOLDER, tmp_path / "course"))
    (home / "questions/stations").mkdir()
    (home / "questions/stations/look-round.yaml").write_text(STATION)
    return home


@pytest.fixture
def course(folder: Path) -> Course:
    return load_course(folder)


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    with Register(tmp_path / "register.sqlite") as found:
        yield found


def plan(course: Course, *stations: str) -> Blueprint:
    return replace(course.blueprints["trial"], stations=stations)


def hold(register: Register, course: Course, roster: tuple[Candidate, ...] = ROSTER, *stations: str) -> Held:
    blueprint = plan(course, *(stations or ("look-round",)))
    return hold_sitting(register, course, blueprint, roster, "spring", register.path.parent, "2031-05-12", bytes(32))


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page)
    assert found
    return dict(json.loads(found[1]))


def test_each_station_of_the_blueprint_has_a_page_and_a_pdf_for_the_whole_class(register: Register, course: Course) -> None:
    held = hold(register, course)
    assert held.stations == ("look-round",)
    files = sorted(path.name for path in (held.folder / "stations").iterdir())
    assert files == ["look-round.html", "look-round.pdf"]
    page = (held.folder / "stations/look-round.html").read_text("utf-8")
    data = data_of(page)
    assert (data["sitting"], data["station"]) == ("spring", "look-round")
    assert data["sitters"] == [
        {"candidate": "c-01", "minutes": 10},
        {"candidate": "c-02", "minutes": 13},
    ]  # a quarter, rounded up
    assert "Bo &lt;Lind&gt; · c-02" in page
    assert "2031-05-12" in page
    with pypdfium2.PdfDocument(held.folder / "stations/look-round.pdf") as document:
        text = " ".join(one.get_textpage().get_text_range() for one in document)
    assert "Ada Weir" in text
    assert "Bo <Lind>" in text
    assert not {paper.code for paper in held.papers} & set(re.findall(r"\w{10}", page + text))


def test_a_blueprint_without_stations_leaves_no_folder_and_the_same_record_as_ever(register: Register, course: Course) -> None:
    held = hold_sitting(register, course, plan(course), ROSTER, "spring", register.path.parent, "2031-05-12", bytes(32))
    assert held.stations == ()
    assert not (held.folder / "stations").exists()
    assert "stations" not in blueprint_json(plan(course))
    assert blueprint_json(plan(course, "look-round"))["stations"] == ["look-round"]


def test_running_again_changes_nothing_and_makes_what_is_missing(register: Register, course: Course) -> None:
    home = hold(register, course).folder / "stations"
    before = {path.name: path.read_bytes() for path in home.iterdir()}
    times = {path: path.stat().st_mtime_ns for path in home.iterdir()}
    hold(register, course)
    assert {path: path.stat().st_mtime_ns for path in home.iterdir()} == times
    (home / "look-round.html").unlink()
    (home / ".look-round.pdf.00ff.part").write_bytes(b"half")
    hold(register, course)
    assert {path.name: path.read_bytes() for path in home.iterdir()} == before


def test_a_page_that_was_spoilt_is_written_anew(register: Register, course: Course) -> None:
    home = hold(register, course).folder / "stations"
    before = (home / "look-round.html").read_bytes()
    (home / "look-round.html").write_bytes(b"\xff\xfe half")
    hold(register, course)
    assert (home / "look-round.html").read_bytes() == before


def test_a_folder_in_a_page_s_place_is_said(register: Register, course: Course) -> None:
    home = register.path.parent / "sittings/spring/stations"
    (home / "look-round.html").mkdir(parents=True)
    with pytest.raises(UseError, match=r"look-round\.html: cannot be written"):
        hold(register, course)


def test_who_comes_late_is_on_the_class_s_sheets(register: Register, course: Course) -> None:
    hold(register, course)
    late = hold(register, course, (*ROSTER, Candidate("c-03", "Late Lee", line=4)))
    page = (late.folder / "stations/look-round.html").read_text("utf-8")
    assert [one["candidate"] for one in data_of(page)["sitters"]] == ["c-01", "c-02", "c-03"]
    with pypdfium2.PdfDocument(late.folder / "stations/look-round.pdf") as document:
        assert any("Late Lee" in one.get_textpage().get_text_range() for one in document)


def test_a_large_class_is_printed_as_several_files_and_what_it_outgrew_is_taken_away(
    register: Register, course: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(benches, "TOGETHER", 2)
    home = hold(register, course).folder / "stations"
    (home / "notes.pdf").write_bytes(b"an assessor's own")
    hold(register, course, (*ROSTER, *(Candidate(f"c-{n:02}", f"Late Lee {n}", line=n) for n in (3, 4, 5))))
    found = {path.name for path in home.iterdir()}
    assert found == {"look-round.html", "notes.pdf"} | {f"look-round-{part}.pdf" for part in ("001-002", "003-004", "005-005")}
    for part, names in (("001-002", ["Ada Weir", "Bo <Lind>"]), ("005-005", ["Late Lee 5"])):
        with pypdfium2.PdfDocument(home / f"look-round-{part}.pdf") as document:
            text = " ".join(one.get_textpage().get_text_range() for one in document)
        assert [name for name in ("Ada Weir", "Bo <Lind>", *(f"Late Lee {n}" for n in (3, 4, 5))) if name in text] == names


def test_a_station_that_is_not_there_is_refused_before_anything_is_made(register: Register, course: Course) -> None:
    said = "trial names a station 'boat' that the course does not have; there is: look-round"
    with pytest.raises(UseError, match=said):
        check_inputs(course, plan(course, "boat"), ROSTER, "spring")
    with pytest.raises(UseError, match=said):
        hold(register, course, ROSTER, "boat")
    assert register.sittings() == ()
    assert not (register.path.parent / "sittings").exists()


def test_a_station_with_a_fault_holds_no_sitting(folder: Path, register: Register) -> None:
    (folder / "questions/stations/look-round.yaml").write_text(STATION.replace("minutes: 10", "minutes: ten"))
    with pytest.raises(FindingsError, match=r"questions/stations/look-round.yaml:4: .*\[bad-time\]"):
        hold(register, load_course(folder))


def test_a_station_changed_between_two_runs_is_another_bank(folder: Path, register: Register) -> None:
    hold(register, load_course(folder))
    (folder / "questions/stations/look-round.yaml").write_text(STATION.replace("Both ways", "All ways"))
    with pytest.raises(UseError, match="was held with another bank"):
        hold(register, load_course(folder))


def test_each_station_is_sealed_into_the_sitting_as_it_is_printed(register: Register, course: Course) -> None:
    hold(register, course)
    found = sealed_stations(register, "spring")
    assert found == {"look-round": sealed(course.stations["look-round"], "spring")}
    assert [(step.number, step.text, step.points) for step in found["look-round"].steps] == [("1", "Look round.", "1")]
    hold(register, course)  # held again it is the same
    assert sealed_stations(register, "spring") == found


def test_a_station_that_was_sealed_otherwise_is_refused(register: Register, course: Course) -> None:
    hold(register, course)
    step = replace(course.stations["look-round"].steps[0], critical=True, reason="Somebody stands behind.")
    changed = replace(course.stations["look-round"], steps=(step,))
    other = replace(course, stations={**course.stations, "look-round": changed})
    with pytest.raises(UseError, match="station 'look-round' was sealed into sitting 'spring' with other steps or ranges"):
        seal_stations(register, register.sitting("spring"), other)
