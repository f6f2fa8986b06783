"""The assessor's sheet on paper: whole, tagged, tolerances as the specimen's sheet has them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from grader.base.errors import UseError
from grader.items.course import load_practice
from grader.items.station_file import Station, Step
from grader.papers.station import BenchSheet, Sitter, set_station, sitters

pytestmark = pytest.mark.paper
ROOT = Path(__file__).parents[2]
PEOPLE = (("c-014", "Amina Okoye-Lindqvist", Fraction(1, 4)), ("c-015", "Zoë Ōta", Fraction(0)))


@pytest.fixture(scope="module")
def stations() -> dict[str, Station]:
    return dict(load_practice(ROOT).stations)


def sheet_of(station: Station, **named: Any) -> BenchSheet:
    fields: dict[str, Any] = {
        "school": "Weirgate Workshop School",
        "place": "Weirgate",
        "language": "en-GB",
        "sitting": "spring",
        "date": "2031-05-12",
        "sitters": sitters(PEOPLE, station),
    }
    return BenchSheet(station=station, **{**fields, **named})


def texts(pdf: bytes) -> list[str]:
    with pypdfium2.PdfDocument(pdf) as document:
        return [" ".join(page.get_textpage().get_text_range().replace("\u202f", " ").split()) for page in document]


def tagged(pdf: bytes) -> Iterator[Any]:
    def walk(node: Any) -> Iterator[Any]:
        if isinstance(node, pikepdf.Array):
            for below in list(node):
                yield from walk(below)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                yield node
            if "/K" in node:
                yield from walk(node.K)

    with pikepdf.open(BytesIO(pdf)) as document:
        yield from walk(document.Root.StructTreeRoot.K)


def test_the_sheet_is_tagged_named_and_has_a_language(stations: dict[str, Station]) -> None:
    pdf = set_station(sheet_of(stations["float-level"]))
    with pikepdf.open(BytesIO(pdf)) as document:
        assert str(document.Root.Lang) == "en-GB"
        assert bool(document.Root.MarkInfo.Marked)
        with document.open_metadata() as about:
            assert about["pdfuaid:part"] == "1"
            assert "Set float level and drop" in about["dc:title"]
    kinds = Counter(str(node.S) for node in tagged(pdf))
    assert kinds["/Table"] == kinds["/THead"] == len(PEOPLE)
    assert kinds["/TH"] == 5 * len(PEOPLE)
    levels = [int(str(node.S)[2:]) for node in tagged(pdf) if str(node.S) in {"/H1", "/H2", "/H3"}]
    assert levels[0] == 1
    assert levels.count(1) == len(PEOPLE)
    assert all(after - before <= 1 for before, after in pairwise(levels))


@pytest.mark.parametrize(
    "name", ["make-safe", "measure-casting", "float-level", "curb-idle", "rod-height", "pump-shot", "choke-settings"]
)
def test_every_station_is_printed_whole_and_its_tolerances_stand_as_on_the_sheet(stations: dict[str, Station], name: str) -> None:
    station = stations[name]
    text = " ".join(texts(set_station(sheet_of(station))))
    for step in station.steps:
        assert text.count(step.text.split(".")[0]) >= len(PEOPLE)
        if step.critical:
            assert f"Critical: {step.reason[:20]}" in text
        if step.measure:
            measure = step.measure
            printed = f"{measure.value.shown} ± {measure.within}: ".replace("\u202f", " ")
            assert printed in text
            assert measure.greatest.shown.replace("\u202f", " ") in text
    for caution in station.cautions:
        assert caution[:30] in text
    for words in (
        "Tools",
        "Supplied",
        "Done when",
        "Assessor's signature",
        "Candidate's signature",
        "A critical step that is not done",
    ):
        assert words in text
    assert text.index(station.cautions[0][:30]) < text.index(station.steps[0].text[:30])


def test_the_numbers_of_the_sheet_stand_beside_the_step(stations: dict[str, Station]) -> None:
    # questions/specimens/T-2.yaml: float_level 1/4 in within 1/32 in.
    text = " ".join(texts(set_station(sheet_of(stations["float-level"]))))
    assert "1/4 in ± 1/32 in: 7/32 to 9/32 in" in text


def test_each_candidate_has_a_sheet_with_name_id_own_time_and_own_page_numbers(stations: dict[str, Station]) -> None:
    pages = texts(set_station(sheet_of(stations["float-level"])))
    assert len(pages) % 2 == 0
    half = len(pages) // 2
    first, second = pages[:half], pages[half:]
    assert "Amina Okoye-Lindqvist" in first[0]
    assert "c-014" in first[0]
    assert "38 min" in first[0]  # 30 min and a quarter more, rounded up
    assert "Zoë Ōta" in second[0]
    assert "30 min" in second[0]
    for own in (first, second):
        for number, page in enumerate(own, 1):
            assert f"page {number} of {half}" in page
    assert all("c-014" in page for page in first)
    assert not any("c-014" in page for page in second)


def test_without_a_class_name_and_sitting_are_lines_to_fill_in(stations: dict[str, Station]) -> None:
    pages = texts(set_station(sheet_of(stations["float-level"], sitting="", date="", sitters=())))
    for words in ("Candidate's id", "Sitting", "Date", "Started at, ended at"):
        assert words in pages[0]
    assert "page 1 of" in pages[0]


@pytest.mark.parametrize(
    "name", ["#panic()", "$x$", '"] #read("/etc/hostname")', "*bold* _it_", "\\u{41}", "<label> @ref", "// no"]
)
def test_a_name_is_text_and_never_source(stations: dict[str, Station], name: str) -> None:
    station = replace(stations["make-safe"], title=name, cautions=(name,), tools=(name,), done=(name,))
    pdf = set_station(sheet_of(station, school=name, sitting=name, sitters=(Sitter("c-1", name, 20),)))
    assert "".join("".join(texts(pdf)).split()).count("".join(name.split())) >= 5


def test_a_sign_no_font_has_is_replaced_in_a_name_and_refused_elsewhere(stations: dict[str, Station]) -> None:
    station = stations["float-level"]
    page = texts(set_station(sheet_of(station, sitters=(Sitter("c-1", "李 Ming", 20),))))[0]
    assert "\ufffd Ming" in page
    assert "c-1" in page
    with pytest.raises(UseError, match=r"the sheet of station float-level cannot be set: .*李"):
        set_station(sheet_of(replace(station, title="李"), sitters=()))


def test_the_same_sheet_gives_the_same_bytes(stations: dict[str, Station]) -> None:
    assert set_station(sheet_of(stations["pump-shot"])) == set_station(sheet_of(stations["pump-shot"]))


def test_long_words_and_many_steps_stay_on_the_page() -> None:
    steps = tuple(Step(n, f"Step {n}: " + "and so on and so forth, " * 30, 1, "x" * 300, points=1) for n in range(1, 41))  # type: ignore[arg-type]
    station = Station("a", "a.yaml", 1, "T" * 200, "tank.2", 5.0, ("rule",), ("tank",), steps, ("Done.",))
    pdf = set_station(sheet_of(station, sitters=(Sitter("c-1", "n" * 120, 5),)))
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            words = page.get_textpage()
            assert max((words.get_charbox(n)[2] for n in range(words.count_chars())), default=0) <= 595 - 30


def test_a_sheet_is_set_in_a_language_whose_tag_names_a_script(stations: dict[str, Station]) -> None:
    assert set_station(sheet_of(stations["float-level"], language="sr-Latn", sitters=())).startswith(b"%PDF-")
