"""
An expression set as mathematics: one walk, three backends (MathML, Typst math, plain text), in the form it was written.

A division becomes a fraction, brackets stand only where precedence asks for them. A symbol `C_d` gets a subscript, `rho` is a
Greek letter, `delta_p` is Δp, and a name of the trade (`rod_diameter`) is upright text. Nothing from a formula reaches Typst or a
page but letters, digits and the signs written here: a name is checked when it is read, and quoted or escaped once more when it is
set.
"""

from __future__ import annotations

import html
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import ClassVar, NamedTuple

from grader.base.quantities import Unit
from grader.relations.tree import Tree

_NAMES = "alpha beta gamma delta epsilon zeta eta theta iota kappa lamda mu nu xi pi rho sigma tau phi chi psi omega"
_CAPITALS = "Gamma Delta Theta Lamda Sigma Phi Psi Omega"
GREEK: Mapping[str, str] = MappingProxyType(
    dict(zip(f"{_NAMES} {_CAPITALS}".split(), "αβγδεζηθικλμνξπρστφχψωΓΔΘΛΣΦΨΩ", strict=True))
)
"""Names that set a Greek letter. `lamda` is spelt as in Unicode, since `lambda` is a word of Python."""

RAISED = MappingProxyType(str.maketrans("-−0123456789", "⁻⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
LOWERED = MappingProxyType(str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉"))
SIGNS: Mapping[str, str] = MappingProxyType({"<": "<", "<=": "≤", ">": ">", ">=": "≥", "==": "=", "!=": "≠"})
SPACE = "\u00a0"

# Precedence, loosest first.
CASES, EITHER, BOTH, NOT, COMPARED, SUM, PRODUCT, SIGN, POWER, ATOM = range(10)


class Symbol(NamedTuple):
    """How a name is set: an upright word, or a letter (after Δ or not) with what is written below it."""

    word: str
    letter: str
    below: tuple[str, ...]
    delta: bool


def symbol(name: str) -> Symbol:
    """
    A name taken apart for setting.

    >>> symbol("C_d")
    Symbol(word='', letter='C', below=('d',), delta=False)
    >>> symbol("delta_p_1")
    Symbol(word='', letter='p', below=('1',), delta=True)
    >>> symbol("rod_diameter").word.replace(SPACE, " ")
    'rod diameter'
    """
    first, *rest = [part for part in name.split("_") if part] or [name]
    delta = first == "delta" and bool(rest)
    if delta:
        first, *rest = rest
    letter, digits = first.rstrip("0123456789"), first[len(first.rstrip("0123456789")) :]
    if letter in GREEK or len(letter) == 1:
        below = ([digits] if digits else []) + rest
        return Symbol("", GREEK.get(letter, letter), tuple(GREEK.get(b, b) for b in below), delta)
    return Symbol(SPACE.join([first, *rest]), "", (), delta)


@dataclass(frozen=True)
class Shown:
    """A number put into a formula as it is to be printed: digits with a point, and a power of ten where there is one."""

    digits: str
    ten: int = 0

    @property
    def negative(self) -> bool:
        """Whether it needs a bracket after a sign."""
        return self.digits.startswith("-")


@dataclass(frozen=True)
class Measured:
    """A number with its unit, as one side of an equation or put in for a name."""

    shown: Shown
    unit: Unit


class Piece(NamedTuple):
    """What has been set so far, how loosely it binds, and what its ends look like (for the choice of the times sign)."""

    text: str
    binds: int
    starts: str  # "digit" | "letter" | "word" | "bracket"
    ends: str


class Backend(ABC):
    """The marks of one output. Each method takes finished texts and gives finished text."""

    two_dimensional = True

    @abstractmethod
    def number(self, shown: Shown) -> str: ...
    @abstractmethod
    def symbol(self, symbol: Symbol) -> str: ...
    @abstractmethod
    def word(self, text: str) -> str: ...
    def measured(self, number: str, gap: str, sign: str) -> str:
        """A number and its unit's sign."""
        return self.row(number, self.word(f"{gap}{sign}"))

    @abstractmethod
    def sign(self, sign: str) -> str: ...
    @abstractmethod
    def negative(self, inside: str) -> str: ...
    @abstractmethod
    def row(self, *texts: str) -> str: ...
    @abstractmethod
    def bracket(self, inside: str) -> str: ...
    @abstractmethod
    def fraction(self, above: str, below: str) -> str: ...
    @abstractmethod
    def slash(self) -> str: ...
    @abstractmethod
    def power(self, base: str, over: str, exponent: Tree) -> str: ...
    @abstractmethod
    def root(self, inside: str) -> str: ...
    @abstractmethod
    def absolute(self, inside: str) -> str: ...
    @abstractmethod
    def call(self, name: str, arguments: Sequence[str], *, trade: bool) -> str: ...
    @abstractmethod
    def cases(self, rows: Sequence[tuple[str, str]], otherwise: str) -> str: ...

    nothing_times = ""
    before_function = ""  # where a letter would run into a function's name


class MathML(Backend):
    """Presentation MathML, the part browsers draw (MathML Core)."""

    nothing_times = "<mo>\u2062</mo>"
    before_function = '<mspace width="0.17em"/>'

    def number(self, shown: Shown) -> str:
        digits = f"<mn>{html.escape(shown.digits.lstrip('-'))}</mn>"
        if shown.ten:
            sign = "<mo>−</mo>" if shown.ten < 0 else ""
            digits = f"<mrow>{digits}<mo>×</mo><msup><mn>10</mn><mrow>{sign}<mn>{abs(shown.ten)}</mn></mrow></msup></mrow>"
        return f"<mrow><mo>−</mo>{digits}</mrow>" if shown.negative else digits

    def symbol(self, symbol: Symbol) -> str:
        base = f"<mi>{html.escape(symbol.word or symbol.letter)}</mi>"
        if symbol.below:
            base = f"<msub>{base}{self._below(symbol.below)}</msub>"
        return f'<mrow><mi mathvariant="normal">Δ</mi>{base}</mrow>' if symbol.delta else base

    def _below(self, below: Sequence[str]) -> str:
        set_below = [f"<mn>{b}</mn>" if b.isdigit() else f'<mi mathvariant="normal">{html.escape(b)}</mi>' for b in below]
        return set_below[0] if len(set_below) == 1 else f"<mrow>{'<mo>,</mo>'.join(set_below)}</mrow>"

    def word(self, text: str) -> str:
        return f"<mtext>{html.escape(text)}</mtext>"

    def sign(self, sign: str) -> str:
        # Said outright: beside words, which count as space in MathML, a sign is taken for a prefix and loses its space.
        return f'<mo form="infix">{html.escape(sign)}</mo>'

    def negative(self, inside: str) -> str:
        return f"<mrow><mo>−</mo>{inside}</mrow>"

    def row(self, *texts: str) -> str:
        return f"<mrow>{''.join(texts)}</mrow>"

    def measured(self, number: str, gap: str, sign: str) -> str:
        space = '<mspace width="0.17em"/>' if gap else ""
        return f"<mrow>{number}{space}{self.word(sign)}</mrow>"

    def bracket(self, inside: str) -> str:
        return f"<mrow><mo>(</mo>{inside}<mo>)</mo></mrow>"

    def fraction(self, above: str, below: str) -> str:
        return f"<mfrac>{_rowed(above)}{_rowed(below)}</mfrac>"

    def slash(self) -> str:
        return "<mo>/</mo>"

    def power(self, base: str, over: str, exponent: Tree) -> str:  # noqa: ARG002 - plain text alone looks at the exponent
        return f"<msup>{_rowed(base)}{_rowed(over)}</msup>"

    def root(self, inside: str) -> str:
        return f"<msqrt>{inside}</msqrt>"

    def absolute(self, inside: str) -> str:
        return f"<mrow><mo>|</mo>{inside}<mo>|</mo></mrow>"

    def call(self, name: str, arguments: Sequence[str], *, trade: bool) -> str:
        called = self.word(name) if trade else f"<mi>{html.escape(name)}</mi>"
        return f"<mrow>{called}<mo>\u2061</mo><mrow><mo>(</mo>{'<mo>,</mo>'.join(arguments)}<mo>)</mo></mrow></mrow>"

    def cases(self, rows: Sequence[tuple[str, str]], otherwise: str) -> str:
        lines = [
            f"<mtr><mtd>{value}</mtd><mtd><mrow><mtext>if{SPACE}</mtext>{condition}</mrow></mtd></mtr>"
            for value, condition in rows
        ]
        lines.append(f"<mtr><mtd>{otherwise}</mtd><mtd><mtext>else</mtext></mtd></mtr>")
        return f'<mrow><mo>{{</mo><mtable displaystyle="true">{"".join(lines)}</mtable></mrow>'


def _rowed(text: str) -> str:
    return text if text.count("<") and text.startswith(("<mrow", "<mi", "<mn")) and _single(text) else f"<mrow>{text}</mrow>"


def _single(text: str) -> bool:
    """Whether the text is one element: its first tag closes at its very end."""
    name = text[1 : min(i for i in (text.find(">"), text.find(" ")) if i > 0)]
    depth, place = 0, 0
    while True:
        opens, closes = text.find(f"<{name}", place), text.find(f"</{name}>", place)
        if opens != -1 and opens < closes:
            depth, place = depth + 1, opens + 1
        else:
            depth, place = depth - 1, closes + 1
            if depth == 0:
                return closes + len(name) + 3 == len(text)


class Typst(Backend):
    """Typst math. Words stand in quotes with `"` and `\\` escaped, so that no text can run as code."""

    nothing_times = " thin "

    def number(self, shown: Shown) -> str:
        digits = shown.digits.lstrip("-")
        text = f"{digits} times 10^({shown.ten})".replace("(-", "(−") if shown.ten else digits
        return f"−{text}" if shown.negative else text

    def symbol(self, symbol: Symbol) -> str:
        base = self.word(symbol.word) if symbol.word else symbol.letter
        if symbol.below:
            below = " ".join(b if b.isdigit() else self.word(b) for b in symbol.below)
            base += f"_({below})"
        return f"upright(Δ) {base}" if symbol.delta else base

    def word(self, text: str) -> str:
        escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
        return f'"{escaped}"'

    def sign(self, sign: str) -> str:
        return f" {sign} "

    def negative(self, inside: str) -> str:
        return f"−{inside}"

    def row(self, *texts: str) -> str:
        return "".join(texts)

    def bracket(self, inside: str) -> str:
        return f"lr(({inside}))"

    def fraction(self, above: str, below: str) -> str:
        return f"frac({above}, {below})"

    def slash(self) -> str:
        return "\\/"

    def power(self, base: str, over: str, exponent: Tree) -> str:  # noqa: ARG002 - plain text alone looks at the exponent
        return f"{base}^({over})"

    def root(self, inside: str) -> str:
        return f"sqrt({inside})"

    def absolute(self, inside: str) -> str:
        return f"abs({inside})"

    def call(self, name: str, arguments: Sequence[str], *, trade: bool) -> str:
        called = self.word(name) if trade else f"op({self.word(name)})"
        return f"{called} lr(({', '.join(arguments)}))"

    def cases(self, rows: Sequence[tuple[str, str]], otherwise: str) -> str:
        lines = [f'display({value}) & " if " {condition}' for value, condition in rows]
        lines.append(f'display({otherwise}) & " else"')
        return f"cases({', '.join(lines)})"


class Plain(Backend):
    """One line of text: for a terminal, and as the text alternative of a formula."""

    two_dimensional = False
    nothing_times = " "

    def number(self, shown: Shown) -> str:
        digits = shown.digits.replace("-", "−")
        return f"{digits} × 10{str(shown.ten).translate(dict(RAISED))}" if shown.ten else digits

    def symbol(self, symbol: Symbol) -> str:
        base = symbol.word or symbol.letter
        if symbol.below:
            joined = "_".join(symbol.below)
            base += joined.translate(dict(LOWERED)) if joined.isdigit() else f"_{joined}"
        return f"Δ{base}" if symbol.delta else base

    def word(self, text: str) -> str:
        return text

    def sign(self, sign: str) -> str:
        return f" {sign} "

    def negative(self, inside: str) -> str:
        return f"−{inside}"

    def row(self, *texts: str) -> str:
        return "".join(texts)

    def bracket(self, inside: str) -> str:
        return f"({inside})"

    def fraction(self, above: str, below: str) -> str:
        return f"({above})/({below})"

    def slash(self) -> str:
        return "/"

    def power(self, base: str, over: str, exponent: Tree) -> str:
        if isinstance(exponent, int) or (isinstance(exponent, tuple) and exponent[0] == "neg" and isinstance(exponent[1], int)):
            return base + over.translate(dict(RAISED))
        simple = isinstance(exponent, (int, float, Shown)) or exponent[0] in ("name", "pi")
        return f"{base}^{over}" if simple else f"{base}^({over})"

    def root(self, inside: str) -> str:
        return f"√{inside}" if inside.replace(".", "").isalnum() else f"√({inside})"

    def absolute(self, inside: str) -> str:
        return f"|{inside}|"

    def call(self, name: str, arguments: Sequence[str], *, trade: bool) -> str:  # noqa: ARG002 - a word looks the same either way
        return f"{name}({', '.join(arguments)})"

    def cases(self, rows: Sequence[tuple[str, str]], otherwise: str) -> str:
        return "; ".join([*(f"{value} if {condition}" for value, condition in rows), f"else {otherwise}"])


class Setter:
    """The walk: decides brackets, fractions and times signs; the backend writes them. `numeric` puts a sign in every product."""

    def __init__(self, backend: Backend, *, numeric: bool = False) -> None:
        self.to = backend
        self.numeric = numeric
        self.raised = 0

    def piece(self, node: Tree) -> Piece:
        """A node set, with how loosely it binds."""
        if isinstance(node, Shown):
            return self.shown(node)
        if isinstance(node, Measured):
            return self.measured(node)
        if isinstance(node, (int, float)):
            return self.shown(shown_number(node))
        method = self._METHODS.get(node[0])
        if method is not None:
            return method(self, *node[1:])
        return self.called({"log": "ln"}.get(node[0], node[0]), node[1:], trade=False)

    def pi(self) -> Piece:
        return Piece(self.to.symbol(symbol("pi")), ATOM, "letter", "letter")

    def name(self, name: str) -> Piece:
        taken = symbol(name)
        look = "word" if taken.word else "letter"
        return Piece(self.to.symbol(taken), ATOM, look, look)

    def negative(self, inside: Tree) -> Piece:
        piece = self.piece(inside)
        loose = piece.binds < PRODUCT
        return Piece(self.to.negative(self.to.bracket(piece.text) if loose else piece.text), SIGN, "sign", piece.ends)

    def root(self, inside: Tree) -> Piece:
        return Piece(self.to.root(self.piece(inside).text), ATOM, "root", "bracket")

    def absolute(self, inside: Tree) -> Piece:
        return Piece(self.to.absolute(self.piece(inside).text), ATOM, "bracket", "bracket")

    def comparison(self, first: Tree, *rest: Tree) -> Piece:
        texts = [self.held(first, SUM)]
        for sign, value in zip(rest[::2], rest[1::2], strict=True):
            texts += [self.to.sign(SIGNS[sign]), self.held(value, SUM)]
        return Piece(self.to.row(*texts), COMPARED, "letter", "letter")

    def denied(self, inside: Tree) -> Piece:
        return Piece(self.to.row(self.to.word(f"not{SPACE}"), self.held(inside, COMPARED)), NOT, "word", "letter")

    def trade_call(self, name: str, *arguments: Tree) -> Piece:
        return self.called(name.replace("_", SPACE), arguments, trade=True)

    def shown(self, number: Shown) -> Piece:
        binds = SIGN if number.negative else PRODUCT if number.ten else ATOM
        return Piece(self.to.number(number), binds, "sign" if number.negative else "digit", "digit")

    def measured(self, measured: Measured) -> Piece:
        number, sign = self.shown(measured.shown), measured.unit.shown
        if not sign:
            return number
        text = self.to.measured(number.text, "" if sign == "°" else "\u202f", sign)
        return Piece(text, min(number.binds, PRODUCT), number.starts, "word")

    def held(self, node: Tree, least: int) -> str:
        """A part's text, in brackets where it binds more loosely than `least`."""
        piece = self.piece(node)
        return self.to.bracket(piece.text) if piece.binds < least else piece.text

    def sum(self, sign: str, left: Tree, right: Tree) -> Piece:
        first, second = self.piece(left), self.piece(right)
        before = first.text if first.binds >= SUM else self.to.bracket(first.text)
        tight = SUM if sign == "+" else PRODUCT
        loose = second.binds < tight or second.starts == "sign"
        after = self.to.bracket(second.text) if loose else second.text
        text = self.to.row(before, self.to.sign("+" if sign == "+" else "−"), after)
        return Piece(text, SUM, "bracket" if first.binds < SUM else first.starts, "bracket" if loose else second.ends)

    def product(self, left: Tree, right: Tree) -> Piece:
        first, second = self.piece(left), self.piece(right)
        stands_alone = second.binds == CASES and self.to.two_dimensional  # its brace is bracket enough
        loose = second.starts == "sign" or (second.binds < PRODUCT and not stands_alone)
        if loose:
            second = Piece(self.to.bracket(second.text), ATOM, "bracket", "bracket")
        if first.binds < PRODUCT:
            first = Piece(self.to.bracket(first.text), ATOM, "bracket", "bracket")
        times = self.times(first.ends, second.starts)
        return Piece(self.to.row(first.text, times, second.text), PRODUCT, first.starts, second.ends)

    def times(self, before: str, after: str) -> str:
        """A sign where two factors would run together or be taken for a function's call, nothing where letters stand for it."""
        if self.numeric or after == "digit":
            return self.to.sign("×")
        called = after == "bracket" and before in ("letter", "bracket")
        flat = not self.to.two_dimensional and (before in ("bracket", "fraction") or after in ("bracket", "root"))
        if called or flat or "word" in (before, after):
            return self.to.sign("·")
        return self.to.nothing_times + (self.to.before_function if after == "function" else "")

    def quotient(self, above: Tree, below: Tree) -> Piece:
        if self.to.two_dimensional and not self.raised:
            text = self.to.fraction(self.piece(above).text, self.piece(below).text)
            return Piece(text, PRODUCT, "fraction", "fraction")
        first, second = self.piece(above), self.piece(below)
        over = self.to.bracket(first.text) if first.binds < PRODUCT else first.text
        under = second.text if second.binds > SIGN else self.to.bracket(second.text)
        return Piece(self.to.row(over, self.to.slash(), under), PRODUCT, first.starts, "fraction")

    def power(self, base: Tree, exponent: Tree) -> Piece:
        under = self.piece(base)
        self.raised += 1  # a fraction in a power is written with a stroke: two small lines could not be read
        over = self.piece(exponent)
        self.raised -= 1
        # A letter with Δ before it, a root or a call takes its power only from outside a bracket.
        plain_base = under.binds == ATOM and not (isinstance(base, tuple) and base[0] not in ("name", "pi"))
        if isinstance(base, tuple) and base[0] == "name" and symbol(base[1]).delta:
            plain_base = False
        text = under.text if plain_base else self.to.bracket(under.text)
        look = under.starts if plain_base else "bracket"
        return Piece(self.to.power(text, over.text, exponent), POWER, look, "letter" if plain_base else "bracket")

    def conditional(self, *branches: Tree) -> Piece:
        rows, node = [], ("if", *branches)
        while isinstance(node, tuple) and node[0] == "if":
            rows.append((self.piece(node[2]).text, self.piece(node[1]).text))
            node = node[3]
        return Piece(self.to.cases(rows, self.piece(node).text), CASES, "bracket", "bracket")

    def joined(self, word: str, conditions: Sequence[Tree]) -> Piece:
        binds = BOTH if word == "and" else EITHER
        texts: list[str] = []
        for condition in conditions:
            texts += [self.to.word(f"{SPACE}{word}{SPACE}")] if texts else []
            texts.append(self.held(condition, binds + 1))
        return Piece(self.to.row(*texts), binds, "letter", "letter")

    def called(self, name: str, arguments: Sequence[Tree], *, trade: bool) -> Piece:
        texts = [self.piece(a).text for a in arguments]
        return Piece(self.to.call(name, texts, trade=trade), ATOM, "word" if trade else "function", "bracket")

    _METHODS: ClassVar[Mapping[str, Callable[..., Piece]]] = {
        "pi": pi,
        "name": name,
        "+": lambda self, a, b: self.sum("+", a, b),
        "-": lambda self, a, b: self.sum("-", a, b),
        "*": product,
        "/": quotient,
        "**": power,
        "neg": negative,
        "sqrt": root,
        "abs": absolute,
        "if": conditional,
        "compare": comparison,
        "and": lambda self, *parts: self.joined("and", parts),
        "or": lambda self, *parts: self.joined("or", parts),
        "not": denied,
        "call": trade_call,
    }


def shown_number(value: float) -> Shown:
    """
    A number as a formula prints it: plain decimals, a power of ten where there would be many noughts.

    >>> shown_number(2), shown_number(0.5), shown_number(1.5e-7)
    (Shown(digits='2', ten=0), Shown(digits='0.5', ten=0), Shown(digits='1.5', ten=-7))
    """
    number = Decimal(repr(value)).normalize()
    if number and not -4 <= number.adjusted() <= 8:
        ten = number.adjusted()
        return Shown(f"{number.scaleb(-ten):f}", ten)
    return Shown(f"{number:f}")


def plain(node: Tree, result: str | None = None) -> str:
    """
    A node, or the equation ``result = node``, as one line of text.

    >>> from grader.relations.language import parse
    >>> plain(parse("pi/4 * (D**2 - d**2)").node, "A")
    'A = π/4 · (D² − d²)'
    """
    return _equation(Plain(), node, result)


def mathml(node: Tree, result: str | None = None, *, display: bool = False) -> str:
    """
    A node, or the equation ``result = node``, as a `<math>` element whose `alttext` is the plain line.

    >>> mathml(("/", ("name", "F"), ("name", "A")), "p")[:70]
    '<math xmlns="http://www.w3.org/1998/Math/MathML" alttext="p = F/A"><mr'
    """
    return math_element(_equation(MathML(), node, result), plain(node, result), display=display)


def math_element(inside: str, alt: str, *, display: bool = False) -> str:
    """A `<math>` element round finished MathML, with its text alternative."""
    block = ' display="block"' if display else ""
    return f'<math xmlns="http://www.w3.org/1998/Math/MathML"{block} alttext="{html.escape(alt)}">{_rowed(inside)}</math>'


def typst(node: Tree, result: str | None = None) -> str:
    """
    A node, or the equation ``result = node``, as Typst math without the dollar signs.

    >>> typst(("/", ("name", "F"), ("name", "A_p")), "p")
    'p = frac(F, A_("p"))'
    """
    return _equation(Typst(), node, result)


def _equation(backend: Backend, node: Tree, result: str | None) -> str:
    text = Setter(backend).piece(node).text
    return text if result is None else backend.row(backend.symbol(symbol(result)), backend.sign("="), text)
