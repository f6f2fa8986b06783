"""
The tree of an expression: nested lists, plain JSON, and how floats go through it. Marking computes with this file alone.

    number                           3, 0.5
    ["name", "D"]   ["pi"]           a value that is put in; the circle's number
    ["+", a, b] - * / **             ["neg", a]
    ["compare", a, "<", b, "<=", c]  ["and", a, b, …]  ["or", a, b, …]  ["not", a]
    ["if", condition, a, b]          a where the condition holds, else b
    ["sqrt", a] exp log sin cos tan asin acos atan abs    ["min", a, b, …]  ["max", a, b, …]
    ["call", "open_area", a, b]      only before `expanded`: never in a key

A whole power from -8 to 8 is a product taken from the left, ``x*x*x``, or one over it: then Python, NumPy and JavaScript agree
to the last bit. `and`, `or` and `if` look only as far as they must. Where an expression has no finite value (a division by zero,
the root of a negative number, an overflow) there is a `NoValueError`, at whichever step it happens.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from grader.base.errors import RangeError, UseError

Tree = Any  # a number or a sequence whose first entry is the operation; checked by `compiled`, once
Evaluator = Callable[[Mapping[str, float]], float]

WHOLE_POWERS = 8
DEEPEST = 300
LARGEST = 5000

FUNCTIONS: Mapping[str, Callable[..., float]] = MappingProxyType(
    {
        "sqrt": math.sqrt,
        "exp": math.exp,
        "log": math.log,
        "sin": math.sin,
        "cos": math.cos,
        "tan": math.tan,
        "asin": math.asin,
        "acos": math.acos,
        "atan": math.atan,
        "abs": abs,
        "min": min,
        "max": max,
    }
)
"""Every function of the language. `min` and `max` take two or more values, the others one."""

SEVERAL = frozenset({"min", "max"})
COMPARISONS: Mapping[str, Callable[[float, float], bool]] = MappingProxyType(
    {
        "<": operator.lt,
        "<=": operator.le,
        ">": operator.gt,
        ">=": operator.ge,
        "==": operator.eq,
        "!=": operator.ne,
    }
)


class NoValueError(RangeError):
    """An expression that has no finite value at the numbers put in."""


def evaluate(tree: Tree, values: Mapping[str, float]) -> float:
    """
    The value of a tree on floats.

    Parameters
    ----------
    tree : list
        As in this module's head; no `call` left in it.
    values : mapping
        What each name stands for, in SI.

    Raises
    ------
    NoValueError
        Where there is no finite value; a `RangeError`.
    UseError
        Where the tree is not of this form, or a name has no value.

    Examples
    --------
    >>> evaluate(["*", ["/", ["pi"], 4], ["-", ["**", ["name", "D"], 2], ["**", ["name", "d"], 2]]], {"D": 2.0, "d": 1.0})
    2.356194490192345
    """
    return finite(compiled(tree), values)


def finite(run: Evaluator, values: Mapping[str, float]) -> float:
    """What an evaluator gives, or `NoValueError` where that is not a finite number."""
    try:
        value = run(values)
    except ZeroDivisionError:
        raise NoValueError("no value: a division by zero") from None
    except (ValueError, OverflowError) as error:
        if isinstance(error, RangeError):
            raise
        raise NoValueError("no value: the root or logarithm of a negative number, or a number too large") from None
    except KeyError as error:
        raise UseError(f"`{error.args[0]}` has no value here") from None
    if not math.isfinite(value):
        raise NoValueError("no value: the result is not a finite number")
    return value


def compiled(tree: Tree, call: Callable[[str, list[Evaluator]], Evaluator] | None = None) -> Evaluator:
    """
    A tree turned into nested functions, checked once, to be run many times.

    `call` says how a relation that is called runs; without it a call is refused.
    """
    check_size(tree)
    return _Maker(call).made(tree)


def check_size(*found: Tree) -> None:
    """
    Refuse trees that are deeper or, together, larger than a key may carry.

    >>> check_size(["neg", 1])
    """
    if sum(_size(tree) for tree in found) > LARGEST:
        raise UseError(f"an expression of more than {LARGEST:,} steps; compute part of it on its own")


def _size(tree: Tree, depth: int = 0) -> int:
    if depth > DEEPEST:
        raise UseError(f"an expression nested more than {DEEPEST} deep; compute part of it on its own")
    if not isinstance(tree, (list, tuple)):
        return 1
    return 1 + sum(_size(part, depth + 1) for part in tree[1:] if not isinstance(part, str))


def parts(tree: Tree) -> list[Tree]:
    """The trees inside a tree, in the order written."""
    if not isinstance(tree, (list, tuple)) or tree[0] == "name":
        return []
    return [part for part in tree[1:] if not isinstance(part, str)]


def walk(tree: Tree) -> Iterator[Tree]:
    """The tree and everything in it, outermost first, in the order written."""
    yield tree
    for part in parts(tree):
        yield from walk(part)


def names(tree: Tree) -> tuple[str, ...]:
    """
    Every name in a tree, once, in the order of first use.

    >>> names(["-", ["name", "b"], ["*", ["name", "a"], ["name", "b"]]])
    ('b', 'a')
    """
    return tuple(dict.fromkeys(t[1] for t in walk(tree) if isinstance(t, (list, tuple)) and t[0] == "name"))


def whole_power(exponent: Tree) -> int | None:
    """
    The exponent where it is a whole number small enough to be multiplied out, else None.

    >>> whole_power(2), whole_power(["neg", 2]), whole_power(0.5), whole_power(9)
    (2, -2, None, None)
    """
    if isinstance(exponent, (list, tuple)) and len(exponent) == 2 and exponent[0] == "neg":
        inner = whole_power(exponent[1])
        return None if inner is None else -inner
    if isinstance(exponent, bool) or not isinstance(exponent, (int, float)):
        return None
    return int(exponent) if exponent == int(exponent) and abs(exponent) <= WHOLE_POWERS else None


def multiplied_out(base: float, power: int) -> float:
    """
    A whole power as a product from the left, or one over it.

    >>> multiplied_out(3.0, 3), multiplied_out(2.0, -2), multiplied_out(5.0, 0)
    (27.0, 0.25, 1.0)
    """
    product = 1.0 if power == 0 else base
    for _ in range(abs(power) - 1):
        product = product * base
    return 1.0 / _held(product) if power < 0 else _held(product)


def _held(value: float) -> float:
    """The value, where it is finite: Python lets a product or a sum overflow without a word."""
    if value - value != 0:  # only infinities and NaN differ from themselves so
        raise OverflowError
    return value


class _Maker:
    """Makes one function a node; each reads its values from the mapping handed to it."""

    def __init__(self, call: Callable[[str, list[Evaluator]], Evaluator] | None) -> None:
        self.call = call

    def made(self, tree: Tree) -> Evaluator:
        if isinstance(tree, (int, float)) and not isinstance(tree, bool):
            number = float(tree)
            return lambda _: number
        if not isinstance(tree, (list, tuple)) or not tree or not isinstance(tree[0], str):
            raise UseError(f"not an expression: {str(tree)[:60]}")
        match tree:
            case ["pi"]:
                return lambda _: math.pi
            case ["name", str(name)]:
                return lambda values: _held(values[name])
            case ["call", str(name), *arguments]:
                if self.call is None:
                    raise UseError(f"a call of `{name}` is left in the expression; it must be expanded first")
                return self.call(name, [self.made(a) for a in arguments])
            case ["compare", _, str(), _, *_] if len(tree) % 2 == 0:
                return self.comparison(tree[1:])
            case ["**", base, exponent]:
                return self.power(base, exponent)
            case ["if", condition, then, otherwise]:
                which, first, second = self.made(condition), self.made(then), self.made(otherwise)
                return lambda values: first(values) if which(values) else second(values)
        return self.plain(tree[0], [self.made(part) for part in tree[1:]])

    def plain(self, operation: str, run: list[Evaluator]) -> Evaluator:
        if len(run) == 2 and operation in "+-*/":
            return _arithmetic(operation, *run)
        if len(run) == 1 and operation == "neg":
            return lambda values: -run[0](values)
        if len(run) == 1 and operation == "not":
            return lambda values: not run[0](values)
        if len(run) >= 2 and operation in ("and", "or"):
            join = all if operation == "and" else any
            return lambda values: join(r(values) for r in run)
        if operation in FUNCTIONS and (len(run) >= 2 if operation in SEVERAL else len(run) == 1):
            function = FUNCTIONS[operation]
            if len(run) == 1:
                only = run[0]
                return lambda values: function(only(values))
            return lambda values: function(*[r(values) for r in run])
        raise UseError(f"`{operation[:40]}` with {len(run)} parts is not a step of an expression")

    def power(self, base: Tree, exponent: Tree) -> Evaluator:
        under = self.made(base)
        whole = whole_power(exponent)
        if whole == 2:

            def squared(values: Mapping[str, float]) -> float:
                value = under(values)
                return _held(value * value)

            return squared
        if whole is not None:
            return lambda values: multiplied_out(under(values), whole)
        over = self.made(exponent)
        return lambda values: math.pow(under(values), over(values))

    def comparison(self, chain: Sequence[Any]) -> Evaluator:
        run = [self.made(t) for t in chain[::2]]
        signs = chain[1::2]
        if not all(isinstance(sign, str) and sign in COMPARISONS for sign in signs):
            raise UseError(f"not a comparison: {str(signs)[:60]}")
        first, *rest = run
        tests = list(zip([COMPARISONS[sign] for sign in signs], rest, strict=True))
        if len(tests) == 1:
            test, second = tests[0]
            return lambda values: test(first(values), second(values))

        def compared(values: Mapping[str, float]) -> bool:
            left = first(values)
            for test, right in tests:
                value = right(values)
                if not test(left, value):
                    return False
                left = value
            return True

        return compared


def _arithmetic(sign: str, a: Evaluator, b: Evaluator) -> Evaluator:
    match sign:
        case "+":
            return lambda values: _held(a(values) + b(values))
        case "-":
            return lambda values: _held(a(values) - b(values))
        case "*":
            return lambda values: _held(a(values) * b(values))
    return lambda values: _held(a(values) / b(values))
