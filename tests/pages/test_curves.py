"""A block of curves: plot and signs of the computed carburetor, in the page's own look, and every fault of the block named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from grader.items.course import load_practice
from grader.items.model import Fence
from grader.pages.curves import curves_html, curves_style
from grader.pages.fences import inline_number, worked_html
from grader.pages.lessons import Fault, Page

COURSE = load_practice(Path(__file__).parents[2])


def block(*lines: str) -> str:
    return curves_html(Fence("curves", 7, lines), Page("lessons/power.md", "p1"), COURSE.specimens).replace("\u202f", " ")


def cells(html: str, fault: str) -> list[list[str]]:
    """The cells under a fault, their tags taken out."""
    after = html[html.index(f'colspan="6">{fault}') :]
    return [re.sub(r"<[^>]+>", " ", cell).split() for cell in re.findall(r"<td>(.*?)</td>", after.split("</tbody>")[0])]


def test_signs_are_what_the_trade_expects_of_stuck_rods() -> None:
    # Common practice, no source: rods stuck down are lean where they should be up; stuck up, rich where they should be down.
    html = block("specimen: T-1", "faults: rod-stuck-down, rod-stuck-up")
    assert [cell[:2] for cell in cells(html, "rod stuck down")][3:] == [["0", "same"], ["+++", "leaner"], ["+++", "leaner"]]
    assert [cell[:2] for cell in cells(html, "rod stuck up")][3:] == [["−−−", "richer"], ["0", "same"], ["0", "same"]]
    assert "The metering rods stick at the top." in html
    assert "T-1 at sea level" in html


def test_a_starved_engine_is_marked_and_explained() -> None:
    html = block("specimen: T-1", "faults: inlet-blocked-to-1/4")
    assert cells(html, "inlet blocked to 1/4")[5][2].endswith("*")
    assert "* starved" in html
    assert "* starved" not in block("specimen: T-1", "faults: rod-stuck-up")


def test_at_altitude_sea_level_stands_beside() -> None:
    html = block("specimen: T-2", "altitude: 4000 ft", "caption: Thin air & all.")
    assert "healthy at sea level" in html
    assert "Thin air &amp; all. T-2 at 4000 ft" in html
    assert "course-note" not in html  # no fault, no signs to explain


def test_two_blocks_of_a_page_share_no_id_and_bring_no_style_of_their_own() -> None:
    page = Page("lessons/power.md", "p1")
    first = curves_html(Fence("curves", 7, ("specimen: T-1",)), page, COURSE.specimens)
    page.blocks["one"] = first
    second = curves_html(Fence("curves", 9, ("specimen: T-1",)), page, COURSE.specimens)
    assert not set(re.findall(r' id="([^"]+)"', first)) & set(re.findall(r' id="([^"]+)"', second))
    assert "<style" not in first


def test_every_rule_of_the_look_stays_inside_the_plots() -> None:
    style = curves_style().replace("@media print {", "")
    selectors = [part for found in re.findall(r"([^{}]+)\{", style) for part in found.split(",")]
    assert len(selectors) > 20
    assert [one for one in selectors if ".course-curves" not in one] == []


@pytest.mark.parametrize(
    ("lines", "code", "told"),
    [
        (("specimen: T-9",), "unknown-specimen", "there are T-1, T-2"),
        (("specimen: T-1", "faults: rod-stuck"), "unknown-fault", "may be `rod-stuck-down` or `rod-stuck-up`"),
        (("specimen T-1",), "wrong-block", "is not a line of a curves block"),
        (("specimen: T-1", "altitude: 40 psi"), "wrong-block", "not an altitude"),
    ],
)
def test_what_is_wrong_in_a_block_is_a_fault(lines: tuple[str, ...], code: str, told: str) -> None:
    with pytest.raises(Fault) as caught:
        block(*lines)
    assert caught.value.code == code
    assert told in str(caught.value)


def test_lessons_take_numbers_from_a_sheet() -> None:
    assert inline_number("T-1 main_jet", COURSE.relations, COURSE.specimens).replace("\u202f", " ") == "0.093 in"
    # Plane geometry, by hand: pi/4 * (0.093^2 - 0.061^2) in^2 * 645.16 mm^2/in^2 = 2.497 mm^2
    typed = "open_area D=T-1 main_jet, d=T-1 rod_steps 3 diameter as mm^2 to 4 figures"
    assert inline_number(typed, COURSE.relations, COURSE.specimens).replace("\u202f", " ") == "2.497 mm²"
    fence = Fence("worked", 1, ("relation: open_area", "D: T-1 main_jet", "d: T-1 rod_steps 3 diameter", "unit: mm^2"))
    assert "0.093\u202fin" in worked_html(fence, COURSE.relations, COURSE.specimens)
    with pytest.raises(Fault) as caught:
        inline_number("T-1 main_get", COURSE.relations, COURSE.specimens)
    assert "did you mean `main_jet`?" in str(caught.value)
