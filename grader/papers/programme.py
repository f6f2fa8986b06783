"""
The integer programme of one paper: which items to take, so that its content is exact and it costs least. HiGHS, through scipy.

Items are whole numbers from 0 here, and so are all amounts and costs: an optimum is compared exactly. An item that only one draw
may take has one column; one that several may take has a column for each of them besides.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

NODES = 2_000
"""So many branches at most, so that no paper keeps a sitting waiting; then the best found counts. Its content is exact too."""
FINEST = 1 << 14
"""Costs are given to the solver in units of this, so that its tolerance of 1e-6 lies well below the least difference in cost."""
_SNAP = 1_000_000


@dataclass(frozen=True, slots=True)
class Content:
    """What every paper holds: `wanted` says how many items each draw takes, `pools` which ones it may, of `size` items in all."""

    wanted: tuple[int, ...]
    pools: tuple[tuple[int, ...], ...]
    size: int

    @property
    def shared(self) -> list[tuple[int, int]]:
        """Item and draw, for every item that more than one draw may take."""
        takers = [0] * self.size
        for pool in self.pools:
            for item in pool:
                takers[item] += 1
        return [(item, draw) for draw, pool in enumerate(self.pools) for item in pool if takers[item] > 1]


@dataclass(frozen=True, slots=True)
class Band:
    """
    A sum over the items of a paper and the ends between which it shall lie.

    Outside it costs `price` for each unit; where that is None, no paper may lie outside.
    """

    amounts: tuple[int, ...]
    low: int
    high: int
    price: int | None = None


class Programme:
    """
    Chooses items: the content always exactly, the bands as near as can be, the sum of the costs least.

    Parameters
    ----------
    content : Content
        Some paper must be possible; see `grader.papers.shortage`.
    bands : sequence of Band

    Examples
    --------
    Two of four items, weighing 10 together if that can be; 0 and 3 or 1 and 2 do, and 1 costs least:

    >>> wants = Content((2,), ((0, 1, 2, 3),), 4)
    >>> Programme(wants, [Band((3, 4, 6, 7), 10, 10, price=100)]).chosen([5, 1, 5, 5])
    [1, 2]
    """

    def __init__(self, content: Content, bands: Sequence[Band]) -> None:
        self.content, self.bands = content, tuple(bands)

    @cached_property
    def _model(self) -> tuple[Any, NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Matrix, ends of its rows, most of each column, and what the columns cost that are no items."""
        rows = _content_rows(self.content)
        low, high = list(rows.right), list(rows.right)
        prices = [0] * (rows.columns - self.content.size)
        most = [1.0] * rows.columns
        columns = rows.columns
        for band in self.bands:
            entries = [(item, amount) for item, amount in enumerate(band.amounts) if amount]
            if band.price is not None:
                entries += [(columns, 1), (columns + 1, -1)]
                columns += 2
                prices += [band.price, band.price]
                most += [np.inf, np.inf]
            rows.entries.append(entries)
            low.append(band.low)
            high.append(band.high)
        return (
            _sparse(rows.entries, columns),
            np.array(low, float),
            np.array(high, float),
            np.array(most),
            np.array(prices, float),
        )

    def chosen(self, costs: Sequence[int]) -> list[int]:
        """
        The items of the cheapest paper, in rising order.

        Raises `ValueError` where no paper is possible at all.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        matrix, low, high, most, prices = self._model
        with _hushed():
            found = milp(
                np.concatenate([np.array(costs, float), prices]) / FINEST,
                constraints=LinearConstraint(matrix, low, high),
                integrality=np.ones(len(most)),
                bounds=Bounds(0, most),
                options={"mip_rel_gap": 0.0, "node_limit": NODES},
            )
        if found.x is None:
            raise ValueError(f"no paper is possible: {found.message}")
        return [item for item in range(self.content.size) if found.x[item] > 0.5]


@contextmanager
def _hushed() -> Iterator[None]:
    """
    Standard output shut while the solver runs: now and then it prints a line of its own there, whatever it is told, and results
    go to standard output.
    """
    sys.stdout.flush()
    try:
        c = ctypes.CDLL(None)
        kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    except (OSError, TypeError):  # no C library by that way, or no standard output: then the line is printed, or nowhere
        yield
        return
    c.fflush(None)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        c.fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def even_use(content: Content, bands: Sequence[Band] = (), base: Sequence[Fraction] = ()) -> list[Fraction]:
    """
    How often each item is used, as a share of the papers, where use is as even as the content lets it be.

    No item's share can be made smaller without making one larger that is as large already (the min-max fair shares); where there
    is a `base`, shares are measured by it. Bands without a price hold for the mean paper. Found level by level as linear
    programmes: an item whose share can't sink below the level, by its dual price, stays there.

    Examples
    --------
    One of items 0 and 1, and two of items 0 to 4: three of five in all, each as often as the next.

    >>> [str(share) for share in even_use(Content((1, 2), ((0, 1), (0, 1, 2, 3, 4)), 5))]
    ['3/5', '3/5', '3/5', '3/5', '3/5']
    """
    from scipy.optimize import linprog

    rows = _content_rows(content)
    right = list(rows.right)
    for band in bands:
        if band.price is None:
            rows.entries.append([(item, amount) for item, amount in enumerate(band.amounts) if amount])
            right.append(band.low)
    level = rows.columns  # the last column
    equal = _sparse(rows.entries, level + 1)
    cost = np.zeros(level + 1)
    cost[level] = 1
    most = np.append(np.ones(level), np.inf)
    by = [float(share) for share in base] or [1.0] * content.size
    shares: dict[int, float] = {}
    while open_items := [item for item in range(content.size) if item not in shares]:
        below = _sparse([[(item, 1), (level, -by[item])] for item in open_items], level + 1)
        ends = np.column_stack([np.zeros(level + 1), most])
        found = linprog(cost, A_ub=below, b_ub=np.zeros(len(open_items)), A_eq=equal, b_eq=right, bounds=ends, method="highs")
        if found.x is None:
            raise ValueError(f"no paper is possible: {found.message}")
        held = [item for item, price in zip(open_items, found.ineqlin.marginals, strict=True) if price < -1e-9]
        if found.fun < 1e-9 or not held:
            held = open_items
        for item in held:
            shares[item] = most[item] = min(max(found.fun, 0.0) * by[item], 1.0)
    return [Fraction(shares[item]).limit_denominator(_SNAP) for item in range(content.size)]


@dataclass(slots=True)
class _Rows:
    """Rows of a matrix by column and coefficient, what each comes to, and how many columns there are."""

    entries: list[list[tuple[int, int]]]
    right: list[int]
    columns: int


def _content_rows(content: Content) -> _Rows:
    """Each draw takes what it wants; an item that several may take is taken by one of them where it is on the paper."""
    column = {pair: content.size + place for place, pair in enumerate(content.shared)}
    entries = [[(column.get((item, draw), item), 1) for item in pool] for draw, pool in enumerate(content.pools)]
    by_item: dict[int, list[tuple[int, int]]] = {}
    for (item, _), place in column.items():
        by_item.setdefault(item, [(item, -1)]).append((place, 1))
    known = {item for pool in content.pools for item in pool}
    none = [*by_item.values(), *([(item, 1)] for item in range(content.size) if item not in known)]
    return _Rows([*entries, *none], [*content.wanted, *(0 for _ in none)], content.size + len(column))


def _sparse(rows: Sequence[Sequence[tuple[int, float]]], columns: int) -> Any:
    from scipy.sparse import csr_array

    places = [(row, column, value) for row, entries in enumerate(rows) for column, value in entries]
    at, to, values = (list(each) for each in zip(*places, strict=True)) if places else ([], [], [])
    return csr_array((np.array(values, float), (at, to)), shape=(len(rows), columns))
