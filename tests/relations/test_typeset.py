from __future__ import annotations

import math
import re
import time
import unicodedata
from collections.abc import Callable

import pytest
import typst as typst_compiler
from lxml import etree

from grader.base.errors import RangeError
from grader.circuits.catalog import relations
from grader.relations.language import parse
from grader.relations.typeset import Typst, mathml, plain, symbol, typst

KNOWN = {"sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "abs": abs, "min": min, "max": max, "pi": math.pi} | {
    name: getattr(math, name) for name in ("sin", "cos", "tan", "asin", "acos", "atan")
}
# What MathML Core names, and nothing that could run or load anything.
ELEMENTS = {"math", "mrow", "mi", "mn", "mo", "mtext", "mfrac", "msup", "msub", "msqrt", "mtable", "mtr", "mtd", "mspace"}
ATTRIBUTES = {"alttext", "form", "mathvariant", "display", "displaystyle", "width"}


def element(text: str) -> etree._Element:
    return etree.fromstring(text, etree.XMLParser(resolve_entities=False, no_network=True))


def name_of(node: etree._Element) -> str:
    return etree.QName(node).localname


def read_back(node: etree._Element) -> str:
    """A Python expression read out of presentation MathML as a person would: a fraction divides, a raised part is a power."""
    parts = [read_back(child) for child in node]
    match name_of(node):
        case "mfrac" | "msup" as kind:
            return f"(({parts[0]}) {'/' if kind == 'mfrac' else '**'} ({parts[1]}))"
        case "msqrt":
            return f"sqrt({' '.join(parts)})"
        case "msub":
            return spelt(node)
        case "mtable":
            rows = [[read_back(cell) for cell in row] for row in node]
            return "(" + " else ".join(f"({value}) if ({said})" for value, said in rows[:-1]) + f" else ({rows[-1][0]}))"
        case "mn":
            return str(node.text)
        case "mi" | "mtext":
            return {"π": "pi", "if\u00a0": "", "\u00a0and\u00a0": "and", "\u00a0or\u00a0": "or", "not\u00a0": "not"}.get(
                str(node.text), spelt(node)
            )
        case "mo":
            return {
                "\u2062": "*",
                "×": "*",
                "·": "*",
                "−": "-",
                "\u2061": "",
                "≤": "<=",
                "≥": ">=",
                "=": "==",
                "≠": "!=",
                "{": "",
            }.get(str(node.text), str(node.text))
    if len(node) == 2 and node[0].text == "Δ":
        return spelt(node)
    if len(node) == 3 and node[0].text == node[2].text == "|":
        return f"abs({parts[1]})"
    return " ".join(parts)


def spelt(node: etree._Element) -> str:
    """The name in the formula that is set like this."""
    text = "".join(node.itertext()).replace("\u00a0", "_")
    return {"Cd": "C_d", "ρ": "rho", "Δp": "delta_p"}.get(text, text)


def value_of(expression: str, values: dict[str, float]) -> float:
    return eval(expression.strip(), KNOWN, values)  # noqa: S307 - text that the test made out of our own MathML


def test_read_as_a_person_would_the_mathml_has_the_value_of_the_formula(draw_formulas: Callable) -> None:
    # Holds the brackets to what they must be: MathML is read back by rules of its own, then computed by Python.
    compared = 0
    for text, values in draw_formulas(400):
        expression = parse(text)
        try:
            ours = expression.evaluate(values)
            found = value_of(read_back(element(expression.mathml())), values)
        except (RangeError, OverflowError, ZeroDivisionError):
            continue
        if isinstance(found, complex) or abs(ours) > 1e9:
            continue
        assert ours == pytest.approx(found, rel=1e-9, abs=1e-9), (text, expression.plain())
        compared += 1
    assert compared > 200


def test_mathml_is_well_formed_and_holds_nothing_but_mathematics(draw_formulas: Callable) -> None:
    texts = [parse(text).mathml() for text, _ in draw_formulas(200)] + [r.mathml() for r in relations().values()]
    for text in texts:
        root = element(text)
        assert root.get("alttext")
        assert root.tag == "{http://www.w3.org/1998/Math/MathML}math"
        assert {name_of(e) for e in root.iter()} <= ELEMENTS
        assert {a for e in root.iter() for a in e.attrib} <= ATTRIBUTES
        for e in root.iter("{*}mfrac", "{*}msup", "{*}msub"):
            assert len(e) == 2


def test_plain_text_read_from_left_to_right_has_the_value_of_the_formula(draw_formulas: Callable) -> None:
    compared = 0
    for text, values in draw_formulas(400):
        expression = parse(text)
        if any(word in text for word in ("if", "rod_diameter", "abs")):  # words and | | are read by people
            continue
        try:
            ours = expression.evaluate(values)
            found = value_of(in_python(expression.plain()), values)
        except (RangeError, OverflowError, ZeroDivisionError):
            continue
        if isinstance(found, complex) or abs(ours) > 1e9:
            continue
        assert ours == pytest.approx(found, rel=1e-9, abs=1e-9), (text, expression.plain())
        compared += 1
    assert compared > 100


def in_python(line: str) -> str:
    line = re.sub("[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda m: f"**({unicodedata.normalize('NFKC', m[0])})", line).replace("\u2212", "-")
    line = line.replace("^", "**").replace("√(", "sqrt(").replace("π", "pi").replace("ρ", "rho").replace("Δp", "delta_p")
    line = re.sub(r"√([\w.]+)", r"sqrt(\1)", line)
    line = line.replace(" × ", " * ").replace(" · ", " * ")
    return re.sub(r"(?<=[\w)]) (?=[\w(])", " * ", line)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("pi/4 * (D**2 - d**2)", "π/4 · (D² − d²)"),
        ("a - (b - c)", "a − (b − c)"),
        ("(a - b) - c", "a − b − c"),
        ("a - (-b)", "a − (−b)"),
        ("a * (b + c) * 2", "a · (b + c) × 2"),
        ("a / (b * c)", "a/(b c)"),
        ("a / b / c", "a/b/c"),
        ("a / (b / c)", "a/(b/c)"),
        ("(a + b)**2", "(a + b)²"),
        ("(-a)**2", "(−a)²"),
        ("-a**2", "−a²"),
        ("(a**b)**c", "(a^b)^c"),
        ("a**(1/4)", "a^(1/4)"),
        ("a**-2", "a⁻²"),
        ("delta_p**2", "(Δp)²"),
        ("sqrt(2 * rho * delta_p)", "√(2 ρ Δp)"),
        ("jet_bore * 2 * rod_diameter", "jet\u00a0bore × 2 · rod\u00a0diameter"),
        ("log(x) * exp(-x)", "ln(x) · exp(−x)"),
        ("abs(a - b)", "|a − b|"),
        ("a if x < 1 <= y else b", "a if x < 1 ≤ y; else b"),
        ("c + (a if x < 1 else b)", "c + (a if x < 1; else b)"),
        ("c * (a if x < 1 else b)", "c · (a if x < 1; else b)"),
        ("not (a > b or a == 2) and b != 3", "not\u00a0(a > b\u00a0or\u00a0a = 2)\u00a0and\u00a0b ≠ 3"),
        ("1e-7 * x", "1 × 10⁻⁷ x"),
    ],
)
def test_brackets_stand_only_where_they_are_needed(text: str, wanted: str) -> None:
    assert parse(text).plain() == wanted


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("D", "D"),
        ("C_d", "C_d"),
        ("p_1", "p₁"),
        ("p1", "p₁"),
        ("rho", "ρ"),
        ("lamda", "λ"),
        ("Sigma", "Σ"),
        ("delta_p", "Δp"),
        ("delta_p_n", "Δp_n"),
        ("delta_rho_2", "Δρ₂"),
        ("delta", "δ"),
        ("rho_f", "ρ_f"),
        ("F_alpha", "F_α"),
        ("rod_diameter", "rod\u00a0diameter"),
        ("delta_head", "Δhead"),
        ("CdA", "CdA"),
    ],
)
def test_a_name_is_set_as_the_trade_writes_it(name: str, wanted: str) -> None:
    assert plain(("name", name)) == wanted


def test_the_open_area_is_set_in_three_ways() -> None:
    node = relations()["open_area"].expression.node
    assert typst(node, "A") == "A = frac(π, 4) thin lr((D^(2) − d^(2)))"
    assert mathml(node, "A").endswith(
        '<mrow><mi>A</mi><mo form="infix">=</mo><mrow><mfrac><mi>π</mi><mn>4</mn></mfrac><mo>\u2062</mo><mrow><mo>(</mo><mrow>'
        '<msup><mi>D</mi><mn>2</mn></msup><mo form="infix">−</mo><msup><mi>d</mi><mn>2</mn></msup></mrow><mo>)</mo></mrow>'
        "</mrow></mrow></math>"
    )


def test_a_fraction_in_a_power_has_a_stroke_and_one_outside_a_line() -> None:
    node = parse("(a / b)**(1/4) * (c / d)").node
    assert typst(node) == "lr((frac(a, b)))^(1\\/4) thin frac(c, d)"
    assert "<mrow><mn>1</mn><mo>/</mo><mn>4</mn></mrow></msup>" in mathml(node)
    assert mathml(node).count("<mfrac>") == 2


@pytest.mark.paper
def test_typst_compiles_every_formula_without_a_warning(draw_formulas: Callable) -> None:
    formulas = [parse(text).typst() for text, _ in draw_formulas(200)] + [r.typst() for r in relations().values()]
    source = "#set page(width: 60cm, height: auto)\n" + "\n\n".join(f"$ {f} $" for f in formulas)
    fonts = typst_compiler.Fonts(include_system_fonts=False)
    document, warnings = typst_compiler.compile_with_warnings(source.encode(), font_paths=fonts, format="pdf")
    assert warnings == []
    assert document.startswith(b"%PDF")


@pytest.mark.paper
def test_no_name_and_no_word_can_run_code_in_typst() -> None:
    # Names like these are refused when a formula is read; the typesetter does not lean on that.
    nasty = ['"] #panic("x")', "#panic()", '\\" + panic() //', '$ #read("f") $', "sum", "emph", "a\n#panic()", "//", "/* */"]
    formulas = [typst(("+", ("name", name), ("call", name, 1))) for name in nasty] + [Typst().word(name) for name in nasty]
    source = "\n\n".join(f"$ {f} $" for f in formulas)
    document, warnings = typst_compiler.compile_with_warnings(
        source.encode(), font_paths=typst_compiler.Fonts(include_system_fonts=False)
    )
    assert document
    assert warnings == []


@pytest.mark.parametrize("name", ["<script>", '"onload="x', "a&b", "]]>"])
def test_no_name_can_leave_its_place_in_mathml(name: str) -> None:
    root = element(mathml(("+", ("name", name), ("call", name, 1))))
    assert {name_of(e) for e in root.iter()} <= ELEMENTS


def test_a_symbol_is_taken_apart_without_losing_anything() -> None:
    assert symbol("delta_p_n_1") == ("", "p", ("n", "1"), True)
    assert symbol("x_") == ("", "x", (), False)


def test_a_deep_formula_is_set_in_no_time() -> None:
    for text in (
        "-" * 55 + "x",
        "sqrt(" * 55 + "x" + ")" * 55,
        "x" + "**x" * 50,
        "x" + " if x > 1 else x" * 50,
        "1/(" * 27 + "x" + ")" * 27,
    ):
        expression = parse(text)
        before = time.perf_counter()
        assert expression.mathml()
        assert expression.typst()
        assert expression.javascript()
        assert time.perf_counter() - before < 0.5
