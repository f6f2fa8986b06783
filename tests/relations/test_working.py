from __future__ import annotations

import math
import re
import unicodedata
from pathlib import Path

import pytest
from lxml import etree

from grader.base.errors import RangeError, UseError
from grader.base.quantities import Quantity, read_quantity, unit
from grader.circuits.catalog import relations
from grader.items.course import load_course
from grader.items.variants import draw_question
from grader.relations.language import parse
from grader.relations.working import Step, coherent, working


def worked(text: str, in_unit: str, **givens: str) -> list[Step]:
    return working(parse(text, relations()), {name: read_quantity(value) for name, value in givens.items()}, unit(in_unit))


def lines(steps: list[Step]) -> list[str]:
    return [step.text.replace("\u202f", " ").replace("\u00a0", " ") for step in steps]


def test_the_open_area_is_worked_out_in_millimetres() -> None:
    # Jet .095 in round a .067 in rod: 2.29843 mm² (computed by hand from the two diameters).
    steps = worked("open_area(jet_bore, rod_diameter)", "mm^2", jet_bore="0.095 in", rod_diameter="0.067 in")
    assert lines(steps) == [
        "D = jet bore = 0.095 in = 2.413 mm",
        "d = rod diameter = 0.067 in = 1.7018 mm",
        "A = π/4 · (D² − d²)",
        "A = π/4 × (2.413² − 1.7018²)",
        "A = 2.298 mm²",
    ]
    assert [step.says for step in steps] == [
        "The numbers, in the units that go into the formula:",
        "",
        "Open area of the jet round the rod:",
        "With the numbers put in:",
        "The result, rounded only here:",
    ]


def test_where_the_trades_units_do_not_fit_the_formula_si_goes_in() -> None:
    # Jet 1 mm, Cd 0.65, sg 0.76, 104 cm of water: 2.010 g/s. H. B. Keswani, Internal Combustion Engines, ex. 9.1, as worked in
    # an open companion to the textbook.
    steps = worked(
        "jet_flow(C_d, disc_area(jet_bore), density, head)",
        "g/s",
        C_d="0.65",
        jet_bore="1 mm",
        density="760 kg/m^3",
        head="1040 mmH2O",
    )
    assert lines(steps)[4:] == [
        "A = 0.785398 mm² = 7.85398 × 10⁻⁷ m²",
        "ρ = density = 760 kg/m³",
        "Δp = head = 1040 mmH₂O = 10198.9 Pa",
        "m = C_d A · √(2 ρ Δp)",
        "m = 0.65 × 7.85398 × 10⁻⁷ × √(2 × 760 × 10198.9)",
        "m = 0.002010 kg/s = 2.010 g/s",
    ]


def test_like_quantities_go_in_in_the_unit_that_is_asked_for_where_that_fits() -> None:
    # Vacuum 18 inHg below 101.325 kPa is 40.370 kPa absolute: by the conventional inch of mercury, 3386.389 Pa.
    steps = worked("absolute_pressure(ambient, vacuum)", "kPa", ambient="101.325 kPa", vacuum="18 inHg")
    assert lines(steps)[1:] == ["Δp = vacuum = 18 inHg = 60.955 kPa", "p = p_a − Δp", "p = 101.325 − 60.955", "p = 40.37 kPa"]


def test_two_results_of_one_symbol_are_numbered() -> None:
    steps = worked(
        "open_area(jet_bore, power_step) / open_area(jet_bore, cruise_step)",
        "1",
        jet_bore="0.095 in",
        power_step="0.060 in",
        cruise_step="0.070 in",
    )
    assert lines(steps)[-3:] == ["A₁/A₂", "2.74889/2.09017", "1.315"]
    assert "A₁ = π/4 · (D² − d²)" in lines(steps)


def test_the_case_that_counts_is_named_and_the_other_left_out() -> None:
    steps = worked(
        "isentropic_flow(1, 1, p, T, p_d)".replace("1, 1", "1, area"),
        "g/s",
        area="100 mm^2",
        p="101 kPa",
        T="288 K",
        p_d="40 kPa",
    )
    assert "p_d/p_u = 0.39604 ≤ 0.528282 = (2/(γ + 1))^(γ/(γ − 1))" in lines(steps)
    assert not any(" if " in line for line in lines(steps)[-2:])


def test_plain_arithmetic_is_worked_out_in_the_units_given_where_they_fit() -> None:
    assert lines(worked("2 * jet_bore", "in", jet_bore="0.095 in")) == ["2 · jet bore", "2 × 0.095", "0.1900 in"]
    assert lines(worked("air / fuel", "1", air="30 g/s", fuel="2 g/s")) == ["air/fuel", "30/2", "15.00"]
    assert lines(worked("a + b", "mm", a="1 in", b="2 mm")) == [
        "a = 1 in = 0.0254 m",
        "b = 2 mm = 0.002 m",
        "a + b",
        "0.0254 + 0.002",
        "0.02740 m = 27.40 mm",
    ]


def test_a_number_is_shown_as_its_author_wrote_it_if_that_is_a_number() -> None:
    assert lines(worked("disc_area(bore)", "mm^2", bore="0.0950 in"))[0] == "D = bore = 0.0950 in = 2.413 mm"
    assert lines(worked("disc_area(bore)", "mm^2", bore="1 1/4 in"))[0] == "D = bore = 1 1/4 in = 31.75 mm"
    assert lines(worked("disc_area(bore)", "mm^2", bore="1.5e-2 in"))[0] == "D = bore = 0.015 in = 0.381 mm"
    nasty = Quantity("#panic()/2", read_quantity("2 mm").number, unit("mm"))
    steps = working(parse("disc_area(bore)", relations()), {"bore": nasty}, unit("mm^2"))
    assert not any("panic" in step.text + step.mathml + step.typst for step in steps)


def test_what_was_left_out_is_shown_with_its_usual_value() -> None:
    # 1 m head of 740 kg/m³ = 7256.9 Pa, by hand with g = 9.80665.
    assert lines(worked("fuel_head(fuel, height)", "Pa", fuel="740 kg/m^3", height="1000 mm")) == [
        "ρ = fuel = 740 kg/m³",
        "h = height = 1000 mm = 1 m",
        "g = 9.80665 m/s²",
        "Δp = ρ g h",
        "Δp = 740 × 9.80665 × 1",
        "Δp = 7257 Pa",
    ]


def test_a_fraction_of_an_inch_stays_as_it_was_written() -> None:
    assert lines(worked("disc_area(ball)", "mm^2", ball="5/32 in"))[0] == "D = ball = 5/32 in = 3.96875 mm"


def test_the_last_line_holds_the_value_of_the_expression_for_every_relation() -> None:
    for relation in relations().values():
        inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
        put = {}
        for part in inside.split(","):
            name, _, number = (p.strip() for p in part.partition("="))
            put[name] = Quantity(number, read_quantity(number).number, relation.symbols[name].unit)
        steps = relation.working(put)
        last = float(relation(**{name: q.si for name, q in put.items()}))
        printed = steps[-1].text.rpartition("= ")[2].split("\u202f")[0].rstrip("°")
        assert computed(f"x = {printed}") == pytest.approx(relation.result.unit.from_si(last), rel=6e-4), relation.name
        for step in steps:
            assert etree.fromstring(step.mathml).get("alttext") == step.text


def computed(line: str) -> float:
    """The right side of a line with numbers put in, as a person with a calculator would work it out."""
    text = (
        line.rpartition(" = ")[2].replace("×", "*").replace("−", "-").replace("^", "**").replace("π", "pi").replace("ln(", "log(")
    )
    text = re.sub("[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda m: f"**({unicodedata.normalize('NFKC', m[0])})".replace("−", "-"), text)
    text = re.sub(r"√([\d.]+)", r"sqrt(\1)", text).replace("√(", "sqrt(")
    names = ("sqrt", "exp", "log", "sin", "cos", "tan", "asin", "acos", "atan", "pi")
    known = {"min": min, "max": max, **{name: getattr(math, name) for name in names}}
    return float(eval(text, known))  # noqa: S307 - text that our own typesetter wrote


@pytest.mark.parametrize("pressure", ["40", "80"])
def test_the_numbers_put_in_are_those_of_the_case_that_counts(pressure: str) -> None:
    steps = worked(
        "isentropic_flow(1, area, p, T, p_d, R)",
        "g/s",
        area="100 mm^2",
        p="101 kPa",
        T="288 K",
        p_d=f"{pressure} kPa",
        R="286.9 J/(kg*K)",
    )
    # Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, ex. 11.5, recomputed: 19.978 and 24.059 g/s.
    assert computed(lines(steps)[-2]) == pytest.approx({"40": 24.059, "80": 19.978}[pressure], rel=1e-4)


def test_the_line_with_the_numbers_put_in_gives_the_result_for_every_relation() -> None:
    for relation in relations().values():
        inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
        put = {}
        for part in inside.split(","):
            name, _, number = (p.strip() for p in part.partition("="))
            put[name] = Quantity(number, read_quantity(number).number, relation.symbols[name].unit)
        steps = relation.working(put)
        first = steps[-1].text.split(" = ")[1].split("\u202f")[0].rstrip("°")
        printed = computed(f"x = {first}")
        assert computed(steps[-2].text) == pytest.approx(printed, rel=2e-3), relation.name


def test_numbers_put_in_give_the_result_that_is_printed() -> None:
    relation = relations()["open_area"]
    units = {s.name: s.unit for s in relation.symbols.values()}
    node = relation.expression.node
    assert coherent(node, {"D": 0.0024, "d": 0.0017}, units, unit("mm^2"))
    assert not coherent(node, {"D": 0.0024, "d": 0.0017}, units, unit("cm^2"))
    flow = relations()["jet_flow"]
    units = {s.name: s.unit for s in flow.symbols.values()}
    assert not coherent(flow.expression.node, {"C_d": 0.7, "A": 1e-6, "rho": 740, "delta_p": 1000}, units, unit("g/s"))


def test_a_value_that_is_missing_of_another_kind_or_out_of_range_is_refused() -> None:
    with pytest.raises(UseError, match="`rod_diameter` has no value here"):
        worked("open_area(jet_bore, rod_diameter)", "mm^2", jet_bore="2 mm")
    with pytest.raises(UseError, match="open_area needs a value for d"):
        relations()["open_area"].working({"D": read_quantity("2 mm")})
    with pytest.raises(UseError, match="d is given in kPa; give it in mm or the like"):
        relations()["open_area"].working({"D": read_quantity("2 mm"), "d": read_quantity("2 kPa")})
    with pytest.raises(UseError, match="open_area has no argument `x`; they are D, d"):
        relations()["open_area"].working({"x": read_quantity("2 mm")})
    with pytest.raises(RangeError, match="it must hold that 0 ≤ d < D"):
        worked("open_area(jet_bore, rod_diameter)", "mm^2", jet_bore="2 mm", rod_diameter="3 mm")


def test_a_result_that_shares_its_symbol_with_another_meaning_is_numbered() -> None:
    steps = lines(
        worked(
            "jet_flow(0.75, 2 * disc_area(jet_bore), density, head)", "g/s", jet_bore="1 mm", density="740 kg/m^3", head="30 kPa"
        )
    )
    assert "A₁ = π/4 · D²" in steps
    assert "A = 2 A₁ = 2 × 0.785398 mm² = 1.5708 × 10⁻⁶ m²" in steps
    plain = lines(
        worked("jet_flow(0.75, disc_area(jet_bore), density, head)", "g/s", jet_bore="1 mm", density="740 kg/m^3", head="30 kPa")
    )
    assert "A = π/4 · D²" in plain  # here A is the same thing in both relations


def test_an_argument_that_is_an_expression_shows_the_numbers_put_in() -> None:
    given = {"jet_bore": "1 mm", "draw": "320 Pa", "lifts_at": "108.2 Pa"}
    found = worked("jet_flow(0.75, disc_area(jet_bore), 740, draw - lifts_at)", "g/s", **given)
    assert "Δp = draw − lifts at = 320 Pa − 108.2 Pa = 211.8 Pa" in lines(found)
    (step,) = (step for step in found if step.text.startswith("Δp = draw"))
    # Words set as <mtext> count as space in MathML, and the sign between them as a prefix without room.
    assert "<mi>draw</mi>" in step.mathml.replace("\u00a0", " ")
    assert '<mo form="infix">−</mo>' in step.mathml


def test_degrees_are_put_into_an_expression_as_kelvins() -> None:
    # 20 °C is 293.15 K (the definition of the scales); degrees are not added as they stand.
    steps = lines(worked("air_density(pressure, inlet + rise)", "kg/m^3", pressure="100 kPa", inlet="20 degC", rise="10 dK"))
    assert "T = inlet + rise = 293.15 K + 10 K = 303.15 K" in steps


def test_no_line_of_a_real_items_working_has_its_left_side_again_on_its_right() -> None:
    course = load_course(Path(__file__).parents[2])
    seen = 0
    for item in course.items.values():
        question = draw_question(item, b"test", "paper", course.figures)
        for part in getattr(question, "parts", (question,)):
            for text in (step.text for step in part.working if step.text):
                left, sign, right = text.partition(" = ")
                seen += bool(sign)
                assert not re.search(rf"(?<![\w.]){re.escape(left)}(?![\w₀-₉])", right), (item.id, text)
    assert seen > 100
