"""Tables of the lessons: only those that may outgrow a phone slide, and take a stop of the keyboard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from lxml import html as markup

from grader.pages.build import build_site
from grader.pages.plugin import _with_wide_tables


def table(columns: int) -> str:
    head = "\n".join(f"<th>c{n}</th>" for n in range(columns))
    row = "\n".join(f"<td><a href='#'>v{n}</a></td>" for n in range(columns))
    return f"<table>\n<thead>\n<tr>\n{head}\n</tr>\n</thead>\n<tbody>\n<tr>\n{row}\n</tr>\n<tr>\n{row}\n</tr>\n</tbody>\n</table>"


def test_five_columns_slide_and_four_do_not_however_many_rows_there_are() -> None:
    assert "course-scroll" not in _with_wide_tables(table(2))
    assert "course-scroll" not in _with_wide_tables(table(4))
    assert _with_wide_tables(table(5)).startswith('<div class="course-scroll"')
    assert _with_wide_tables(table(3) + "<p>and</p>" + table(6)).count('tabindex="0"') == 1


TITLE = """Gaps < 1 mm & <script>document.title = 'run'</script> of 'Süd'"""


def test_a_title_is_text_in_heading_contents_search_and_on_the_way_on(course: Path, tmp_path: Path) -> None:
    (course / "lessons" / "über uns.md").write_text(f"---\ntitle: {TITLE}\norder: 90\n---\nAir.\n", encoding="utf-8")
    about = course / "questions" / "course.yaml"
    kept = [line for line in about.read_text(encoding="utf-8").split("\n") if not line.startswith("title:")]
    about.write_text("\n".join([f"title: {TITLE}", *kept]), encoding="utf-8")
    build_site(course, tmp_path / "site", variants=1)
    pages = {file.name: file.read_text(encoding="utf-8") for file in (tmp_path / "site").glob("*.html")}
    scripts = [script for text in pages.values() for script in markup.fromstring(text).xpath("//script[not(@type)]/text()")]
    assert not any("document.title" in script for script in scripts)
    ours = markup.fromstring(pages["über uns.html"])
    assert [" ".join(one.text_content().split()) for one in ours.xpath("//h1")] == [TITLE]
    assert ours.findtext(".//title").strip() == f"{TITLE} - {TITLE}"
    assert json.loads((tmp_path / "site" / "manifest.webmanifest").read_text(encoding="utf-8"))["name"] == TITLE


@pytest.mark.browser
def test_a_browser_that_refuses_its_store_still_searches_and_practises(browser: Any, site: Path) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844})
    # What Chromium does where all cookies are off: to look at the store is an error.
    refuses = "Object.defineProperty(window, 'localStorage', {configurable: true, get() { throw new DOMException('no'); }});"
    context.add_init_script(refuses)
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.goto((site / "power.html").as_uri())
    page.locator("[data-opens=__search]").first.click()
    page.keyboard.type("jet")
    page.wait_for_selector(".md-search-result__item", timeout=15_000)
    assert troubles == []
    context.close()
