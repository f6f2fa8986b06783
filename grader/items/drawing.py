"""The numbers of one variant: drawn from the printed grid, computed from what is printed, drawn again where they will not do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Context, Decimal, Inexact
from fractions import Fraction
from functools import lru_cache
from math import lcm

from grader.base.canon import draw
from grader.base.errors import FindingsError, RangeError
from grader.base.findings import Finding
from grader.base.quantities import Quantity, Unit, show_number, unit
from grader.items.grid import decimals_of
from grader.items.model import Formula, InstrumentUse, Item, NumericAnswer, Part

ATTEMPTS = 500
FIGURES = 12
OPTIONS_APART = Fraction(2, 100)
_TWELVE = Context(prec=FIGURES, rounding=ROUND_HALF_EVEN)
_EXACT = Context(prec=60, rounding=ROUND_HALF_EVEN)
_WHOLE = Context(prec=2000, rounding=ROUND_HALF_EVEN, traps=[Inexact])  # a float has at most 767 figures


@dataclass(frozen=True, slots=True)
class Bounded:
    """A number in the answer's unit and its bounds; on a bound is inside. As text in a key: never in powers of ten."""

    value: Decimal
    low: Decimal
    high: Decimal

    def written(self) -> dict[str, str]:
        """The three as a key carries them."""
        return {"value": f"{self.value:f}", "low": f"{self.low:f}", "high": f"{self.high:f}"}

    def holds(self, value: Decimal) -> bool:
        """Whether a value lies inside."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class PartNumbers:
    """What one part comes to: its key, its slips and its computed options (SI and as printed), each in their order."""

    key: Bounded | None = None
    slips: tuple[Bounded, ...] = ()
    options: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Variant:
    """
    The numbers of one variant: `values` holds all that can be computed with, in SI; `attempt` the draw that was accepted;
    `words` what is printed as it stands; `indicated` what the item's instrument shows, in the unit of its scale.
    """

    attempt: int
    givens: Mapping[str, Quantity]
    values: Mapping[str, float]
    parts: tuple[PartNumbers, ...]
    words: Mapping[str, str] = field(default_factory=dict)
    indicated: Decimal | None = None


class Rejected(Exception):
    """Numbers that will not do: the fault's name, why, and the line that says so."""

    def __init__(self, code: str, why: str, line: int) -> None:
        self.code, self.why, self.line = code, why, line
        super().__init__(why)


def draw_variant(item: Item, secret: bytes, paper: str, attempts: int = ATTEMPTS) -> Variant:
    """
    The numbers of an item for one paper: the same whenever they are drawn.

    Raises `FindingsError` where no attempt gives numbers that will do, with the reason met most often.
    """
    met: Counter[tuple[str, int]] = Counter()
    words: dict[tuple[str, int], str] = {}
    for attempt in range(attempts if item.given else 1):
        try:
            return attempted(item, secret, paper, attempt)
        except Rejected as reason:
            met[reason.code, reason.line] += 1
            words.setdefault((reason.code, reason.line), reason.why)
    raise FindingsError([_no_variant(item, met, words)])


MENDS = {
    "require-unmet": "widen the ranges, or loosen what is required",
    "no-value": "keep the ranges where the relation is valid",
    "not-plausible": "widen `plausible`, or narrow the ranges",
    "zero-answer": "narrow the ranges, or write `within` as an amount",
    "slip-is-answer": "write what the mistake computes, or take the slip out",
    "slip-inside-tolerance": "widen the slip's error or narrow `within`",
    "off-scale": "narrow the ranges, or take another scale",
    "options-alike": "print more figures, or change an option",
    "option-near-key": "move the wrong option away from the right one",
}


def _no_variant(item: Item, met: Counter[tuple[str, int]], words: Mapping[tuple[str, int], str]) -> Finding:
    """The finding for an item whose numbers never do: the reason met most often, on its own line."""
    most = met.most_common(1)[0][0]
    code, line = most
    never = " in every variant" if item.given else ""
    return Finding(item.file, line, code, f"{item.id}: {words[most]}{never}", MENDS[code], path=item.id)


def attempted(item: Item, secret: bytes, paper: str, attempt: int) -> Variant:
    """The numbers of one attempt. Raises `Rejected`."""
    drawn = {given.name: draw(secret, paper, item.id, given.draws or given.name, attempt, given.size) for given in item.given}
    return numbered(item, drawn, attempt)


def numbered(item: Item, drawn: Mapping[str, int], attempt: int = 0) -> Variant:
    """The numbers of a variant: `drawn` says which of its values each given takes. Raises `Rejected`."""
    givens = {given.name: given.values[drawn[given.name]] for given in item.given if given.values}
    words = {given.name: given.words[drawn[given.name]] for given in item.given if given.words}
    values = {name: quantity.si for name, quantity in givens.items()}
    for let in item.let:
        values[let.name] = computed(let.value, values)
    for condition in item.require:
        if not computed(condition, values):
            raise Rejected("require-unmet", f"`{condition.text}` does not hold", condition.line)
    indicated = None if item.instrument is None else _indicated(item.instrument, values)
    parts = []
    for part in item.parts:
        numbers, si = _part(part, values)
        if part.name and si is not None:
            values[part.name] = si
        parts.append(numbers)
    return Variant(attempt, givens, values, tuple(parts), words, indicated)


def _indicated(use: InstrumentUse, values: Mapping[str, float]) -> Decimal:
    """What the instrument shows, in the unit of its scale; rejected where the scale does not go so far."""
    measure = unit(use.scale.unit)
    found = twelve(computed(use.shows, values), measure)
    if not use.scale.holds(float(found)):
        ends = f"{float(use.scale.least):g} to {float(use.scale.greatest):g} {measure.name}"
        what = f"the instrument would show {_shown(found, measure)}, and its scale goes from {ends}"
        raise Rejected("off-scale", what, use.line)
    return found


def computed(formula: Formula, values: Mapping[str, float]) -> float:
    """The value of a formula in SI. Raises `Rejected` where it has none."""
    try:
        return formula.expression.evaluate(values)
    except (RangeError, ArithmeticError) as error:
        raise Rejected("no-value", f"`{formula.text}` has no value: {error}", formula.line) from error


def _part(part: Part, values: Mapping[str, float]) -> tuple[PartNumbers, float | None]:
    if part.answer is None:
        return PartNumbers(options=_options(part, values)), None
    answer = part.answer
    si = computed(answer.value, values)
    key = bounded(si, answer)
    if key.low == key.high:
        raise Rejected("zero-answer", "the answer is 0, of which a share is nothing", answer.line)
    if answer.plausible and not answer.plausible[0].si <= si <= answer.plausible[1].si:
        what = f"the answer {_shown(key.value, answer.unit)} is outside `plausible`"
        raise Rejected("not-plausible", what, answer.line)
    slips = []
    for number, slip in enumerate(part.slips, 1):
        found = bounded(computed(slip.value, values), answer)
        if found.value == key.value:
            raise Rejected("slip-is-answer", f"slip {number} is the right answer", slip.line)
        if key.holds(found.value):
            ends = f"{show_number(key.low)} to {_shown(key.high, answer.unit)}"
            what = f"slip {number} gives {_shown(found.value, answer.unit)}, inside the key's {ends}"
            raise Rejected("slip-inside-tolerance", what, slip.line)
        slips.append(found)
    return PartNumbers(key, tuple(slips)), si


def _shown(value: Decimal, measure: Unit) -> str:
    return f"{show_number(value)} {measure.name}".removesuffix(" 1")


def _options(part: Part, values: Mapping[str, float]) -> tuple[tuple[float, str], ...]:
    """The computed options, each apart from each other and the wrong ones well apart from the right."""
    found = []
    for option in part.options:
        if option.value is None or option.unit is None:
            return ()
        si = computed(option.value, values)
        found.append((si, show_number(twelve(si, option.unit), option.figures)))
    if len({printed for _, printed in found}) < len(found):
        raise Rejected("options-alike", "two options print alike", part.options[0].line)
    for option, (si, _) in zip(part.options, found, strict=True):
        for other, (right, _) in zip(part.options, found, strict=True):
            if other.right and not option.right and abs(si - right) <= OPTIONS_APART * abs(Fraction(right)):
                what = f"a wrong option comes within {OPTIONS_APART * 100} % of the right one"
                raise Rejected("option-near-key", what, option.line)
    return tuple(found)


def twelve(si: float, measure: Unit) -> Decimal:
    """
    An SI value in a unit, to 12 significant figures, half to even: what a key carries.

    >>> from grader.base.quantities import unit
    >>> twelve(2.298434e-6, unit("mm^2")), twelve(293.15, unit("degC"))
    (Decimal('2.298434'), Decimal('20'))
    """
    by, less, over = _whole_factors(measure)
    return plain(_TWELVE.divide(_WHOLE.subtract(_WHOLE.multiply(Decimal(si), by), less), over))


@lru_cache(maxsize=1024)
def _whole_factors(measure: Unit) -> tuple[Decimal, Decimal, Decimal]:
    """Three whole numbers of a unit: a value times the first, less the second, over the third is the number in the unit."""
    by, less = 1 / measure.factor, measure.offset / measure.factor
    over = lcm(by.denominator, less.denominator)
    return Decimal(int(by * over)), Decimal(int(less * over)), Decimal(over)


def plain(number: Decimal) -> Decimal:
    """A decimal without zeros at its end and without a power of ten."""
    short = number.normalize(_EXACT)
    ends_left_of_the_point = "E+" in str(short)
    return short.quantize(Decimal(1), context=_EXACT) if ends_left_of_the_point else short


def bounded(si: float, answer: NumericAnswer) -> Bounded:
    """
    A number with the answer's tolerance laid round it, exactly, as decimals.

    A share is of the number itself; an amount is in the answer's unit or converted into it.
    """
    value = twelve(si, answer.unit)
    reach = _EXACT.multiply(abs(value), _share(answer.within)) if answer.within.unit.name == "%" else amount(answer)
    return Bounded(value, plain(_EXACT.subtract(value, reach)), plain(_EXACT.add(value, reach)))


@lru_cache(maxsize=4096)
def _share(within: Quantity) -> Decimal:
    return decimals_of(within.number * within.unit.factor) or Decimal(0)


def amount(answer: NumericAnswer) -> Decimal:
    """A tolerance that is an amount, in the answer's unit; a temperature's as a difference."""
    return _amount(answer.within, answer.unit)


@lru_cache(maxsize=4096)
def _amount(within: Quantity, measure: Unit) -> Decimal:
    return decimals_of(within.number * within.unit.factor / measure.factor) or Decimal(0)
