"""A served course is kept whole after one visit, opens without a network, and takes a new build when its reader says so."""

from __future__ import annotations

import functools
import http.server
import json
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from grader.pages.offline import GONE, manifest, site_files, worker_script, write_offline


def test_a_file_changed_gives_another_version_and_the_same_files_the_same() -> None:
    files = {"index.html": "00", "assets/a.js": "11"}
    assert worker_script(files) == worker_script(dict(reversed(files.items())))
    assert worker_script(files) != worker_script(files | {"index.html": "01"})
    assert json.loads(worker_script(files).partition("FILES = JSON.parse('")[2].partition("')")[0]) == files


def test_neither_worker_nor_manifest_names_itself(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("x")
    write_offline(tmp_path, "Course", "en-GB", kept=True)
    write_offline(tmp_path, "Course", "en-GB", kept=True)
    assert list(site_files(tmp_path)) == ["index.html"]


def test_the_manifest_names_what_an_installed_course_needs() -> None:
    # Web Application Manifest (W3C): name or short_name, icons, start_url, display; here relative, so that any folder serves.
    said = json.loads(manifest("Carburetor service: the course", "en-GB"))
    assert {"name", "short_name", "icons", "start_url", "display", "scope", "id"} <= set(said)
    assert not any(str(said[name]).startswith(("/", "http")) for name in ("start_url", "scope", "id"))
    assert len(said["short_name"]) <= 12


def test_while_the_course_is_written_nothing_is_kept(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("x")
    write_offline(tmp_path, "Course", "en-GB", kept=False)
    assert (tmp_path / "worker.js").read_text() == GONE
    assert "unregister" in GONE


class _Quiet(http.server.SimpleHTTPRequestHandler):
    extensions_map = http.server.SimpleHTTPRequestHandler.extensions_map | {".webmanifest": "application/manifest+json"}

    def log_message(self, *_: object) -> None:
        """Nothing: a test prints nothing."""


EXPLORER = """
```explorer
relation: open_area
d: 0.050 in to 0.090 in step 0.001 in, 0.067 in
D: 0.080 in to 0.110 in step 0.001 in, 0.095 in
unit: mm^2
```
"""


@pytest.fixture
def running(tmp_path: Path, course: Path) -> Iterator[tuple[Path, str, http.server.ThreadingHTTPServer]]:
    from grader.pages.build import build_site

    site, lesson = tmp_path / "site", course / "lessons" / "power.md"
    lesson.write_text(lesson.read_text(encoding="utf-8") + EXPLORER, encoding="utf-8")
    build_site(course, site, variants=1)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(site)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield site, f"http://127.0.0.1:{server.server_port}/", server
    server.shutdown()
    server.server_close()


def _kept(page: Any) -> None:
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("caches.keys().then((names) => names.length === 1)")
    page.wait_for_function("!!navigator.serviceWorker.controller")


@pytest.mark.browser
def test_after_one_visit_every_page_opens_and_the_search_finds_without_a_network(browser: Any, running: Any) -> None:
    site, address, server = running
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(address)
    _kept(page)
    server.shutdown()
    server.server_close()
    pages = sorted(file.name for file in site.glob("*.html"))
    assert len(pages) >= 3
    for name in pages:
        answer = page.goto(address + name)
        assert answer.ok, name
        assert page.locator("h1").first.is_visible()
    page.goto(address)
    page.locator("[data-opens=__search]").click()
    page.keyboard.type("jet")
    page.wait_for_selector(".md-search-result__item", timeout=15_000)
    page.goto(address + "power.html")
    box = page.locator("course-practice[data-ready]").first
    box.get_by_label("Your answer").fill("99 mm2")
    box.get_by_role("button", name="Check").click()
    assert box.locator(".practice-verdict").get_attribute("data-verdict") == "wrong"
    explorer = page.locator("course-explorer").first
    shown = explorer.locator(".explorer-result").inner_text()
    explorer.locator("input[type=range]").first.press("ArrowRight")
    assert explorer.locator(".explorer-result").inner_text() != shown
    page.goto(address + "study.html")
    assert "learning" in page.locator("#study-circuits").inner_text()  # what was answered is remembered
    context.close()


@pytest.mark.browser
def test_a_new_build_waits_until_its_reader_takes_it(browser: Any, running: Any, course: Path) -> None:
    from grader.pages.build import build_site

    site, address, _ = running
    context = browser.new_context()
    page = context.new_page()
    page.goto(address)
    _kept(page)
    for name in ("index.md", "power.md"):
        lesson = course / "lessons" / name
        lesson.write_text(lesson.read_text(encoding="utf-8") + "\n\nA sentence that is new.\n", encoding="utf-8")
    build_site(course, site.parent / "next", variants=1)
    shutil.copytree(site.parent / "next", site, dirs_exist_ok=True)
    page.goto(address)
    page.get_by_role("button", name="Use it now").wait_for()
    for name in ("power.html", ""):
        page.goto(address + name)
        assert "A sentence that is new." not in page.content()  # the old one stays whole
    page.get_by_role("button", name="Use it now").click()
    page.wait_for_function("document.body.textContent.includes('A sentence that is new.')")
    page.goto(address + "power.html")
    assert "A sentence that is new." in page.content()  # and so is the new one
    page.wait_for_function("caches.keys().then((names) => names.length === 1)")  # and the old one is gone
    context.close()


class _LeadsOn(_Quiet):
    """A host that leads `page.html` on to `page`, as some do."""

    def do_GET(self) -> None:
        path = Path(self.translate_path(self.path))
        if self.path.endswith("/moved.html"):
            self.send_response(302)
            self.send_header("Location", "moved")
            self.end_headers()
            return
        if path.name == "moved":
            self.path += ".html"
        super().do_GET()


REGISTERS = "<!doctype html><meta charset=utf-8><title>{0}</title><h1>{0}</h1>"
REGISTERS += "<script>navigator.serviceWorker.register('worker.js')</script>"
STRANGE = ("a b.html", "it's.html", "größe.html", "50%.html", "a#b.html", "what?.html", "moved.html")


@pytest.fixture
def two_courses(tmp_path: Path) -> Iterator[tuple[Path, str]]:
    """Two courses below one address, in folders of which one lies in the other."""
    for folder in (tmp_path, tmp_path / "second year"):
        folder.mkdir(exist_ok=True)
        for name in ("index.html", *STRANGE):
            (folder / name).write_text(REGISTERS.format(name), encoding="utf-8")
    write_offline(tmp_path / "second year", "Second", "en-GB", kept=True)
    write_offline(tmp_path, "First", "en-GB", kept=True)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_LeadsOn, directory=str(tmp_path)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield tmp_path, f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()


@pytest.mark.browser
def test_two_courses_below_one_address_leave_each_other_alone_whatever_their_files_are_called(
    browser: Any, two_courses: tuple[Path, str]
) -> None:
    _, address = two_courses
    context = browser.new_context()
    page = context.new_page()
    for count, place in enumerate(("second%20year/", ""), 1):
        page.goto(address + place)
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.wait_for_function("!!navigator.serviceWorker.controller")
        page.wait_for_function(f"caches.keys().then((names) => names.length === {count})")
    context.set_offline(True)
    for place in ("second%20year/", ""):
        for name in STRANGE:
            answer = page.goto(address + place + quote(name))
            assert answer.ok, name
            assert page.inner_text("h1") == name
    context.close()
