"""
What marking one answer gives: verdict, mark, how it was read, why. And the sentences, which the browser's marker shares.

A mark is exact until it is written down: then it is a decimal of at most two places, half to even. Totals add what is written,
so that anyone can add the printed marks up.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import Literal

Verdict = Literal["right", "followed", "slip", "part", "wrong", "unit", "unreadable", "blank"]

_SLOT = re.compile(r"\{([a-z]+)\}")


@dataclass(frozen=True, slots=True)
class Outcome:
    """
    One answer marked. `part` is the letter of a case's part, else empty; `mark` and `out_of` are decimals in text.

    `read` is how the answer was understood, empty where it was not.
    """

    part: str
    verdict: Verdict
    mark: str
    out_of: str
    read: str
    why: str


def outcome(verdict: Verdict, share: Fraction, points: str, read: str, why: str, part: str = "") -> Outcome:
    """
    An outcome that earns a share (0 to 1) of the points.

    >>> outcome("part", Fraction(7, 10), "2", "b a d e c", "").mark
    '1.4'
    """
    earned, full = _written(share, points)
    return Outcome(part, verdict, earned, full, read, why)


@lru_cache(maxsize=4096)
def _written(share: Fraction, points: str) -> tuple[str, str]:
    full = exact(points)
    return decimal(share * full), decimal(full)


@cache
def sentences() -> Mapping[str, str]:
    """Every sentence the markers say, by its name; read once, when first needed."""
    table: dict[str, str] = json.loads(Path(__file__).with_name("says.json").read_text("utf-8"))
    return table


def says(name: str, /, **values: str) -> str:
    """
    A sentence with its slots filled. What is put in is never looked at again for slots.

    >>> says("unit", read="2 kPa", kind="pressure", wanted="area", unit="mm²")
    '2 kPa is of another kind (pressure); wanted is area (mm²).'
    """
    return _SLOT.sub(lambda slot: values[slot[1]], sentences()[name])


@lru_cache(maxsize=4096)
def exact(text: str) -> Fraction:
    """The exact value of a decimal or a fraction in a key: ``0.1``, ``1/60``, ``2.5e-7``."""
    return Fraction(text)


def decimal(value: Fraction, places: int = 2) -> str:
    """
    A decimal of at most so many places, half to even, without trailing zeros.

    >>> decimal(Fraction(1, 8)), decimal(Fraction(3, 8)), decimal(Fraction(2)), decimal(Fraction(2, 3))
    ('0.12', '0.38', '2', '0.67')
    """
    scaled = round(value * 10**places)  # a Fraction rounds half to even
    sign, digits = "-" if scaled < 0 else "", str(abs(scaled)).rjust(places + 1, "0")
    whole, rest = digits[: len(digits) - places], digits[len(digits) - places :].rstrip("0")
    return f"{sign}{whole}.{rest}" if rest else f"{sign}{whole}"


def figures(value: Fraction, count: int) -> Fraction:
    """
    A value rounded to so many significant figures, half to even.

    >>> figures(Fraction("6.9749505"), 7), figures(Fraction("-0.00125"), 2)
    (Fraction(139499, 20000), Fraction(-3, 2500))
    """
    if not value:
        return value
    top, bottom = abs(value.numerator), value.denominator
    power = len(str(top)) - len(str(bottom))  # of ten: right, or one too many
    if top * 10 ** max(-power, 0) < bottom * 10 ** max(power, 0):
        power -= 1
    step = Fraction(10) ** (power - count + 1)
    return round(value / step) * step


def shown(value: Fraction, count: int = 4) -> str:
    """
    A value to so many significant figures, as a plain decimal without trailing zeros.

    >>> shown(Fraction("2.298434")), shown(Fraction(101325)), shown(Fraction(0))
    ('2.298', '101300', '0')
    """
    rounded = figures(value, count)
    places = 0
    while (rounded * 10**places).denominator != 1:
        places += 1
    return decimal(rounded, places)
