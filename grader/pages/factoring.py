"""
Many variants of one question as one form with gaps and what goes into the gaps: what all say alike stands once.

Of a text that differs by its numbers only the numbers are kept; gaps that are filled alike in every variant are one. What
fills a gap stands in a column, all variants below each other, because neighbours pack well.

    form     {"stem": "A jet of ‹0› in"}        ‹0› stands for a gap: GAP + "0" + GAP
    columns  [["0.089", "0.090"]]                 a column for each gap, an entry for each variant

A column of few different entries names each once: ``{"of": ["rich", "lean"], "at": [0, 1, 1, 0]}``.

A number that says by what `share` of it, or by what amount (`reach`), an answer may be off has its bounds, `low` and `high`,
computed when a variant is put together.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import Any

GAP = "\u0001"
"""A control character, which no text of a course may hold, before and after the number of a gap."""

STROKE = " M"
"""Where a stroke of a drawing's path begins."""

EXACT = Context(prec=60, rounding=ROUND_HALF_EVEN)

Column = list[Any] | dict[str, list[Any]]

_NUMBER = re.compile(r"([0-9][0-9]*(?:[.,][0-9]+)*)")  # begins with a plain set of letters, which is searched for twice as fast
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
    if values.count(first) == len(values) and (isinstance(first, str) or all(_alike(value, first) for value in values)):
        return first
    if all(isinstance(value, dict) and value.keys() == first.keys() for value in values):
        return {name: _form([value[name] for value in values], columns) for name in first}
    if all(isinstance(value, list) and len(value) == len(first) for value in values):
        return [_form([value[place] for value in values], columns) for place in range(len(first))]
    if all(isinstance(value, str) for value in values):
        apart = {value: _NUMBER.split(value) for value in set(values)}  # many variants say the same in one place
        texts = [apart[value] for value in values]
        between = texts[0][::2]
        if all(text[::2] == between for text in texts):
            return _text(between, [text[1::2] for text in texts], columns)
        return _by_lines(values, columns) or _by_pieces(values, "\n", columns) or _by_pieces(values, STROKE, columns)
    return columns.gap(values)


def _by_lines(values: list[str], columns: _Columns) -> str:
    """Texts of many lines, such as drawings: parted at the lines that all have, what lies between them each by itself."""
    texts = [value.split("\n") for value in values]
    first = texts[0]
    shared = [line for line in first if all(text.count(line) == 1 for text in texts)]
    if not any(shared) or first[-1] != shared[-1] or any(not _in_order(shared, text) for text in texts):
        return ""
    parted = [_parted(text, shared) for text in texts]
    between = [_form(list(pieces), columns) for pieces in zip(*parted, strict=True)]
    return "".join(f"{piece}{line}\n" for piece, line in zip(between, shared, strict=True))[:-1]


def _by_pieces(values: list[str], between: str, columns: _Columns) -> Any:
    """
    Texts parted at what stands between their pieces: those that all end in stand once, of the rest as many as all have each by
    itself, and what some have more as a whole. The gap of the whole texts where that comes to nothing.
    """
    texts = [value.split(between) for value in values]
    least = min(map(len, texts))
    alike = next((n for n in range(least) if len({text[-1 - n] for text in texts}) > 1), least - 1)
    lead = least - alike
    if least < 2:
        return "" if between != STROKE else columns.gap(values)
    form = between.join(_form([text[place] for text in texts], columns) for place in range(lead))
    more = ["".join(between + piece for piece in text[lead : len(text) - alike]) for text in texts]
    form += more[0] if more.count(more[0]) == len(more) else columns.gap(more)
    return form + "".join(between + piece for piece in texts[0][len(texts[0]) - alike :])


def _in_order(shared: list[str], text: list[str]) -> bool:
    known = set(shared)
    return text[-1] == shared[-1] and [line for line in text if line in known] == shared


def _parted(text: list[str], shared: list[str]) -> list[str]:
    """The lines before each of the shared ones, each with its end."""
    found, at = [], 0
    for line in shared:
        place = text.index(line, at)
        found.append("".join(f"{own}\n" for own in text[at:place]))
        at = place + 1
    return found


def _alike(one: Any, other: Any) -> bool:
    """Whether two values are the same in JSON: `==` takes true for 1, however deep it lies."""
    if isinstance(one, str) or type(one) is not type(other):
        return one == other and isinstance(other, str)
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


def bounds(value: str, *, share: str = "", reach: str = "") -> tuple[str, str]:
    """
    The ends of what is right, exactly: off by a share of the value, or by an amount.

    >>> bounds("-2.5", share="0.02"), bounds("19.5", reach="0.5")
    (('-2.55', '-2.45'), ('19', '20'))
    """
    middle = Decimal(value)
    off = EXACT.multiply(abs(middle), Decimal(share)) if share else Decimal(reach)
    ends = EXACT.subtract(middle, off), EXACT.add(middle, off)
    return f"{ends[0].normalize(EXACT):f}", f"{ends[1].normalize(EXACT):f}"


def filled(form: Any, columns: Sequence[Column], variant: int) -> Any:
    """
    A variant again; the page's script does the same.

    >>> filled({"stem": f"A jet of {GAP}0{GAP} in"}, [["0.089", "0.090"]], 1)
    {'stem': 'A jet of 0.090 in'}
    """
    if isinstance(form, dict):
        one = {name: filled(below, columns, variant) for name, below in form.items()}
        if not ("share" in one or "reach" in one):
            return one
        low, high = bounds(one["value"], share=one.get("share", ""), reach=one.get("reach", ""))
        return {**one, "low": low, "high": high}
    if isinstance(form, list):
        return [filled(below, columns, variant) for below in form]
    if not isinstance(form, str):
        return form
    alone = _GAP.fullmatch(form)
    if alone:
        return _entry(columns[int(alone[1])], variant)
    return _GAP.sub(lambda gap: str(_entry(columns[int(gap[1])], variant)), form)
