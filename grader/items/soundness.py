"""What must hold of an item's variants: drawn by the hundred, every number finite and plausible, slips apart, tolerances fair."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from math import prod

from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.base.quantities import Quantity, show_number
from grader.items.drawing import ATTEMPTS, MENDS, PartNumbers, Rejected, Variant, attempted, computed, draw_variant
from grader.items.model import Item, NumericAnswer, Part

SECRET = b"grader check"
MOST_REJECTED = 0.5
LEAST_KEYS = 6
ENOUGH = 30  # draws below which nothing is said of how many there are
ALIKE = 0.2
WIDE = 10_000


def check_variants(item: Item, count: int) -> Iterator[Finding]:
    """Everything wrong with `count` variants of an item that has passed `check_item`."""
    if not computes(item):
        return
    try:
        first = draw_variant(item, SECRET, "check", ATTEMPTS)
    except FindingsError as error:
        yield from error.findings
        return
    yield from _wide_plausible(item, first)
    if not item.given:
        yield from _slips_apart(item, [first])
        return
    variants = []
    rejected: Counter[tuple[str, int]] = Counter()
    words: dict[tuple[str, int], str] = {}
    for number in range(count):
        try:
            variants.append(attempted(item, SECRET, f"check-{number}", 0))
        except Rejected as reason:
            rejected[reason.code, reason.line] += 1
            words.setdefault((reason.code, reason.line), reason.why)
    yield from _often_rejected(item, count, rejected, words)
    variants = variants or [first]
    yield from _few_variants(item, variants, count)
    yield from _slips_apart(item, variants)
    yield from _tight_tolerance(item, variants[:20])


def computes(item: Item) -> bool:
    """Whether anything in the item is computed."""
    return bool(item.given or item.let or item.require) or any(
        part.answer is not None or any(option.value is not None for option in part.options) for part in item.parts
    )


def _warn(item: Item, line: int, code: str, message: str, mend: str) -> Finding:
    return Finding(item.file, line, code, f"{item.id}: {message}", mend, "warning", item.id)


def _wide_plausible(item: Item, variant: Variant) -> Iterator[Finding]:
    """Plausible bounds tell a slip of the unit from a slip of the hand: they must be those of such a part."""
    for part, numbers in zip(item.parts, variant.parts, strict=True):
        if part.answer is not None and numbers.key is not None and part.answer.plausible is not None:
            low, high = (end.si for end in part.answer.plausible)
            if low > 0 and high / low > WIDE:
                what = "`plausible` spans more than four powers of ten and tells nothing apart"
                yield _warn(item, part.answer.line, "wide-plausible", what, "name the range that such a part really has")


def _often_rejected(
    item: Item, count: int, rejected: Counter[tuple[str, int]], words: dict[tuple[str, int], str]
) -> Iterator[Finding]:
    total = sum(rejected.values())
    if total <= MOST_REJECTED * count:
        return
    (code, line), _ = rejected.most_common(1)[0]
    what = f"{total} of {count} draws are drawn again, most often because {words[code, line]}"
    yield _warn(item, line, "often-rejected", what, MENDS[code])


def _few_variants(item: Item, variants: list[Variant], count: int) -> Iterator[Finding]:
    """Neighbours in a class shall hold different numbers."""
    possible = prod({given.draws or given.name: given.size for given in item.given}.values())
    stems = {tuple(quantity.written for quantity in variant.givens.values()) for variant in variants}
    keys = {tuple(_key(numbers) for numbers in variant.parts) for variant in variants}
    distinct = min(len(stems), len(keys))
    if possible > 1 and count >= ENOUGH and distinct < LEAST_KEYS:
        what = f"only {distinct} different answers in {count} draws"
        yield _warn(item, item.lines.get("given", item.line), "few-variants", what, "widen the ranges or take a smaller step")


def _key(numbers: PartNumbers) -> object:
    return numbers.key.value if numbers.key else numbers.options


def _slips_apart(item: Item, variants: list[Variant]) -> Iterator[Finding]:
    """Two slips that come to the same number cannot be told apart: only the first would ever be named."""
    for place, part in enumerate(item.parts):
        for second in range(1, len(part.slips)):
            for first in range(second):
                met = sum(1 for variant in variants if _meet(variant.parts[place], first, second))
                if met > ALIKE * len(variants):
                    share = f"{100 * met // len(variants)} %"
                    what = f"slips {first + 1} and {second + 1} come to the same number in {share} of the variants"
                    yield _warn(item, part.slips[second].line, "slips-alike", what, "join the two, or move one away")


def _meet(numbers: PartNumbers, first: int, second: int) -> bool:
    return numbers.slips[first].holds(numbers.slips[second].value)


def _tight_tolerance(item: Item, variants: list[Variant]) -> Iterator[Finding]:
    """
    A tolerance is fair if it is no tighter than the rounding of the least exact value that is printed.

    Each value is moved by half of its last printed decimal, alone; where that takes the answer out of its tolerance in every
    variant, the answer is asked for more exactly than it is stated.
    """
    for place, part in enumerate(item.parts):
        if part.answer is None:
            continue
        for given in item.given:
            if not given.step:
                continue
            moved = [_moved(item, part, part.answer, variant, given.name, given.step / 2, place) for variant in variants]
            if moved and all(share > 1 for share in moved):
                times = show_number(min(moved), 2)
                what = f"half of the last decimal of `{given.name}` moves the answer by {times} times the tolerance or more"
                mend = "widen `within`, or print one decimal more"
                yield _warn(item, part.answer.line, "tight-tolerance", what, mend)


def _moved(item: Item, part: Part, answer: NumericAnswer, variant: Variant, name: str, by: Fraction, place: int) -> float:
    """How far the answer moves, in tolerances, when one given value moves by so much of its unit."""
    key = variant.parts[place].key
    if key is None:
        return 0.0
    given = variant.givens[name]
    values = {known: quantity.si for known, quantity in variant.givens.items()}
    values[name] = Quantity(given.written, given.number + by, given.unit).si
    try:
        for let in item.let:
            values[let.name] = computed(let.value, values)
        for earlier in item.parts[: item.parts.index(part)]:
            if earlier.answer is not None:
                values[earlier.name] = computed(earlier.answer.value, values)
        change = abs(computed(answer.value, values) - computed(answer.value, variant.values)) / float(answer.unit.factor)
    except Rejected:
        return 0.0
    reach = (key.high - key.low) / 2
    return float(Decimal(repr(change)) / reach) if reach else 0.0
