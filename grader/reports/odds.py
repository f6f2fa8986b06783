"""Chances as people say them, and what a chance becomes where many were tried."""

from __future__ import annotations

import math


def anywhere(chance: float, compared: int) -> float:
    """
    How likely some pair among all that were compared meets by accident as one of that chance does.

    Pairs are taken to meet independently of each other (Sidak's formula, from memory).

    >>> round(anywhere(0.0001, 132), 4), anywhere(0.5, 1), anywhere(1.0, 9)
    (0.0131, 0.5, 1.0)
    """
    return 1.0 if chance >= 1 else -math.expm1(compared * math.log1p(-chance))


def one_in(chance: float) -> str:
    """
    A chance as people say it, to two figures.

    >>> [one_in(chance) for chance in (0.95, 0.5, 0.032, 0.0001234, 0.0)]
    ['nearly always', '1 in 2', '1 in 31', '1 in 8,100', 'none']
    """
    if chance > 2 / 3:
        return "nearly always"
    return f"1 in {float(f'{1 / chance:.2g}'):,.0f}" if chance > 0 else "none"
