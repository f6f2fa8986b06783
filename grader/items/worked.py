"""The worked answer of a variant: the author's words, then each relation with this variant's numbers put in."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import msgspec

from grader.base.quantities import UNITS, Dimension, Quantity, Unit, show_number
from grader.items.drawing import Variant, twelve
from grader.items.model import Formula, InstrumentUse, Item, Let, Part
from grader.items.readings import told
from grader.items.template import places
from grader.marking.key import Step
from grader.relations.working import working

FIGURES = 4
ANSWER = "The answer:"


def worked(item: Item, part: Part, variant: Variant, words: str) -> tuple[Step, ...]:
    """
    The steps of a part's worked answer: `words` first, then what is computed in between, then the answer.

    A reading says first what the instrument shows. Values in between are worked out only where the part uses them. Earlier parts
    of a case enter as what they came to.
    """
    steps = [Step(says=words)] if words else []
    target = _target(part)
    if target is None:
        return tuple(steps)
    formula, measure = target
    if item.instrument is not None and variant.indicated is not None:
        steps.append(Step(says=told(item.instrument.scale, variant.indicated)))
        if formula.text == item.instrument.shows.text:  # what is read is what is asked
            return (*steps, *_converted(item.instrument, variant.values, formula, measure))
    known = _known(item, variant)
    for let in _used(item, formula):
        steps += _in_between(let, _steps(let.value, known, known[let.name].unit))
    return (*steps, *_steps(formula, known, measure))


def _converted(use: InstrumentUse, values: Mapping[str, float], formula: Formula, measure: Unit) -> list[Step]:
    """The reading in the unit that is asked for, where that is another than the scale's."""
    if measure.name == use.scale.unit:
        return []
    found = _quantity(formula.expression.evaluate(values), measure)
    return [Step(says=f"That is {found.shown}.")]


def _in_between(let: Let, steps: list[Step]) -> list[Step]:
    """Steps towards a value in between: headed by its name, and never called the answer."""
    name = let.name.replace("_", " ")
    return [Step(says=f"First, the {name}:"), *(msgspec.structs.replace(s, says="") if s.says == ANSWER else s for s in steps)]


def _target(part: Part) -> tuple[Formula, Unit] | None:
    if part.answer is not None:
        return part.answer.value, part.answer.unit
    right = [option for option in part.options if option.right and option.value is not None and option.unit is not None]
    if len(right) == 1 and right[0].value is not None and right[0].unit is not None:
        return right[0].value, right[0].unit
    return None


def _used(item: Item, formula: Formula) -> list[Let]:
    """The values in between that a formula needs, directly or through others, in the order they are computed."""
    wanted = set(formula.expression.names)
    found = []
    for let in reversed(item.let):
        if let.name in wanted:
            wanted |= set(let.value.expression.names)
            found.append(let)
    return found[::-1]


def _known(item: Item, variant: Variant) -> dict[str, Quantity]:
    """A quantity for every name: what is given as written, what is computed in its unit to four figures."""
    known = dict(variant.givens)
    for let in item.let:
        known[let.name] = _quantity(variant.values[let.name], _unit_of(item, let, known))
    for part in item.parts:
        if part.name in variant.values and part.answer is not None:
            known[part.name] = _quantity(variant.values[part.name], part.answer.unit)
    return known


def _quantity(si: float, measure: Unit) -> Quantity:
    number = twelve(si, measure)
    return Quantity(show_number(number, FIGURES), Fraction(number), measure)


def _unit_of(item: Item, let: Let, known: Mapping[str, Quantity]) -> Unit:
    """The unit a value in between is worked out in: its own, the one its stem prints it in, or that of its dimension."""
    if let.unit is not None:
        return let.unit
    for text in (item.stem, *(part.stem for part in item.parts)):
        for place in places(text):
            if place.name == let.name and place.unit is not None:
                return place.unit
    return unit_for(let.value.expression.dimension({name: known[name].unit.dimension for name in let.value.expression.names}))


def unit_for(wanted: Dimension) -> Unit:
    """
    A unit for a dimension: the one of the table whose factor is 1, or one made of base units.

    >>> from grader.base.quantities import dimension
    >>> unit_for(dimension(-1, 1, -2)).name, unit_for(dimension(1, 0, -3)).factor
    ('Pa', Fraction(1, 1))
    """
    for measure in UNITS.values():
        if measure.dimension == wanted and measure.factor == 1 and not measure.offset:
            return measure
    bases = [(name, power) for name, power in zip(("m", "kg", "s", "K", "A"), wanted, strict=True) if power]
    shown = "·".join(name + (f"^{power}" if power != 1 else "") for name, power in bases)
    return Unit(shown, "made of others", wanted, Fraction(1), shown)


def _steps(formula: Formula, known: Mapping[str, Quantity], measure: Unit) -> list[Step]:
    names = {name: known[name] for name in formula.expression.names}
    found = working(formula.expression, names, measure)
    return [Step(says=step.says, text=step.text, mathml=step.mathml, typst=step.typst) for step in found]
