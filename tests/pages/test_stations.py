"""A block that shows a station: order, cautions and tolerances as learners see them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import html

from grader.items.course import load_practice
from grader.items.lesson_checks import check_lesson
from grader.items.lesson_file import read_lesson
from grader.items.model import Fence
from grader.pages.lessons import Fault
from grader.pages.stations import station_html

ROOT = Path(__file__).parents[2]
COURSE = load_practice(ROOT)


def block(*lines: str) -> str:
    return station_html(Fence("station", 7, lines), COURSE.stations).replace("\u202f", " ")


def test_learners_are_given_the_stations_and_nothing_of_the_exam() -> None:
    assert set(COURSE.stations) >= {"make-safe", "float-level", "curb-idle", "rod-height", "pump-shot", "choke-settings"}
    assert COURSE.exam == ()


@pytest.mark.parametrize("name", list(COURSE.stations))
def test_a_station_is_shown_with_cautions_before_steps_and_its_tolerances_from_the_sheet(name: str) -> None:
    station = COURSE.stations[name]
    shown = block(f"name: {name}")
    page = html.fragment_fromstring(shown)
    assert page.get("id") == f"station-{name}"
    steps = page.xpath(".//ol/li")
    assert len(steps) == len(station.steps)
    for step, item in zip(station.steps, steps, strict=True):
        text = item.text_content()
        assert step.text in text
        assert ("Critical." in text) is step.critical
        if step.measure:
            assert step.measure.shown.replace("\u202f", " ") in text
    assert shown.index(html.tostring(page.xpath(".//div[@class='admonition danger']")[0]).decode()[:20]) < shown.index("<ol")


def test_the_tolerance_is_the_sheets() -> None:
    # questions/specimens/T-2.yaml: float_level 1/4 in within 1/32 in.
    assert "1/4 in ± 1/32 in: 7/32 to 9/32 in" in html.fragment_fromstring(block("name: float-level")).text_content()


def test_what_an_author_writes_is_text() -> None:
    name, station = next(iter(COURSE.stations.items()))
    hostile = replace(station, title="<b>", cautions=("<script>",), tools=("<i>",), done=("&",))
    shown = station_html(Fence("station", 7, (f"name: {name}",)), {name: hostile})
    assert "<script>" not in shown
    assert "<b>" not in shown
    assert "&lt;script&gt;" in shown


@pytest.mark.parametrize(
    ("lines", "code"),
    [(("name: float-levle",), "unknown-station"), (("float-level",), "wrong-block"), ((), "unknown-station")],
)
def test_a_fault_of_the_block_is_named(lines: tuple[str, ...], code: str) -> None:
    with pytest.raises(Fault) as caught:
        block(*lines)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("line", "finding"),
    [
        ("name: float-levle", "lessons/a.md:5: there is no station `float-levle`; did you mean `float-level`? [unknown-station]"),
        ("title: x", "lessons/a.md:5: `title` is not a field of a station block; write `name: …` [unknown-field]"),
        ("name: float-level", ""),
    ],
)
def test_the_check_names_the_same_faults_on_their_line(line: str, finding: str) -> None:
    lesson = read_lesson("lessons/a.md", f"---\ntitle: A\norder: 1\n---\n```station\n{line}\n```\n".encode(), [])
    assert lesson is not None
    assert "".join(map(str, check_lesson(lesson, COURSE))) == finding
