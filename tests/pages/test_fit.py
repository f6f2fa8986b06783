"""Formulas that fit their column: folded where they are far too wide, readable all the same, whole again where there is room."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from grader.base.quantities import read_quantity, unit
from grader.circuits.catalog import relations
from grader.pages.sample import steps_html

pytestmark = pytest.mark.browser

ASSETS = Path(__file__).parents[2] / "grader" / "pages" / "assets"
READABLE = 12  # px: common practice, no source
GIVEN = {
    "D": "0.0935 in",
    "p": "4.5 psi",
    "W": "0.030 lbf",
    "l_n": "0.50 in",
    "l_w": "1.90 in",
    "l_f": "2.20 in",
    "A": "1.9 in^2",
    "H": "0.80 in",
    "rho": "736.3 kg/m^3",
}
SEEN = """() => [...document.querySelectorAll('.course-formula')].map((one) => ({
  over: one.scrollWidth - one.clientWidth, folded: one.querySelectorAll('.formula-folded').length, tab: one.tabIndex,
  letters: Math.min(...[...one.querySelectorAll('math')].map((math) => parseFloat(getComputedStyle(math).fontSize))),
  text: one.textContent, html: one.innerHTML,
}))"""


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The worked steps of the course's widest formula, at desk width."""
    file = tmp_path_factory.mktemp("fit") / "worked.html"
    steps = relations()["closing_submersion"].working({name: read_quantity(text) for name, text in GIVEN.items()}, unit("in"))
    look, script = (ASSETS / "course.css").as_uri(), (ASSETS / "fit.js").as_uri()
    file.write_text(
        '<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f'<link rel="stylesheet" href="{look}"><style>html {{font-size: 20px}} body {{margin: 16px}}</style>'
        f'<body data-md-color-scheme="default"><div class="md-typeset">{steps_html(steps)}</div><script src="{script}"></script>',
        "utf-8",
    )
    opened = browser.new_page(viewport={"width": 1440, "height": 900})
    opened.goto(file.as_uri())
    opened.evaluate("document.fonts.ready.then(() => true)")
    yield opened
    opened.close()


def seen(page: Any, wide: int) -> list[dict[str, Any]]:
    page.set_viewport_size({"width": wide, "height": 900})
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    found: list[dict[str, Any]] = page.evaluate(SEEN)
    return found


@pytest.mark.parametrize("wide", [320, 390])
def test_a_formula_far_too_wide_is_folded_and_not_set_too_small_to_read(page: Any, wide: int) -> None:
    whole, narrow = seen(page, 1440), seen(page, wide)
    assert sum(one["folded"] for one in whole) == 0
    assert max(one["folded"] for one in narrow) >= 2
    for before, now in zip(whole, narrow, strict=True):
        assert now["over"] <= 1
        assert now["tab"] == -1
        assert now["letters"] >= READABLE
        assert now["text"] == before["text"]  # read in the same order, nothing lost


def test_with_room_again_a_formula_is_as_it_was(page: Any) -> None:
    before = [one["html"] for one in seen(page, 1440)]
    assert [one["html"] for one in seen(page, 320)] != before
    assert [one["html"] for one in seen(page, 1440)] == before


def test_brackets_stay_round_what_they_hold(page: Any) -> None:
    seen(page, 390)
    torn = """() => [...document.querySelectorAll('.formula-folded mtr')].filter((row) => {
      const marks = [...row.querySelectorAll('mo')].map((mark) => mark.textContent);
      return marks.filter((mark) => mark === '(').length !== marks.filter((mark) => mark === ')').length; }).length"""
    assert page.evaluate(torn) == 0
