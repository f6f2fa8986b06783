"""
Exact numbers as pairs of whole numbers, ``(above, below)``: above over below, below positive, not reduced.

Two of them are compared by multiplying crosswise, so that nothing is ever rounded and no common divisor is looked for: a tenth of
the time of fractions, and just as exact. `Change` turns a number of one unit into a number of another.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

Ratio = tuple[int, int]

TENS = tuple(10**power for power in range(200))
"""Powers of ten, for numbers of up to 100 digits with a power of up to 99."""


class Change(NamedTuple):
    """From one unit into another: a number n becomes ``(times * n + plus) / over``; `times` and `over` are positive."""

    times: int
    plus: int
    over: int

    def of(self, number: Ratio) -> Ratio:
        """
        A number in the other unit.

        >>> Change(9, 160, 5).of((100, 1))  # 100 °C in °F
        (1060, 5)
        """
        above, below = number
        return self.times * above + self.plus * below, self.over * below


SAME = Change(1, 0, 1)


@lru_cache(maxsize=1024)
def change(factor: str, offset: str, to_factor: str = "1", to_offset: str = "0") -> Change:
    """
    The change from a unit with this factor and offset to SI into another; into SI by default.

    >>> change("0.0254", "0", "1/1000").of((5, 32))  # 5/32 in, in mm
    (635, 160)
    """
    times = Fraction(factor) / Fraction(to_factor)
    plus = (Fraction(offset) - Fraction(to_offset)) / Fraction(to_factor)
    over = times.denominator * plus.denominator
    return Change(times.numerator * plus.denominator, plus.numerator * times.denominator, over)


def ratio(text: str) -> Ratio:
    """
    A decimal or a fraction of a key, as a ratio.

    >>> ratio("2.2525"), ratio("-0.5"), ratio("1/60"), ratio("2.5e-7")
    ((22525, 10000), (-5, 10), (1, 60), (1, 4000000))
    """
    whole, point, rest = text.partition(".")
    if not point or rest.isdecimal():
        try:
            return int(whole + rest), TENS[len(rest)]
        except (ValueError, IndexError):
            pass
    value = Fraction(text)
    return value.numerator, value.denominator


def nearest(number: Ratio) -> int:
    """
    The whole number nearest, half to even.

    >>> [nearest((n, 2)) for n in (-3, -1, 1, 3, 4)]
    [-2, 0, 0, 2, 2]
    """
    above, below = number
    whole, left = divmod(above, below)
    return whole + (2 * left > below or (2 * left == below and whole & 1))


def figures(number: Ratio, count: int) -> Ratio:
    """
    A number rounded to so many significant figures, half to even.

    >>> figures((69749505, 10**7), 7), figures((-125, 10**5), 2), figures((99950, 1), 3)
    ((6974950, 1000000), (-12, 10000), (100000, 1))
    """
    above, below = number
    size = abs(above)
    if not size:
        return 0, 1
    power = len(str(size)) - len(str(below))  # of ten: right, or one too many
    if (size < below * 10**power) if power >= 0 else (size * 10**-power < below):
        power -= 1
    places = count - 1 - power  # after the point, where there are any
    if places >= 0:
        return nearest((above * 10**places, below)), 10**places
    return nearest((above, below * 10**-places)) * 10**-places, 1


def between(value: Ratio, low: Ratio, high: Ratio) -> bool:
    """
    Whether a number lies between two others, both ends included.

    >>> between((1, 10), (10, 100), (2, 10)), between((11, 100), (12, 100), (2, 10))
    (True, False)
    """
    above, below = value
    return low[0] * below <= above * low[1] and above * high[1] <= high[0] * below
