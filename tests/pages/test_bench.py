"""The whole carburetor on the bench: every number computed at build, a fault to be hidden and found, whole without a script."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from grader.circuits.curves import curves
from grader.circuits.faults import FAULTS
from grader.items.course import Course, load_course
from grader.items.model import Fence
from grader.items.sheet_values import conditions_at
from grader.pages.bench import bench_html
from grader.pages.lessons import Fault, Page

ROOT = Path(__file__).parents[2]


@cache
def course() -> Course:
    return load_course(ROOT)


def block(*lines: str) -> Fence:
    return Fence("bench", 1, lines)


def settings(*lines: str) -> dict[str, Any]:
    page = Page("lessons/diagnosis.md", "p1")
    tree = html.fromstring(bench_html(block(*lines), page, course().specimens))
    held: dict[str, Any] = json.loads(tree.find("script").text)
    assert page.benches == [lines[0].partition(": ")[2]]
    return held


def test_every_state_is_the_computed_carburetor_s() -> None:
    held = settings("specimen: T-2", "altitudes: 0 ft, 4000 ft")
    specimen = course().specimens["T-2"].specimen
    faults = [fault for fault in FAULTS.values() if fault.fits(specimen)]
    assert [fault["says"] for fault in held["faults"]] == [fault.says for fault in faults]
    assert held["altitudes"] == ["sea level", "4000\u202fft"]
    for place, height in enumerate((0.0, 1219.2)):
        computed = curves(specimen, faults, conditions_at(height))
        states = held["states"][0][place]
        assert len(states) == len(computed) == len(faults) + 1
        for state, curve in zip(states, computed, strict=True):
            for ratio, vacuum, reading in zip(state["ratio"], state["vacuum"], curve.readings, strict=True):
                assert ratio is None if reading.reason else ratio == pytest.approx(reading.air_fuel, abs=0.0051)
                assert (
                    vacuum is None
                    if reading.vacuum_inHg != reading.vacuum_inHg
                    else vacuum == pytest.approx(reading.vacuum_inHg, abs=0.051)
                )


def test_the_other_fuel_has_its_own_states() -> None:
    held = settings("specimen: T-1")
    assert [fuel["even"] for fuel in held["fuels"]] == [14.7, 14.1]
    assert held["states"][0] != held["states"][1]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("specimen: T-9",), "is not a specimen of this course"),
        ((), "is not a specimen of this course"),
        (("specimen: T-1", "fault: rod-stuck-up"), "`fault` is not a field of a bench block"),
        (("specimen: T-1", "altitudes: 0 ft, 0 m"), "an altitude stands twice"),
        (("specimen: T-1", "altitudes: 0 ft, high"), "is not"),
        (("specimen: T-1", "altitudes: 1 m, 2 m, 3 m, 4 m, 5 m, 6 m, 7 m"), "7 altitudes; write 6 at most"),
    ],
)
def test_a_wrong_block_is_told_so(lines: tuple[str, ...], said: str) -> None:
    with pytest.raises(Fault, match=said):
        bench_html(block(*lines), Page("lessons/diagnosis.md", "p1"), course().specimens)


@pytest.fixture(scope="module")
def page_file(built_once: Callable[..., Path]) -> Path:
    return built_once("bench", _build) / "site" / "bench.html"


def _build(folder: Path) -> None:
    from grader.pages.build import build_site

    made = folder / "course"
    shutil.copytree(Path(__file__).with_name("course"), made)
    shutil.copytree(ROOT / "questions" / "specimens", made / "questions" / "specimens", dirs_exist_ok=True)
    text = "---\ntitle: Bench\norder: 300\n---\n\nHere.\n\n```bench\nspecimen: T-1\naltitudes: 0 ft, 4000 ft\n```\n"
    (made / "lessons" / "bench.md").write_text(text, encoding="utf-8")
    build_site(made, folder / "site", variants=1)


def _choose(page: Any, label: str, option: str) -> None:
    page.get_by_label(label, exact=True).select_option(label=option)


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1100])
def test_fault_altitude_and_fuel_change_what_is_read(browser: Any, page_file: Path, scheme: str, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 844}, color_scheme=scheme)
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(page_file.as_uri())
    table = page.locator("course-bench table")
    assert "rod stuck down" not in table.inner_text()
    _choose(page, "Fault", "rod stuck down")
    assert "The metering rods stick in the jets at the bottom." in page.locator(".bench-says").inner_text()
    # The course's model: three signs leaner at heavy load and full throttle, nothing elsewhere.
    signs = page.locator("course-bench tbody").nth(2).locator("b").all_inner_texts()
    assert signs == ["0", "0", "0", "0", "+++", "+++"]
    before = table.inner_text()
    _choose(page, "Altitude", "4000\u202fft")
    assert table.inner_text() != before
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert "NaN" not in page.locator("course-bench").inner_html()
    assert errors == []
    page.close()


@pytest.mark.browser
def test_a_hidden_fault_is_named_nowhere_until_it_is_found(browser: Any, page_file: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(page_file.as_uri())
    page.evaluate("Math.random = () => 0.5")
    page.get_by_role("button", name="Hide a fault from me").click()
    hidden = page.evaluate("document.querySelector('course-bench').hidden_")
    name = page.evaluate(
        "document.querySelector('course-bench').settings.faults[document.querySelector('course-bench').hidden_ - 1].name"
    )
    assert hidden > 0
    for part in ("table", ".bench-says", ".course-curves"):
        assert name not in page.locator(f"course-bench {part}").inner_text()
    assert not page.get_by_label("Fault", exact=True).is_visible()
    other = "needle worn level 3/8 in high" if name != "needle worn level 3/8 in high" else "rod stuck up"
    _choose(page, "Which fault is it?", other)
    assert page.locator(".bench-says").inner_text().startswith(f"Not {other}.")
    _choose(page, "Which fault is it?", name)
    assert page.locator(".bench-says").inner_text().startswith(f"Right: {name}.")
    assert page.get_by_label("Fault", exact=True).is_visible()
    page.close()


@pytest.mark.browser
def test_without_a_script_the_healthy_curve_stands(browser: Any, page_file: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(page_file.as_uri())
    assert page.locator("course-bench svg").is_visible()
    assert "healthy, air-fuel ratio" in page.locator("course-bench table").inner_text()
    context.close()
