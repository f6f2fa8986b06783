"""
An expression as JavaScript for a page: one function a relation, no library.

Whole powers are written as products, as the evaluators here take them. Where Python would raise, JavaScript gives NaN or an
infinity: a page treats whatever is not finite as no value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import ClassVar

from grader.relations.tree import Tree, whole_power

_WORDS = """
abstract arguments await boolean break byte case catch char class const continue debugger default delete do double else enum
eval export extends false final finally float for function goto if implements import in instanceof int interface let long
native new null package private protected public return short static super switch synchronized this throw throws transient
true try typeof undefined var void volatile while with yield Math NaN Infinity
"""
_RESERVED = frozenset(_WORDS.split())
_SIGNS: Mapping[str, str] = MappingProxyType({"==": "===", "!=": "!=="})


def identifier(name: str) -> str:
    """
    A name that JavaScript takes; words of its own get a `$`, which no name of ours has.

    >>> identifier("jet_bore"), identifier("new")
    ('jet_bore', 'new$')
    """
    return f"{name}$" if name in _RESERVED else name


def body(node: Tree) -> str:
    """
    The statements of a function that returns the value of an expanded expression.

    >>> body(("**", ("+", ("name", "a"), 1), 2))
    'const $1 = a + 1; return $1 * $1;'
    """
    writer = _Writer()
    text = writer.text(node)[0]
    return "".join(f"{line} " for line in writer.lines) + f"return {text};"


# JavaScript's own precedence, loosest first.
_IF, _OR, _AND, _EQUAL, _SUM, _PRODUCT, _UNARY, _ATOM = range(8)
_Written = tuple[str, int]


class _Writer:
    """Writes a node; what is needed more than once becomes a constant first. Nothing here has a side effect, so order is free."""

    def __init__(self, prefix: str = "$") -> None:
        self.prefix = prefix
        self.lines: list[str] = []

    def held(self, node: Tree, least: int) -> str:
        text, binds = self.text(node)
        return text if binds >= least else f"({text})"

    def once(self, node: Tree) -> str:
        """A text for a node that may stand several times."""
        text, binds = self.text(node)
        if binds == _ATOM and (text.replace("$", "").isidentifier() or text == "Math.PI"):
            return text
        name = f"{self.prefix}{len(self.lines) + 1}"
        self.lines.append(f"const {name} = {text};")
        return name

    def text(self, node: Tree) -> _Written:
        if isinstance(node, (int, float)):
            return repr(node), _ATOM
        method = self._METHODS.get(node[0])
        if method is not None:
            return method(self, *node[1:])
        return f"Math.{node[0]}({', '.join(self.held(p, _IF) for p in node[1:])})", _ATOM

    def sum(self, sign: str, left: Tree, right: Tree) -> _Written:
        return f"{self.held(left, _SUM)} {sign} {self.held(right, _PRODUCT)}", _SUM

    def product(self, sign: str, left: Tree, right: Tree) -> _Written:
        return f"{self.held(left, _PRODUCT)} {sign} {self.held(right, _UNARY)}", _PRODUCT

    def conditional(self, condition: Tree, then: Tree, otherwise: Tree) -> _Written:
        return f"{self.held(condition, _OR)} ? {self.held(then, _OR)} : {self.held(otherwise, _IF)}", _IF

    def both(self, *parts: Tree) -> _Written:
        return " && ".join(self.held(p, _EQUAL) for p in parts), _AND

    def either(self, *parts: Tree) -> _Written:
        return " || ".join(self.held(p, _AND) for p in parts), _OR

    def power(self, base: Tree, exponent: Tree) -> _Written:
        whole = whole_power(exponent)
        if whole is None:
            return f"Math.pow({self.held(base, _IF)}, {self.held(exponent, _IF)})", _ATOM
        if whole == 0:
            return "1", _ATOM
        if abs(whole) == 1:
            product: _Written = self.text(base)
        else:
            product = " * ".join([self.once(base)] * abs(whole)), _PRODUCT
        if whole > 0:
            return product
        return f"1 / {product[0] if product[1] == _ATOM else f'({product[0]})'}", _PRODUCT

    def comparison(self, *chain: Tree) -> _Written:
        texts = [self.once(part) if 0 < n < len(chain) // 2 else self.held(part, _SUM) for n, part in enumerate(chain[::2])]
        signs = [_SIGNS.get(sign, sign) for sign in chain[1::2]]
        pairs = [f"{texts[n]} {sign} {texts[n + 1]}" for n, sign in enumerate(signs)]
        return (pairs[0], _EQUAL) if len(pairs) == 1 else (" && ".join(pairs), _AND)

    _METHODS: ClassVar[Mapping[str, Callable[..., _Written]]] = {
        "pi": lambda _: ("Math.PI", _ATOM),
        "name": lambda _, name: (identifier(name), _ATOM),
        "+": lambda self, a, b: self.sum("+", a, b),
        "-": lambda self, a, b: self.sum("-", a, b),
        "*": lambda self, a, b: self.product("*", a, b),
        "/": lambda self, a, b: self.product("/", a, b),
        "**": power,
        "neg": lambda self, a: (f"-{self.held(a, _ATOM)}", _UNARY),
        "not": lambda self, a: (f"!{self.held(a, _ATOM)}", _UNARY),
        "if": conditional,
        "compare": comparison,
        "and": both,
        "or": either,
    }


def function(name: str, parameters: Mapping[str, float | None], condition: Tree | None, node: Tree) -> str:
    """
    A relation as a JavaScript function: SI in, SI out, NaN outside its valid range.

    `parameters` gives each its default or None.

    >>> function("disc_area", {"D": None}, ("compare", 0, "<=", ("name", "D")), ("**", ("name", "D"), 2))
    'function disc_area(D) { if (!(0 <= D)) return NaN; return D * D; }'
    """
    written = [identifier(p) if d is None else f"{identifier(p)} = {d!r}" for p, d in parameters.items()]
    guard = ""
    if condition is not None:
        writer = _Writer("$v")
        text = writer.text(condition)[0]
        guard = "".join(f"{line} " for line in writer.lines) + f"if (!({text})) return NaN; "
    return f"function {identifier(name)}({', '.join(written)}) {{ {guard}{body(node)} }}"
