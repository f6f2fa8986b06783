"""What the site costs, for `make bench`: its build, the bytes a page loads, the time from answer to verdict on a slow phone."""

from __future__ import annotations

import gzip
import re
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from mkdocs.commands.build import build as bare_build

from grader.items.course import Course
from grader.pages.build import build_site, site_config, warnings_kept

ROUNDS = 3  # a build takes seconds
_OURS = re.compile(r'<script[^>]* src="(assets/course/[^"]+)"')
SCRIPT_AIM, PACK_AIM = 40_000, 60_000
SLOWDOWN = 4
BARE = "a bare mkdocs build of the same pages, our blocks left as code"


def building_the_site(course: Course) -> tuple[float, str, str]:
    """The whole site, nothing kept from an earlier build."""
    return _over_bare(course, None), f"{_told(course)}, nothing kept from an earlier build", BARE


def rebuilding_the_site(course: Course) -> tuple[float, str, str]:
    """The whole site once more, nothing changed since it was built."""
    with tempfile.TemporaryDirectory() as folder:
        build_site(course.folder, Path(folder, "first"), keep_in=Path(folder, "kept"))
        return _over_bare(course, Path(folder, "kept")), f"{_told(course)}, built once more with nothing changed", BARE


def _over_bare(course: Course, keep_in: Path | None) -> float:
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for turn in range(ROUNDS):
            ours = _seconds(lambda place=turn: build_site(course.folder, Path(folder, f"ours-{place}"), keep_in=keep_in))
            found.append(ours / _seconds(lambda place=turn: _bare(course, Path(folder, f"bare-{place}"))))
    return statistics.median(found)


def _told(course: Course) -> str:
    return f"the site of {len(course.lessons) + len(course.pages)} pages with {len(course.practice)} items, 40 variants each"


def _bare(course: Course, output: Path) -> None:
    config = site_config(course.folder, output)
    for name in ("grader",):
        plugin = config.plugins.pop(name)
        for event in config.plugins.events.values():
            event[:] = [method for method in event if getattr(method, "__self__", None) is not plugin]
    with warnings_kept():
        bare_build(config)


def _seconds(act: Any) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


@cache
def _site(folder: Path) -> Path:
    site = Path(tempfile.mkdtemp(prefix="grader-bench-")) / "site"
    build_site(folder, site)
    return site


def largest_pack(course: Course) -> tuple[float, str, str]:
    """The largest pack that a page loads."""
    sizes = {file.stem: _packed(file) for file in (_site(course.folder) / "packs").glob("*.js")}
    name = max(sizes, key=sizes.__getitem__)
    return sizes[name] / PACK_AIM, f"the largest pack ({name}, {sizes[name]:,} bytes gzip)", f"the aim of {PACK_AIM:,} bytes"


def scripts_of_a_page(course: Course) -> tuple[float, str, str]:
    """Every script of ours on the page that loads most of them."""
    site = _site(course.folder)
    loads = {page.name: set(_OURS.findall(page.read_text("utf-8"))) for page in site.glob("*.html")}
    sizes = {name: sum(_packed(site / script) for script in scripts) for name, scripts in loads.items()}
    name = max(sizes, key=sizes.__getitem__)
    return sizes[name] / SCRIPT_AIM, f"our scripts on {name} ({sizes[name]:,} bytes gzip)", f"the aim of {SCRIPT_AIM:,} bytes"


def _packed(file: Path) -> int:
    return len(gzip.compress(file.read_bytes(), 9, mtime=0))


@contextmanager
def _slow_phone() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWDOWN})
        yield page
        browser.close()


_VERDICT = """() => {
  const practice = document.querySelector('course-practice'), field = practice.querySelector('input[type=text]');
  field.value = '2.3 mm²';
  field.dispatchEvent(new Event('input', {bubbles: true}));
  const check = [...practice.querySelectorAll('button')].find((one) => one.textContent.startsWith('Check'));
  const start = performance.now();
  check.click();
  practice.offsetHeight;
  return performance.now() - start;
}"""
_NOTHING = """() => {
  const practice = document.querySelector('course-practice'), button = document.createElement('button');
  button.addEventListener('click', () => { practice.append(document.createElement('p')); });
  practice.append(button);
  const start = performance.now();
  button.click();
  practice.offsetHeight;
  return performance.now() - start;
}"""


def verdict_on_a_slow_phone(course: Course) -> tuple[float, str, str]:
    """From the press of the button to the verdict laid out."""
    found, times = [], []
    with _slow_phone() as page:
        for _ in range(7):
            page.goto((_site(course.folder) / "power.html").as_uri())
            page.wait_for_selector("course-practice[data-ready] input[type=text]")
            nothing, verdict = page.evaluate(_NOTHING), page.evaluate(_VERDICT)
            times.append(verdict)
            found.append(verdict / max(nothing, 0.1))
    what = f"an answer marked and its verdict laid out, {SLOWDOWN} times slower ({statistics.median(times):.0f} ms)"
    return statistics.median(found), what, "a handler that adds one empty paragraph, laid out"


PAGE_MEASURES = (building_the_site, rebuilding_the_site, largest_pack, scripts_of_a_page, verdict_on_a_slow_phone)
