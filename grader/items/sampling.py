"""
Thousands of variants of an item at once, as arrays: what a check looks at.

What goes on to a paper is drawn by `grader.items.drawing`, exactly and one at a time; `tests/items/test_sampling.py` holds the
two to the same numbers and the same refusals. Here floats will do: nothing of this is printed or sealed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from math import prod
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from grader.base.quantities import unit
from grader.items.drawing import OPTIONS_APART, Rejected, numbered
from grader.items.instruments.instrument import NOISE
from grader.items.model import Formula, InstrumentUse, Item, NumericAnswer, Part
from grader.relations import arrays
from grader.relations.language import Callee, Expression

Floats = NDArray[np.float64]
Truths = NDArray[np.bool_]
Places = dict[str, NDArray[np.int64]]

FIGURES = 12
MOST_CORNERS = 64
_NEAR = 1e-12  # two numbers that a key would print alike


@dataclass(frozen=True, slots=True)
class Asked:
    """What one part comes to in every variant, SI: its key and how far an answer may be off, its slips, its computed options."""

    key: Floats | None = None
    reach: Floats | None = None
    slips: tuple[Floats, ...] = ()
    options: tuple[Floats, ...] = ()


@dataclass(slots=True)
class Sample:
    """
    Variants of one item. `drawn` says which of its values each given takes; `good` which variants would be accepted; `values`
    holds everything that can be computed with, SI.
    """

    item: Item
    size: int
    drawn: Places
    values: dict[str, Floats] = field(default_factory=dict)
    good: Truths = field(default_factory=lambda: np.ones(0, dtype=np.bool_))
    parts: list[Asked] = field(default_factory=list)
    refused: list[tuple[int, int]] = field(default_factory=list)

    @property
    def accepted(self) -> int:
        """How many of the variants will do."""
        return int(np.count_nonzero(self.good))

    def reasons(self) -> list[tuple[int, Rejected]]:
        """Why variants will not do: how many for each reason, the most frequent first, each as the exact draw would say it."""
        found = []
        for count, place in self.refused:
            try:
                numbered(self.item, self.at(place))
            except Rejected as reason:
                found.append((count, reason))
        return sorted(found, key=lambda each: -each[0])

    def at(self, place: int) -> dict[str, int]:
        """Which of its values each given takes in one variant."""
        return {name: int(indices[place]) for name, indices in self.drawn.items()}

    def refuse(self, bad: Truths) -> None:
        """Take out those of the variants still left that are `bad`, and remember one of them."""
        bad = bad & self.good
        count = int(np.count_nonzero(bad))
        if count:
            self.refused.append((count, int(np.argmax(bad))))
            self.good &= ~bad


def sampled(item: Item, count: int) -> Sample:
    """
    All variants of an item where there are no more than `count`; else so many, spread evenly over the ranges, corners among them.

    Parameters
    ----------
    item : Item
        One that `check_item` found no error in.
    count : int
        At least 1.
    """
    drawn, size = _places(item, count)
    found = Sample(item, size, drawn, good=np.ones(size, dtype=np.bool_))
    for given in item.given:
        if given.values:
            factor, offset = float(given.unit.factor), float(given.unit.offset)
            numbers = np.array([float(quantity.number) for quantity in given.values])
            found.values[given.name] = numbers[drawn[given.name]] * factor + offset
    with np.errstate(all="ignore"):
        _fill(found)
    return found


def _places(item: Item, count: int) -> tuple[Places, int]:
    """Which of its values each given takes in each variant, and how many variants there are."""
    sizes = {given.draws or given.name: given.size for given in item.given}
    names = {given.name: given.draws or given.name for given in item.given}
    total = prod(sizes.values())
    if total <= count:
        rest, found = np.arange(total), {}
        for name, size in sizes.items():
            found[name], rest = rest % size, rest // size
    else:
        found = _spread(sizes, count)
    size = min(total, count)
    return {name: found[group] for name, group in names.items()}, size


def _spread(sizes: Mapping[str, int], count: int) -> Places:
    """
    Corners first, then a sequence that fills the ranges evenly.

    Additive recurrence by powers of 1/g, g the root of g^(d+1) = g + 1: the golden ratio generalised to d ranges (from memory).
    """
    corners = list(product((0, 1), repeat=len(sizes)))[: min(MOST_CORNERS, count // 4)] if len(sizes) < 16 else []
    turns = np.arange(1, count - len(corners) + 1)
    root = 1.0
    for _ in range(60):
        root = (1 + root) ** (1 / (len(sizes) + 1))
    found = {}
    for number, (name, size) in enumerate(sizes.items()):
        ends = np.array([corner[number] * (size - 1) for corner in corners], dtype=np.int64)
        part = (0.5 + turns * root ** -(number + 1)) % 1.0
        found[name] = np.concatenate([ends, np.minimum((part * size).astype(np.int64), size - 1)])
    return found


def _fill(found: Sample) -> None:
    """Everything that is computed, in the order of the exact draw, so that the same reason is met first."""
    item = found.item
    for let in item.let:
        found.values[let.name] = _counted(found, let.value)
    for condition in item.require:
        found.refuse(~values_of(condition.expression, found.values, found.size).astype(np.bool_))
    if item.instrument is not None:
        found.refuse(~np.isfinite(indicated(found, item.instrument)))
        found.refuse(~_on_scale(found, item.instrument))
    for part in item.parts:
        asked = _answered(found, part, part.answer) if part.answer is not None else Asked(options=_options(found, part))
        if part.name and asked.key is not None:
            found.values[part.name] = asked.key
        found.parts.append(asked)


def indicated(found: Sample, use: InstrumentUse) -> Floats:
    """What the instrument shows in every variant, in the unit of its scale."""
    measure = unit(use.scale.unit)
    shown = values_of(use.shows.expression, found.values, found.size)
    return cast("Floats", (shown - float(measure.offset)) / float(measure.factor))


def _on_scale(found: Sample, use: InstrumentUse) -> Truths:
    """Where the scale holds what the instrument shows, as `Scale.holds` says of one."""
    shown = indicated(found, use)
    least, greatest = float(use.scale.least), float(use.scale.greatest)
    slack = NOISE * (greatest - least)
    return (least - slack <= shown) & (shown <= greatest + slack)


def _counted(found: Sample, formula: Formula) -> Floats:
    """The values of a formula; variants where it has none are refused."""
    values: Floats = values_of(formula.expression, found.values, found.size)
    found.refuse(~np.isfinite(values))
    return values


def _answered(found: Sample, part: Part, answer: NumericAnswer) -> Asked:
    key = _counted(found, answer.value)
    reach = reach_of(key, answer)
    found.refuse(reach == 0)
    if answer.plausible is not None:
        least, most = (end.si for end in answer.plausible)
        found.refuse(~((least <= key) & (key <= most)))
    slips = []
    for slip in part.slips:
        value = _counted(found, slip.value)
        found.refuse(np.abs(value - key) <= reach * (1 + _NEAR) + _NEAR * np.abs(key))
        slips.append(value)
    return Asked(key, reach, tuple(slips))


def _options(found: Sample, part: Part) -> tuple[Floats, ...]:
    """The computed options, each apart from each other and the wrong ones well apart from the right."""
    if any(option.value is None for option in part.options):
        return ()
    values, printed = [], []
    for option in part.options:
        if option.value is not None and option.unit is not None:
            value = _counted(found, option.value)
            values.append(value)
            printed.append(_rounded((value - float(option.unit.offset)) / float(option.unit.factor), option.figures))
    for second in range(1, len(printed)):
        for first in range(second):
            found.refuse(np.abs(printed[first] - printed[second]) <= 1e-9 * np.abs(printed[first]))
    for option, value in zip(part.options, values, strict=True):
        for other, right in zip(part.options, values, strict=True):
            if other.right and not option.right:
                found.refuse(np.abs(value - right) <= float(OPTIONS_APART) * np.abs(right))
    return tuple(values)


def _rounded(values: Floats, figures: int) -> Floats:
    """To so many significant figures."""
    size = np.where(values == 0, 1.0, np.abs(values))
    power = 10.0 ** (np.floor(np.log10(size)) - figures + 1)
    return np.rint(values / power) * power


def reach_of(values: Floats, answer: NumericAnswer) -> Floats:
    """How far an answer may be off, SI: a share is of the number in the answer's unit, an amount is what it is."""
    within = float(answer.within.number * answer.within.unit.factor)
    if answer.within.unit.name != "%":
        return np.full_like(values, within)
    return np.abs(values - float(answer.unit.offset)) * within


def values_of(expression: Expression, values: Mapping[str, Any], size: int) -> Any:
    """
    An expression over many variants at once: NaN where it has no value or a relation that it calls lies outside its range.

    >>> from grader.relations.language import parse
    >>> [float(value) for value in values_of(parse("sqrt(x)"), {"x": np.array([4.0, -1.0])}, 2)]
    [2.0, nan]
    """
    with np.errstate(all="ignore"):
        found = np.asarray(_evaluator(expression)(values))
    if found.dtype != np.bool_:
        found = np.where(np.isfinite(found), found, np.nan)
    return np.broadcast_to(found, (size,))


@lru_cache(maxsize=8192)
def _evaluator(expression: Expression) -> arrays.ArrayEvaluator:
    def call(name: str, arguments: list[arrays.ArrayEvaluator]) -> arrays.ArrayEvaluator:
        return _called(expression.functions[name], arguments)

    return arrays.compiled(expression.node, call)


def _called(callee: Callee, arguments: Sequence[arrays.ArrayEvaluator]) -> arrays.ArrayEvaluator:
    """A relation as it is called on floats: refused outside its range, and so are the relations that it calls itself."""
    inside = _evaluator(callee.expression)
    condition = cast("Expression | None", getattr(callee, "condition", None))
    holds = None if condition is None else _evaluator(condition)

    def run(values: Mapping[str, Any]) -> Any:
        put = {symbol: np.asarray(argument(values)) for symbol, argument in zip(callee.parameters, arguments, strict=True)}
        sound: Any = True if holds is None else holds(put)
        for argument in put.values():
            sound = sound & np.isfinite(argument)
        return np.where(sound, inside(put), np.nan)

    return run
