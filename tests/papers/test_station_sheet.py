"""The assessor's sheet on a phone: keeps ticks for each candidate, holds readings against the sheet, saves the station's file."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from lxml import html
from playwright.sync_api import Browser, Page

from grader.items.course import load_practice
from grader.items.station_file import Station
from grader.papers.sheet import source_hash
from grader.papers.station import BenchSheet, Sitter, sitters
from grader.papers.station_sheet import write_station_sheet

ROOT = Path(__file__).parents[2]
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text()
PEOPLE = (("c-014", "Amina Okoye", Fraction(1, 4)), ("c-015", "Zoë Ōta", Fraction(0)), ("c/16 <b>", "Bo", Fraction(0)))
HOSTILE = [
    "</script><script>alert(1)</script>",
    "<!-- <script>",
    '" onload="x',
    "'><img src=x onerror=y>",
    "{{data}}",
    "a\u2028b",
]
Made = Callable[..., str]


@pytest.fixture(scope="module")
def station() -> Station:
    return load_practice(ROOT).stations["float-level"]


@pytest.fixture(scope="module")
def make(station: Station) -> Made:
    def made(of: Station = station, **named: Any) -> str:
        fields: dict[str, Any] = {
            "school": "Weirgate Workshop School",
            "language": "en-GB",
            "sitting": "spring",
            "date": "2031-05-12",
            "sitters": sitters(PEOPLE, of),
        }
        return write_station_sheet(BenchSheet(station=of, **{**fields, **named}))

    return made


def parsed(page: str) -> Any:
    return html.document_fromstring(page.encode(), parser=html.HTMLParser(encoding="utf-8"))


# The page as text.


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_text_wherever_it_stands(make: Made, station: Station, name: str) -> None:
    of = replace(station, title=name, cautions=(name,), tools=(name,))
    page = parsed(make(of, school=name, sitting=name, sitters=(Sitter(name, name, 5),)))
    assert len(page.xpath("//script")) == 4
    assert not page.xpath("//img")
    assert not page.xpath("//@onload | //@onerror")
    assert page.xpath("string(//h1)") == name
    assert page.xpath("//select/option/@value") == ["", name]


def test_the_policy_allows_only_what_is_written_in_the_page(make: Made) -> None:
    page = parsed(make())
    policy = page.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    for code in (*page.xpath("//script[not(@type)]"), *page.xpath("//style")):
        assert source_hash(code.text) in policy
    assert not re.findall(r"https?://[\w./-]+", make())


def test_every_step_stands_there_without_a_script_with_two_boxes_and_its_tolerance(make: Made, station: Station) -> None:
    page = parsed(make())
    for step in station.steps:
        section = page.xpath(f"//section[@id='s-{step.number}']")[0]
        assert section.xpath(".//input[@type='radio']/@value") == ["done", "not done"]
        assert step.text in section.text_content()
        assert bool(section.xpath(".//*[@class='reason']")) is step.critical
        assert len(section.xpath(".//input[@type='text']")) == (1 if step.measure else 0)
    assert "1/4 in ± 1/32 in: 7/32 to 9/32 in" in page.xpath("string(//section[@id='s-5'])").replace("\u202f", " ")
    for control in page.xpath("//input | //select | //textarea[not(@readonly)]"):
        assert control.getparent().tag == "label" or page.xpath(f"//label[@for='{control.get('id')}']")
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_without_a_class_sitting_and_candidate_are_typed_in(make: Made) -> None:
    page = parsed(make(sitting="", date="", sitters=()))
    assert page.xpath("//input[@id='sitting']")
    assert page.xpath("//input[@id='candidate']")
    assert not page.xpath("//select")


# The page in a browser, from disk.


@pytest.fixture
def sheet(make: Made, tmp_path: Path) -> str:
    file = tmp_path / "float-level.html"
    file.write_text(make())
    return file.as_uri()


@pytest.fixture
def phone(browser: Browser, sheet: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844}, accept_downloads=True)
    page = context.new_page()
    troubles: list[str] = []
    page.on("console", lambda message: troubles.append(message.text))
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("request", lambda request: None if request.url.startswith(("file:", "blob:")) else troubles.append(request.url))
    page.goto(sheet)
    yield page
    context.close()
    assert troubles == []


def tick(page: Page, step: int, value: str = "done") -> None:
    page.check(f'#s-{step} input[value="{value}"]')


def saved(page: Page, name: str) -> dict[str, Any]:
    with page.expect_download() as download:
        page.click("#save")
    assert download.value.suggested_filename == name
    text = Path(download.value.path()).read_text("utf-8")
    assert page.input_value("#text") == text
    return dict(json.loads(text))


def who(page: Page, candidate: str = "c-014") -> None:
    page.fill("#assessor", "A-07")
    page.select_option("#candidate", candidate)


@pytest.mark.browser
def test_the_saved_file_is_the_stations_file_of_the_design_with_readings(phone: Page) -> None:
    who(phone)
    tick(phone, 1)
    tick(phone, 2, "not done")
    tick(phone, 5)
    phone.fill("#r-5", ' 1/4" ')
    assert saved(phone, "float-level-c-014.json") == {
        "sitting": "spring",
        "candidate": "c-014",
        "assessor": "A-07",
        "station": "float-level",
        "steps": {"1": "done", "2": "not done", "5": "done"},
        "readings": {"5": '1/4"'},
    }
    phone.fill("#remarks", "Asked twice.\nCalm.")
    assert saved(phone, "float-level-c-014.json")["remarks"] == "Asked twice.\nCalm."
    assert "It holds nothing for steps 3, 4, 6, 7, 8, 9, 10." in phone.inner_text("#saved")


@pytest.mark.browser
def test_every_step_ticked_is_every_step_in_the_file_in_order(phone: Page) -> None:
    who(phone, "c-015")
    for step in range(10, 0, -1):
        tick(phone, step)
    found = saved(phone, "float-level-c-015.json")
    assert list(found["steps"].items()) == [(str(step), "done") for step in range(1, 11)]
    assert "Every step is ticked." in phone.inner_text("#left")
    assert "Ticked done without a reading: steps 5, 6, 8, 9." in phone.inner_text("#left")


@pytest.mark.browser
def test_nothing_is_saved_without_assessor_and_candidate(phone: Page) -> None:
    tick(phone, 1)
    phone.click("#save")
    assert "The assessor is missing." in phone.inner_text("#saved")
    assert phone.evaluate("document.activeElement.id") == "assessor"
    phone.fill("#assessor", "A-07")
    phone.click("#save")
    assert "The candidate is missing." in phone.inner_text("#saved")


@pytest.mark.browser
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        # questions/specimens/T-2.yaml: 1/4 in within 1/32 in, so 7/32 to 9/32 in, both inside; 9/32 in = 7.14375 mm.
        ("1/4", "read as 1/4 in: inside 7/32 to 9/32 in"),
        ("9/32 in", "read as 9/32 in: inside 7/32 to 9/32 in"),
        ("7.14375 mm", "read as 7.14375 mm: inside 7/32 to 9/32 in"),
        ("7.144 mm", "read as 7.144 mm: outside 7/32 to 9/32 in"),
        ("7/32", "read as 7/32 in: inside 7/32 to 9/32 in"),
        ("0.2187", "read as 0.2187 in: outside 7/32 to 9/32 in"),
        ("3 psi", "read as 3 psi, which is another kind of quantity"),
        ("a quarter", "cannot be read: "),
        ("", ""),
    ],
)
def test_a_reading_is_held_against_the_sheets_range_and_ticks_nothing(phone: Page, typed: str, said: str) -> None:
    phone.fill("#r-5", typed)
    assert phone.inner_text("#read-5").replace("\u202f", " ").startswith(said)
    assert phone.locator("#s-5 input:checked").count() == 0


@pytest.mark.browser
def test_a_critical_step_that_is_not_done_and_a_reading_outside_are_said(phone: Page) -> None:
    tick(phone, 4, "not done")
    assert "Critical step 4 not done: the station is failed." in phone.inner_text("#left")
    phone.fill("#r-6", "1 in")
    tick(phone, 6)
    assert "Ticked done, and the reading lies outside the range: step 6." in phone.inner_text("#left")
    tick(phone, 2, "not done")
    assert "Critical step 4 not done" in phone.inner_text("#left")  # step 2 is not critical
    phone.click("#back-4")
    assert "Critical" not in phone.inner_text("#left")


@pytest.mark.browser
def test_ticks_are_kept_for_each_candidate_and_outlive_the_page(phone: Page, sheet: str) -> None:
    who(phone)
    tick(phone, 1)
    phone.fill("#r-5", "1/4")
    who(phone, "c-015")
    assert phone.locator("#steps input:checked").count() == 0
    assert phone.input_value("#r-5") == ""
    tick(phone, 2, "not done")
    phone.goto("about:blank")
    phone.goto(sheet)
    assert phone.input_value("#assessor") == "A-07"
    assert phone.input_value("#candidate") == "c-015"
    assert phone.is_checked('#s-2 input[value="not done"]')
    phone.select_option("#candidate", "c-014")
    assert phone.is_checked("#s-1 input[value=done]")
    assert phone.input_value("#r-5") == "1/4"
    assert phone.inner_text("#count") == "1 of 10"


@pytest.mark.browser
def test_what_was_ticked_before_a_candidate_was_chosen_goes_to_the_first_chosen_and_to_no_other(phone: Page) -> None:
    tick(phone, 1)
    phone.select_option("#candidate", "c-014")
    assert phone.is_checked("#s-1 input[value=done]")
    phone.select_option("#candidate", "c-015")
    assert phone.locator("#steps input:checked").count() == 0
    phone.select_option("#candidate", "")
    assert phone.locator("#steps input:checked").count() == 0


@pytest.mark.browser
def test_the_own_time_of_a_candidate_runs_once_it_is_started(phone: Page) -> None:
    who(phone)
    assert phone.inner_text("#own-time") == "38 min"
    phone.click("#start")
    assert phone.inner_text("#time") == "38 min left"
    who(phone, "c-015")
    assert phone.inner_text("#time") == "30 min"
    assert phone.is_visible("#start")


@pytest.mark.browser
def test_a_candidate_s_ticks_can_be_cleared_and_no_other_s(phone: Page) -> None:
    who(phone)
    tick(phone, 1)
    who(phone, "c-015")
    tick(phone, 1)
    phone.click("#clear")
    assert phone.locator("#steps input:checked").count() == 0
    who(phone)
    assert phone.is_checked("#s-1 input[value=done]")


@pytest.mark.browser
def test_a_candidate_s_id_of_any_kind_gives_a_plain_file_name(phone: Page) -> None:
    who(phone, "c/16 <b>")
    tick(phone, 1)
    assert saved(phone, "float-level-c_16_b_.json")["candidate"] == "c/16 <b>"


@pytest.mark.browser
def test_a_browser_that_keeps_nothing_says_so(browser: Browser, sheet: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    page.goto(sheet)
    assert page.is_visible("#storage")
    context.close()


@pytest.mark.browser
def test_where_nothing_is_kept_a_class_keeps_its_ticks_until_the_page_is_closed(browser: Browser, sheet: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    page.goto(sheet)
    who(page)
    tick(page, 1)
    page.select_option("#candidate", "c-015")
    assert page.locator("#steps input:checked").count() == 0
    page.select_option("#candidate", "c-014")
    assert page.is_checked("#s-1 input[value=done]")
    assert page.is_visible("#storage")
    context.close()


@pytest.mark.browser
def test_the_same_sheet_in_two_windows_takes_no_tick_away(phone: Page, sheet: str) -> None:
    who(phone)
    other = phone.context.new_page()
    other.goto(sheet)
    tick(phone, 1)
    other.wait_for_selector('#s-1 input[value="done"]:checked')
    tick(other, 2)
    phone.wait_for_selector('#s-2 input[value="done"]:checked')
    phone.reload()
    assert phone.locator("#steps input:checked").count() == 2


@pytest.mark.browser
@pytest.mark.parametrize(
    "kept",
    [
        "null",
        "no JSON",
        "[]",
        '{"steps": "abc", "readings": 7, "remarks": {}, "started": "soon"}',
        '{"steps": {"1": "perhaps", "2": {}, "3": "done"}, "readings": {"5": ["1/4"]}}',
    ],
)
def test_what_another_program_left_in_the_browser_is_no_tick(phone: Page, sheet: str, kept: str) -> None:
    who(phone)
    ours = "Object.keys(localStorage).filter((name) => !name.endsWith('@'))"  # the rest says when each was written
    phone.evaluate(f"(text) => {{ for (const name of {ours}) localStorage.setItem(name, text); }}", kept)
    phone.goto("about:blank")
    phone.goto(sheet)
    who(phone)
    tick(phone, 1)
    phone.fill("#r-5", "1/4")
    ticked = {"1": "done"} | ({"3": "done"} if '"3"' in kept else {})
    assert saved(phone, "float-level-c-014.json")["steps"] == ticked


@pytest.mark.browser
def test_a_word_without_end_breaks_wherever_it_stands(browser: Browser, make: Made, station: Station, tmp_path: Path) -> None:
    endless = "W" * 400
    steps = tuple(replace(step, text=endless, sees=endless, reason=endless) for step in station.steps)
    lists = dict.fromkeys(("tools", "supplied", "done", "cautions"), (endless,))
    file = tmp_path / "endless.html"
    changed: dict[str, Any] = {"title": endless, "steps": steps, **lists}
    file.write_text(make(replace(station, **changed)))
    context = browser.new_context(viewport={"width": 320, "height": 700})
    page = context.new_page()
    page.goto(file.as_uri())
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_page_passes_axe_and_stays_within_the_screen(browser: Browser, sheet: str, scheme: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme, bypass_csp=True)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(sheet)
    who(page)
    tick(page, 1)
    tick(page, 4, "not done")
    page.fill("#r-5", "1 in")
    page.evaluate(AXE)
    found = page.evaluate("axe.run()")
    assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


@pytest.mark.browser
def test_the_sheet_can_be_filled_in_by_keyboard_alone(phone: Page) -> None:
    phone.focus("#s-1 input[value=done]")
    phone.keyboard.press("Space")
    phone.keyboard.press("ArrowRight")
    assert phone.is_checked('#s-1 input[value="not done"]')
    phone.keyboard.press("Tab")
    phone.keyboard.press("Enter")  # the button that takes it back
    assert phone.locator("#s-1 input:checked").count() == 0
