from __future__ import annotations

import re
from pathlib import Path

import pytest

from grader.circuits.catalog import relations
from grader.items.model import Fence
from grader.pages.fences import figure_block, inline_number, relation_html, worked_html
from grader.pages.lessons import Fault, Page


def plain(text: str) -> str:
    return text.replace("\u202f", " ")


def worked(*lines: str) -> Fence:
    return Fence("worked", 1, lines)


@pytest.mark.parametrize(
    ("asked", "printed"),
    [
        # Plane geometry, by hand: pi/4 * (2.413^2 - 1.7018^2) mm^2 = 2.29843... mm^2; 1 in = 25.4 mm exactly.
        ("open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures", "2.30 mm²"),
        ("open_area D=0.095 in, d=0.067 in as mm^2 to 5 figures", "2.2984 mm²"),
        ("open_area D=0.095 in, d=0.067 in as mm^2", "2.30 mm²"),
        # The same area: 2.29843 mm^2 / 645.16 mm^2 = 0.00356257 in^2.
        ("open_area D=0.095 in, d=0.067 in as in^2 to 4 figures", "0.003563 in²"),
    ],
)
def test_a_number_in_the_text_is_what_geometry_gives(asked: str, printed: str) -> None:
    assert plain(inline_number(asked, relations())) == printed


@pytest.mark.parametrize(
    ("asked", "code", "said"),
    [
        ("open_aera D=0.095 in, d=0.067 in as mm^2", "unknown-relation", "did you mean `open_area`?"),
        ("open_area D=0.095 in as mm^2", "missing-symbol", "open_area lacks d"),
        ("open_area D=0.095 in, d=0.067 in, e=1 mm as mm^2", "unknown-symbol", "open_area takes no `e`"),
        ("open_area D=0.095 in, d=5 kPa as mm^2", "dimension", "d of open_area is wanted in mm, here stands 5 kPa"),
        ("open_area D=0.095 in, d=0.067 in as kPa", "dimension", "open_area gives a value in mm^2, the unit says kPa"),
        ("open_area D=0.067 in, d=0.095 in as mm^2", "out-of-range", "open_area"),
        ("open_area D=0.095 in, d=0.067 in as furlongs", "wrong-inline", "furlongs"),
        ("open_area", "wrong-inline", "is not a number to compute"),
        ("", "wrong-inline", "is not a number to compute"),
        ("__import__('os') D=1 in as mm", "wrong-inline", "is not a number to compute"),
    ],
)
def test_a_wrong_number_in_the_text_says_what_is_wrong_and_how_to_mend_it(asked: str, code: str, said: str) -> None:
    with pytest.raises(Fault) as fault:
        inline_number(asked, relations())
    assert fault.value.code == code
    assert said in plain(str(fault.value))
    assert fault.value.mend


def test_a_relation_block_holds_formula_symbols_range_and_source() -> None:
    html = relation_html(Fence("relation", 1, ("open_area",)), relations())
    assert html.count("<math") >= 5
    assert "bore of the jet" in html
    assert "plane geometry: circle less circle" in html
    assert "Holds for" in html
    assert len(re.findall("<tr>", html)) == 4


def test_a_worked_block_ends_in_the_value_that_geometry_gives() -> None:
    html = worked_html(worked("relation: open_area", "D: 0.095 in", "d: 0.067 in", "unit: mm^2"), relations())
    assert "2.298" in html  # by hand, see above
    assert "0.095" in html


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        (("D: 0.095 in", "unit: mm^2"), "wrong-block"),
        (("relation: open_area", "D: 0.095 in", "d: 0.067 in"), "wrong-block"),
        (("relation: open_area", "D: 0.095 in", "D: 0.095 in", "d: 0.067 in", "unit: mm^2"), "wrong-block"),
        (("relation: open_area", "D 0.095 in", "unit: mm^2"), "wrong-block"),
        (("relation: open_area", "D: 0.067 in", "d: 0.095 in", "unit: mm^2"), "out-of-range"),
        (("relation: nothing", "D: 0.067 in", "unit: mm^2"), "unknown-relation"),
        ((), "wrong-block"),
    ],
)
def test_a_wrong_worked_block_is_refused(lines: tuple[str, ...], code: str) -> None:
    with pytest.raises(Fault) as fault:
        worked_html(worked(*lines), relations())
    assert fault.value.code == code


def test_a_figure_stands_inline_with_ids_of_its_own_and_its_caption_escaped(tmp_path: Path) -> None:
    file = tmp_path / "jet.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Jet</title><desc>A hole.</desc></svg>', "utf-8"
    )
    fence = Fence("figure", 1, ("name: jet", "caption: A <jet> & more"))
    page = Page("lessons/a.md", "p3", blocks={"x": ""})
    html = figure_block(fence, page, {"jet": file})
    assert 'id="p3f1-title"' in html
    assert "A &lt;jet&gt; &amp; more" in html


@pytest.mark.parametrize("lines", [("name: ../secret",), ("name: jot",), ("jet",), ()])
def test_a_figure_that_is_not_there_is_refused(lines: tuple[str, ...], tmp_path: Path) -> None:
    with pytest.raises(Fault):
        figure_block(Fence("figure", 1, lines), Page("lessons/a.md", "p0"), {"jet": tmp_path / "jet.svg"})
