"""
Many variants of one question as one form with gaps and what goes into the gaps: what all say alike stands once.

Of a text that differs by its numbers only the numbers are kept; gaps that are filled alike in every variant are one. What
fills a gap stands in a column, all variants below each other, because neighbours pack well.

    form     {"stem": "A jet of ‹0› in"}        ‹0› stands for a gap: GAP + "0" + GAP
    columns  [["0.089", "0.090"]]                 a column for each gap, an entry for each variant

A column of few different entries names each once: ``{"of": ["rich", "lean"], "at": [0, 1, 1, 0]}``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

GAP = "\u0001"
"""A control character, which no text of a course may hold, before and after the number of a gap."""

Column = list[Any] | dict[str, list[Any]]

_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
_GAP = re.compile(f"{GAP}(\\d+){GAP}")


class _Columns:
    """The gaps found so far, each once."""

    def __init__(self) -> None:
        self.places: dict[tuple[str, ...], int] = {}
        self.found: list[list[Any]] = []

    def gap(self, values: Sequence[Any]) -> str:
        """The gap that is filled with these values, one for each variant."""
        key = tuple(repr(value) for value in values)
        if key not in self.places:
            self.places[key] = len(self.found)
            self.found.append(list(values))
        return f"{GAP}{self.places[key]}{GAP}"


def factored(variants: Sequence[Any]) -> tuple[Any, list[Column]]:
    """
    The form that plain JSON values share, and the columns of what goes into its gaps.

    >>> form, columns = factored([{"stem": "A jet of 0.089 in", "right": "a"}, {"stem": "A jet of 0.090 in", "right": "a"}])
    >>> form["stem"].replace(GAP, "|"), form["right"], columns
    ('A jet of |0| in', 'a', [['0.089', '0.090']])
    """
    columns = _Columns()
    form = _form(list(variants), columns)
    return form, [_named_once(column) for column in columns.found]


def _named_once(column: list[Any]) -> Column:
    different = list({repr(entry): entry for entry in column}.values())
    if 2 * len(different) > len(column):
        return column
    places = {repr(entry): place for place, entry in enumerate(different)}
    return {"of": different, "at": [places[repr(entry)] for entry in column]}


def _entry(column: Column, variant: int) -> Any:
    return column["of"][column["at"][variant]] if isinstance(column, dict) else column[variant]


def _form(values: list[Any], columns: _Columns) -> Any:
    first = values[0]
    if all(_alike(value, first) for value in values):
        return first
    if all(isinstance(value, dict) and value.keys() == first.keys() for value in values):
        return {name: _form([value[name] for value in values], columns) for name in first}
    if all(isinstance(value, list) and len(value) == len(first) for value in values):
        return [_form([value[place] for value in values], columns) for place in range(len(first))]
    if all(isinstance(value, str) for value in values):
        texts = [_NUMBER.split(value) for value in values]
        if all(text == texts[0] for text in texts):
            return _text(texts[0], [_NUMBER.findall(value) for value in values], columns)
    return columns.gap(values)


def _alike(one: Any, other: Any) -> bool:
    """Whether two values are the same in JSON: `==` takes true for 1, however deep it lies."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(_alike(value, other[name]) for name, value in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(map(_alike, one, other))
    return bool(one == other)


def _text(between: list[str], numbers: list[list[str]], columns: _Columns) -> str:
    found = between[0]
    for place, after in enumerate(between[1:]):
        column = [row[place] for row in numbers]
        found += (column[0] if len(set(column)) == 1 else columns.gap(column)) + after
    return found


def filled(form: Any, columns: Sequence[Column], variant: int) -> Any:
    """
    A variant again; the page's script does the same.

    >>> filled({"stem": f"A jet of {GAP}0{GAP} in"}, [["0.089", "0.090"]], 1)
    {'stem': 'A jet of 0.090 in'}
    """
    if isinstance(form, dict):
        return {name: filled(below, columns, variant) for name, below in form.items()}
    if isinstance(form, list):
        return [filled(below, columns, variant) for below in form]
    if not isinstance(form, str):
        return form
    alone = _GAP.fullmatch(form)
    if alone:
        return _entry(columns[int(alone[1])], variant)
    return _GAP.sub(lambda gap: str(_entry(columns[int(gap[1])], variant)), form)
