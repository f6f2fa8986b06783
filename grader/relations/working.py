"""
The worked answer, step by step: what is converted, the formula, the numbers put in, the result.

Numbers go in in the units the symbols are declared in where the formula is right in them as it stands (mm and mm² are, g/s and
kPa are not), otherwise in SI base units; each number that had to be converted is shown with its conversion first.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, NamedTuple, Protocol, runtime_checkable

from grader.base.errors import GraderError, UseError
from grader.base.quantities import UNITS, Dimension, Quantity, Unit
from grader.relations import tree as trees
from grader.relations.dimension import si_text
from grader.relations.language import Expression, expand
from grader.relations.symbol import Symbol, capital
from grader.relations.tree import Tree
from grader.relations.typeset import SIGNS, MathML, Measured, Plain, Setter, Shown, Typst, math_element, shown_number

FIGURES = 4
"""Significant figures of a result."""
PUT_IN = 6
"""Significant figures to which a number put in is printed; exact numbers are printed whole up to this."""


@runtime_checkable
class Stated(Protocol):
    """What working needs of a relation."""

    @property
    def name(self) -> str: ...
    @property
    def says(self) -> str: ...
    @property
    def symbols(self) -> Mapping[str, Symbol]: ...
    @property
    def result(self) -> Symbol: ...
    @property
    def arguments(self) -> tuple[Symbol, ...]: ...
    @property
    def parameters(self) -> tuple[str, ...]: ...
    @property
    def defaults(self) -> Mapping[str, float]: ...
    @property
    def expression(self) -> Expression: ...
    def run(self, values: Mapping[str, float]) -> float: ...
    def __hash__(self) -> int: ...


@dataclass(frozen=True)
class Step:
    """One line of a worked answer: what it does in words, and its mathematics as plain text, MathML and Typst math."""

    says: str
    text: str
    mathml: str
    typst: str

    def as_json(self) -> dict[str, str]:
        """The step as plain data."""
        return {"says": self.says, "text": self.text, "mathml": self.mathml, "typst": self.typst}


Side = Tree | Measured  # or a PutIn, which `_step` takes apart


def _step(says: str, sides: Sequence[Side], signs: Sequence[str] | None = None, *, numeric: bool = False) -> Step:
    """One line: the sides joined by = or by the signs given; `numeric` where numbers stand for the symbols."""
    numbers: list[str] = []
    gapped = tuple([side.gapped(numbers) if isinstance(side, PutIn) else _gapped(side, numbers) for side in sides])
    form = _form(gapped, tuple(signs or ("=",) * (len(sides) - 1)), numeric)
    return Step(says, *[line.filled(numbers) for line in form])


_GAP = "\ua015"  # a letter, as a digit is to whatever asks, and of a script that no formula is written in
_GAPS = re.compile(f"{_GAP}(\\d+)/?{_GAP}")


class PutIn(NamedTuple):
    """A formula with a number for each of its names."""

    node: Tree
    shown: Mapping[str, Shown]

    def gapped(self, numbers: list[str]) -> Side:
        """As `_gapped` gives it: the same formula with numbers of the same look is walked once."""
        looks = tuple([(name, shown.negative, _decimal(shown.digits), shown.ten) for name, shown in self.shown.items()])
        tree, order = _put_in(self.node, looks, len(numbers))
        numbers += [self.shown[name].digits.lstrip("-") if name else digits for name, digits in order]
        return tree


@lru_cache(maxsize=8192)
def _put_in(node: Tree, looks: tuple[tuple[str, bool, bool, int], ...], first: int) -> tuple[Side, list[tuple[str, str]]]:
    """A formula with gaps for its numbers, the first of that place; and what fills each: the number of a name, or digits."""
    order: list[tuple[str, str]] = []
    look = {name: rest for name, *rest in looks}

    def walked(part: Tree) -> Side:
        if isinstance(part, tuple) and part[0] == "name":
            order.append((part[1], ""))
            negative, decimal, ten = look[part[1]]
            return _gap_at(first + len(order) - 1, negative, decimal, ten)
        if isinstance(part, tuple):
            return tuple([below if isinstance(below, str) else walked(below) for below in part])
        if isinstance(part, float):
            shown = shown_number(part)
            order.append(("", shown.digits.lstrip("-")))
            return _gap_at(first + len(order) - 1, shown.negative, _decimal(shown.digits), shown.ten)
        return part

    return walked(node), order


def _decimal(digits: str) -> bool:
    """Whether digits are those of a plain decimal, not of a fraction."""
    return "/" not in digits


def _gapped(side: Side, numbers: list[str]) -> Side:
    """A side with a gap for each number that was put in; `numbers` takes their digits. What else tells them apart stays."""
    if isinstance(side, tuple):
        if side[0] == "name":
            return side
        return tuple([part if isinstance(part, str) else _gapped(part, numbers) for part in side])
    if isinstance(side, Measured):
        return Measured(_gap(side.shown, numbers), side.unit)
    if isinstance(side, float):
        return _gap(shown_number(side), numbers)
    return _gap(side, numbers) if isinstance(side, Shown) else side


def _gap(shown: Shown, numbers: list[str]) -> Shown:
    place = len(numbers)
    numbers.append(shown.digits.lstrip("-"))
    return _gap_at(place, shown.negative, _decimal(shown.digits), shown.ten)


@cache
def _gap_at(place: int, negative: bool, decimal: bool, ten: int) -> Shown:
    return Shown(f"{'-' if negative else ''}{_GAP}{place}{'' if decimal else '/'}{_GAP}", ten)


class _Line(NamedTuple):
    """A line set once for all numbers: its text with a place for each, and which of them goes into which place."""

    text: str
    order: tuple[int, ...]

    @classmethod
    def of(cls, text: str) -> _Line:
        return cls(_GAPS.sub("%s", text.replace("%", "%%")), tuple(int(place) for place in _GAPS.findall(text)))

    def filled(self, numbers: Sequence[str]) -> str:
        return self.text % tuple([numbers[place] for place in self.order])


@lru_cache(maxsize=8192)  # the variants of an item share their lines, and many items the lines of one relation
def _form(sides: tuple[Side, ...], between: tuple[str, ...], numeric: bool) -> tuple[_Line, _Line, _Line]:
    """A line with its gaps as plain text, MathML and Typst math."""
    texts = []
    for backend in (Plain(), MathML(), Typst()):
        setter = Setter(backend, numeric=numeric)
        joined: list[str] = []
        for place, side in enumerate(sides):
            joined += [backend.sign(between[place - 1])] if place else []
            joined.append(setter.piece(side).text)
        texts.append(backend.row(*joined))
    return _Line.of(texts[0]), _Line.of(math_element(texts[1], texts[0])), _Line.of(texts[2])


@lru_cache(maxsize=16384, typed=True)
def rounded(value: float | Fraction, figures: int = PUT_IN, *, whole: bool = False) -> Shown:
    """
    A number as it is printed in a worked answer.

    `whole` keeps noughts at the end, as a result does; a number put in drops them.

    >>> rounded(2.413), rounded(7.853981e-7, 4, whole=True), rounded(101325.0)
    (Shown(digits='2.413', ten=0), Shown(digits='7.854', ten=-7), Shown(digits='101325', ten=0))
    """
    number = Decimal(value.numerator) / Decimal(value.denominator) if isinstance(value, Fraction) else Decimal(repr(float(value)))
    if not number:
        return Shown("0")
    number = number.quantize(Decimal(1).scaleb(number.adjusted() - figures + 1), ROUND_HALF_EVEN)
    ten = number.adjusted() if not -4 <= number.adjusted() <= 6 else 0
    text = f"{number.scaleb(-ten):f}"
    if "." in text and not whole:
        text = text.rstrip("0").rstrip(".")
    return Shown(text, ten)


@cache
def si_unit(dimension: Dimension, kind: str = "") -> Unit:
    """
    The SI unit of a dimension: one of the table where there is one, of that kind where several share it.

    >>> from grader.base.quantities import unit
    >>> si_unit(unit("kPa").dimension).shown, si_unit(unit("inHg").dimension).shown, si_unit(unit("mm^2").dimension).shown
    ('Pa', 'Pa', 'm²')
    """
    fitting = [u for u in UNITS.values() if u.dimension == dimension and u.factor == 1 and not u.offset]
    for u in fitting:
        if u.kind == kind:
            return u
    if fitting:
        return fitting[0]
    text = si_text(dimension)
    return Unit(text, "made of others", dimension, Fraction(1), text)


def _si(unit: Unit) -> Unit:
    return si_unit(unit.dimension, unit.kind)


@dataclass(frozen=True)
class Put:
    """What one symbol stands for: its value in SI, and how it is named and written where it came from."""

    value: float
    came_from: tuple[Side, ...] = ()  # shown before the number that is put in: the name in the item, the number as written
    unit: Unit | None = None
    exact: Fraction | None = None  # in `unit`
    usual: bool = False  # filled in because it was left out; shown, so that nobody wonders where it is from

    def __hash__(self) -> int:
        """By its value: fractions are slow to hash."""
        return hash((self.value, self.came_from))


def relation_working(relation: Stated, values: Mapping[str, Quantity], unit: Unit, figures: int = FIGURES) -> list[Step]:
    """
    The worked answer of one relation; see `Relation.working`.

    Raises `UseError` for a symbol without a value or a quantity of another kind, `RangeError` outside the range.
    """
    put = {}
    for name, quantity in values.items():
        if name not in relation.parameters:
            raise UseError(f"{relation.name} has no argument `{name}`; they are {', '.join(relation.parameters)}")
        _check_kind(relation.symbols[name], quantity)
        put[name] = _given(quantity)
    return _relation_steps(relation, put, unit, figures=figures)


def _check_kind(symbol: Symbol, quantity: Quantity) -> None:
    if quantity.unit.dimension != symbol.unit.dimension:
        raise UseError(f"{symbol.name} is given in {quantity.unit.name or '1'}; give it in {symbol.unit.name} or the like")


def _given(quantity: Quantity, name: str | None = None) -> Put:
    written = Measured(_as_written(quantity), quantity.unit)
    return Put(quantity.si, (("name", name), written) if name else (written,), quantity.unit, quantity.number)


_DIGITS = re.compile(r"-?\d+(?:\.\d+)?|(?:\d+ )?\d+/\d+")


def _as_written(quantity: Quantity) -> Shown:
    """The number as its author wrote it, where that is plain digits or a fraction; else printed anew."""
    return _digits(quantity.written) or rounded(quantity.number)


@lru_cache(maxsize=8192)
def _digits(written: str) -> Shown | None:
    digits = written.strip()
    return Shown(digits) if _DIGITS.fullmatch(digits) else None


def _relation_steps(
    relation: Stated, put: Mapping[str, Put], unit: Unit, label: str | None = None, *, figures: int = FIGURES
) -> list[Step]:
    missing = [p for p in relation.parameters if p not in put and p not in relation.defaults]
    if missing:
        raise UseError(f"{relation.name} needs a value for {', '.join(missing)}")
    full = {p: put[p] if p in put else _usual(relation, p) for p in relation.parameters}
    values = {p: full[p].value for p in full}
    result = relation.run(values)
    node = relation.expression.expanded().node
    units = _units_put_in(relation, values, unit)
    name = label or relation.result.name
    steps = _conversions(full, units)
    steps.append(_stated(relation, name))
    steps += _substituted(node, name, values, units)
    steps.append(_result(name, result, units[relation.result.name], unit, figures))
    return steps


@lru_cache(maxsize=4096)
def _stated(relation: Stated, name: str) -> Step:
    """The formula, its result under that name."""
    return _step(f"{capital(relation.says)}:", [("name", name), relation.expression.expanded().node])


@lru_cache(maxsize=4096)
def _usual(relation: Stated, name: str) -> Put:
    """What goes in for a symbol that was left out."""
    unit, value = relation.symbols[name].unit, relation.defaults[name]
    return Put(value, (Measured(rounded(unit.from_si(value)), unit),), unit, usual=True)


def _units_put_in(relation: Stated, values: Mapping[str, float], wanted: Unit) -> Mapping[str, Unit]:
    """The units numbers go in: as declared, or with all of the result's kind in the unit wanted, or SI; the first that fits."""
    node, result = relation.expression.expanded().node, relation.result.name
    *tried, si = _choices(relation, wanted)
    return next((units for units in tried if coherent(node, values, units, units[result])), si)


@lru_cache(maxsize=4096)
def _choices(relation: Stated, wanted: Unit) -> tuple[Mapping[str, Unit], ...]:
    declared = {s.name: s.unit for s in relation.symbols.values()}
    alike = {name: wanted if unit.kind == wanted.kind else unit for name, unit in declared.items()}
    return declared, alike, {name: _si(unit) for name, unit in declared.items()}


@lru_cache(maxsize=4096)
def _run(node: Tree) -> trees.Evaluator:
    """What computes a node that has no calls in it."""
    return trees.compiled(node)


def coherent(node: Tree, values: Mapping[str, float], units: Mapping[str, Unit], result: Unit) -> bool:
    """
    Whether the formula gives the right number when plain numbers in these units are put in.

    Tried at the values and at values a little away from them, so that no chance agreement passes.
    """
    run = _run(node)
    for nudge in (0.0, 0.003):
        moved = {name: value * (1 + nudge * (place + 1)) for place, (name, value) in enumerate(values.items())}
        try:
            right = trees.finite(run, moved)
            tried = trees.finite(run, {name: units[name].from_si(value) for name, value in moved.items()})
        except (GraderError, ValueError):
            if nudge:
                continue
            return False
        wanted = result.from_si(right)
        if abs(tried - wanted) > 1e-9 * max(abs(tried), abs(wanted)):
            return False
    return True


def _conversions(put: Mapping[str, Put], units: Mapping[str, Unit]) -> list[Step]:
    """A line for each value that comes under another name or in another unit than it is put in."""
    steps: list[Step] = []
    for name, given in put.items():
        line = _conversion(name, given, units[name], first=not steps) if given.came_from else None
        if line is not None:
            steps.append(line)
    return steps


@lru_cache(maxsize=16384)  # the variants of an item share what they are given
def _conversion(name: str, given: Put, unit: Unit, *, first: bool) -> Step | None:
    """The line for one value, where it needs one."""
    sides: list[Side] = [("name", name), *(side for side in given.came_from if side != ("name", name))]
    converted = given.unit is None or not _one(given.unit, unit)
    if converted:
        sides.append(Measured(rounded(_in(given, unit)), unit))
    if converted or given.usual or len(sides) > 2:
        return _step("The numbers, in the units that go into the formula:" if first else "", sides)
    return None


def _in(given: Put, unit: Unit) -> float | Fraction:
    """The number in a unit; exact where it was given exactly."""
    if given.exact is None or given.unit is None:
        return unit.from_si(given.value)
    if _one(given.unit, unit):
        return given.exact
    by, more = _to(given.unit, unit)
    return given.exact * by + more if more else given.exact * by


@lru_cache(maxsize=4096)
def _one(unit: Unit, other: Unit) -> bool:
    """Whether a number is the same in both units."""
    by, more = _to(unit, other)
    return by == 1 and not more


@lru_cache(maxsize=4096)
def _to(unit: Unit, other: Unit) -> tuple[Fraction, Fraction]:
    """What a number in a unit is multiplied by, and what is added then, to be in another."""
    return unit.factor / other.factor, (unit.offset - other.offset) / other.factor


def _substituted(node: Tree, name: str, values: Mapping[str, float], units: Mapping[str, Unit]) -> list[Step]:
    steps = []
    numbers = {symbol: units[symbol].from_si(value) for symbol, value in values.items()}
    node, met = _branch(node, numbers)
    for condition, holds in met:
        sides = condition[1::2]
        worth = [rounded(trees.finite(_run(side), numbers)) for side in sides]
        says = (
            "The condition holds, so the first case counts:"
            if holds
            else "The condition does not hold, so the other case counts:"
        )
        signs = [SIGNS[sign] if holds else _NOT[sign] for sign in condition[2::2]]
        if len(signs) == 1:
            steps.append(_step(says, [sides[0], worth[0], worth[1], sides[1]], ["=", signs[0], "="]))
    if isinstance(node, (int, float)):
        return steps
    steps.append(_step("With the numbers put in:", [("name", name), _with_numbers(node, numbers)], numeric=True))
    return steps


_NOT: Mapping[str, str] = {"<": "≥", "<=": ">", ">": "≤", ">=": "<", "==": "≠", "!=": "="}


def _branch(node: Tree, numbers: Mapping[str, float]) -> tuple[Tree, list[tuple[Tree, bool]]]:
    """The node with every `if` replaced by the side that counts, and the plain comparisons that decided."""
    met: list[tuple[Tree, bool]] = []
    if not _branches(node):
        return node, met

    def taken(part: Tree) -> Tree:
        if not isinstance(part, tuple):
            return part
        if part[0] == "if":
            holds = bool(trees.finite(_run(part[1]), numbers))
            if part[1][0] == "compare":
                met.append((part[1], holds))
            return taken(part[2] if holds else part[3])
        return (part[0], *(p if isinstance(p, str) else taken(p) for p in part[1:]))

    return taken(node), met


@lru_cache(maxsize=4096)
def _branches(node: Tree) -> bool:
    return any(isinstance(part, tuple) and part[0] == "if" for part in trees.walk(node))


def _with_numbers(node: Tree, numbers: Mapping[str, float]) -> PutIn:
    return PutIn(node, {name: rounded(number) for name, number in numbers.items()})


def _put(node: Tree, shown: Mapping[str, Any]) -> Any:
    """The node with what is shown for each name in its place."""
    if not isinstance(node, tuple):
        return node
    if node[0] == "name":
        return shown[node[1]]
    return (node[0], *(p if isinstance(p, str) else _put(p, shown) for p in node[1:]))


def _result(name: str | None, value: float, first: Unit, wanted: Unit, figures: int = FIGURES) -> Step:
    sides: list[Side] = [("name", name)] if name else []
    sides.append(Measured(rounded(first.from_si(value), figures, whole=True), first))
    if not _one(first, wanted):
        sides.append(Measured(rounded(wanted.from_si(value), figures, whole=True), wanted))
    return _step("The result, rounded only here:", sides)


def working(expression: Expression, givens: Mapping[str, Quantity], unit: Unit) -> list[Step]:
    """
    The worked answer of an item: each relation called, innermost first, then what is left.

    Parameters
    ----------
    expression : Expression
        The answer, as the author wrote it.
    givens : mapping of str to Quantity
        What each of its names stands for, as printed.
    unit : Unit
        The unit the answer is wanted in.

    Raises
    ------
    UseError, RangeError
        A name without a value; a number outside a relation's range.
    """
    for name in expression.names:
        if name not in givens:
            raise UseError(f"`{name}` has no value here")
    return _Item(expression, givens).steps(unit)


@lru_cache(maxsize=4096)
def _calls(expression: Expression) -> tuple[Tree, ...]:
    """Every different call: the results of all but the outermost are named in what follows."""
    return tuple(dict.fromkeys(t for t in trees.walk(expression.node) if isinstance(t, tuple) and t[0] == "call"))


@lru_cache(maxsize=4096)
def _called(expression: Expression, name: str) -> Stated:
    """The relation that an expression calls by a name."""
    relation = expression.functions[name]
    if not isinstance(relation, Stated):
        raise UseError(f"`{name}` cannot be worked out")
    return relation


@lru_cache(maxsize=8192)
def _run_within(expression: Expression, node: Tree) -> trees.Evaluator:
    """What computes a part of an expression, the relations that it calls written out."""
    return trees.compiled(expand(node, expression.functions))


class _Item:
    def __init__(self, expression: Expression, givens: Mapping[str, Quantity]) -> None:
        self.expression = expression
        self.values = {name: quantity.si for name, quantity in givens.items()}
        self.givens = givens
        self.done: list[Step] = []
        self.results: dict[str, Put] = {}
        self.known: dict[Tree, str] = {}
        self.calls = _calls(expression)

    def steps(self, unit: Unit) -> list[Step]:
        node = self.expression.node
        if isinstance(node, tuple) and node[0] == "call":
            self.call(node, unit)
            return self.done
        node = self.without_calls(node)
        self.last(node, unit)
        return self.done

    def value(self, node: Tree) -> float:
        return trees.finite(_run_within(self.expression, node), self.values)

    def call(self, node: Tree, unit: Unit | None = None, label: str | None = None) -> Unit:
        """Work out one call; the unit its result was given in."""
        relation = self.relation(node)
        put = {}
        for symbol, argument in zip(relation.arguments, node[2:], strict=True):
            if argument != symbol.default:
                put[symbol.name] = self.argument(argument)
        wanted = unit or relation.result.unit
        self.done += _relation_steps(relation, put, wanted, label)
        return wanted

    def relation(self, node: Tree) -> Stated:
        return _called(self.expression, node[1])

    def argument(self, node: Tree) -> Put:
        if isinstance(node, tuple) and node[0] == "name" and node[1] in self.givens:
            return _given(self.givens[node[1]], node[1])
        if isinstance(node, tuple) and node[0] == "call":
            name = self.named(node)
            found = self.results[name]
            return Put(found.value, (("name", name), *found.came_from), found.unit)
        if isinstance(node, (int, float)):
            return Put(float(node))
        bare = self.without_calls(node)
        return Put(self.value(node), (bare, self.with_quantities(bare)))

    def with_quantities(self, node: Tree) -> Side:
        """The node with each name replaced by its number and unit, of an `if` only the side that counts."""
        values, _ = self.numbers(node)
        taken, _ = _branch(node, values)
        return _put(taken, {name: self.quantity(name) for name in values})

    def quantity(self, name: str) -> Measured:
        """What a name stands for, exactly as the author wrote it or to as many figures as any number put in."""
        if name in self.results:
            found = self.results[name]
            measure = found.unit or UNITS["1"]
            return Measured(rounded(measure.from_si(found.value)), measure)
        given = self.givens[name]
        if given.unit.offset:  # degrees cannot be added or divided; kelvins can
            return Measured(rounded(given.si), _si(given.unit))
        written = _as_written(given)
        exact = "." not in written.digits or Fraction(written.digits) == given.number
        return Measured(written if exact else rounded(given.number), given.unit)

    def without_calls(self, node: Tree) -> Tree:
        """The node with each call worked out and replaced by the symbol of its result."""
        if not isinstance(node, tuple) or node[0] in ("name", "pi"):
            return node
        if node[0] == "call":
            return ("name", self.named(node))
        return (node[0], *(p if isinstance(p, str) else self.without_calls(p) for p in node[1:]))

    def named(self, node: Tree) -> str:
        if node in self.known:
            return self.known[node]
        name = self.label(node)
        value = self.value(node)
        unit = self.call(node, label=name)
        self.results[name] = Put(value, (Measured(rounded(unit.from_si(value)), unit),), unit)
        self.known[node] = name
        return name

    def label(self, node: Tree) -> str:
        """The symbol of a call's result; numbered where something else in the item goes by it too."""
        name = self.relation(node).result.name
        if name not in self.givens and all(meant == node for meant in self.meant(name)):
            return name
        return next(f"{name}_{n}" for n in range(1, 1000) if f"{name}_{n}" not in {*self.givens, *self.results})

    def meant(self, name: str) -> Iterator[Tree]:
        """What a symbol stands for in the calls of the item: their results, and the arguments of that name."""
        for call in self.calls:
            relation = self.relation(call)
            if relation.result.name == name:
                yield call
            yield from (given for symbol, given in zip(relation.arguments, call[2:], strict=True) if symbol.name == name)

    def numbers(self, node: Tree) -> tuple[dict[str, float], dict[str, Unit]]:
        values, units = {}, {}
        for name in trees.names(node):
            if name in self.results:
                values[name], units[name] = self.results[name].value, self.results[name].unit or UNITS["1"]
            else:
                values[name], units[name] = self.values[name], self.givens[name].unit
        return values, units

    def last(self, node: Tree, unit: Unit) -> None:
        """What is left when every call has been worked out: plain arithmetic on names."""
        values, units = self.numbers(node)
        result = trees.finite(_run(node), values)
        first = unit
        if not coherent(node, values, units, unit):
            units = {name: _si(u) for name, u in units.items()}
            first = _si(unit)
        put = {name: self.results[name] if name in self.results else _given(self.givens[name]) for name in values}
        self.done += _conversions(put, units)
        if isinstance(node, tuple) and node[0] != "name":
            self.done.append(_step("The answer:", [node]))
            numbers = {name: units[name].from_si(value) for name, value in values.items()}
            self.done.append(_step("With the numbers put in:", [_with_numbers(_branch(node, numbers)[0], numbers)], numeric=True))
        self.done.append(_result(None, result, first, unit))
