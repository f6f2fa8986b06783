"""
Dimensions through an expression.

Both sides of a sum, a comparison and an `if` agree, functions take plain numbers; powers may be fractions. An angle is 1.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import ClassVar, Protocol

from grader.base.errors import UseError
from grader.base.quantities import UNITS, Dimension, dimension
from grader.relations.tree import Tree
from grader.relations.typeset import plain

ONE = dimension()
_BASE = ("m", "kg", "s", "K", "A")
_RAISED = MappingProxyType(str.maketrans("-/0123456789", "⁻⁄⁰¹²³⁴⁵⁶⁷⁸⁹"))

# A written 0 fits every dimension (`max(force, 0)`): it has none of its own.
Found = Dimension | None


class Dimensioned(Protocol):
    """What the walk must know of a relation that is called."""

    @property
    def parameters(self) -> tuple[str, ...]: ...
    @property
    def defaults(self) -> Mapping[str, float]: ...
    @property
    def parameter_dimensions(self) -> tuple[Dimension, ...]: ...
    @property
    def result_dimension(self) -> Dimension: ...


class DimensionError(UseError):
    """Two things of different dimension where they must agree; the message names the part and both dimensions."""


@cache
def kind_of(found: Dimension) -> str:
    """
    What a dimension is called.

    >>> kind_of(dimension(2)), kind_of(dimension(-1, 1, -2)), kind_of(dimension(Fraction(1, 2)))
    ('an area (mm²)', 'a pressure (Pa)', 'a quantity in m^(1/2)')
    """
    if found == ONE:
        return "a plain number"
    if found == dimension(2):
        return "an area (mm²)"
    for unit in UNITS.values():
        if unit.dimension == found:
            article = "an" if unit.kind[0] in "aeiou" else "a"
            return f"{article} {unit.kind} ({unit.shown})"
    return f"a quantity in {si_text(found)}"


def si_text(found: Dimension) -> str:
    """
    A dimension in SI base units.

    >>> si_text(dimension(1, 0, -2)), si_text(dimension()), si_text(dimension(0, 0, -1))
    ('m·s⁻²', '', 's⁻¹')
    """

    def raised(power: Fraction) -> str:
        if power == 1:
            return ""
        return str(power).translate(dict(_RAISED)) if power.denominator == 1 else f"^({power})"

    return "·".join(name + raised(power) for name, power in zip(_BASE, found, strict=True) if power)


def dimension_of(node: Tree, dimensions: Mapping[str, Dimension], callees: Mapping[str, Dimensioned]) -> Dimension:
    """
    The dimension of a node, from those of its names and of the relations it calls; a condition's is that of a plain number.

    Raises `DimensionError` naming the part where two sides do not agree, `UseError` for a name without a dimension.

    >>> from grader.relations.language import parse
    >>> parse("D**2 - d").dimension({"D": dimension(1), "d": dimension(1)})
    Traceback (most recent call last):
    ...
    grader.relations.dimension.DimensionError: `D² − d` takes a length (mm) from an area (mm²)
    """
    found = _Walk(dimensions, callees).of(node)
    return ONE if found is None else found


def constant(node: Tree) -> Fraction | None:
    """
    The exact value of a constant power like ``1/4`` or ``-2``, or None where it depends on names or is not rational.

    >>> constant(("/", 1, 4)), constant(("neg", 2)), constant(("name", "x"))
    (Fraction(1, 4), Fraction(-2, 1), None)
    """
    match node:
        case int() | float():
            return Fraction(str(node))
        case ("neg", inner):
            value = constant(inner)
            return None if value is None else -value
        case ("+" | "-" | "*" | "/" as sign, left, right):
            a, b = constant(left), constant(right)
            if a is None or b is None or (sign == "/" and not b):
                return None
            return {"+": lambda: a + b, "-": lambda: a - b, "*": lambda: a * b, "/": lambda: a / b}[sign]()
    return None


class _Walk:
    def __init__(self, dimensions: Mapping[str, Dimension], callees: Mapping[str, Dimensioned]) -> None:
        self.dimensions = dimensions
        self.callees = callees

    def of(self, node: Tree) -> Found:
        if isinstance(node, (int, float)):
            return None if node == 0 else ONE
        method = self._METHODS.get(node[0])
        return self.function(node) if method is None else method(self, node)

    def name(self, node: Tree) -> Found:
        if node[1] not in self.dimensions:
            raise UseError(f"`{node[1]}` has no unit here")
        return self.dimensions[node[1]]

    def root(self, node: Tree) -> Found:
        found = self.of(node[1])
        return None if found is None else _raised(found, Fraction(1, 2))

    def conditional(self, node: Tree) -> Found:
        self.of(node[1])
        return self.alike(node, node[2:])

    def truth(self, node: Tree) -> Found:
        if node[0] == "compare":
            self.alike(node, node[1::2])
        else:
            for part in node[1:]:
                self.of(part)
        return ONE

    def alike(self, node: Tree, parts: Sequence[Tree]) -> Found:
        agreed: Found = None
        for part in parts:
            found = self.of(part)
            if agreed is not None and found is not None and agreed != found:
                raise DimensionError(_disagreement(node, agreed, found))
            agreed = found if agreed is None else agreed
        return agreed

    def product(self, node: Tree) -> Found:
        left, right = self.of(node[1]), self.of(node[2])
        if left is None or right is None:
            return None
        turn = 1 if node[0] == "*" else -1
        return dimension(*(a + turn * b for a, b in zip(left, right, strict=True)))

    def power(self, node: Tree) -> Found:
        base, exponent = node[1:]
        over = self.of(exponent)
        if over not in (None, ONE):
            raise DimensionError(f"the power `{plain(exponent)}` is {kind_of(over or ONE)}; a power is a plain number")
        found = self.of(base)
        if found is None or found == ONE:
            return found
        value = constant(exponent)
        if value is None:
            said = f"`{plain(base)}` is {kind_of(found)} and its power `{plain(exponent)}` is no plain fraction"
            raise DimensionError(f"{said}; divide it by a reference of the same kind first")
        return _raised(found, value)

    def call(self, node: Tree) -> Found:
        name, *arguments = node[1:]
        callee = self.callees[name]
        for symbol, wanted, argument in zip(callee.parameters, callee.parameter_dimensions, arguments, strict=True):
            found = self.of(argument)
            if found is not None and found != wanted:
                # a default written into the call is a plain number already in SI
                if isinstance(argument, float) and callee.defaults.get(symbol) == argument:
                    continue
                raise DimensionError(f"{name} takes {kind_of(wanted)} as {symbol}; `{plain(argument)}` is {kind_of(found)}")
        return callee.result_dimension

    def function(self, node: Tree) -> Found:
        found = self.of(node[1])
        if found not in (None, ONE):
            raise DimensionError(f"{node[0]} takes a plain number or an angle; `{plain(node[1])}` is {kind_of(found or ONE)}")
        return ONE

    _METHODS: ClassVar[Mapping[str, Callable[[_Walk, Tree], Found]]] = {
        "pi": lambda _self, _node: ONE,
        "name": name,
        "+": lambda self, node: self.alike(node, node[1:]),
        "-": lambda self, node: self.alike(node, node[1:]),
        "min": lambda self, node: self.alike(node, node[1:]),
        "max": lambda self, node: self.alike(node, node[1:]),
        "*": product,
        "/": product,
        "**": power,
        "neg": lambda self, node: self.of(node[1]),
        "abs": lambda self, node: self.of(node[1]),
        "sqrt": root,
        "if": conditional,
        "compare": truth,
        "and": truth,
        "or": truth,
        "not": truth,
        "call": call,
    }


def _raised(found: Dimension, power: Fraction) -> Dimension:
    return dimension(*(e * power for e in found))


def _disagreement(node: Tree, first: Dimension, second: Dimension) -> str:
    said, one, other = plain(node), kind_of(first), kind_of(second)
    match node[0]:
        case "+":
            return f"`{said}` adds {other} to {one}"
        case "-":
            return f"`{said}` takes {other} from {one}"
        case "compare":
            return f"`{said}` compares {one} with {other}"
        case "if":
            return f"`{said}` is {one} in one case and {other} in the other"
    return f"`{said}` sets {one} beside {other}"
