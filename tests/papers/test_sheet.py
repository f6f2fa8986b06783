from __future__ import annotations

import hashlib
import json
import os
import re
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import axe_playwright_python
import pytest
from lxml import html
from playwright.sync_api import Browser, Page

from grader.marking.browser import script as marker_script
from grader.marking.key import AnyQuestion, unit_entries
from grader.papers.paper import Asked, Paper, asked_by
from grader.papers.seal import seal
from grader.papers.sheet import script_json, source_hash, write_sheet

Make = Callable[..., Paper]
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text()
HOSTILE = [
    "</script><script>alert(1)</script>",
    "<!-- <script>",
    '" onload="x',
    "'><img src=x onerror=y>",
    "{{data}}",
    "a\u2028b",
]


def parsed(page: str) -> Any:
    return html.document_fromstring(page.encode(), parser=html.HTMLParser(encoding="utf-8"))


# The page as text.


def test_nothing_of_the_key_is_in_the_sheet(make_paper: Make) -> None:
    page = write_sheet(make_paper(), unit_entries()).replace(marker_script(), "")
    for word in ("SECRET", "7771", "7770", "7772", "8881", "6661", "9991", "2.77"):
        assert word not in page


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_text_wherever_it_stands(make_paper: Make, name: str) -> None:
    asked = (Asked("1", "numeric", "1", name, unit="mm", measure="mm"),)
    page = parsed(write_sheet(make_paper(name=name, title=name, school=name, cautions=(name,), asked=asked), unit_entries()))
    assert len(page.xpath("//script")) == 4
    assert not page.xpath("//img")
    assert not page.xpath("//@onload | //@onerror")
    assert page.xpath("string(//h1)") == name
    assert name in page.xpath("string(//dl)")


@pytest.mark.parametrize("name", HOSTILE)
def test_data_in_a_script_element_cannot_end_it(name: str) -> None:
    text = script_json({"name": name})
    assert not re.search("[<>&\u2028]", text)
    assert json.loads(text) == {"name": name}


def test_the_policy_allows_only_what_is_written_in_the_page(make_paper: Make) -> None:
    page = parsed(write_sheet(make_paper(), unit_entries()))
    policy = page.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    for code in (*page.xpath("//script[not(@type)]"), *page.xpath("//style")):
        assert source_hash(code.text) in policy


def test_the_page_names_no_other_place(make_paper: Make) -> None:
    page = write_sheet(make_paper(), unit_entries())
    assert not set(re.findall(r"https?://[\w./-]+", page)) - {"http://www.w3.org/2000/svg"}


def test_every_field_is_there_without_a_script_and_labelled(make_paper: Make) -> None:
    page = parsed(write_sheet(make_paper(), unit_entries()))
    fields = page.xpath("//form//input | //form//select")
    assert len(fields) == 1 + 3 + 3 + 3 + 2 + (1 + 1 + 2) + 1 + 1
    for field in fields:
        assert field.getparent().tag == "label" or page.xpath(f"//label[@for='{field.get('id')}']")
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_the_rule_of_an_instrument_is_told_with_its_field(make_paper: Make) -> None:
    page = parsed(write_sheet(make_paper(), unit_entries()))
    (field,) = page.xpath("//input[@data-label='7']")
    told = [page.xpath(f"string(//*[@id='{name}'])") for name in field.get("aria-describedby").split()]
    assert told[0] == "Read to half a line."
    assert page.xpath("count(//*[@class='rule'])") == 1
    assert page.xpath("//section[@id='q-7']")[0].get("class") == "question reading"


def test_formulae_are_set_as_mathematics_with_the_font_inside(make_paper: Make) -> None:
    page = write_sheet(make_paper(), unit_entries())
    assert len(parsed(page).xpath("//section[@class='annex']//math")) == 2  # the formula and its one symbol
    assert "font-src data:" in page
    assert "url(data:font/woff2;base64," in page
    assert "font/woff2" not in write_sheet(make_paper(formulas=()), unit_entries())  # 64 kB for nothing


def test_the_same_paper_gives_the_same_sheet(make_paper: Make) -> None:
    assert write_sheet(make_paper(), unit_entries()) == write_sheet(make_paper(), unit_entries())


# The page in a browser, from disk.


@pytest.fixture
def sheet(make_paper: Make, tmp_path: Path) -> str:
    file = tmp_path / "7M2KQ8D4XT.html"
    file.write_text(write_sheet(make_paper(), unit_entries()))
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


def saved(page: Page) -> bytes:
    with page.expect_download() as download:
        page.click("#save")
    assert download.value.suggested_filename == "7M2KQ8D4XT.json"
    return Path(download.value.path()).read_bytes()


def answer_all(page: Page) -> None:
    page.fill("#a-1", "  2,3 mm² ")
    page.check("#a-2-b")
    page.check("#a-3-c")
    page.check("#a-3-a")
    for place, letter in enumerate("cab", 1):
        page.select_option(f"#a-4-{place}", letter)
    page.select_option("#a-5-1", "c")
    page.select_option("#a-5-2", "a")
    page.fill("#a-6a", '12.1 kPa "about"')
    page.fill("#a-6b", "0,4 g/s")
    page.check("#a-6c-a")
    page.fill("#a-7", "18 inHg")
    page.fill("#a-8", "14.7")


WHOLE = {
    "1": "2,3 mm²",
    "2": "b",
    "3": "a c",
    "4": "c a b",
    "5": "1-c 2-a",
    "6a": '12.1 kPa "about"',
    "6b": "0,4 g/s",
    "6c": "a",
    "7": "18 inHg",
    "8": "14.7",
}


@pytest.mark.browser
def test_the_saved_file_is_the_answer_file_of_the_design_and_its_digest_is_shown(phone: Page) -> None:
    answer_all(phone)
    data = saved(phone)
    assert json.loads(data) == {"paper": "7M2KQ8D4XT", "candidate": "c-014", "answers": WHOLE}
    assert list(json.loads(data)["answers"]) == list(WHOLE)
    said = phone.inner_text("#saved")
    assert hashlib.sha256(data).hexdigest() in said
    assert phone.inner_text("#saved .digest") == hashlib.sha256(data).hexdigest()[:8]
    assert phone.input_value("#text").encode() == data


@pytest.mark.browser
@pytest.mark.parametrize("length", [0, 1, 55, 56, 63, 64, 65, 119, 1000])
def test_the_sheet_s_digest_is_sha_256_at_every_edge_of_a_block(phone: Page, length: int) -> None:
    # hashlib is the reference; 55, 56 and 64 are where the padding of FIPS 180-4 changes.
    phone.evaluate("document.querySelector('#a-1').removeAttribute('maxlength')")
    phone.fill("#a-1", "é" * length)
    data = saved(phone)
    assert hashlib.sha256(data).hexdigest() in phone.inner_text("#saved")


@pytest.mark.browser
def test_the_saved_file_can_be_read_by_the_marker(phone: Page) -> None:
    from grader.marking.reading import read_file

    answer_all(phone)
    found = read_file("7M2KQ8D4XT.json", saved(phone))
    assert not found.asides
    assert dict(found.sheets[0].answers) == WHOLE


@pytest.mark.browser
def test_half_a_character_in_one_answer_does_not_cost_the_whole_file(phone: Page) -> None:
    from grader.marking.reading import read_file

    phone.fill("#a-1", "2.3")
    phone.evaluate("document.querySelector('#a-8').value = '14.7 \\ud83d'")
    phone.dispatch_event("#a-8", "input")
    found = read_file("7M2KQ8D4XT.json", saved(phone))
    assert not found.asides
    assert dict(found.sheets[0].answers) == {"1": "2.3", "8": "14.7 \ufffd"}


@pytest.mark.browser
def test_right_answers_typed_into_a_sheet_are_marked_right(
    browser: Browser, make_paper: Make, questions: tuple[AnyQuestion, ...], tmp_path: Path
) -> None:
    from grader.marking.mark import mark
    from grader.marking.reading import read_file

    items: list[Any] = [SimpleNamespace(question=question) for question in questions]
    names = {"sitting": "spring", "candidate": "c-014", "code": "7M2KQ8D4XT", "blueprint": "trial", "bank": "00" * 32}
    key = seal(items, **names, secret=bytes(32), draw=lambda item, *_, **__: item.question).key
    (tmp_path / "sheet.html").write_text(write_sheet(make_paper(asked=asked_by(key)[0]), key.units))
    context = browser.new_context(accept_downloads=True)
    page = context.new_page()
    page.goto((tmp_path / "sheet.html").as_uri())
    for label, unit in (("1", "mm²"), ("6a", "Pa"), ("7", "inHg"), ("8", "")):
        page.fill(f"#a-{label}", f"7771.23 {unit}")
    for box in ("#a-2-b", "#a-3-a", "#a-3-c", "#a-6c-b"):
        page.check(box)
    for place, letter in enumerate("cba", 1):
        page.select_option(f"#a-4-{place}", letter)
    page.select_option("#a-5-1", "c")
    page.select_option("#a-5-2", "a")
    marks = mark(key, dict(read_file("7M2KQ8D4XT.json", saved(page)).sheets[0].answers))
    verdicts = {line.number: line.verdict for line in marks.marks}
    assert verdicts.pop("6b") == "blank"
    assert set(verdicts.values()) == {"right"}
    context.close()


@pytest.mark.browser
def test_what_was_typed_is_there_after_a_reload(phone: Page) -> None:
    answer_all(phone)
    phone.reload()
    assert json.loads(saved(phone))["answers"] == WHOLE


@pytest.mark.browser
def test_what_was_typed_is_there_after_the_page_was_shut_without_a_word(browser: Browser, sheet: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(sheet)
    page.fill("#a-1", "2.3 mm²")
    other = context.new_page()
    page.close(run_before_unload=False)
    other.goto(sheet)
    assert other.input_value("#a-1") == "2.3 mm²"
    context.close()


@contextmanager
def own_chromium(home: Path) -> Iterator[tuple[str, Callable[[], None]]]:
    """A Chromium of this test's own, where its debugger listens, and what kills it with all its children, at once."""
    from tests.chromium import chromium

    program = chromium()
    assert program
    words = [program, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    words += ["--remote-debugging-port=0", f"--user-data-dir={home}", "about:blank"]
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, start_new_session=True)
    assert process.stderr
    listening = next(found[1] for line in process.stderr if (found := re.search(r"listening on (ws://\S+)", line)))

    def kill() -> None:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    try:
        yield listening, kill
    finally:
        kill()
        process.stderr.close()


@pytest.mark.browser
def test_a_browser_killed_in_the_middle_has_kept_what_was_typed(browser: Browser, sheet: str, tmp_path: Path) -> None:
    # Chromium writes localStorage to the disk some five seconds after it was set (seen: killed two seconds after, all was lost).
    with own_chromium(tmp_path / "profile") as (address, kill):
        killed = browser.browser_type.connect_over_cdp(address)
        page = killed.contexts[0].new_page()
        page.goto(sheet)
        page.fill("#a-1", "2.3 mm²")
        page.check("#a-2-b")
        page.wait_for_timeout(300)
        kill()
    with own_chromium(tmp_path / "profile") as (address, _):
        again = browser.browser_type.connect_over_cdp(address)
        page = again.contexts[0].new_page()
        page.goto(sheet)
        page.wait_for_function("document.getElementById('a-1').value === '2.3 mm²'")
        assert page.is_checked("#a-2-b")
        assert page.inner_text("#count").startswith("2 of ")
        again.close()


@pytest.mark.browser
def test_two_papers_on_one_phone_do_not_mix(phone: Page, make_paper: Make, tmp_path: Path) -> None:
    phone.fill("#a-1", "2.3 mm²")
    other = tmp_path / "other.html"
    other.write_text(write_sheet(make_paper(code="8QZ5T0VJ2K"), unit_entries()))
    phone.goto(other.as_uri())
    assert phone.input_value("#a-1") == ""


@pytest.mark.browser
def test_one_paper_in_two_windows_loses_no_answer(phone: Page, sheet: str) -> None:
    other = phone.context.new_page()
    other.goto(sheet)
    phone.fill("#a-1", "2.3 mm²")
    other.wait_for_function("document.querySelector('#a-1').value !== ''")
    other.fill("#a-1", "2.4 mm²")
    phone.wait_for_function("document.querySelector('#a-1').value === '2.4 mm²'")
    phone.reload()
    assert json.loads(saved(phone))["answers"] == {"1": "2.4 mm²"}


@pytest.mark.browser
@pytest.mark.parametrize("kept", ["null", "no JSON", "[]", '{"fields": "abc"}', '{"fields": {"a-1": null}, "started": "soon"}'])
def test_what_another_program_left_in_the_browser_is_no_answer(phone: Page, kept: str) -> None:
    phone.evaluate("(text) => { for (const name of Object.keys(localStorage)) localStorage.setItem(name, text); }", kept)
    phone.reload()
    assert json.loads(saved(phone))["answers"] == {}
    phone.fill("#a-1", "2.3 mm²")
    phone.reload()
    assert json.loads(saved(phone))["answers"] == {"1": "2.3 mm²"}


@pytest.mark.browser
def test_a_browser_that_keeps_nothing_is_said_and_the_sheet_still_saves(browser: Browser, sheet: str) -> None:
    context = browser.new_context(accept_downloads=True)
    context.add_init_script("Storage.prototype.setItem = () => { throw new Error('refused'); }")
    page = context.new_page()
    page.goto(sheet)
    page.fill("#a-1", "2.3 mm²")
    assert page.is_visible("#storage")
    assert json.loads(saved(page))["answers"] == {"1": "2.3 mm²"}
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("2.3 mm2", "read as 2.3 mm²"),
        ("0,0036 sq in", "read as 0.0036 in²"),
        ("2.3", "read as 2.3 mm²"),
        ("5/32 in", "read as 5/32 in"),
        ("", ""),
    ],
)
def test_a_number_is_said_as_the_marker_reads_it(phone: Page, typed: str, read: str) -> None:
    phone.fill("#a-1", typed)
    phone.wait_for_timeout(350)
    assert phone.inner_text("#read-1").replace("\u202f", " ") == read


@pytest.mark.browser
def test_what_cannot_be_read_is_said_in_words(phone: Page) -> None:
    phone.fill("#a-1", "12 kumquats")
    phone.wait_for_timeout(350)
    assert phone.inner_text("#read-1").startswith("cannot be read: “kumquats” is not a unit")
    assert "Cannot be read: 1." in phone.inner_text("#left")


@pytest.mark.browser
def test_the_sheet_never_says_right_or_wrong(phone: Page) -> None:
    for answer in ("7771.23 mm²", "8881.23 mm²", "1 mm²"):  # the answer, a slip, neither
        phone.fill("#a-1", answer)
        phone.wait_for_timeout(350)
        assert phone.inner_text("#read-1").replace("\u202f", " ") == f"read as {answer}"


@pytest.mark.browser
def test_what_is_not_answered_is_listed(phone: Page) -> None:
    assert phone.inner_text("#count") == "0 of 10"
    answer_all(phone)
    phone.fill("#a-6b", " ")
    phone.select_option("#a-4-2", "")
    assert phone.inner_text("#left") == "Not answered: 4, 6b. Cannot be read: 6a."
    assert phone.get_attribute("#chip-6b", "aria-label") == "6b, not answered"
    assert phone.get_attribute("#chip-6a", "aria-label") == "6a, cannot be read"
    assert phone.inner_text("#count") == "8 of 10"
    phone.wait_for_timeout(350)
    assert phone.inner_text("#read-4") == "places still empty: 1"


@pytest.mark.browser
def test_the_formulae_are_one_touch_away_and_so_is_the_way_back(phone: Page) -> None:
    phone.click("#chip-7")
    before = phone.evaluate("scrollY")
    phone.click(".bar >> text=Formulae")
    assert phone.evaluate("scrollY") > before
    phone.click("#back")
    phone.wait_for_function("before => Math.abs(scrollY - before) < 5", arg=before)


@pytest.mark.browser
def test_an_entry_in_two_places_is_said(phone: Page) -> None:
    phone.select_option("#a-4-1", "b")
    phone.select_option("#a-4-3", "b")
    phone.wait_for_timeout(350)
    assert phone.inner_text("#read-4") == "b stands in two places"


@pytest.mark.browser
def test_a_choice_can_be_taken_back(phone: Page) -> None:
    phone.check("#a-2-b")
    phone.click("[data-back='2']")
    assert "2" not in json.loads(saved(phone))["answers"]


@pytest.mark.browser
def test_a_change_after_saving_asks_for_saving_again(phone: Page) -> None:
    phone.fill("#a-1", "2.3")
    saved(phone)
    phone.fill("#a-1", "2.4")
    assert phone.inner_text("#saved") == "You changed an answer after saving. Save the answer file again."


@pytest.mark.browser
def test_the_time_is_the_candidate_s_own_and_runs_on_through_a_reload(browser: Browser, sheet: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.clock.install()
    page.goto(sheet)
    assert page.inner_text("#time") == "75 min"
    page.click("#start")
    assert page.inner_text("#time") == "75 min left"
    page.clock.run_for(66 * 60_000 + 10_000)
    assert page.inner_text("#time") == "9 min left"
    assert page.inner_text("#said") == "10 minutes left"  # told once, at ten
    page.reload()
    assert page.inner_text("#time") == "9 min left"
    page.clock.run_for(10 * 60_000)
    assert page.inner_text("#time") == "time is over"
    assert page.is_enabled("#a-1")  # the invigilator ends the sitting, not the sheet
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(browser: Browser, sheet: str, look: Any, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=look)
    page = context.new_page()
    page.goto(sheet)
    answer_all(page)
    page.click("#save")
    page.click("summary")
    page.evaluate(AXE)
    found = page.evaluate("axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})")
    assert [(rule["id"], [node["html"][:120] for node in rule["nodes"]]) for rule in found["violations"]] == []
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390])
def test_nothing_is_wider_than_a_small_phone(browser: Browser, sheet: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(sheet)
    answer_all(page)
    page.click("#save")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    context.close()


@pytest.mark.browser
def test_large_print_is_large_on_the_sheet_too_and_still_fits_a_phone(browser: Browser, make_paper: Make, tmp_path: Path) -> None:
    (tmp_path / "large.html").write_text(write_sheet(make_paper(large=True), unit_entries()))
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto((tmp_path / "large.html").as_uri())
    answer_all(page)
    page.click("#save")
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    size = "what => parseFloat(getComputedStyle(document.querySelector(what)).fontSize)"
    for what in (".question p", ".option", "input", "select", "h2"):
        assert page.evaluate(size, what) >= 22
    context.close()


@pytest.mark.browser
def test_whatever_is_touched_is_large_enough_for_a_gloved_hand(phone: Page) -> None:
    # 44 px is WCAG 2.2's enhanced target size (2.5.5), from memory; radio buttons count with their label.
    small = phone.evaluate(
        """() => [...document.querySelectorAll('.option, .line input, select, button, .chips a, .bar-link, summary')]
        .filter(e => e.getClientRects().length && (e.getBoundingClientRect().height < 44 || e.getBoundingClientRect().width < 44))
        .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert small == []


@pytest.mark.browser
def test_the_whole_sheet_can_be_worked_by_keyboard_alone(phone: Page) -> None:
    keys = phone.keyboard
    keys.press("Tab")
    assert phone.evaluate("document.activeElement.className") == "skip"
    keys.press("Enter")
    keys.press("Tab")
    keys.type("2.3 mm²")
    keys.press("Tab")
    keys.press("Space")
    keys.press("ArrowDown")
    for _ in range(40):
        keys.press("Tab")
        focus = phone.evaluate(
            """() => { const e = document.activeElement, r = e.getBoundingClientRect();
            const ring = getComputedStyle(e).outlineStyle;
            return {id: e.id, seen: r.top >= 52 && r.bottom <= innerHeight, tag: e.tagName, ring}; }"""
        )
        assert focus["ring"] != "none"
        assert focus["seen"] or focus["tag"] == "BODY", focus  # not behind the bar (WCAG 2.4.11)
        if focus["id"] == "a-4-1":
            keys.press("ArrowDown")
        if focus["id"] == "save":
            break
    with phone.expect_download() as download:
        keys.press("Enter")
    data = json.loads(Path(download.value.path()).read_bytes())
    assert data["answers"] == {"1": "2.3 mm²", "2": "b", "4": "a"}
    assert phone.evaluate("document.activeElement.id") == "saved"


@pytest.mark.browser
def test_without_scripts_the_sheet_says_so_and_can_be_filled_in(browser: Browser, sheet: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(sheet)
    assert "Scripts are switched off" in page.inner_text("main")
    page.fill("#a-1", "2.3 mm²")
    assert not page.is_visible("#save")
    context.close()
