"""
An `explorer` block of a lesson: a relation with some of its quantities to be moved, and the drawing that moves with them.

    relation: open_area
    D: 0.080 in to 0.110 in step 0.001 in, T-1 main_jet
    d: 0.050 in to 0.076 in step 0.001 in, T-1 rod_steps 1 diameter
    unit: mm^2
    drawing: rod in jet

A `bench` block names a specimen, and if wanted the altitudes at which its whole carburetor can be looked at.

A symbol with `from to step` is moved; after the comma stands where it begins, else in the middle. One with one quantity stays.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from grader.base.errors import GraderError, UseError
from grader.base.quantities import Quantity, Unit, unit, with_unit
from grader.items import fields
from grader.items.lesson_file import read_pairs
from grader.items.model import Fence
from grader.items.shapes import nearest
from grader.items.sheet_values import (
    NO_SHEETS,
    NotThere,
    Sheets,
    names_specimen,
    read_altitude,
    reference_quantity,
    sheet_named,
)
from grader.items.yamlfile import short
from grader.relations.relation import Relation

if TYPE_CHECKING:
    from grader.circuits.specimens import Specimen

DRAWINGS: Mapping[str, frozenset[str]] = {
    "rod in jet": frozenset({"D", "d"}),
    "fuel level": frozenset({"h", "e"}),
    "transfer slot": frozenset({"E", "z", "l"}),
    "pump stroke": frozenset({"D", "s"}),
    "coil": frozenset({"T", "T_0", "s"}),
}
"""Drawings that move, and the symbols that each is drawn from."""

MOST_MOVED, MOST_STEPS = 4, 400
MOST_DECIMALS, MOST_NUMBER = 8, 10**9
"""What a place is printed with; by smaller steps neighbours would look alike."""
MOST_ALTITUDES = 6
"""Each altitude of a bench is a carburetor with every fault."""
_FIELDS = ("relation", "unit", "drawing", "caption", "figures")
_RANGE = re.compile(r"(?P<least>.+?)\s+to\s+(?P<most>.+?)\s+step\s+(?P<step>[^,]+?)(?:\s*,\s*(?P<start>.+))?")


@dataclass(frozen=True, slots=True)
class Moved:
    """A quantity that is moved: from `least` to `most` by `step`, beginning at `start`; all numbers in `unit`."""

    least: Fraction
    most: Fraction
    step: Fraction
    start: Fraction
    unit: Unit

    @property
    def steps(self) -> int:
        """How many steps there are."""
        return int((self.most - self.least) / self.step)

    @property
    def decimals(self) -> int:
        """So many decimals show every place that it can stand at."""
        return next(n for n in range(MOST_DECIMALS + 1) if all((x * 10**n).denominator == 1 for x in (self.least, self.step)))

    def shown(self, place: Fraction) -> str:
        """A place as printed."""
        return with_unit(f"{float(place):.{self.decimals}f}".replace("-", "−"), self.unit)


@dataclass(frozen=True, slots=True)
class Exploration:
    """What an `explorer` block asks for."""

    relation: str
    moved: Mapping[str, Moved]
    fixed: Mapping[str, Quantity]
    unit: Unit
    figures: int = 3
    drawing: str = ""
    caption: str = ""


def read_exploration(fence: Fence, sheets: Sheets = NO_SHEETS) -> Exploration:
    """
    An `explorer` block.

    Raises `UseError` saying what is wrong.

    >>> lines = ("relation: disc_area", "D: 1 mm to 3 mm step 0.05 mm, 2.4 mm", "unit: mm^2")
    >>> read_exploration(Fence("explorer", 1, lines)).moved["D"].steps
    40
    """
    pairs = read_pairs(fence)
    for name in ("relation", "unit"):
        if name not in pairs:
            raise NotThere("missing-field", name, f"`{name}` is missing from the explorer; write a line `{name}: …`")
    moved: dict[str, Moved] = {}
    fixed: dict[str, Quantity] = {}
    for name, text in pairs.items():
        if name in _FIELDS:
            continue
        found = _RANGE.fullmatch(text)
        if found:
            moved[name] = _moved(name, found, sheets)
        else:
            fixed[name] = _size(text, sheets)
    if not 1 <= len(moved) <= MOST_MOVED:
        mend = f"write 1 to {MOST_MOVED} lines `SYMBOL: LEAST to MOST step STEP`"
        raise NotThere("wrong-count", "relation", f"{len(moved)} quantities are to be moved; {mend}")
    figures = fields.read_whole(pairs.get("figures", "3"))
    if not 1 <= figures <= 6:
        raise NotThere("wrong-count", "figures", f"{figures} significant figures; write 1 to 6")
    return Exploration(
        pairs["relation"], moved, fixed, unit(pairs["unit"]), figures, pairs.get("drawing", ""), pairs.get("caption", "")
    )


def _size(text: str, sheets: Sheets) -> Quantity:
    return reference_quantity(text, sheets) if names_specimen(text) else fields.read_size(text)


def _moved(name: str, found: re.Match[str], sheets: Sheets) -> Moved:
    least, most, step = (fields.read_size(found[part]) for part in ("least", "most", "step"))
    measure = least.unit
    for other in (most, step):
        if other.unit.dimension != measure.dimension:
            raise NotThere(
                "dimension", name, f"{name} goes in {measure.name}, and {other.shown} is of another kind; use one unit"
            )
    low, high, by = _place(least, measure), _place(most, measure), Fraction(step.number * step.unit.factor / measure.factor)
    if not low < high or not 0 < by <= high - low or (high - low) % by:
        raise NotThere(
            "bad-range", name, f"{name} does not come from {least.shown} to {most.shown} in such steps; let it fit evenly"
        )
    if (high - low) / by > MOST_STEPS:
        raise NotThere(
            "bad-range", name, f"{name} has {int((high - low) / by)} steps; write a step that gives {MOST_STEPS} at most"
        )
    printed = 10**MOST_DECIMALS
    if any((number * printed).denominator > 1 for number in (low, by)) or max(abs(low), abs(high)) >= MOST_NUMBER:
        raise NotThere(
            "bad-range",
            name,
            f"{name} stands at numbers that cannot be printed to {MOST_DECIMALS} decimals; write all in one unit, without thirds",
        )
    start = low + (high - low) // by // 2 * by
    if found["start"]:
        begins = _size(found["start"].strip(), sheets)
        if begins.unit.dimension != measure.dimension:
            raise NotThere(
                "dimension", name, f"{name} begins at {begins.shown}, of another kind than {measure.name}; use one unit"
            )
        start = _place(begins, measure)
        if not low <= start <= high:
            raise NotThere("bad-range", name, f"{name} begins at {begins.shown}, outside its range; widen the range")
        start = low + round((start - low) / by) * by
    return Moved(low, high, by, start, measure)


def _place(quantity: Quantity, measure: Unit) -> Fraction:
    """A quantity's number in another unit of its kind."""
    return Fraction((quantity.number * quantity.unit.factor + quantity.unit.offset - measure.offset) / measure.factor)


def check_exploration(asked: Exploration, relations: Mapping[str, Relation]) -> Relation:
    """
    The relation that is explored.

    Raises `UseError` where there is none of that name, its symbols or units do not fit, its drawing is not there or wants other
    symbols, or where the relation has no value at the start, or at none of the ends.
    """
    if asked.relation not in relations:
        near = nearest(asked.relation, relations)
        mend = f"did you mean `{near}`?" if near else "`grader compute` lists them all"
        raise NotThere("unknown-relation", "relation", f"there is no relation `{short(asked.relation)}`; {mend}")
    relation = relations[asked.relation]
    given = {**{name: one.unit for name, one in asked.moved.items()}, **{name: one.unit for name, one in asked.fixed.items()}}
    for name, measure in given.items():
        if name not in relation.parameters:
            raise NotThere(
                "unknown-symbol", name, f"{relation.name} takes no `{short(name)}`; it takes {', '.join(relation.parameters)}"
            )
        wanted = relation.symbols[name].unit
        if measure.dimension != wanted.dimension:
            raise NotThere(
                "dimension", name, f"{name} of {relation.name} is in {measure.name}; give it in {wanted.name} or the like"
            )
    missing = [name for name in relation.parameters if name not in given and name not in relation.defaults]
    if missing:
        raise NotThere("missing-symbol", missing[0], f"{relation.name} lacks {', '.join(missing)}; write a line for each")
    if asked.unit.dimension != relation.result.unit.dimension:
        mend = f"write `unit: {relation.result.unit.name}` or the like"
        raise NotThere("dimension", "unit", f"{relation.name} does not come in {asked.unit.name}; {mend}")
    _check_drawing(asked, relation)
    values_at(asked, relation, {name: one.start for name, one in asked.moved.items()})
    ends = itertools.product(*((one.least, one.most) for one in asked.moved.values()))
    if not any(_has_value(asked, relation, dict(zip(asked.moved, end, strict=True))) for end in ends):
        raise NotThere("no-value", "relation", f"{relation.name} has no value at any end of the ranges; narrow them")
    return relation


def _check_drawing(asked: Exploration, relation: Relation) -> None:
    if not asked.drawing:
        return
    if asked.drawing not in DRAWINGS:
        near = nearest(asked.drawing, DRAWINGS)
        mend = f"did you mean `{near}`?" if near else f"there are {', '.join(DRAWINGS)}"
        raise NotThere("unknown-drawing", "drawing", f"there is no drawing `{short(asked.drawing)}` that moves; {mend}")
    lacks = DRAWINGS[asked.drawing] - set(relation.parameters)
    if lacks:
        raise NotThere(
            "unknown-drawing",
            "drawing",
            f"the drawing `{asked.drawing}` is drawn from {', '.join(sorted(lacks))} too; take another",
        )


def values_at(asked: Exploration, relation: Relation, places: Mapping[str, Fraction]) -> float:
    """The relation's value in SI where the moved quantities stand at `places`, numbers in their own units. Raises `UseError`."""
    values = {name: one.si for name, one in asked.fixed.items()}
    values |= {name: one.unit.to_si(places[name]) for name, one in asked.moved.items()}
    try:
        return float(relation(**values))
    except GraderError as error:
        raise NotThere("no-value", "relation", f"where the explorer begins, {error}") from error


def _has_value(asked: Exploration, relation: Relation, places: Mapping[str, Fraction]) -> bool:
    try:
        values_at(asked, relation, places)
    except UseError:
        return False
    return True


def read_bench(fence: Fence, sheets: Sheets) -> tuple[Specimen, tuple[float, ...]]:
    """
    Whose carburetor, and at which altitudes [m].

    Raises `UseError` for another field, an unknown specimen, an altitude that is none or stands twice, or too many of them.
    """
    pairs = read_pairs(fence)
    for name in pairs.keys() - {"specimen", "altitudes"}:
        raise NotThere(
            "unknown-field", name, f"`{name[:40]}` is not a field of a bench block; write `specimen: …`, `altitudes: …`"
        )
    specimen = sheet_named(pairs.get("specimen", ""), sheets).specimen
    altitudes = tuple(read_altitude(text.strip()) for text in pairs.get("altitudes", "0 ft").split(","))
    if len(set(altitudes)) < len(altitudes):
        raise NotThere("repeated-value", "altitudes", "an altitude stands twice; keep one of the two")
    if len(altitudes) > MOST_ALTITUDES:
        raise NotThere("wrong-count", "altitudes", f"{len(altitudes)} altitudes; write {MOST_ALTITUDES} at most")
    return specimen, altitudes
