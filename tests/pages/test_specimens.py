"""A specimen's page: every value as its sheet writes it, its tolerances, its computed points; a third from a file."""

from __future__ import annotations

import re
import shutil
from html import escape
from pathlib import Path

import pytest
from lxml import html as markup

from grader.base.quantities import read_quantity
from grader.circuits.curves import curves
from grader.circuits.specimens import entries
from grader.items.course import load_practice
from grader.items.model import Fence
from grader.items.sheet_values import Asked, quantity
from grader.pages.build import build_site
from grader.pages.lessons import Fault, Page
from grader.pages.specimens import specimen_html

ROOT = Path(__file__).parents[2]
COURSE = load_practice(ROOT)
PAGE_OF_ITS_OWN = "---\ntitle: Sheet of specimen T-3\norder: 222\n---\n\n```specimen T-3\n```\n"


def page_of(name: str) -> tuple[str, Page]:
    page = Page(f"lessons/{name}.md", "p1")
    return specimen_html(Fence("specimen", 6, (name,)), page, COURSE.specimens), page


def text_of(html: str) -> str:
    return " ".join(markup.fromstring(html).text_content().replace("\u202f", " ").split())


@pytest.mark.parametrize("name", sorted(COURSE.specimens))
def test_every_value_of_the_sheet_stands_on_its_page(name: str) -> None:
    html, _ = page_of(name)
    text = text_of(html)
    sheet = COURSE.specimens[name]
    for value in (entry for entry in entries().values() if not entry.pair and entry.name in sheet.written):
        row = escape(f"{value.says[:1].upper()}{value.says[1:]}")
        assert f'<th scope="row">{row}</th><td>' in html
        assert quantity(sheet, Asked(value.name))[1].replace("\u202f", " ") in text
    # What is written in the file stands there, not only what was read of it: each line `name: number unit` of the sheet.
    source = (ROOT / f"questions/specimens/{name}.yaml").read_text("utf-8").partition("\npoints:")[0]
    for written in re.findall(r"^  \w+: ([\d.]+ [a-zA-Z][^\s#]*)", source, re.M):
        kelvin = {"K": "dK"}.get(written.rpartition(" ")[2], "")
        shown = written if kelvin else read_quantity(written).shown.replace("\u202f", " ")
        assert shown in text


@pytest.mark.parametrize("name", sorted(COURSE.specimens))
def test_lists_of_the_sheet_stand_there_step_by_step(name: str) -> None:
    html, _ = page_of(name)
    steps = COURSE.specimens[name].specimen.rod_steps
    table = html[html.index("Diameter of the metering rod") :].partition("</table>")[0]
    assert len(re.findall("<tr>", table)) == len(steps) + 1


def test_tolerances_stand_beside_the_values_and_with_the_settings() -> None:
    sheet = COURSE.specimens["T-1"]
    html, _ = page_of("T-1")
    both = [setting for setting in sheet.settings.values() if setting.name in entries()]
    assert both
    for setting in both:
        assert f"<span>± {setting.within.shown}</span></td>" in html
    for setting in sheet.settings.values():
        assert setting.value.shown in html
        assert markup.fromstring(f"<p>{setting.says}</p>").text_content()[1:] in markup.fromstring(html).text_content()


def test_what_stands_below_or_beside_a_value_is_a_word_of_its_own_to_the_search() -> None:
    html, _ = page_of("T-1")
    assert "<span>" in html
    assert not re.findall(r"[^\s>]<span>", html)


def test_operating_points_are_those_that_the_model_computes() -> None:
    html, _ = page_of("T-2")
    reading = next(one for one in curves(COURSE.specimens["T-2"].specimen)[0].readings if one.point == "heavy load")
    rows = re.findall(r'<tr><th scope="row">heavy load</th>(.*?)</tr>', html)
    cells = [re.sub("<[^>]+>", " ", row).split() for row in rows]
    assert cells[0] == ["2000", "29.0°", f"{reading.vacuum_inHg:.1f}"]
    assert cells[1] == [
        f"{reading.air_g_s:.1f}",
        f"{reading.fuel_g_s:.3f}",
        f"{reading.air_fuel:.1f}",
        f"{reading.rod_lift_in:.3f}",
    ]
    # Common practice, no source: under heavy load a healthy engine gets 12 to 13.5 to one.
    assert 12 < reading.air_fuel < 13.5


def test_the_page_says_that_the_sheet_is_for_study_and_what_to_mind() -> None:
    html, _ = page_of("T-1")
    for words in ("invented", "Set nothing on a vehicle", "local codes", "licensed practice", "no flame"):
        assert words in html


def test_headings_have_anchors_of_their_own_and_go_into_the_contents() -> None:
    html, page = page_of("T-1")
    ids = re.findall(r'<h2 id="([^"]+)"', html)
    assert ids == [heading.anchor for heading in page.headings]
    assert len(set(ids)) == len(ids)
    assert {"t-1-main", "t-1-power", "t-1-settings", "t-1-points"} <= set(ids)


@pytest.mark.parametrize("lines", [("T-9",), (), ("T-1", "T-2"), ("<script>",)])
def test_a_specimen_that_is_not_there_is_a_fault(lines: tuple[str, ...]) -> None:
    with pytest.raises(Fault) as caught:
        specimen_html(Fence("specimen", 6, lines), Page("lessons/a.md", "p1"), COURSE.specimens)
    assert caught.value.code == "unknown-specimen"
    assert "there are T-1, T-2" in str(caught.value)


def test_a_third_specimen_has_its_page_with_two_lines(course: Path, tmp_path: Path) -> None:
    sheets = course / "questions/specimens"
    shutil.copytree(ROOT / "questions/specimens", sheets)
    third = (
        (sheets / "T-1.yaml")
        .read_text("utf-8")
        .replace("id: T-1", "id: T-3")
        .replace("main_jet: 0.093 in", "main_jet: 0.0925 in")
    )
    (sheets / "T-3.yaml").write_text(third, "utf-8")
    (course / "lessons/T-3.md").write_text(PAGE_OF_ITS_OWN, "utf-8")
    build_site(course, tmp_path / "site", variants=1)
    html = (tmp_path / "site/T-3.html").read_text("utf-8")
    assert "0.0925\u202fin" in html
    assert 'href="#t-3-main"' in html.partition("<article")[0]  # in the page's contents
    assert 'href="T-3.html"' in (tmp_path / "site/index.html").read_text("utf-8")  # in the site's navigation
