"""
The NumPy half: the same expression on whole arrays. Imported only where an array comes in.

Arrays of one shape are worked through in blocks that stay in the processor's cache, so that a long formula costs no more than
the same formula written by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grader.relations.tree import Tree, whole_power

BLOCK = 1 << 17

Floats = NDArray[np.float64]
Values = Mapping[str, Any]
ArrayEvaluator = Callable[[Values], Any]
Caller = Callable[[str, list[ArrayEvaluator]], ArrayEvaluator]

_ONE: Mapping[str, Callable[[Any], Any]] = {
    "sqrt": np.sqrt,
    "exp": np.exp,
    "log": np.log,
    "sin": np.sin,
    "cos": np.cos,
    "tan": np.tan,
    "asin": np.arcsin,
    "acos": np.arccos,
    "atan": np.arctan,
    "abs": np.abs,
    "neg": np.negative,
    "not": np.logical_not,
}
_SEVERAL: Mapping[str, Callable[[Any, Any], Any]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
    "min": np.minimum,
    "max": np.maximum,
    "and": np.logical_and,
    "or": np.logical_or,
}
_COMPARED: Mapping[str, Callable[[Any, Any], Any]] = {
    "<": np.less,
    "<=": np.less_equal,
    ">": np.greater,
    ">=": np.greater_equal,
    "==": np.equal,
    "!=": np.not_equal,
}


def compiled(node: Tree, call: Caller | None = None) -> ArrayEvaluator:
    """
    An expression as nested functions on arrays. Both sides of an `if` are computed, the condition picks.

    `call` says how a relation that is called runs; without it the expression must be expanded.
    """
    match node:
        case int() | float():
            number = float(node)
            return lambda _: number
        case ("pi",):
            return lambda _: np.pi
        case ("name", name):
            return lambda values: values[name]
        case ("if", condition, then, otherwise):
            which, first, second = compiled(condition, call), compiled(then, call), compiled(otherwise, call)
            return lambda values: np.where(which(values), first(values), second(values))
        case ("compare", *chain):
            return _comparison([compiled(t, call) for t in chain[::2]], chain[1::2])
        case ("**", base, exponent):
            return _power(compiled(base, call), exponent, call)
        case ("call", name, *arguments) if call is not None:
            return call(name, [compiled(argument, call) for argument in arguments])
    run = [compiled(part, call) for part in node[1:]]
    if node[0] in _ONE:
        function, only = _ONE[node[0]], run[0]
        return lambda values: function(only(values))
    join = _SEVERAL[node[0]]
    if len(run) == 2:
        left, right = run
        return lambda values: join(left(values), right(values))
    return lambda values: reduce(join, (r(values) for r in run))


def _power(under: ArrayEvaluator, exponent: Tree, call: Caller | None) -> ArrayEvaluator:
    whole = whole_power(exponent)
    if whole is None:
        over = compiled(exponent, call)
        return lambda values: np.power(np.asarray(under(values), dtype=np.float64), over(values))

    def product(values: Values) -> Any:
        base = under(values)
        found = reduce(np.multiply, [base] * abs(whole)) if whole else np.ones_like(base, dtype=np.float64)
        return np.divide(1.0, found) if whole < 0 else found

    return product


def _comparison(run: Sequence[ArrayEvaluator], signs: Sequence[str]) -> ArrayEvaluator:
    tests = [_COMPARED[sign] for sign in signs]

    def compared(values: Values) -> Any:
        found = [r(values) for r in run]
        return reduce(np.logical_and, (test(a, b) for test, a, b in zip(tests, found, found[1:], strict=False)))

    return compared


def run(value: ArrayEvaluator, condition: ArrayEvaluator | None, values: Values) -> Floats:
    """
    A relation on arrays: NaN wherever its condition does not hold or there is no finite value.

    Parameters
    ----------
    values : mapping
        Numbers or arrays that broadcast against each other, SI.

    Returns
    -------
    ndarray
        Of the shape they broadcast to.
    """
    given = {name: np.asarray(v, dtype=np.float64) for name, v in values.items()}
    shape = np.broadcast_shapes(*(v.shape for v in given.values()))
    found = np.empty(shape, dtype=np.float64)
    with np.errstate(all="ignore"):
        if found.size > BLOCK and all(v.ndim == 0 or (v.shape == shape and v.flags.c_contiguous) for v in given.values()):
            _in_blocks(value, condition, given, found.reshape(-1))
        else:
            found[...] = value(given)
            _refuse(condition, given, found)
    return found


def _in_blocks(value: ArrayEvaluator, condition: ArrayEvaluator | None, given: Mapping[str, Floats], found: Floats) -> None:
    fixed = {name: float(v) for name, v in given.items() if not v.ndim}
    lines = {name: v.reshape(-1) for name, v in given.items() if v.ndim}
    for start in range(0, found.size, BLOCK):
        piece = slice(start, start + BLOCK)
        block = fixed | {name: v[piece] for name, v in lines.items()}
        found[piece] = value(block)
        _refuse(condition, block, found[piece])


def _refuse(condition: ArrayEvaluator | None, given: Values, found: Floats) -> None:
    """Put NaN where the condition fails or a number is not finite, in place."""
    held = True if condition is None else condition(given)
    if np.all(held) and all(map(_surely_finite, (found, *given.values()))):
        return
    good = np.isfinite(found) & held
    for values in given.values():
        good &= np.isfinite(values)
    found[~good] = np.nan


def _surely_finite(values: Any) -> bool:
    """
    One quick pass: a sum of squares is finite only if all it adds up is. Of numbers past 1e150 it is not sure.

    >>> _surely_finite(np.array([1.0, 2.0])), _surely_finite(np.array([1.0, np.nan])), _surely_finite(np.array([1e200]))
    (True, False, False)
    """
    flat = np.ravel(values)
    with np.errstate(over="ignore", invalid="ignore"):
        return bool(np.isfinite(np.dot(flat, flat)))
