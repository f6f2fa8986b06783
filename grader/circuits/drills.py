"""Numbered drills, by which small jets and bleeds are called: a number to a bore."""

from __future__ import annotations

from types import MappingProxyType

from grader.base.drills import DRILL_INCHES
from grader.base.errors import UseError

INCH = 0.0254

DRILLS = MappingProxyType({number: float(inches) * INCH for number, inches in DRILL_INCHES.items()})
"""Number to bore. [m]"""


def drill_bore(name: str) -> float:
    """
    The bore that a numbered drill makes. [m]

    Raises `UseError` for what is not the number of a drill, 1 to 80.

    >>> round(drill_bore("#54") / 0.0254, 4), round(drill_bore("#69") / 0.0254, 4)
    (0.055, 0.0292)
    """
    return DRILLS[_number(name)]


def drill_inches(name: str) -> str:
    """
    The bore that a numbered drill makes, in inches as the list prints it. Raises as `drill_bore`.

    >>> drill_inches("#54"), drill_inches("#69")
    ('0.055', '0.0292')
    """
    return DRILL_INCHES[_number(name)]


def _number(name: str) -> int:
    number = name.removeprefix("#").strip()
    if not number.isascii() or not number.isdecimal() or int(number[:4]) not in DRILLS:
        raise UseError(f"`{name[:20]}` is not a numbered drill; write #1 to #80, or the bore with its unit")
    return int(number)
