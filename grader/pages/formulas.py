"""
The formula sheet: every relation of a circuit with its symbols, units, range and source, worked with a specimen's numbers.

It is made from the relations themselves, so a formula on the sheet is the formula that marks an answer. What is looked up, the
name and the formula, is in view; the rest opens below it, so that the sheet stays short on a phone.
"""

from __future__ import annotations

from html import escape

from grader.base.errors import GraderError, UseError
from grader.base.quantities import show_number, with_unit
from grader.circuits.catalog import by_circuit, relations
from grader.items.formula_numbers import BLOCK_FIELDS, FormulaNumbers, check_formulas
from grader.items.lesson_file import read_pairs
from grader.items.model import Fence
from grader.pages.lessons import Fault
from grader.pages.sample import breakable, conditions
from grader.relations import typeset
from grader.relations.relation import Relation
from grader.relations.symbol import Symbol, capital

LONGEST = 90
"""Letters of a formula as plain text, past which it is shown by the names of the relations it calls, not written out."""
WIDE = 48
"""Letters past which a formula is set smaller on a phone."""
SHORT = 54
"""Letters of a line of numbers, past which only its result is shown: it would not go on a phone."""


def formulas_html(fence: Fence, numbers: FormulaNumbers) -> str:
    """
    A `formulas` block: the sheet of one circuit, or of all, worked with the `numbers` of its page.

    `Fault` where the circuit has none, or a formula's numbers cannot be had.
    """
    try:
        pairs = read_pairs(fence)
    except UseError as error:
        raise Fault.of("wrong-block", error, "write `circuit: power`, or nothing for all") from error
    groups = by_circuit()
    wanted = pairs.get("circuit", "")
    strange = [name for name in pairs if name not in BLOCK_FIELDS and name not in relations()]
    if strange or (wanted and wanted not in groups):
        what = f"there are no formulas for `{(strange[0] if strange else wanted)[:60]}`"
        raise Fault("unknown-circuit", what, f"write `circuit:` and one of {', '.join(groups)}, or nothing for all")
    chosen = [relation for name in ([wanted] if wanted else groups) for relation in groups[name]]
    try:
        check_formulas(fence, numbers, [relation.name for relation in chosen])
    except GraderError as error:
        raise Fault.of("wrong-block", error, "give the formula's symbols values of the sheet") from error
    index = "".join(f'<li><a href="#{_anchor(relation)}">{escape(capital(relation.says))}</a></li>' for relation in chosen)
    listed = (
        f'<details class="formula-list"><summary>Formulas here, by what they give</summary><ul class="formula-index">{index}</ul>'
    )
    every = "".join(formula_html(relation, numbers) for relation in chosen)
    return f'{listed}</details><div class="formula-sheet">{every}</div>'


def _anchor(relation: Relation) -> str:
    return f"formula-{relation.name.replace('_', '-')}"


def formula_html(relation: Relation, numbers: FormulaNumbers) -> str:
    """
    One relation of the sheet.

    >>> from grader.circuits.power import open_area
    >>> html = formula_html(open_area, FormulaNumbers(relations(), {}))
    >>> "Source: plane geometry" in html, 'id="formula-open-area"' in html
    (True, True)
    """
    rows = "".join(
        f"<tr><td>{symbol.mathml()}</td><td>{escape(symbol.says)}{_usual(symbol)}</td>"
        f"<td>{escape(symbol.unit.shown) or '–'}</td></tr>"
        for symbol in relation.symbols.values()
    )
    valid = f'<p class="course-note">Holds for {conditions(relation.condition.mathml())}.</p>' if relation.condition else ""
    return (
        f'<div class="course-relation formula" role="group" aria-labelledby="{_anchor(relation)}">'
        f'<h3 id="{_anchor(relation)}">{escape(capital(relation.says))}</h3>'
        f'<div class="course-formula{wide(relation)}" data-search-exclude>{typeset_formula(relation)}</div>'
        f"<details><summary>{_opens(numbers.specimen(relation.name))}</summary>"
        '<table class="course-table"><thead><tr><th scope="col">Symbol</th><th scope="col">Meaning</th>'
        f'<th scope="col">Unit</th></tr></thead><tbody>{rows}</tbody></table>'
        f'<div class="formula-example" data-search-exclude>{_example(relation, numbers)}</div>{valid}'
        f'<p class="course-note">Source: {escape(relation.source)}. In the program: <code>{escape(relation.name)}</code></p>'
        "</details></div>"
    )


def _opens(specimen: str) -> str:
    return f"Symbols, range, and worked on {escape(specimen)}" if specimen else "Symbols, range, and an example"


def _usual(symbol: Symbol) -> str:
    if symbol.default is None:
        return ""
    number = show_number(symbol.unit.from_si(symbol.default), 7)
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f', <span class="course-whole">{escape(with_unit(number, symbol.unit))}</span> if left out'


def _long(relation: Relation) -> bool:
    return bool(relation.expression.calls) and len(relation.text()) > LONGEST


def typeset_formula(relation: Relation) -> str:
    """A relation's formula; where it would be too long for a phone, in terms of the relations that it calls."""
    if _long(relation):
        return breakable(typeset.mathml(relation.expression.node, relation.result.name))
    return breakable(relation.mathml())


def wide(relation: Relation) -> str:
    """The class that sets a long formula smaller on a phone."""
    text = typeset.plain(relation.expression.node, relation.result.name) if _long(relation) else relation.text()
    return " formula-wide" if len(text) > WIDE else ""


def _example(relation: Relation, numbers: FormulaNumbers) -> str:
    """One line of numbers: what is given, the numbers put in where that stays short, the result."""
    given = numbers.numbers(relation.name)
    steps = relation.working(given, relation.result.unit)
    *before, result = steps
    put_in = [step for step in before if step.says == "With the numbers put in:" and len(step.text) <= SHORT]
    listed = ", ".join(
        f'<span class="course-whole">{relation.symbols[symbol].mathml()} = {escape(quantity.shown)}</span>'
        for symbol, quantity in given.items()
    )
    specimen = numbers.specimen(relation.name)
    lines = [f"<p>{escape(f'On {specimen}') if specimen else 'Example'}: {listed}.</p>"]
    if not _long(relation):
        lines += [f'<p class="course-formula">{breakable(step.mathml)}</p>' for step in put_in]
    return "".join(lines) + f'<p class="course-formula">{breakable(result.mathml)}</p>'
