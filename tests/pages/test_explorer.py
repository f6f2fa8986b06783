"""Explorers on a page: whole without a script, right with one, by finger, keyboard and link."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from grader.circuits.catalog import relations
from grader.items.model import Fence
from grader.pages.explorer import explorer_html, relations_script
from grader.pages.lessons import Fault, Page

ROOT = Path(__file__).parents[2]
LINES = (
    "relation: open_area",
    "D: 0.080 in to 0.110 in step 0.001 in, 0.093 in",
    "d: 0.050 in to 0.090 in step 0.001 in, 0.070 in",
    "unit: mm^2",
    "drawing: rod in jet",
)


def test_without_a_script_a_table_says_what_the_first_quantity_does() -> None:
    page = Page("lessons/power.md", "p1")
    tree = html.fromstring(explorer_html(Fence("explorer", 1, LINES), page, relations(), {}))
    rows = [[cell.text_content().replace("\u202f", " ") for cell in row.findall("td")] for row in tree.findall(".//tbody/tr")]
    assert [row[0] for row in rows] == ["0.080 in", "0.087 in", "0.093 in", "0.095 in", "0.102 in", "0.110 in"]
    # π/4 × (0.093² − 0.070²) in² × 645.16 = 1.8997 mm², by hand.
    assert rows[2][1] == "1.90 mm²"
    assert "With d = 0.070 in." in tree.text_content().replace("\u202f", " ")
    assert page.explored == ["open_area"]


def test_two_explorers_of_one_relation_have_ids_of_their_own() -> None:
    page = Page("lessons/power.md", "p1")
    marks = [html.fromstring(explorer_html(Fence("explorer", 1, LINES), page, relations(), {})).get("id") for _ in range(2)]
    assert marks == ["explore-open-area", "explore-open-area-2"]


def test_nothing_in_the_settings_ends_the_script() -> None:
    lines = (*LINES, "caption: </script><b>x</b>")
    text = explorer_html(Fence("explorer", 1, lines), Page("lessons/power.md", "p1"), relations(), {})
    tree = html.fromstring(text)
    settings = json.loads(tree.find(".//script").text)
    assert settings["takes"] == ["D", "d"]
    assert tree.findall(".//b") == []
    with pytest.raises(Fault, match="there is no relation"):
        explorer_html(Fence("explorer", 1, ("relation: no", *LINES[1:])), Page("lessons/power.md", "p1"), relations(), {})


def test_a_name_that_is_no_relation_is_left_out_of_the_script() -> None:
    assert "alert" not in relations_script(["disc_area", "alert(1)"], relations())


@pytest.fixture(scope="module")
def site(built_once: Callable[..., Path]) -> Path:
    return built_once("explored", _build) / "site" / "moved.html"


def _build(folder: Path) -> None:
    from grader.pages.build import build_site

    course = folder / "course"
    shutil.copytree(Path(__file__).with_name("course"), course)
    shutil.copytree(ROOT / "questions" / "specimens", course / "questions" / "specimens", dirs_exist_ok=True)
    blocks: list[tuple[str, ...]] = [
        LINES,
        (
            "relation: level_mixture",
            "e: -6 mm to 8 mm step 0.2 mm, 0 mm",
            "h: 2 mm to 14 mm step 0.2 mm, 7.6 mm",
            *("r_1: 14.7", "delta_p: 600 Pa", "rho: 736.3 kg/m^3", "unit: 1", "drawing: fuel level"),
        ),
        (
            "relation: slot_area_below_plate",
            "E: 0 mm to 6 mm step 0.1 mm, 1.5 mm",
            *("z: 1 mm", "l: 4 mm", "w: T-1 slot_width", "unit: mm^2", "drawing: transfer slot"),
        ),
        (
            "relation: shot_volume",
            "D: 15 mm to 24 mm step 0.1 mm",
            "s: 3 mm to 14 mm step 0.1 mm",
            *("eta: 0.85", "unit: cm^3", "drawing: pump stroke"),
        ),
        (
            "relation: coil_free_angle",
            "T: -20 degC to 80 degC step 1 degC, 20 degC",
            *("s: 1.5 deg/K", "T_0: 20 degC", "unit: deg", "drawing: coil"),
        ),
    ]
    fences = "\n\n".join("```explorer\n" + "\n".join(lines) + "\n```" for lines in blocks)
    (course / "lessons" / "moved.md").write_text(f"---\ntitle: Moved\norder: 300\n---\n\nHere.\n\n{fences}\n", encoding="utf-8")
    build_site(course, folder / "site", variants=1)


def answer(page: Any, name: str) -> str:
    text: str = page.locator(f"#explore-{name} output").text_content()
    return " ".join(text.replace("\u202f", " ").split())


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_explorer_moves_by_keyboard_and_button_and_agrees_with_the_relation(browser: Any, site: Path, scheme: str) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844}, color_scheme=scheme)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(site.as_uri())
    assert answer(page, "open-area") == "A = 1.90 mm²"
    jet = page.locator("#explore-open-area input").first
    jet.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert jet.get_attribute("aria-valuetext").replace("\u202f", " ") == "0.095 in"
    in_mm2 = relations()["open_area"](0.095 * 0.0254, 0.070 * 0.0254) * 1e6
    assert answer(page, "open-area") == f"A = {in_mm2:.2f} mm²"
    page.locator("#explore-open-area").get_by_role("button", name="more: diameter of the rod step in the jet").click()
    in_mm2 = relations()["open_area"](0.095 * 0.0254, 0.071 * 0.0254) * 1e6
    assert answer(page, "open-area") == f"A = {in_mm2:.2f} mm²"
    page.locator("#explore-open-area").get_by_role("button", name="Back to the start").click()
    assert answer(page, "open-area") == "A = 1.90 mm²"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate("document.querySelectorAll('course-explorer .explorer-drawing svg').length") == 5
    drawn = page.evaluate("[...document.querySelectorAll('course-explorer svg')].map((one) => one.outerHTML).join()")
    assert "NaN" not in drawn
    assert "undefined" not in drawn
    low = page.evaluate("Math.min(...[...document.querySelectorAll('.explorer-hand > *')].map((one) => one.offsetHeight))")
    assert low >= 48  # gloves
    assert faults == []
    page.close()


HEIGHTS = """(box) => {
  const path = (name) => box.querySelector(name).getAttribute('d');
  const numbers = path('.explorer-line').match(/[\\d.]+ [\\d.]+/g).map((pair) => Number(pair.split(' ')[1]));
  const [top, foot] = path('.explorer-axis').match(/M54 ([\\d.]+)V([\\d.]+)/).slice(1).map(Number);
  const least = Math.min(...numbers), most = Math.max(...numbers);
  return [(most - least) / (foot - top), least >= top && most <= foot + 0.1];
}"""
MARKS = "(box) => [...box.querySelectorAll('.explorer-grid + .fig-label')].map((one) => one.textContent).join()"


@pytest.mark.browser
def test_each_curve_fills_its_axis_which_stands_still_while_one_quantity_moves(browser: Any, site: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(site.as_uri())
    for box in page.locator("course-explorer").all():
        for hand in box.locator("input").all():
            seen = set()
            for place in (0.1, 0.5, 0.9):  # as a finger moves it
                move = "(one, part) => { one.value = Math.round(part * one.max); one.dispatchEvent(new Event('input')); }"
                hand.evaluate(move, place)
                share, inside = box.evaluate(HEIGHTS)
                assert inside
                marks = box.evaluate(MARKS)
                numbers = [float(mark.replace("−", "-")) for mark in marks.split(",")]
                a_tenth = max(numbers) - min(numbers) <= 0.2 * max(
                    map(abs, numbers)
                )  # of the number: rightly shown as nearly flat
                assert share >= 0.4 or a_tenth, box.get_attribute("id")
                seen.add(marks)
            assert len(seen) == 1
    page.close()


@pytest.mark.browser
def test_out_of_range_says_what_must_hold_and_the_drawing_stays_whole(browser: Any, site: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(site.as_uri() + "#explore-open-area=D:0.080,d:0.090")
    assert answer(page, "open-area") == "No value here: it must hold that 0 ≤ d < D"
    assert page.evaluate("/NaN/.test(document.querySelector('#explore-open-area').innerHTML)") is False
    page.close()


@pytest.mark.browser
def test_a_link_brings_a_setting_back_and_a_broken_one_changes_nothing(browser: Any, site: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(site.as_uri())
    page.locator("#explore-coil-free-angle").get_by_role("button", name="more: temperature of the coil").click()
    page.locator("#explore-coil-free-angle").get_by_role("button", name="A link to this setting").click()
    assert page.url.endswith("#explore-coil-free-angle=T:21")
    again = browser.new_page(viewport={"width": 390, "height": 844})
    again.goto(page.url)
    assert answer(again, "coil-free-angle") == "θ f = 1.50°".replace("θ f", answer(page, "coil-free-angle").partition(" =")[0])
    broken = browser.new_page(viewport={"width": 390, "height": 844})
    broken.goto(site.as_uri() + "#explore-coil-free-angle=T:%E0%A4%A,x:1,T:")
    assert answer(broken, "coil-free-angle").endswith("= 0°")
    for one in (page, again, broken):
        one.close()


@pytest.mark.browser
def test_without_scripts_the_table_stands(browser: Any, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(site.as_uri())
    assert page.locator("#explore-open-area table").is_visible()
    assert page.locator("#explore-open-area input").count() == 0
    context.close()
