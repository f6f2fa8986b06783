"""
Which numbers of a specimen the formula sheet works each formula with.

A block `formulas` of the sheet names a specimen and has a line for each formula:

    open_area: D = main_jet, d = rod_steps 1 diameter
    jet_head: delta_p_n = booster_depression, rho = fuel_density, h = spill_height

After `=` stands a quantity, a value of the specimen's sheet, one computed at a point (`cruise vacuum`), or an expression of
values of the sheet and of what other formulas of the page come to by their own lines. `name: example` works a formula with the
numbers of its statement, where a specimen has none for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from grader.base.errors import GraderError, UseError
from grader.base.quantities import Quantity, Unit, read_quantity, show_number
from grader.items.lesson_file import read_pairs
from grader.items.model import Fence
from grader.items.shapes import nearest
from grader.items.sheet_values import COMPUTED, Asked, NotThere, Sheets, quantity, sheet_named
from grader.items.specimen_file import Sheet
from grader.items.yamlfile import short
from grader.relations.language import parse
from grader.relations.relation import Relation

Numbers = Mapping[str, Quantity]

BLOCK_FIELDS = ("circuit", "specimen")
EXAMPLE = "example"
FIGURES = 4
"""A number that is itself computed is taken to so many figures, as it is printed: so the line can be followed by hand."""

_GIVEN = re.compile(r",\s*(?=[A-Za-z]\w*\s*=)")


def example_numbers(relation: Relation) -> Numbers:
    """
    The quantities of a relation's example, as its author wrote them.

    >>> from grader.circuits.power import open_area
    >>> [quantity.shown.replace("\\u202f", " ") for quantity in example_numbers(open_area).values()]
    ['2.41 mm', '1.70 mm']
    """
    inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
    pairs = (pair.partition("=") for pair in inside.split(","))
    written = {name.strip(): number.strip() for name, _, number in pairs}
    return {name: Quantity(number, Fraction(number), relation.symbols[name].unit) for name, number in written.items()}


@dataclass(slots=True)
class FormulaNumbers:
    """
    The lines of a page's `formulas` blocks, worked out when they are asked for.

    `lines` holds for each formula its text and the specimen of its block.
    """

    relations: Mapping[str, Relation]
    sheets: Sheets
    lines: dict[str, tuple[str, str]] = field(default_factory=dict)
    found: dict[str, Numbers] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)

    def numbers(self, name: str) -> Numbers:
        """
        The quantities that a formula is worked with.

        Raises `UseError` for a line that says nothing that can be found, `RangeError` where the relation does not hold for them.
        """
        if name in self.found:
            return self.found[name]
        if name in self.open:
            raise NotThere("cycle", name, f"{name} is worked with its own result; begin the chain with a value of the sheet")
        self.open.append(name)
        try:
            relation = self.relations[name]
            text, specimen = self.lines.get(name, (EXAMPLE, ""))
            given = (
                example_numbers(relation) if text == EXAMPLE else self._given(relation, text, sheet_named(specimen, self.sheets))
            )
            _result(relation, given)
            self.found[name] = given
        finally:
            self.open.pop()
        return self.found[name]

    def result(self, name: str) -> Quantity:
        """What a formula comes to by its line, as it is printed."""
        relation = self.relations[name]
        return rounded(_result(relation, self.numbers(name)), relation.result.unit)

    def specimen(self, name: str) -> str:
        """The specimen whose numbers the formula is worked with; nothing where it is its own example."""
        text, specimen = self.lines.get(name, (EXAMPLE, ""))
        return "" if text == EXAMPLE else specimen

    def _given(self, relation: Relation, text: str, sheet: Sheet) -> Numbers:
        given: dict[str, Quantity] = {}
        for pair in _GIVEN.split(text):
            symbol, sign, source = (part.strip() for part in pair.partition("="))
            if not sign or not source or symbol not in relation.parameters:
                said = f"`{short(pair)}` gives {relation.name} nothing"
                raise NotThere(
                    "unknown-symbol", relation.name, f"{said}; write `SYMBOL = …` for {', '.join(relation.parameters)}"
                )
            if symbol in given:
                raise NotThere(
                    "repeated-value", relation.name, f"{symbol} of {relation.name} is given twice; keep one of the two"
                )
            given[symbol] = self._taken(source, sheet, relation.symbols[symbol].unit, f"{symbol} of {relation.name}")
        missing = [name for name in relation.parameters if name not in given and name not in relation.defaults]
        if missing:
            raise NotThere(
                "missing-symbol", relation.name, f"{relation.name} lacks {', '.join(missing)}; write `{missing[0]} = …`"
            )
        return given

    def _taken(self, source: str, sheet: Sheet, wanted: Unit, whose: str) -> Quantity:
        point, _, value = source.rpartition(" ")
        if source in sheet.written:
            found = quantity(sheet, Asked(source))[0]
        elif value in COMPUTED and point:
            found = quantity(sheet, Asked(value, point, figures=FIGURES))[0]
        elif source in self.relations:
            found = self.result(source)
        elif source[0] in "0123456789.-−":
            found = _typed(source) or self._expression(source, sheet, wanted)
        else:
            found = self._expression(source, sheet, wanted)
        if found.unit.dimension != wanted.dimension:
            raise NotThere("dimension", whose, f"{whose} is {found.shown}; give it in {wanted.name} or the like")
        return found

    def _expression(self, source: str, sheet: Sheet, wanted: Unit) -> Quantity:
        expression = parse(source, self.relations)
        values = {name: self._named(name, sheet) for name in expression.names}
        dimension = expression.dimension({name: value.unit.dimension for name, value in values.items()})
        if dimension != wanted.dimension:
            what = f"`{short(source)}` is of another kind than {wanted.name}"
            raise NotThere("dimension", source, f"{what}; take values that come to {wanted.name} or the like")
        return rounded(expression.evaluate({name: value.si for name, value in values.items()}), wanted)

    def _named(self, name: str, sheet: Sheet) -> Quantity:
        if name in sheet.written:
            return quantity(sheet, Asked(name))[0]
        if name in self.relations:
            return self.result(name)
        near = nearest(name, [*sheet.written, *self.relations])
        what = f"`{short(name, 40)}` is neither a value of the sheet of {sheet.specimen.id} nor a formula"
        raise NotThere("unknown-value", name, f"{what}; " + (f"did you mean `{near}`?" if near else "see `questions/specimens`"))


def _typed(text: str) -> Quantity | None:
    try:
        return read_quantity(text)
    except UseError:
        return None


def _result(relation: Relation, given: Numbers) -> float:
    return float(relation(**{symbol: each.si for symbol, each in given.items()}))


def rounded(si: float, measure: Unit) -> Quantity:
    """
    A computed number as the next line takes it: to four figures, as it is printed.

    >>> from grader.base.quantities import unit
    >>> rounded(2.29217e-6, unit("mm^2")).written
    '2.292'
    """
    written = show_number(measure.from_si(si), FIGURES)
    return Quantity(written, Fraction(written), measure)


def formula_numbers(fences: Iterable[Fence], relations: Mapping[str, Relation], sheets: Sheets) -> FormulaNumbers:
    """
    The lines of all `formulas` blocks of a page.

    Raises `UseError` for a block that is not written as `name: value`, a line for no formula, or a formula with two lines.
    """
    found = FormulaNumbers(relations, sheets)
    for fence in fences:
        if fence.word != "formulas":
            continue
        pairs = read_pairs(fence)
        for name, text in pairs.items():
            if name in BLOCK_FIELDS:
                continue
            if name not in relations:
                near = nearest(name, (*relations, *BLOCK_FIELDS))
                mend = f"did you mean `{near}`?" if near else "write `circuit: …`, `specimen: …`, or a line `FORMULA: SYMBOL = …`"
                what = f"`{short(name)}` is neither a formula nor a field of a formulas block"
                raise NotThere("unknown-relation", name, f"{what}; {mend}")
            if name in found.lines:
                raise NotThere("repeated-value", name, f"{name} has two lines on this page; keep one of the two")
            if text != EXAMPLE and "specimen" not in pairs:
                raise NotThere("missing-field", "specimen", "the block has numbers and no specimen; write `specimen: T-1`")
            found.lines[name] = (text, pairs.get("specimen", ""))
    return found


def check_formulas(fence: Fence, every: FormulaNumbers, wanted: Iterable[str]) -> None:
    """
    Whether a block of the sheet works each of its formulas with numbers: those `wanted` must have a line.

    Raises `UseError` for the first that has none, or whose line does not come to a number.
    """
    pairs = read_pairs(fence)
    if "specimen" not in pairs:
        return
    names = list(wanted)
    without = [name for name in names if name not in pairs]
    if without:
        what = f"{without[0]} has no numbers of {pairs['specimen']}"
        raise NotThere("no-numbers", without[0], f"{what}; write a line `{without[0]}: SYMBOL = …`, or `{without[0]}: {EXAMPLE}`")
    for name in names:
        try:
            every.numbers(name)
        except NotThere:
            raise
        except GraderError as error:
            raise NotThere("no-value", name, f"the line of {name}: {error}") from error
