"""The course's own site, whole: every page on three screens, light and dark: quiet, within its width, asking nothing outside."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest

ROOT = Path(__file__).parents[2]
AXE = next(Path(axe_playwright_python.__file__).parent.rglob("axe.min.js")).read_text("utf-8")
OWN = ("file:", "data:", "blob:")
SCREENS = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900)}


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from grader.pages.build import build_site

    folder = tmp_path_factory.mktemp("whole") / "site"
    build_site(ROOT, folder, variants=1)
    return folder


@pytest.fixture(params=[(screen, scheme) for screen in SCREENS for scheme in ("light", "dark")], ids="-".join)
def screen(request: pytest.FixtureRequest, browser: Any) -> Iterator[tuple[str, Any, list[str]]]:
    name, scheme = request.param
    width, height = SCREENS[name]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    page = context.new_page()
    heard: list[str] = []
    page.on("pageerror", lambda error: heard.append(f"error: {error}"))
    page.on("console", lambda line: heard.append(line.text) if line.type == "error" else None)
    page.on("request", lambda asked: None if asked.url.startswith(OWN) else heard.append(f"asks {asked.url}"))
    yield name, page, heard
    context.close()


@pytest.mark.browser
def test_every_page_is_quiet_within_its_width_and_accessible(whole: Path, screen: tuple[str, Any, list[str]]) -> None:
    name, page, heard = screen
    faults: list[str] = []
    for file in sorted(whole.glob("*.html")):
        page.goto(file.as_uri())
        page.evaluate("document.fonts.ready.then(() => true)")
        width = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if width > 0:
            faults.append(f"{file.name}: {width} px too wide")
        if name == "phone":
            page.evaluate(AXE)
            found = page.evaluate("axe.run({preload: false, resultTypes: ['violations']})")
            faults += [f"{file.name}: {one['id']}: {one['nodes'][0]['html'][:120]}" for one in found["violations"]]
        faults += [f"{file.name}: {line}" for line in heard]
        heard.clear()
    assert faults == []


def test_no_exam_question_stands_anywhere(whole: Path) -> None:
    # Ids, keys and names are looked for in the demonstration's site (tests/cli/test_demo.py); here the words of the questions.
    from grader.items.course import load_course

    stems = [item.stem for item in load_course(ROOT).exam if not set("{}<>&\"'\n") & set(item.stem)]
    text = "\n".join(file.read_text("utf-8") for file in whole.rglob("*") if file.suffix in {".html", ".js", ".json"})
    assert len(stems) > 100
    assert [stem for stem in stems if stem in text] == []
