"""
The language of formulas: a small part of Python's expressions, read with `ast` and never run as Python.

Allowed: numbers, names, ``+ - * / **``, comparisons (chained too), ``and``, ``or``, ``not``, ``a if condition else b``, `pi`, the
functions of `grader.relations.tree.FUNCTIONS`, and calls of the relations that are handed in. Everything else is refused with its
place and the reason, before Python's own parser sees it where that parser could be made to choke.
"""

from __future__ import annotations

import ast
import keyword
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Any, ClassVar, Literal, Protocol

from grader.base.errors import UseError
from grader.base.quantities import Dimension
from grader.relations import tree as trees
from grader.relations import typeset
from grader.relations.dimension import dimension_of
from grader.relations.javascript import body
from grader.relations.tree import FUNCTIONS, SEVERAL, Evaluator, Tree

LONGEST = 2000
"""Letters in one expression."""
MOST_TOKENS = 600
DEEPEST = 60
"""Brackets, operations and functions inside one another."""
GREATEST_POWER = 20
LONGEST_NAME = 60

Kind = Literal["number", "truth"]
_SAID: Mapping[Kind, str] = MappingProxyType({"number": "number", "truth": "condition"})


class ExpressionError(UseError):
    """
    Text that is not an expression of the language.

    Parameters
    ----------
    place : int
        Column in the text, 1 is the first letter.
    reason : str
        What is wrong there, and what to write.

    Examples
    --------
    >>> raise ExpressionError(3, "`^` is no power; write **")
    Traceback (most recent call last):
    ...
    grader.relations.language.ExpressionError: column 3: `^` is no power; write **
    """

    def __init__(self, place: int, reason: str) -> None:
        self.place = place
        self.reason = reason
        super().__init__(f"column {place}: {reason}")


class Callee(Protocol):
    """What the language must know of a relation that is called."""

    @property
    def name(self) -> str: ...
    @property
    def parameters(self) -> tuple[str, ...]: ...
    @property
    def defaults(self) -> Mapping[str, float]: ...
    @property
    def parameter_dimensions(self) -> tuple[Dimension, ...]: ...
    @property
    def result_dimension(self) -> Dimension: ...
    @property
    def expression(self) -> Expression: ...
    def run(self, values: Mapping[str, float]) -> float: ...


NO_FUNCTIONS: Mapping[str, Callee] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class Expression:
    """An expression that was read: what it needs, and its value, dimension, tree and typesetting."""

    text: str
    node: Tree
    kind: Kind
    functions: Mapping[str, Callee] = field(default_factory=lambda: NO_FUNCTIONS, repr=False)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names it needs values for, in the order of first use."""
        return trees.names(self.node)

    @cached_property
    def calls(self) -> tuple[str, ...]:
        """The relations it calls, in the order of first use."""
        return tuple(dict.fromkeys(t[1] for t in trees.walk(self.node) if isinstance(t, tuple) and t[0] == "call"))

    @cached_property
    def _run(self) -> Evaluator:
        return trees.compiled(self.node, self._call)

    def _call(self, name: str, arguments: list[Evaluator]) -> Evaluator:
        callee = self.functions[name]
        slots = tuple(zip(callee.parameters, arguments, strict=True))
        return lambda values: callee.run({symbol: argument(values) for symbol, argument in slots})

    def evaluate(self, values: Mapping[str, float]) -> float:
        """
        Its value on floats, in SI; a condition gives True or False.

        Raises `RangeError` where there is no finite value or a relation that is called lies outside its range.

        >>> parse("sqrt(2 * x)").evaluate({"x": 8.0})
        4.0
        """
        return trees.finite(self._run, values)

    def holds(self, values: Mapping[str, float]) -> bool:
        """
        Whether a condition holds.

        >>> parse("0 <= d < D").holds({"d": 1.0, "D": 2.0})
        True
        """
        return bool(self.evaluate(values))

    def expanded(self) -> Expression:
        """
        The same with every called relation written out.

        Raises `UseError` where that grows past what a key may carry.
        """
        return self._expanded

    @cached_property
    def _expanded(self) -> Expression:
        return Expression(self.text, expand(self.node, self.functions), self.kind) if self.calls else self

    def tree(self) -> Any:
        """
        The expanded expression as nested lists, JSON, for a key: see `grader.relations.tree`.

        >>> parse("2*area").tree()
        ['*', 2, ['name', 'area']]
        """
        return _listed(self.expanded().node)

    def dimension(self, dimensions: Mapping[str, Dimension]) -> Dimension:
        """
        Its dimension, from those of its names.

        Raises `grader.relations.dimension.DimensionError` naming the part where two sides do not agree.
        """
        return dimension_of(self.node, dimensions, self.functions)

    def mathml(self) -> str:
        """It as a `<math>` element, with a text alternative."""
        return typeset.mathml(self.node)

    def typst(self) -> str:
        """It as Typst math, without the dollar signs."""
        return typeset.typst(self.node)

    def plain(self) -> str:
        """It as a line of plain text with raised digits and Greek letters."""
        return typeset.plain(self.node)

    def javascript(self) -> str:
        """It as the body of a JavaScript function of its names."""
        return body(self.expanded().node)


def expand(node: Tree, functions: Mapping[str, Callee]) -> Tree:
    """A node with every call replaced by what the relation says; see `Expression.expanded`."""
    expanded = _expand(node, functions, {})
    trees.check_size(expanded)
    return expanded


def _expand(node: Tree, functions: Mapping[str, Callee], put: Mapping[str, Tree]) -> Tree:
    if not isinstance(node, tuple):
        return node
    if node[0] == "name":
        return put.get(node[1], node)
    if node[0] == "call":
        callee = functions[node[1]]
        arguments = [_expand(a, functions, put) for a in node[2:]]
        inside = callee.expression
        trees.check_size(*arguments)  # before they are put in at several places
        return _expand(inside.node, inside.functions, dict(zip(callee.parameters, arguments, strict=True)))
    return (node[0], *(p if isinstance(p, str) else _expand(p, functions, put) for p in node[1:]))


def _listed(node: Tree) -> Any:
    return [_listed(p) for p in node] if isinstance(node, tuple) else node


_TOKEN = re.compile(
    r"(?P<space>[ \t\r\n]+)"
    r"|(?P<number>(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)"
    r"|(?P<name>[A-Za-z_]\w*)"
    r"|(?P<sign>\*\*|<=|>=|==|!=|//|<<|>>|:=|->|[-+*/()<>=,])",
    re.ASCII,
)
_WORDS = frozenset({"and", "or", "not", "if", "else"})
_JOINING = frozenset({"*", "/", "**", "<", "<=", ">", ">=", "==", "!=", "=", ",", ")", "and", "or", "if", "else"})
_WAITING = frozenset({"+", "-", "(", "not", *_JOINING} - {")"})
_ADVICE: Mapping[str, str] = MappingProxyType(
    {
        "^": "`^` is no power here; write **",
        "×": "write * for times",
        "·": "write * for times",
        "−": "this is a long minus; write -",
        "–": "this is a dash; write -",
        "÷": "write / for a division",
        "²": "write **2",
        "³": "write **3",
        "√": "write sqrt(…)",
        "π": "write pi",
        "≤": "write <=",
        "≥": "write >=",
        "≠": "write !=",
        "%": "`%` is not part of a formula; write 0.02 for 2 %",
        "[": "square brackets are not part of a formula; use ( )",
        "]": "square brackets are not part of a formula; use ( )",
        "{": "braces are not part of a formula; use ( )",
        "}": "braces are not part of a formula; use ( )",
        '"': "text in quotes is not part of a formula",
        "'": "text in quotes is not part of a formula",
        ".": "a point that belongs to no number; names have no parts",
        ":": "`:` is not part of a formula",
        ";": "`;` is not part of a formula; write one expression",
        "#": "a comment is not part of a formula",
        "\\": "`\\` is not part of a formula",
        "//": "`//` is not part of a formula; write /",
        ":=": "`:=` is not part of a formula",
        "<<": "`<<` is not part of a formula",
        ">>": "`>>` is not part of a formula",
        "->": "`->` is not part of a formula",
    }
)


def parse(text: str, functions: Mapping[str, Callee] | Iterable[Callee] = NO_FUNCTIONS) -> Expression:
    """
    An expression from its text.

    Parameters
    ----------
    text : str
        At most 2000 letters.
    functions : mapping or iterable
        The relations that may be called, by name.

    Raises
    ------
    ExpressionError
        With the place and the reason, for anything outside the language.

    Examples
    --------
    >>> parse("pi/4 * (D**2 - d**2)").names
    ('D', 'd')
    >>> parse("jet_bore.real")
    Traceback (most recent call last):
    ...
    grader.relations.language.ExpressionError: column 9: a point that belongs to no number; names have no parts
    """
    callees = functions if isinstance(functions, Mapping) else {f.name: f for f in functions}
    _check_text(text)
    try:
        parsed = ast.parse(f"({text}\n)", mode="eval")
    except SyntaxError as error:
        words = [t[0] for t in _tokens(text)]
        said = (
            "something is missing or stands twice" if words.count("if") == words.count("else") else "each `if` needs its `else`"
        )
        raise ExpressionError(_column(error, text), f"this is not a whole expression; {said}") from None
    except (RecursionError, MemoryError, ValueError):
        raise ExpressionError(1, "nested too deep to be read; write it in parts") from None
    node, kind = _Reader(text, callees).read(parsed.body, 0)
    return Expression(text, node, kind, MappingProxyType(dict(callees)))


def _column(error: SyntaxError, text: str) -> int:
    lines = text.split("\n")
    row = min(max((error.lineno or 1) - 1, 0), len(lines) - 1)
    column = (error.offset or 1) - (1 if row == 0 else 0)
    return min(max(sum(len(line) + 1 for line in lines[:row]) + column, 1), len(text) + 1)


def _check_text(text: str) -> None:
    """Every letter and word is one of the language, brackets pair, and it is small enough for Python's parser."""
    if not isinstance(text, str):
        raise ExpressionError(1, f"an expression is text, not {type(text).__name__}")
    if len(text) > LONGEST:
        raise ExpressionError(LONGEST + 1, f"longer than {LONGEST} letters; write it in parts")
    found = [t for t in _tokens(text) if t.lastgroup != "space"]
    if not found:
        raise ExpressionError(1, "there is no expression")
    if len(found) > MOST_TOKENS:
        raise ExpressionError(1, f"more than {MOST_TOKENS} words and signs; write it in parts")
    _check_brackets(found)
    _check_order(found)


def _tokens(text: str) -> Iterator[re.Match[str]]:
    place = 0
    while place < len(text):
        found = _TOKEN.match(text, place)
        if found is None:
            raise ExpressionError(place + 1, _unknown_letter(text, place))
        _check_token(found, text)
        yield found
        place = found.end()


def _check_brackets(found: Iterable[re.Match[str]]) -> None:
    open_at: list[int] = []
    for token in found:
        place = token.start() + 1
        match token[0]:
            case "(":
                open_at.append(place)
            case ")" if not open_at:
                raise ExpressionError(place, "this ) closes nothing")
            case ")":
                open_at.pop()
        if len(open_at) > DEEPEST:
            raise ExpressionError(place, f"more than {DEEPEST} brackets inside one another; write it in parts")
    if open_at:
        raise ExpressionError(open_at[-1], "this ( is never closed")


def _check_order(found: Sequence[re.Match[str]]) -> None:
    """No value follows a value, no sign a sign that waits for a value: said here, since Python's own words differ by version."""
    before, depth = "", 0
    for token in found:
        word, place = token[0], token.start() + 1
        waiting = before in _WAITING or before == ""
        if not waiting and (token.lastgroup == "number" or (token.lastgroup == "name" and word not in _WORDS) or word == "not"):
            raise ExpressionError(place, f"`{word}` stands right after a value; write * for times, or a comma between values")
        if word in ("*", "**") and before in ("(", ","):
            raise ExpressionError(place, "a star before a value is not part of a formula")
        if waiting and word in _JOINING and not (before == "(" and word == ")"):
            raise ExpressionError(place, f"something is missing before `{word}`")
        if word == "=" and not depth:
            raise ExpressionError(place, "one = sets nothing here; write == to compare")
        depth += (word == "(") - (word == ")")
        before = word
    if before in _WAITING:
        raise ExpressionError(found[-1].end() + 1, f"something is missing after `{before}`")


def _unknown_letter(text: str, place: int) -> str:
    letter = text[place]
    if letter in _ADVICE:
        return _ADVICE[letter]
    name = unicodedata.name(letter, f"U+{ord(letter):04X}")
    if letter.isalpha() or letter.isdigit():
        return f"`{letter}` ({name}) is no plain letter or digit; write names in a-z, A-Z, 0-9 and _"
    if not letter.isprintable():
        return f"a letter that cannot be seen ({name}); take it out"
    return f"`{letter}` is not part of a formula"


def _check_token(found: re.Match[str], text: str) -> None:
    token, place = found[0], found.start()
    if found.lastgroup == "sign" and token in _ADVICE:
        raise ExpressionError(place + 1, _ADVICE[token])
    if found.lastgroup == "number":
        _check_number(token, place, text)
    if found.lastgroup == "name":
        if keyword.iskeyword(token) and token not in _WORDS:
            raise ExpressionError(place + 1, f"`{token}` is not part of a formula")
        if token.startswith("_"):
            raise ExpressionError(place + 1, f"`{token[:LONGEST_NAME]}` begins with _; a name begins with a letter")
        if len(token) > LONGEST_NAME:
            raise ExpressionError(place + 1, f"a name of more than {LONGEST_NAME} letters")


def _check_number(token: str, place: int, text: str) -> None:
    after = text[place + len(token) : place + len(token) + 1]
    if after and (after.isalnum() or after in "_."):
        raise ExpressionError(
            place + len(token) + 1, f"`{after}` cannot follow a number; write numbers as 1200, 0.5 or 1e-3, and * for times"
        )
    if re.match(r"0\d", token):
        raise ExpressionError(place + 1, f"`{token[:20]}` begins with 0; write it without")
    if len(token) > 40:
        raise ExpressionError(place + 1, "a number of more than 40 letters")
    size = abs(float(token))
    if size and not 1e-30 <= size <= 1e30:
        raise ExpressionError(place + 1, f"`{token}` is outside 1e-30 to 1e30")


_BINARY: Mapping[type[ast.operator], str] = MappingProxyType(
    {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "**"}
)
_COMPARED: Mapping[type[ast.cmpop], str] = MappingProxyType(
    {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!="}
)


_REFUSED: Mapping[type[ast.expr], str] = MappingProxyType(
    {
        ast.Tuple: "a comma outside a function's brackets; write 0.5, not 0,5",
        ast.Starred: "a star before a value is not part of a formula",
    }
)


class _Reader:
    """Turns Python's tree into ours, and refuses what is not in the list."""

    def __init__(self, text: str, callees: Mapping[str, Callee]) -> None:
        self.text = text
        self.callees = callees
        self.starts = [0]
        for line in text.split("\n"):
            self.starts.append(self.starts[-1] + len(line) + 1)

    def error(self, node: ast.expr | ast.keyword, reason: str) -> ExpressionError:
        row = node.lineno - 1
        column = node.col_offset - (1 if row == 0 else 0)  # the bracket put round the text
        return ExpressionError(max(self.starts[row] + column, 0) + 1, reason)

    def read(self, node: ast.expr, depth: int) -> tuple[Tree, Kind]:
        if depth > DEEPEST:
            raise self.error(node, f"nested more than {DEEPEST} deep; write it in parts")
        method = self._METHODS.get(type(node))
        if method is None:
            raise self.error(node, _REFUSED.get(type(node), "this is not part of a formula"))
        kind: Kind = "truth" if isinstance(node, (ast.BoolOp, ast.Compare)) or _is_not(node) else "number"
        return method(self, node, depth), kind

    def constant(self, node: ast.Constant, depth: int) -> Tree:  # noqa: ARG002 - one signature for all
        value = node.value
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.error(node, "only numbers stand in a formula")
        return float(value) if abs(value) > 1 << 53 else value

    def unary(self, node: ast.UnaryOp, depth: int) -> Tree:
        if isinstance(node.op, ast.Not):
            return ("not", self.wanted(node.operand, "truth", depth))
        inside = self.wanted(node.operand, "number", depth)
        if isinstance(node.op, ast.USub):
            return ("neg", inside)
        if isinstance(node.op, ast.UAdd):
            return inside
        raise self.error(node, "this is not part of a formula")

    def boolean(self, node: ast.BoolOp, depth: int) -> Tree:
        word = "and" if isinstance(node.op, ast.And) else "or"
        return (word, *(self.wanted(v, "truth", depth) for v in node.values))

    def conditional(self, node: ast.IfExp, depth: int) -> Tree:
        condition = self.wanted(node.test, "truth", depth)
        return ("if", condition, self.wanted(node.body, "number", depth), self.wanted(node.orelse, "number", depth))

    def wanted(self, node: ast.expr, kind: Kind, depth: int) -> Tree:
        tree, found = self.read(node, depth + 1)
        if found != kind:
            said = (
                "a condition stands where a number is needed"
                if kind == "number"
                else "a number stands where a condition is needed"
            )
            raise self.error(node, said)
        return tree

    def name(self, node: ast.Name, depth: int) -> Tree:  # noqa: ARG002 - one signature for all
        if node.id == "pi":
            return ("pi",)
        if node.id in FUNCTIONS:
            raise self.error(node, f"`{node.id}` is a function; write {node.id}(…)")
        return ("name", node.id)

    def operation(self, node: ast.BinOp, depth: int) -> Tree:
        sign = _BINARY.get(type(node.op))
        if sign is None:
            raise self.error(node, "this operation is not part of a formula; there are + - * / **")
        left, right = self.wanted(node.left, "number", depth), self.wanted(node.right, "number", depth)
        if sign == "**":
            self.check_power(node.right, right)
        return (sign, left, right)

    def check_power(self, at: ast.expr, exponent: Tree) -> None:
        if trees.names(exponent) or any(isinstance(t, tuple) and t[0] == "call" for t in trees.walk(exponent)):
            return
        try:
            value = trees.evaluate(exponent, {})
        except trees.NoValueError as error:
            raise self.error(at, f"the power has {error}") from None
        if abs(value) > GREATEST_POWER:
            raise self.error(at, f"a power of {value:g}; powers go from -{GREATEST_POWER} to {GREATEST_POWER}")

    def comparison(self, node: ast.Compare, depth: int) -> Tree:
        chain: list[Any] = [self.wanted(node.left, "number", depth)]
        for op, right in zip(node.ops, node.comparators, strict=True):
            sign = _COMPARED.get(type(op))
            if sign is None:
                raise self.error(right, "this comparison is not part of a formula; there are < <= > >= == !=")
            chain += [sign, self.wanted(right, "number", depth)]
        return ("compare", *chain)

    def call(self, node: ast.Call, depth: int) -> Tree:
        if not isinstance(node.func, ast.Name):
            raise self.error(node, "only a function's name can be called; write * for times")
        name = node.func.id
        arguments = [self.wanted(a, "number", depth) for a in node.args]
        if name in FUNCTIONS:
            return self.function(node, name, arguments)
        if name not in self.callees:
            raise self.error(node, self.unknown(name))
        return ("call", name, *self.slots(node, self.callees[name], arguments, depth))

    def unknown(self, name: str) -> str:
        import difflib

        near = difflib.get_close_matches(name, [*FUNCTIONS, *self.callees], 1)
        mend = f"did you mean `{near[0]}`?" if near else "write * for times"
        return f"`{name}` is not a function or a relation that may be called here; {mend}"

    def function(self, node: ast.Call, name: str, arguments: list[Tree]) -> Tree:
        if node.keywords:
            raise self.error(node.keywords[0], f"{name} takes no names, only values")
        if name in SEVERAL and len(arguments) < 2:
            raise self.error(node, f"{name} takes two values or more, not {len(arguments)}")
        if name not in SEVERAL and len(arguments) != 1:
            raise self.error(node, f"{name} takes one value, not {len(arguments)}")
        return (name, *arguments)

    def slots(self, node: ast.Call, callee: Callee, arguments: list[Tree], depth: int) -> list[Tree]:
        signature = f"{callee.name}({', '.join(callee.parameters)})"
        if len(arguments) > len(callee.parameters):
            raise self.error(node, f"{len(arguments)} values are too many; it is {signature}")
        given = dict(zip(callee.parameters, arguments, strict=False))
        for word in node.keywords:
            if word.arg is None:
                raise self.error(word, "a star before a value is not part of a formula")
            if word.arg not in callee.parameters:
                raise self.error(word, f"`{word.arg}` is no symbol of it; it is {signature}")
            if word.arg in given:
                raise self.error(word, f"`{word.arg}` is given twice; it is {signature}")
            given[word.arg] = self.wanted(word.value, "number", depth)
        missing = [p for p in callee.parameters if p not in given and p not in callee.defaults]
        if missing:
            raise self.error(node, f"no value for {', '.join(missing)}; it is {signature}")
        return [given.get(p, callee.defaults.get(p)) for p in callee.parameters]

    _METHODS: ClassVar[Mapping[type[ast.expr], Callable[..., Tree]]] = {
        ast.Constant: constant,
        ast.Name: name,
        ast.BinOp: operation,
        ast.UnaryOp: unary,
        ast.BoolOp: boolean,
        ast.Compare: comparison,
        ast.IfExp: conditional,
        ast.Call: call,
    }


def _is_not(node: ast.expr) -> bool:
    return isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)
