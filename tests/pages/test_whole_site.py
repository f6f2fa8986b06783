"""The whole of the course's own site: every page on four screens, light and dark, is quiet, accessible and in its width."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest

AXE = next(Path(axe_playwright_python.__file__).parent.rglob("axe.min.js")).read_text("utf-8")
LOOKS = Path(__file__).with_name("looks.js").read_text("utf-8")
OWN = ("file:", "data:", "blob:")
SCREENS = {"narrow": (320, 640), "phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900)}
SCHEMES = ("light", "dark")

# What the theme says on the console and cannot be helped from here: nothing. A line added here needs its reason.
THEME_SAYS: tuple[str, ...] = ()

TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


class Look:
    """A page seen at one size, light and dark, with all it says and asks for."""

    def __init__(self, browser: Any, name: str) -> None:
        self.name, self.judged = name, 0
        self.known: dict[str, list[str]] = {scheme: [] for scheme in SCHEMES}
        self.sizes = ["narrow", "tablet", "desk", "phone"] if name == "phone" else [name]
        self.context = browser.new_context(viewport=_size(name), reduced_motion="reduce")  # no fading: a colour is what it is
        self.page = self.context.new_page()
        self.heard: list[str] = []
        self.page.on("pageerror", lambda error: self.heard.append(f"error: {error}"))
        self.page.on("console", lambda line: self._hear(line.text) if line.type == "error" else None)
        self.page.on("request", lambda asked: None if asked.url.startswith(OWN) else self.heard.append(f"asks {asked.url}"))

    def _hear(self, text: str) -> None:
        if text not in THEME_SAYS:
            self.heard.append(text)

    def faults(self, file: Path) -> list[str]:
        """Everything wrong on a page, at this size and at the others that come after it."""
        page = self.page
        page.goto(file.as_uri())
        page.evaluate("document.fonts.ready.then(() => true)")
        page.evaluate(AXE)
        page.evaluate(LOOKS)
        found = [f"{self.name}: {line}" for line in page.evaluate("testRules()")]
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            said = page.evaluate("known => testColours(known)", self.known[scheme])
            self.known[scheme] += said["looks"]
            self.judged += said["judged"]
            found += [f"{self.name}, {scheme}: {line}" for line in said["faults"]]
        for size in self.sizes:
            page.set_viewport_size(_size(size))
            width = page.evaluate(TOO_WIDE)
            found += [f"{size}: {width} px too wide"] if width > 0 else []
        found += self.heard
        self.heard.clear()
        return [f"{file.name}: {line}" for line in found]


def _size(name: str) -> dict[str, int]:
    width, height = SCREENS[name]
    return {"width": width, "height": height}


@pytest.fixture(params=["phone", "desk"])
def look(request: pytest.FixtureRequest, browser: Any) -> Iterator[Look]:
    made = Look(browser, request.param)
    yield made
    made.context.close()


@pytest.mark.browser
def test_every_page_is_quiet_within_its_width_and_accessible(whole: Path, look: Look) -> None:
    assert [line for file in sorted(whole.glob("*.html")) for line in look.faults(file)] == []
    assert look.judged > 0.7 * sum(map(len, look.known.values())) > 100


# Without scripts the theme's labels still open the contents, by boxes that need none.
LIVE = "label:not([for=__drawer], [for=__toc])"


@pytest.mark.browser
def test_without_scripts_every_page_can_be_read_and_holds_nothing_dead(whole: Path, browser: Any) -> None:
    context = browser.new_context(viewport=_size("phone"), java_script_enabled=False)
    page = context.new_page()
    found: list[str] = []
    for file in sorted(whole.glob("*.html")):
        page.goto(file.as_uri())
        seen = page.evaluate(
            """(live) => ({
              dead: [...document.querySelectorAll(`button, input, select, textarea, [role=button], ${live}`)]
                .filter((one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true })
                  && one.getBoundingClientRect().width > 1 && !one.closest('[hidden]'))
                .map((one) => one.outerHTML.slice(0, 120)),
              silent: [...document.querySelectorAll('article *')]
                .filter((one) => one.localName.includes('-') && !one.innerText.trim()).map((one) => one.localName),
              words: document.querySelector('article').innerText.split(/\\s+/).length,
              wide: document.documentElement.scrollWidth - document.documentElement.clientWidth,
            })""",
            LIVE,
        )
        found += [f"{file.name}: {kind}: {one}" for kind in ("dead", "silent") for one in seen[kind]]
        found += [f"{file.name}: {seen['wide']} px too wide"] if seen["wide"] > 0 else []
        found += [f"{file.name}: {seen['words']} words"] if seen["words"] < 50 else []
    drawn = page.goto((whole / "power.html").as_uri()) and page.evaluate(
        "document.querySelectorAll('article :is(math, svg)').length"
    )
    context.close()
    assert found == []
    assert drawn > 50
