"""What must hold of one item before any number is drawn: names known and used, dimensions right, texts that can be filled."""

from __future__ import annotations

from collections.abc import Generator, Iterator

from grader.base.errors import UseError
from grader.base.findings import Finding, Level
from grader.base.quantities import UNITS, Dimension, Unit, unit
from grader.items.model import Formula, InstrumentUse, Item, NumericAnswer, Part
from grader.items.readings import given_away, hidden
from grader.items.shapes import nearest
from grader.items.template import Place, places
from grader.items.worked import unit_for
from grader.items.yamlfile import short
from grader.relations.dimension import kind_of


def check_item(item: Item) -> Iterator[Finding]:
    """Everything wrong with an item's names, dimensions and texts, in the order of the file."""
    return _Inspection(item).all()


def _unit_of(wanted: Dimension, answer: NumericAnswer) -> str:
    """A unit for what an answer computes: that of its plausible range where it fits, else the first of the table."""
    if answer.plausible and answer.plausible[1].unit.dimension == wanted:
        return answer.plausible[1].unit.name
    return next((name for name, entry in UNITS.items() if entry.dimension == wanted), unit_for(wanted).name)


class _Inspection:
    """One walk through an item; `known` grows as names are defined."""

    def __init__(self, item: Item) -> None:
        self.item = item
        self.known: dict[str, Dimension] = {given.name: given.unit.dimension for given in item.given if given.values}
        self.printable: dict[str, Unit | None] = {given.name: given.unit for given in item.given if given.values}
        self.words = {given.name for given in item.given if not given.values}
        self.used: set[str] = set()
        self.shown: set[str] = set()
        self.readable = True

    def finding(self, line: int, code: str, message: str, mend: str, level: Level = "error") -> Finding:
        return Finding(self.item.file, line, code, f"{self.item.id}: {message}", mend, level, self.item.id)

    def all(self) -> Iterator[Finding]:
        item = self.item
        for let in item.let:
            found = yield from self.formula(let.value, f"`{let.name}`", let.unit)
            if found is not None:
                self.known[let.name] = found
            self.printable[let.name] = let.unit
        for condition in item.require:
            yield from self.formula(condition, "`require`", None, truth=True)
        if item.instrument is not None:
            yield from self.instrument(item.instrument)
        stated = {"stem": item.stem, "hint": item.hint}
        for name, text in stated.items():
            yield from self.text(text, item.lines.get(name, item.line), asked=name == "stem")
        for part in item.parts:
            yield from self.part(part)
        if self.readable:
            yield from self.unused()
            yield from self.told()

    def instrument(self, use: InstrumentUse) -> Iterator[Finding]:
        """What it shows, by its dimension; the answer is read off its scale, so it is asked in a unit of that kind."""
        yield from self.formula(use.shows, "`shows`", unit(use.scale.unit))
        for answer in (part.answer for part in self.item.parts):
            if answer is not None and answer.unit.kind != unit(use.scale.unit).kind:
                what = f"the answer is asked in {answer.unit.name}, the scale is divided in {use.scale.unit}"
                mend = f"write `unit: {use.scale.unit}`, or take an instrument that shows what is asked"
                yield self.finding(answer.lines.get("unit", answer.line), "foreign-unit", what, mend)

    def told(self) -> Iterator[Finding]:
        """What is to be read must not stand in the question's words."""
        texts = {"stem": self.item.stem, "hint": self.item.hint}
        if given_away(self.item, {place.name for text in texts.values() for place in places(text)}):
            line = self.item.lines.get("stem", self.item.line)
            what = "the question prints all that the instrument shows"
            yield self.finding(line, "answer-printed", what, "take it out of the text; it is to be read off the drawing")

    def part(self, part: Part) -> Iterator[Finding]:
        if part.name:
            yield from self.text(part.stem, part.lines.get("stem", part.line), asked=True)
            yield from self.text(part.hint, part.lines.get("hint", part.line))
        answer = part.answer
        if answer is not None:
            sound = yield from self.answer(answer)
            for number, slip in enumerate(part.slips, 1):
                yield from self.formula(slip.value, f"slip {number}", answer.unit if sound else None)
                yield from self.text(slip.says, slip.line)
            if part.name:
                self.known[part.name] = answer.unit.dimension
        for number, option in enumerate(part.options, 1):
            if option.value is not None:
                yield from self.formula(option.value, f"option {number}", option.unit)
            yield from self.text(option.text, option.line, asked=True)
            yield from self.text(option.says, option.line)
        lines = {"working": (part.working,), "entries": part.entries, "extra": part.extra}
        for name, texts in lines.items():
            for text in texts:
                yield from self.text(text, part.lines.get(name, part.line), asked=name != "working")
        for row in part.rows:
            yield from self.text(row.text, row.line, asked=True)
            yield from self.text(row.match, row.line, asked=True)

    def answer(self, answer: NumericAnswer) -> Generator[Finding, None, bool]:
        """Its unit against what it computes; where they agree, tolerance and plausible range against both. Whether they agree."""
        found = yield from self.formula(answer.value, "the answer", None)
        if found is None:
            return False
        if found != answer.unit.dimension:
            unit = f"`unit` is {answer.unit.name}, {kind_of(answer.unit.dimension)}"
            what = f"`{short(answer.value.text)}` is {kind_of(found)}, {unit}"
            mend = f"write `unit: {_unit_of(found, answer)}`, or mend the expression"
            yield self.finding(answer.lines.get("unit", answer.line), "dimension", what, mend)
            return False
        if answer.within.unit.name != "%" and answer.within.unit.dimension != found:
            what = f"`within` is {answer.within.written} {answer.within.unit.name}, the answer {kind_of(found)}"
            mend = f"write a share (2 %) or an amount in {answer.unit.name}"
            yield self.finding(answer.lines.get("within", answer.line), "bad-tolerance", what, mend)
        if answer.plausible and answer.plausible[0].unit.dimension != found:
            what = f"`plausible` is {kind_of(answer.plausible[0].unit.dimension)}, the answer {kind_of(found)}"
            yield self.finding(answer.lines.get("plausible", answer.line), "dimension", what, f"write it in {answer.unit.name}")
        return True

    def formula(
        self, formula: Formula, what: str, unit: Unit | None, *, truth: bool = False
    ) -> Generator[Finding, None, Dimension | None]:
        """Checks names, kind and dimension; returns the dimension where it has one."""
        expression = formula.expression
        self.used |= set(expression.names)
        strange = [name for name in expression.names if name not in self.known]
        for name in strange:
            near = nearest(name, self.known)
            known = ", ".join(self.known) or "nothing"
            mend = f"did you mean `{near}`?" if near else f"what is known here: {known}"
            yield self.finding(formula.line, "unknown-name", f"{what} uses `{name}`, which is not known here", mend)
        if strange:
            return None
        if (expression.kind == "truth") != truth:
            stands = ("a number", "a condition") if truth else ("a condition", "a number")
            mend = "compare two values: a < b" if truth else "write what is to be computed"
            yield self.finding(formula.line, "dimension", f"{what} is {stands[0]} where {stands[1]} is expected", mend)
            return None
        try:
            found = expression.dimension(self.known)
        except UseError as error:
            mend = "make the two sides agree"
            yield self.finding(formula.line, "dimension", f"{what}, `{short(formula.text)}`: {error}", mend)
            return None
        if unit is not None and found != unit.dimension:
            message = f"{what} is {kind_of(found)}, the unit says {unit.name}"
            yield self.finding(formula.line, "dimension", message, "mend the unit or the expression")
            return None
        return found

    def text(self, text: str, line: int, *, asked: bool = False) -> Iterator[Finding]:
        try:
            found = places(text)
        except UseError as error:
            message, _, mend = str(error).partition("; ")
            self.readable = False
            yield self.finding(line, "bad-place", message, mend or "write it as {jet_bore} or {ring_area:mm^2:3}")
            return
        for place in found:
            if asked:
                self.shown.add(place.name)
            self.used |= {place.name} & {let.name for let in self.item.let}
            yield from self.place(place, line)

    def place(self, place: Place, line: int) -> Iterator[Finding]:
        name = place.name
        if name in self.words:
            if place.unit is not None:
                mend = f"write {{{name}}}"
                yield self.finding(line, "bad-place", f"`{{{name}}}` is a name and has no unit", mend)
            return
        if name not in self.printable:
            if any(part.name == name for part in self.item.parts):
                message = f"`{{{name}}}` would print the answer of a part"
                yield self.finding(line, "answer-printed", message, "take it out; a part's answer is not printed")
                return
            near = nearest(name, [*self.printable, *self.words])
            mend = f"did you mean `{{{near}}}`?" if near else "name what stands under `given` or `let`"
            yield self.finding(line, "unknown-name", f"`{{{name}}}` is not known here", mend)
            return
        unit = place.unit or self.printable[name]
        if unit is None:
            mend = f"write it as {{{name}:mm^2:3}}"
            yield self.finding(line, "bad-place", f"`{{{name}}}` has no unit to be printed in", mend)
        elif name in self.known and unit.dimension != self.known[name]:
            message = f"`{{{name}}}` is {kind_of(self.known[name])}, not one in {unit.name}"
            yield self.finding(line, "dimension", message, "mend the unit behind the colon")

    def unused(self) -> Iterator[Finding]:
        unseen = hidden(self.item)
        for given in self.item.given:
            if given.name in unseen:
                continue  # the instrument shows it
            if given.name not in self.shown:
                mend = f"put {{{given.name}}} into the stem, or take it out of `given`"
                yield self.finding(given.line, "not-stated", f"`{given.name}` is given and never stated", mend)
            elif given.name not in self.used | self.words and not self.only_text():
                mend = "use it, or waive this where it is there to be told apart"
                yield self.finding(
                    given.line, "unused-value", f"`{given.name}` is stated and used in no expression", mend, "warning"
                )
        for let in self.item.let:
            if let.name not in self.used:
                yield self.finding(let.line, "unused-value", f"`{let.name}` is computed and never used", "take it out", "warning")

    def only_text(self) -> bool:
        """Whether the item computes nothing: its numbers only set the scene."""
        return not any(part.answer is not None or any(o.value for o in part.options) for part in self.item.parts)
