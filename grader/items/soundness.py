"""What must hold of an item's variants, thousands at a time: every number finite and plausible, slips apart, tolerances fair."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import prod

import numpy as np

from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.base.quantities import show_number
from grader.items.drawing import ATTEMPTS, MENDS, draw_variant
from grader.items.model import Item
from grader.items.reading_checks import check_readings
from grader.items.readings import hidden
from grader.items.sampling import Floats, Sample, reach_of, sampled, values_of

SECRET = b"grader check"
MOST_REJECTED = 0.5
LEAST_KEYS = 20
LEAST_DRAWN = 60  # so many are looked at even where fewer are asked for: how many differ is else not to be told
ALIKE = 0.2
HANDED = 0.5
WIDE = 10_000
_GOLDEN = 0.6180339887498949
_KEY_FIGURES = 9  # keys that agree so far are one key


def check_variants(item: Item, count: int) -> Iterator[Finding]:
    """Everything wrong with an item that has passed `check_item`: all its variants where there are no more than `count`."""
    if not computes(item):
        return
    try:
        draw_variant(item, SECRET, "check", ATTEMPTS)  # exactly, as for a paper
    except FindingsError as error:
        yield from error.findings
        return
    sample = sampled(item, max(count, LEAST_DRAWN) if item.given else 1)
    yield from _wide_plausible(item)
    if item.given:
        yield from _often_rejected(sample)
        yield from _few_variants(sample)
        yield from _keys_alike(sample)
    yield from check_readings(sample)
    yield from _slips_apart(sample)
    if item.given:
        yield from _tight_tolerance(sample)


def computes(item: Item) -> bool:
    """Whether anything in the item is computed."""
    return bool(item.given or item.let or item.require) or any(
        part.answer is not None or any(option.value is not None for option in part.options) for part in item.parts
    )


def _warn(item: Item, line: int, code: str, message: str, mend: str) -> Finding:
    return Finding(item.file, line, code, f"{item.id}: {message}", mend, "warning", item.id)


def _wide_plausible(item: Item) -> Iterator[Finding]:
    """Plausible bounds tell a slip of the unit from a slip of the hand: they must be those of such a part."""
    for part in item.parts:
        if part.answer is not None and part.answer.plausible is not None:
            low, high = (end.si for end in part.answer.plausible)
            if low > 0 and high / low > WIDE:
                what = "`plausible` spans more than four powers of ten and tells nothing apart"
                yield _warn(item, part.answer.line, "wide-plausible", what, "name the range that such a part really has")


def _often_rejected(sample: Sample) -> Iterator[Finding]:
    reasons = sample.reasons()
    off_scale = sum(times for times, reason in reasons if reason.code == "off-scale")  # an error, told by `reading_checks`
    total = sample.size - sample.accepted - off_scale
    if total <= MOST_REJECTED * sample.size:
        return
    counted: Counter[tuple[str, int]] = Counter()
    words: dict[tuple[str, int], str] = {}
    for times, reason in (each for each in reasons if each[1].code != "off-scale"):
        counted[reason.code, reason.line] += times
        words.setdefault((reason.code, reason.line), reason.why)
    if counted:
        (code, line), _ = counted.most_common(1)[0]
        what = f"{total} of {sample.size} draws are drawn again, most often because {words[code, line]}"
        yield _warn(sample.item, line, "often-rejected", what, MENDS[code])


def _keys(sample: Sample) -> int:
    """How many different keys there are: of a case, over all its parts together. Not counted on where one part has enough."""
    columns = [values[sample.good] for asked in sample.parts for values in (asked.key, *asked.options) if values is not None]
    if not columns:
        return 1
    with np.errstate(all="ignore"):
        power = [10.0 ** (np.floor(np.log10(np.where(column == 0, 1.0, np.abs(column)))) - _KEY_FIGURES) for column in columns]
    rounded = [np.rint(column / size) * size for column, size in zip(columns, power, strict=True)]
    most = max(len(np.unique(column)) for column in rounded)
    return most if most >= LEAST_KEYS else len(set(zip(*(column.tolist() for column in rounded), strict=True)))


def _few_variants(sample: Sample) -> Iterator[Finding]:
    """Neighbours in a class, and classes after each other, shall hold different numbers."""
    item = sample.item
    possible = prod({given.draws or given.name: given.size for given in item.given}.values())
    if possible == 1:
        return
    distinct = min(_keys(sample), sample.accepted)
    if distinct < LEAST_KEYS:
        answers = "answer" if distinct == 1 else "different answers"
        what = f"only {distinct} {answers} in {sample.size} draws; {LEAST_KEYS} are wanted"
        yield _warn(item, item.lines.get("given", item.line), "few-variants", what, "widen the ranges or take a smaller step")


def _keys_alike(sample: Sample) -> Iterator[Finding]:
    """An answer overheard shall be wrong on the next paper: each variant is compared with one other, in no order."""
    chosen = np.flatnonzero(sample.good)
    asked = [each for each in sample.parts if each.key is not None]
    if len(chosen) < LEAST_KEYS or not asked:
        return
    other = chosen[np.argsort((np.arange(len(chosen)) * _GOLDEN) % 1.0)]
    same = np.ones(len(chosen), dtype=np.bool_)
    for each in asked:
        if each.key is not None and each.reach is not None:
            same &= np.abs(each.key[chosen] - each.key[other]) <= each.reach[chosen]
    share = float(np.mean(same))
    if share > HANDED:
        item = sample.item
        what = f"{round(100 * share)} % of the answers are also right on another paper"
        yield _warn(item, item.lines.get("given", item.line), "keys-alike", what, "widen the ranges, or narrow `within`")


def _slips_apart(sample: Sample) -> Iterator[Finding]:
    """Two slips that come to the same number cannot be told apart: only the first would ever be named."""
    item = sample.item
    for part, asked in zip(item.parts, sample.parts, strict=True):
        if part.answer is None or not sample.accepted:
            continue
        for second in range(1, len(asked.slips)):
            for first in range(second):
                apart = np.abs(asked.slips[first] - asked.slips[second])
                met = int(np.count_nonzero((apart <= reach_of(asked.slips[first], part.answer)) & sample.good))
                if met > ALIKE * sample.accepted:
                    share = f"{100 * met // sample.accepted} %"
                    what = f"slips {first + 1} and {second + 1} come to the same number in {share} of the variants"
                    yield _warn(item, part.slips[second].line, "slips-alike", what, "join the two, or move one away")


def _tight_tolerance(sample: Sample) -> Iterator[Finding]:
    """
    A tolerance is fair if it is no tighter than the rounding of the least exact value that is printed.

    Each value is moved by half of its last printed decimal, alone; where that takes the answer out of its tolerance in every
    variant, the answer is asked for more exactly than it is stated.
    """
    item = sample.item
    if not sample.accepted:
        return
    unseen = hidden(item)
    for given in item.given:
        if not given.step or given.name in unseen:
            continue
        moved = _moved(sample, given.name, float(given.step / 2 * given.unit.factor))
        for part, asked, answers in zip(item.parts, sample.parts, moved, strict=True):
            if part.answer is None or asked.key is None or asked.reach is None or answers is None:
                continue
            shares = np.abs(answers - asked.key)[sample.good] / asked.reach[sample.good]
            least = float(np.min(np.where(np.isfinite(shares), shares, 0.0)))
            if least > 1:
                times = show_number(least, 2)
                what = f"half of the last decimal of `{given.name}` moves the answer by {times} times the tolerance or more"
                mend = "widen `within`, or print one decimal more"
                yield _warn(item, part.answer.line, "tight-tolerance", what, mend)


def _moved(sample: Sample, name: str, by: float) -> list[Floats | None]:
    """What each part comes to when one given value is a little larger; None for a part without a number."""
    item = sample.item
    values = dict(sample.values)
    values[name] = values[name] + by
    for let in item.let:
        values[let.name] = values_of(let.value.expression, values, sample.size)
    found: list[Floats | None] = []
    for part in item.parts:
        found.append(None if part.answer is None else values_of(part.answer.value.expression, values, sample.size))
        if part.name and found[-1] is not None:
            values[part.name] = found[-1]
    return found
