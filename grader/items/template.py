"""
Numbers put into text: `{jet_bore}` prints what is given as it is written, `{ring_area:mm^2:3}` what is computed, in a unit and
to so many figures. `{{` and `}}` print braces.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from grader.base.errors import UseError
from grader.base.quantities import Quantity, Unit, show, unit
from grader.items.yamlfile import short

_FIELD = re.compile(r"(?P<name>[a-z][a-z0-9_]*)(?::(?P<unit>[^:{}]+)(?::(?P<figures>[1-9]))?)?")
_PIECE = re.compile(r"\{\{|\}\}|\{(?P<inside>[^{}]*)\}|[{}]")
FIGURES = 3


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a text where a number goes: the name, and the unit and figures where they are said."""

    name: str
    unit: Unit | None = None
    figures: int = FIGURES


def pieces(text: str) -> Iterator[str | Place]:
    """
    A text as plain pieces and places for numbers. Raises `UseError` for a brace that belongs to neither.

    >>> [piece if isinstance(piece, str) else piece.name for piece in pieces("A jet of {jet_bore}.")]
    ['A jet of ', 'jet_bore', '.']
    """
    done = 0
    for found in _PIECE.finditer(text):
        yield text[done : found.start()]
        done = found.end()
        if found[0] in {"{{", "}}"}:
            yield found[0][0]
        elif found["inside"] is None:
            raise UseError(f"a lone {found[0]} stands in the text; write {found[0] * 2} to print a brace")
        else:
            yield _place(found["inside"])
    yield text[done:]


def _place(inside: str) -> Place:
    found = _FIELD.fullmatch(inside.strip())
    if found is None:
        raise UseError(f"`{{{short(inside)}}}` names no number; write it as {{jet_bore}} or {{ring_area:mm^2:3}}")
    return Place(found["name"], unit(found["unit"].strip()) if found["unit"] else None, int(found["figures"] or FIGURES))


def places(text: str) -> list[Place]:
    """
    The places for numbers in a text. Raises like `pieces`.

    >>> [(place.name, place.figures) for place in places("{ring_area:mm^2:4} of {jet_bore}")]
    [('ring_area', 4), ('jet_bore', 3)]
    """
    return [piece for piece in pieces(text) if isinstance(piece, Place)]


def filled(
    text: str,
    givens: Mapping[str, Quantity],
    values: Mapping[str, float],
    units: Mapping[str, Unit],
    words: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """
    The text with its numbers put in.

    Parameters
    ----------
    text : str
        With places for numbers.
    givens : mapping of str to Quantity
        What is printed as written.
    values : mapping of str to float
        Everything that can be computed with, in SI.
    units : mapping of str to Unit
        The unit of values that have one of their own.
    words : mapping of str to str
        What is printed as it stands: a drill with its number, the name of a specimen.

    Raises
    ------
    UseError
        For a name that is not known, and for a computed value without a unit.

    Examples
    --------
    >>> from grader.base.quantities import read_quantity
    >>> bore = read_quantity("0.095 in")
    >>> filled("A jet of {jet_bore}, {jet_bore:mm:3}.", {"jet_bore": bore}, {"jet_bore": bore.si}, {}).replace("\\u202f", " ")
    'A jet of 0.095 in, 2.41 mm.'
    """
    return "".join([piece if isinstance(piece, str) else _number(piece, givens, values, units, words) for piece in _read(text)])


@lru_cache(maxsize=8192)  # the variants of an item share their texts
def _read(text: str) -> tuple[str | Place, ...]:
    return tuple(pieces(text))


def _number(
    place: Place,
    givens: Mapping[str, Quantity],
    values: Mapping[str, float],
    units: Mapping[str, Unit],
    words: Mapping[str, str],
) -> str:
    measure = place.unit or units.get(place.name)
    if place.unit is None and place.name in words:
        return words[place.name]
    if place.unit is None and place.name in givens:
        return givens[place.name].shown
    if place.name not in values:
        raise UseError(f"`{{{place.name}}}` is not known here; name what is given or let")
    if measure is None:
        raise UseError(f"`{{{place.name}}}` has no unit to be printed in; write it as {{{place.name}:mm^2:3}}")
    return show(values[place.name], measure, place.figures)
