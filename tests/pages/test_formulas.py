"""The formula sheet: what stands on it, and what a wrong block is told."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from lxml import html as markup

from grader.circuits.catalog import by_circuit, relations
from grader.items.course import load_course
from grader.items.formula_numbers import FormulaNumbers, example_numbers, formula_numbers
from grader.items.model import Fence
from grader.pages.formulas import LONGEST, SHORT, formula_html, formulas_html
from grader.pages.lessons import Fault
from grader.relations.relation import Relation, half_last_digit

ALL = list(relations().values())
ROOT = Path(__file__).parents[2]
OWN = FormulaNumbers(relations(), {})
"""Every formula with the numbers of its own statement."""


def block(*lines: str) -> Fence:
    return Fence("formulas", 1, lines)


def text_of(fragment: str) -> str:
    return " ".join(markup.fromstring(fragment).text_content().replace("\u202f", " ").split())


def test_the_whole_sheet_holds_every_relation_once() -> None:
    anchors = re.findall(r'<h3 id="formula-([\w-]+)"', formulas_html(block(), OWN))
    assert sorted(anchors) == sorted(name.replace("_", "-") for name in relations())


@pytest.mark.parametrize("circuit", by_circuit())
def test_the_sheet_of_a_circuit_holds_that_circuit_s_relations_in_their_order(circuit: str) -> None:
    anchors = re.findall(r'<h3 id="formula-([\w-]+)"', formulas_html(block(f"circuit: {circuit}"), OWN))
    assert anchors == [relation.name.replace("_", "-") for relation in by_circuit()[circuit]]
    index = re.findall(r'href="#formula-([\w-]+)"', formulas_html(block(f"circuit: {circuit}"), OWN))
    assert index == anchors


@pytest.mark.parametrize("relation", ALL, ids=[relation.name for relation in ALL])
def test_every_formula_says_what_a_person_needs(relation: Relation) -> None:
    found = formula_html(relation, OWN)
    etree.fromstring(found.replace("<wbr>", "<wbr/>").replace(" data-search-exclude", ""))  # well formed
    text = text_of(found)
    assert relation.name in text
    assert relation.source in text
    assert "Holds for" in text
    for symbol in relation.symbols.values():
        assert symbol.says in text
        assert (symbol.unit.shown or "–") in text
    # Every symbol of the formula as it stands is explained: the letters in front of the table are those in it.
    rows = markup.fromstring(found).findall(".//tbody/tr")
    assert len(rows) == len(relation.symbols)


@pytest.mark.parametrize("relation", ALL, ids=[relation.name for relation in ALL])
def test_the_worked_line_ends_in_the_number_of_the_example(relation: Relation) -> None:
    wanted = relation.example.rpartition("= ")[2]
    result = relation.working(example_numbers(relation), relation.result.unit)[-1]
    last = markup.fromstring(formula_html(relation, OWN)).find_class("formula-example")[0].findall("p")[-1]
    assert last.text_content() == markup.fromstring(result.mathml).text_content()
    number = result.text.rpartition("= ")[2].split("\u202f")[0].rstrip("°").replace("−", "-")
    number = number.translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")).replace(" × 10", "e")
    assert float(number) == pytest.approx(float(wanted), rel=5.1e-4, abs=1.01 * half_last_digit(wanted))


def test_a_formula_too_long_for_a_phone_is_shown_by_the_relations_it_calls() -> None:
    long = relations()["plate_opening"]
    assert len(long.text()) > LONGEST
    assert "shadow opening" in text_of(formula_html(long, OWN)).replace("\u00a0", " ")
    for relation in ALL:
        lines = markup.fromstring(formula_html(relation, OWN)).find_class("formula-example")[0].findall("p")
        assert all(len(re.sub(r"\s", "", line.text_content())) <= SHORT for line in lines[1:])


def test_the_worked_line_has_the_specimen_s_numbers_and_says_whose_they_are() -> None:
    fence = block("circuit: power", "specimen: T-1", "open_area: D = main_jet, d = rod_steps 1 diameter")
    numbers = formula_numbers([fence], relations(), load_course(ROOT).specimens)
    text = text_of(formula_html(relations()["open_area"], numbers))
    assert "On T-1: D = 0.093 in, d = 0.070 in." in text
    assert "worked on T-1" in text
    # π/4 × (2.3622² − 1.778²) mm² = 1.8997 mm², by hand.
    assert "A=1.900mm²" in text
    assert "Example: D = 2.41 mm, d = 1.70 mm." in text_of(formula_html(relations()["open_area"], OWN))


def test_the_example_keeps_the_figures_its_author_wrote() -> None:
    given = example_numbers(relations()["open_area"])
    assert {name: (quantity.written, quantity.unit.name) for name, quantity in given.items()} == {
        "D": ("2.41", "mm"),
        "d": ("1.70", "mm"),
    }


def test_what_may_be_left_out_is_shown_without_idle_noughts() -> None:
    text = text_of(formula_html(relations()["critical_ratio"], OWN))
    assert "ratio of specific heats, 1.4 if left out" in text
    assert "9.80665 m/s² if left out" in text_of(formula_html(relations()["fuel_head"], OWN))


@pytest.mark.parametrize(
    ("lines", "code", "said"),
    [
        (
            ("circuit: pwoer",),
            "unknown-circuit",
            "there are no formulas for `pwoer`; write `circuit:` and one of principles",
        ),
        (("objective: power.1",), "unknown-circuit", "there are no formulas for `objective`"),
        (("power",), "wrong-block", "`power` is not a line of a formulas block"),
        (("circuit: power", "circuit: pump"), "wrong-block", "`circuit` stands twice"),
        (("circuit: <script>",), "unknown-circuit", "there are no formulas for `<script>`"),
    ],
)
def test_a_wrong_block_says_what_is_wrong_and_how_to_mend_it(lines: tuple[str, ...], code: str, said: str) -> None:
    with pytest.raises(Fault) as fault:
        formulas_html(block(*lines), OWN)
    assert fault.value.code == code
    assert said in str(fault.value)


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sheet_goes_on_a_phone(browser: Any, whole: Path, scheme: str) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844}, color_scheme=scheme)
    page.goto((whole / "formulas.html").as_uri())
    page.evaluate("document.fonts.ready.then(() => new Promise((done) => setTimeout(done, 200)))")
    page.evaluate("for (const details of document.querySelectorAll('.formula > details')) details.open = true")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    wide = page.evaluate(
        "[...document.querySelectorAll('.formula .course-formula')].filter(e => e.scrollWidth > e.clientWidth + 1)"
        ".map(e => e.closest('.formula').querySelector('h3').id)"
    )
    assert wide == []
    page.close()


def test_the_page_of_formulas_has_a_block_for_every_circuit() -> None:
    text = (ROOT / "lessons" / "formulas.md").read_text()
    assert re.findall(r"```formulas\ncircuit: (\w+)\nspecimen: T-1\n", text) == list(by_circuit())


def test_the_text_alternative_of_a_formula_is_its_plain_text() -> None:
    found = html.unescape(relations()["open_area"].mathml())
    assert 'alttext="A = π/4 · (D² − d²)"' in found
