"""
A relation: one equation of the trade, stated once, with its symbols, units, valid range, example and source.

From that single statement come the function on floats and arrays, the dimension check, the typesetting, the JavaScript, the
worked answer and the help text. A relation that does not hold together is refused where it is defined.
"""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Mapping, Sequence
from functools import cached_property
from types import MappingProxyType
from typing import Any

from grader.base.errors import RangeError, UseError
from grader.base.quantities import Dimension, Quantity, Unit
from grader.base.quantities import unit as unit_named
from grader.relations import tree as trees
from grader.relations import typeset
from grader.relations.dimension import kind_of
from grader.relations.javascript import function
from grader.relations.language import NO_FUNCTIONS, Callee, Expression, ExpressionError, parse
from grader.relations.symbol import Symbol
from grader.relations.tree import NoValueError
from grader.relations.working import FIGURES, Step, relation_working

Declared = tuple[str, str] | tuple[str, str, float]


class Relation:
    """
    One equation of the trade. Made by `relation`; called like a function, SI in, SI out.

    Attributes
    ----------
    name, says, formula, valid, example, source : str
        As stated; `says` is what the result is.
    symbols : mapping of str to Symbol
        Every symbol, the result first.
    result : Symbol
    arguments : tuple of Symbol
        In the order in which a call takes them.
    expression : Expression
        The right-hand side.
    condition : Expression or None
        The valid range.
    """

    def __init__(
        self,
        name: str,
        formula: str,
        symbols: Mapping[str, Symbol],
        result: str,
        expression: Expression,
        condition: Expression | None,
        *,
        valid: str,
        example: str,
        source: str,
    ) -> None:
        self.name = name
        self.formula = formula
        self.symbols = MappingProxyType(dict(symbols))
        self.result = symbols[result]
        self.arguments = tuple(s for s in symbols.values() if s.name != result)
        self.says = self.result.says
        self.expression = expression
        self.condition = condition
        self.valid = valid
        self.example = example
        self.source = source
        self.__name__ = self.__qualname__ = name

    # what the language asks of a relation that is called

    @cached_property
    def parameters(self) -> tuple[str, ...]:
        """The names of the arguments."""
        return tuple(s.name for s in self.arguments)

    @cached_property
    def defaults(self) -> Mapping[str, float]:
        """The arguments that may be left out, with their values in SI."""
        return {s.name: s.default for s in self.arguments if s.default is not None}

    @cached_property
    def parameter_dimensions(self) -> tuple[Dimension, ...]:
        """The dimension of each argument."""
        return tuple(s.unit.dimension for s in self.arguments)

    @property
    def result_dimension(self) -> Dimension:
        """The dimension of the result."""
        return self.result.unit.dimension

    def run(self, values: Mapping[str, float]) -> float:
        """
        The result for floats by symbol, SI.

        Raises `RangeError` naming symbol, value and range.
        """
        for symbol in self.parameters:
            if not math.isfinite(values[symbol]):
                raise RangeError(f"{self.name}: {symbol} is {values[symbol]}; give a finite number")
        for check, _ in self._checks or ():
            if not _holds(check, values):
                raise RangeError(self._outside(values))
        try:
            return self.expression.evaluate(values)
        except NoValueError as error:
            raise RangeError(f"{self.name}: {error}") from None

    @cached_property
    def _checks(self) -> list[tuple[trees.Evaluator, trees.Tree]] | None:
        if self.condition is None:
            return None
        node = self.condition.node
        parts = node[1:] if node[0] == "and" else (node,)
        return [(trees.compiled(part), part) for part in parts]

    def _outside(self, values: Mapping[str, float]) -> str:
        said = []
        for check, part in self._checks or ():
            if not _holds(check, values):
                wanted = typeset.plain(part)
                now = ", ".join(f"{n} is {self.symbols[n].shown(values[n])}" for n in trees.names(part))
                said.append(f"{now}; it must hold that {wanted}")
        return f"{self.name}: " + "; ".join(said).replace("\u202f", " ")

    # calling

    def bind(self, /, *arguments: Any, **named: Any) -> dict[str, Any]:
        """
        Every argument by symbol, defaults filled in.

        Raises `UseError` for one too many, one unknown, or one missing.
        """
        try:
            bound = self.__signature__.bind(*arguments, **named)
        except TypeError as error:
            raise UseError(f"{error}; it is {self.name}{self._call_text}") from None
        bound.apply_defaults()
        return dict(bound.arguments)

    def __call__(self, /, *arguments: Any, **named: Any) -> Any:
        """The result: a float for floats, an array where an array came in. SI in, SI out."""
        values = self._quick(arguments) if not named else self.bind(*arguments, **named)
        if all(isinstance(v, (int, float)) for v in values.values()):
            return self.run({name: self._float(name, v) for name, v in values.items()})
        from grader.relations import arrays

        value, condition = self._array_evaluators
        return arrays.run(value, condition, values)

    def _float(self, symbol: str, value: float) -> float:
        try:
            return float(value)
        except OverflowError:
            raise RangeError(f"{self.name}: {symbol} is a whole number past what a float holds; give a smaller one") from None

    def _quick(self, arguments: Sequence[Any]) -> dict[str, Any]:
        if len(arguments) == len(self.arguments):
            return dict(zip(self.parameters, arguments, strict=True))
        return self.bind(*arguments)

    @cached_property
    def _array_evaluators(self) -> Any:
        from grader.relations import arrays

        condition = arrays.compiled(self.condition.node) if self.condition is not None else None
        return arrays.compiled(self.expression.expanded().node), condition

    @cached_property
    def __signature__(self) -> inspect.Signature:
        return inspect.Signature(
            [
                inspect.Parameter(
                    s.name,
                    inspect.Parameter.POSITIONAL_OR_KEYWORD,
                    default=inspect.Parameter.empty if s.default is None else s.default,
                )
                for s in self.arguments
            ]
        )

    @property
    def _call_text(self) -> str:
        return f"({', '.join(self.parameters)})"

    @property
    def __doc__(self) -> str:  # type: ignore[override]
        """What `help` shows."""
        lines = [
            f"{self.says[:1].upper()}{self.says[1:]}.",
            "",
            f"    {self.formula}",
            "",
            "SI in, SI out: floats or arrays.",
            "",
        ]
        lines += ["Parameters", "----------"]
        for s in self.arguments:
            default = "" if s.default is None else f", default {s.shown(s.default, 7)}"
            lines += [f"{s.name} : [{s.unit.name}]{default}".replace("\u202f", " "), f"    {s.says}"]
        lines += ["", "Returns", "-------", f"{self.result.name} : [{self.result.unit.name}]", f"    {self.result.says}", ""]
        lines += [
            "Notes",
            "-----",
            f"Valid where {self.valid}." if self.valid else "Valid everywhere.",
            f"Source: {self.source}.",
        ]
        lines += ["", "Examples", "--------", f"In the units above: {self.example}"]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return f"<relation {self.name}: {self.formula}>"

    # setting

    def mathml(self, *, display: bool = True) -> str:
        """The equation as a `<math>` element with a text alternative."""
        return typeset.mathml(self.expression.expanded().node, self.result.name, display=display)

    def typst(self) -> str:
        """The equation as Typst math, without the dollar signs."""
        return typeset.typst(self.expression.expanded().node, self.result.name)

    def text(self) -> str:
        """The equation as one line of plain text."""
        return typeset.plain(self.expression.expanded().node, self.result.name)

    def javascript(self) -> str:
        """The relation as a JavaScript function of its own name: SI in, SI out, NaN outside its range."""
        condition = self.condition.node if self.condition is not None else None
        parameters = {s.name: s.default for s in self.arguments}
        return function(self.name, parameters, condition, self.expression.expanded().node)

    def working(self, values: Mapping[str, Quantity], unit: Unit | None = None, figures: int = FIGURES) -> list[Step]:
        """
        The worked answer: conversions, the formula, the numbers put in, the result in `unit`, to so many `figures`.

        `values` holds a quantity for every symbol without a default.
        """
        return relation_working(self, values, unit or self.result.unit, figures)


def _holds(check: trees.Evaluator, values: Mapping[str, float]) -> bool:
    """Whether a condition holds; one that has no value, as by a root of a negative number, does not."""
    try:
        return bool(check(values))
    except (ZeroDivisionError, ValueError, OverflowError):
        return False


_EQUATION = re.compile(r"\s*([A-Za-z][A-Za-z0-9_]*)\s*=(?!=)(.*)", re.DOTALL)
_EXAMPLE = re.compile(r"\s*([A-Za-z]\w*)\s*\((.*)\)\s*=\s*([-+]?[0-9.]+(?:[eE][-+]?\d+)?)\s*")


def relation(
    formula: str,
    *,
    name: str,
    example: str,
    source: str,
    valid: str = "",
    uses: Sequence[Relation] = (),
    **symbols: Declared,
) -> Relation:
    """
    State a relation.

    Parameters
    ----------
    formula : str
        ``RESULT = expression`` in the language of `grader.relations.language`.
    name : str
        What the relation is called in items and lessons: the thing it returns.
    valid : str
        A condition on the symbols; outside it, floats raise `RangeError` and arrays hold NaN.
    example : str
        ``RESULT(SYMBOL=number, …) = number`` in the units of the symbols, true to the last printed digit. Required.
    source : str
        Where it is from; "from memory" and "common practice, no source" are honest sources. Required.
    uses : sequence of Relation
        Relations the formula calls.
    **symbols : (unit, says) or (unit, says, default)
        Every symbol, the result among them; a default is a number in that unit.

    Raises
    ------
    UseError
        Where it does not hold together: a symbol not declared or not used, two sides of different dimension, a false example.

    Examples
    --------
    >>> throat_area = relation(
    ...     "A = pi/4 * D**2",
    ...     name="throat_area",
    ...     A=("mm^2", "area of the throat"),
    ...     D=("mm", "bore of the throat"),
    ...     valid="0 <= D",
    ...     example="A(D=30) = 706.86",
    ...     source="plane geometry: circle",
    ... )
    >>> round(throat_area(0.030), 8)
    0.00070686
    >>> throat_area(-1.0)
    Traceback (most recent call last):
    ...
    grader.base.errors.RangeError: throat_area: D is −1000.0 mm; it must hold that 0 ≤ D
    """
    said = f"relation {name}"
    for label, text in (("source", source), ("example", example)):
        if not text.strip():
            raise UseError(f"{said}: the {label} is empty; state it")
    table = {symbol: _declared(said, symbol, declared) for symbol, declared in symbols.items()}
    found = _EQUATION.fullmatch(formula)
    if found is None:
        raise UseError(f"{said}: `{formula}` is no equation; write RESULT = expression")
    result, right = found[1], found[2]
    if result not in table:
        raise UseError(f"{said}: the result `{result}` is not declared; add {result}=(unit, what it is)")
    callees: dict[str, Callee] = {callee.name: callee for callee in uses}
    expression = _parsed(said, "formula", right, callees, formula.index(right) if right else 0)
    condition = _parsed(said, "valid", valid, NO_FUNCTIONS, 0) if valid.strip() else None
    _check_symbols(said, table, result, expression, condition, set(callees))
    ordered = {result: table[result], **{s: v for s, v in table.items() if s != result}}
    _check_defaults(said, ordered, result)
    made = Relation(name, formula, ordered, result, expression, condition, valid=valid, example=example, source=source)
    _check_dimensions(said, made)
    _check_example(said, made)
    return made


def _declared(said: str, symbol: str, declared: Declared) -> Symbol:
    if not isinstance(declared, tuple) or len(declared) not in (2, 3) or not isinstance(declared[0], str) or not declared[1]:
        raise UseError(
            f"{said}: `{symbol}` is declared as {declared!r}; write {symbol}=(unit, what it is) or with a default as third"
        )
    measure = unit_named(declared[0])
    if len(declared) == 2:
        return Symbol(symbol, measure, declared[1])
    default = float(declared[2])
    return Symbol(symbol, measure, declared[1], default * float(measure.factor) + float(measure.offset))


def _parsed(said: str, label: str, text: str, callees: Mapping[str, Callee], shift: int) -> Expression:
    try:
        expression = parse(text, callees)
    except ExpressionError as error:
        raise UseError(f"{said}: {label}, column {error.place + shift}: {error.reason}") from None
    if label == "valid" and expression.kind != "truth":
        raise UseError(f"{said}: valid is a number; write a condition")
    if label == "formula" and expression.kind != "number":
        raise UseError(f"{said}: the right side is a condition; write a number")
    return expression


def _check_symbols(
    said: str, table: Mapping[str, Symbol], result: str, expression: Expression, condition: Expression | None, callees: set[str]
) -> None:
    used = dict.fromkeys([*expression.names, *(condition.names if condition else ())])
    for symbol in used:
        if symbol not in table:
            raise UseError(f"{said}: `{symbol}` is not declared; add {symbol}=(unit, what it is)")
        if symbol == result:
            raise UseError(f"{said}: the result `{result}` stands on the right as well")
    for symbol in table:
        if symbol != result and symbol not in expression.names:
            raise UseError(f"{said}: `{symbol}` is declared and not used in the formula; take it out")
    for callee in callees - set(expression.calls):
        raise UseError(f"{said}: `{callee}` stands in `uses` and is not called; take it out")


def _check_defaults(said: str, ordered: Mapping[str, Symbol], result: str) -> None:
    late = None
    for symbol in ordered.values():
        if symbol.name == result:
            continue
        if symbol.default is not None:
            late = symbol.name
        elif late is not None:
            raise UseError(f"{said}: `{symbol.name}` without a default follows `{late}` with one; put those with defaults last")


def _check_dimensions(said: str, made: Relation) -> None:
    dimensions = {s.name: s.unit.dimension for s in made.symbols.values()}
    try:
        right = made.expression.dimension(dimensions)
        if made.condition is not None:
            made.condition.dimension(dimensions)
    except UseError as error:
        raise UseError(f"{said}: {error}") from None
    left = made.result.unit.dimension
    if left != right:
        raise UseError(f"{said}: `{made.result.name}` is {kind_of(left)}, the right side is {kind_of(right)}")


def _check_example(said: str, made: Relation) -> None:
    found = _EXAMPLE.fullmatch(made.example)
    if found is None or found[1] != made.result.name:
        raise UseError(f"{said}: the example `{made.example}` is not RESULT(SYMBOL=number, …) = number")
    values = {}
    for part in filter(None, (p.strip() for p in found[2].split(","))):
        symbol, _, number = (t.strip() for t in part.partition("="))
        if symbol not in made.parameters:
            raise UseError(f"{said}: the example gives `{symbol}`, which is no argument; they are {', '.join(made.parameters)}")
        try:
            measure = made.symbols[symbol].unit
            values[symbol] = float(number) * float(measure.factor) + float(measure.offset)
        except ValueError:
            raise UseError(f"{said}: the example gives `{symbol}` as `{number}`, which is no number") from None
    try:
        value = made.result.unit.from_si(made(**values))
    except UseError as error:
        raise UseError(f"{said}: the example cannot be computed: {error}") from None
    except RangeError as error:
        raise UseError(f"{said}: the example lies outside the valid range: {error}") from None
    printed = found[3]
    if abs(value - float(printed)) > half_last_digit(printed) * (1 + 1e-9):
        raise UseError(f"{said}: the example says {made.result.name} = {printed}, the formula gives {value:.8g}")


def half_last_digit(printed: str) -> float:
    """
    Half a unit in the last digit of a printed number.

    >>> half_last_digit("2.292"), half_last_digit("12"), half_last_digit("1.5e-3")
    (0.0005, 0.5, 5e-05)
    """
    digits, _, ten = printed.lower().partition("e")
    places = len(digits.partition(".")[2])
    return float(f"5e{-places - 1 + int(ten or 0)}")
