"""The printed grid: the numbers in a stem are exactly the numbers used, so values are drawn from what can be printed."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from grader.base.quantities import Quantity

MOST = 100_000


def grid(low: Quantity, high: Quantity, step: Quantity) -> tuple[tuple[Quantity, ...], str, str]:
    """
    Every value from `low` to `high` by `step`, as printed; or nothing, with what is wrong and how to mend it.

    Decimals are printed to as many places as the finest of the three is written with; fractions of an inch as fractions.

    >>> from grader.base.quantities import read_quantity as read
    >>> [value.written for value in grid(read("0.089 in"), read("0.09 in"), read("0.0005 in"))[0]]
    ['0.0890', '0.0895', '0.0900']
    >>> [value.written for value in grid(read("1/4 in"), read("3/8 in"), read("1/16 in"))[0]]
    ['1/4', '5/16', '3/8']
    >>> grid(read("1 in"), read("2 in"), read("0.3 in"))[1]
    'does not reach 2 from 1 by steps of 0.3'
    """
    nothing: tuple[Quantity, ...] = ()
    if not low.unit.name == high.unit.name == step.unit.name:
        units = ", ".join(dict.fromkeys((low.unit.name, high.unit.name, step.unit.name)))
        return nothing, f"is written in {units}", "write `from`, `to` and `step` in one unit"
    if step.number <= 0 or high.number <= low.number:
        return (
            nothing,
            f"does not rise from {low.written} to {high.written} by {step.written}",
            "write the smaller value first and a step above 0",
        )
    count = (high.number - low.number) / step.number
    if count.denominator != 1:
        return (
            nothing,
            f"does not reach {high.written} from {low.written} by steps of {step.written}",
            "move an end, or change the step",
        )
    if count > MOST:
        return nothing, f"has more than {MOST:,} values", "take a larger step"
    fractions = any("/" in end.written for end in (low, high, step))
    places = max(_places(end.written) for end in (low, high, step))
    numbers = [low.number + place * step.number for place in range(int(count) + 1)]
    return tuple(Quantity(as_fraction(n) if fractions else as_decimal(n, places), n, low.unit) for n in numbers), "", ""


def as_decimal(number: Fraction, places: int) -> str:
    """
    A number with so many decimals; exact for numbers that have no more.

    >>> as_decimal(Fraction(89, 1000), 4)
    '0.0890'
    """
    scaled = round(number * 10**places)
    return f"{Decimal(scaled).scaleb(-places):.{places}f}"


def as_fraction(number: Fraction) -> str:
    """
    A number as a workshop writes fractions: `5/32`, `1 1/4`, `2`.

    >>> as_fraction(Fraction(40, 32)), as_fraction(Fraction(2)), as_fraction(Fraction(-5, 4))
    ('1 1/4', '2', '-1 1/4')
    """
    whole, rest = divmod(abs(number), 1)
    parts = ([str(whole)] if whole or not rest else []) + ([str(rest)] if rest else [])
    return ("-" if number < 0 else "") + " ".join(parts)


def rounding(values: Sequence[Quantity]) -> Fraction:
    """
    To what step values are printed: the last decimal written; 0 for whole numbers and fractions, which are taken as exact.

    >>> from grader.base.quantities import read_quantity as read
    >>> rounding([read("0.063 in"), read("0.07 in")]), rounding([read("740 kg/m^3")]), rounding([read("5/32 in")])
    (Fraction(1, 1000), Fraction(0, 1), Fraction(0, 1))
    """
    places = max(0 if "/" in value.written else _places(value.written) for value in values)
    return Fraction(1, 10**places) if places else Fraction(0)


def decimals_of(number: Fraction) -> Decimal | None:
    """
    A fraction as an exact decimal, or None where it has none.

    >>> decimals_of(Fraction(1, 8)), decimals_of(Fraction(1, 3))
    (Decimal('0.125'), None)
    """
    rest = number.denominator
    places = 0
    for prime in (2, 5):
        times = 0
        while rest % prime == 0:
            rest //= prime
            times += 1
        places = max(places, times)
    if rest != 1:
        return None
    scaled = number.numerator * 10**places // number.denominator
    return Decimal((int(scaled < 0), tuple(map(int, str(abs(scaled)))), -places))  # exact, whatever the context's precision


def _places(written: str) -> int:
    mantissa, _, power = written.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return max(0, decimals - int(power or 0))
