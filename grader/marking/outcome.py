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
from functools import cache, lru_cache
from pathlib import Path
from typing import Literal

from grader.marking.ratio import Ratio, figures, nearest, ratio

Verdict = Literal["right", "followed", "slip", "part", "wrong", "unit", "unreadable", "blank"]

_SLOT = re.compile(r"\{([a-z]+)\}")


ALL, NOTHING = (1, 1), (0, 1)
"""Shares of the points."""


@dataclass(slots=True, unsafe_hash=True)  # never changed once made; frozen would cost more than all the rest of a mark
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


def outcome(verdict: Verdict, share: Ratio, points: str, read: str, why: str, part: str = "") -> Outcome:
    """
    An outcome that earns a share (0 to 1) of the points.

    >>> outcome("part", (7, 10), "2", "b a d e c", "").mark
    '1.4'
    """
    return Outcome(part, verdict, earned(share, points), earned(ALL, points), read, why)


@lru_cache(maxsize=4096)
def earned(share: Ratio, points: str) -> str:
    """A share of the points, as it is written down."""
    above, below = ratio(points)
    return decimal((share[0] * above, share[1] * below))


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
    if not values:
        return sentences()[name]
    pieces = _SLOT.split(sentences()[name])  # what stands between the slots, and every second one a slot's name
    pieces[1::2] = [values[slot] for slot in pieces[1::2]]
    return "".join(pieces)


def decimal(value: Ratio, places: int = 2) -> str:
    """
    A decimal of at most so many places, half to even, without trailing zeros.

    >>> decimal((1, 8)), decimal((3, 8)), decimal((2, 1)), decimal((2, 3))
    ('0.12', '0.38', '2', '0.67')
    """
    above, below = value
    scaled = nearest((above * 10**places, below))
    sign, digits = "-" if scaled < 0 else "", str(abs(scaled)).rjust(places + 1, "0")
    whole, rest = digits[: len(digits) - places], digits[len(digits) - places :].rstrip("0")
    return f"{sign}{whole}.{rest}" if rest else f"{sign}{whole}"


def shown(value: Ratio, count: int = 4) -> str:
    """
    A value to so many significant figures, as a plain decimal without trailing zeros.

    >>> shown((2298434, 10**6)), shown((101325, 1)), shown((0, 1))
    ('2.298', '101300', '0')
    """
    rounded = figures(value, count)
    return decimal(rounded, len(str(rounded[1])) - 1)
