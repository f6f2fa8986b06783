"""Variants: one item, its numbers drawn for one paper, in the form of a key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile
from math import floor, log10
from pathlib import Path
from typing import Any

from grader.base.canon import draw, shuffled
from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.base.quantities import Quantity, Unit, show_number, with_unit
from grader.items.drawing import Bounded, PartNumbers, Variant, amount, draw_variant, plain, twelve
from grader.items.model import Item, NumericAnswer, Part
from grader.items.readings import answer_shown, drawing, rule
from grader.items.template import filled
from grader.items.worked import worked
from grader.marking import key

LETTERS = "abcdefghijklmnopqrstuvwxyz"
FIGURE_LIMIT = 512 * 1024


def draw_question(item: Item, secret: bytes, paper: str, figures: Mapping[str, Path], *, shuffle: int = 0) -> key.AnyQuestion:
    """
    A variant of an item in the key's form: the same for the same secret and paper, on any machine.

    Parameters
    ----------
    item : Item
        From a course that `grader check` found no error in.
    secret : bytes
        The sitting's secret, at most 64 bytes.
    paper : str
        The paper's code.
    figures : mapping of str to Path
        `Course.figures`: the SVG file of each figure.
    shuffle : int
        0 for the options as they are drawn at first; another number for another order of them, and nothing else changed.

    Raises
    ------
    FindingsError
        Where no numbers drawn will do.
    UseError
        Where a figure or a name in a text is not there: `grader check` says so beforehand.
    """
    return question_of(item, draw_variant(item, secret, paper), secret, paper, figures, shuffle)


def question_of(
    item: Item, variant: Variant, secret: bytes, paper: str, figures: Mapping[str, Path], shuffle: int = 0
) -> key.AnyQuestion:
    """The question of a variant that was drawn; see `draw_question`."""
    units = {let.name: let.unit for let in item.let if let.unit is not None}
    maker = _Maker(item, variant, secret, paper, shuffle, units)
    common: dict[str, Any] = {
        "item": item.id,
        "objective": item.objective,
        "circuit": item.circuit,
        "points": f"{plain(item.points):f}",
        "stem": maker.text(item.stem),
        "figure": _figure(item, variant, figures),
        "hint": maker.text(item.hint),
    }
    if item.kind == "case":
        return key.Case(parts=tuple(maker.case_part(place) for place in range(len(item.parts))), **common)
    return maker.single(common)


def _figure(item: Item, variant: Variant, figures: Mapping[str, Path]) -> key.Figure | None:
    if item.instrument is not None and variant.indicated is not None:
        return drawing(item.instrument, variant.indicated)
    if item.figure is None:
        return None
    if item.figure.name not in figures:
        raise UseError(f"{item.id}: there is no figure `{item.figure.name}`; put {item.figure.name}.svg into lessons/figures")
    path = figures[item.figure.name]
    return key.Figure(svg=_svg(path, path.stat().st_mtime_ns), alt=item.figure.alt)


@lru_cache(maxsize=256)
def _svg(path: Path, _changed: int) -> str:
    text = read_capped(path, FIGURE_LIMIT).decode("utf-8-sig")
    return text[max(text.find("<svg"), 0) :].strip()


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes the key's structures of one variant."""

    item: Item
    variant: Variant
    secret: bytes
    paper: str
    shuffle: int
    units: Mapping[str, Unit]  # of the values in between that have one of their own

    def text(self, text: str) -> str:
        return filled(text, self.variant.givens, self.variant.values, self.units, self.variant.words) if text else ""

    def order(self, name: str, size: int) -> list[int]:
        return shuffled(self.secret, self.paper, self.item.id, name, self.variant.attempt, size)

    def single(self, common: dict[str, Any]) -> key.AnyQuestion:
        part, numbers = self.item.parts[0], self.variant.parts[0]
        if self.item.kind == "numeric" and part.answer is not None and numbers.key is not None:
            return key.Numeric(**common, **self.numeric(part, part.answer, numbers.key, numbers), working=self.working(part))
        if self.item.instrument is not None and part.answer is not None and numbers.key is not None:
            told = rule(self.item.instrument.scale, part.answer.within)
            asked = self.numeric(part, part.answer, numbers.key, numbers)
            return key.Reading(**common, **asked, rule=told, working=self.working(part))
        if self.item.kind in {"choice", "choices"}:
            options, right = self.options(part, numbers, "options")
            working = self.working(part)
            if self.item.kind == "choice":
                return key.Choice(**common, options=options, right=right[0], working=working)
            return key.Choices(**common, options=options, right=right, working=working)
        if self.item.kind == "order":
            return self.ordered(part, common)
        return self.matched(part, common)

    def numeric(self, part: Part, answer: NumericAnswer, bounds: Bounded, numbers: PartNumbers) -> dict[str, Any]:
        """Answer, slips and plausible range of a part that asks for a number."""
        slips, earlier = [], self.earlier(part)
        for slip, found in zip(part.slips, numbers.slips, strict=True):
            tree = None if earlier.isdisjoint(slip.value.expression.names) else slip.value.expression.tree()
            slips.append(key.Slip(**found.written(), says=self.text(slip.says), tree=tree))
        plausible = None if answer.plausible is None else _plausible(*answer.plausible, answer.unit)
        use = self.item.instrument
        read = "" if use is None else answer_shown(use.scale, bounds.value, answer.unit.name)
        return {"answer": _answer(answer, bounds, read), "slips": tuple(slips), "plausible": plausible}

    def earlier(self, part: Part) -> set[str]:
        """The names of the numeric parts before this one."""
        before = takewhile(lambda other: other is not part, self.item.parts)
        return {other.name for other in before if other.name and other.answer is not None}

    def options(self, part: Part, numbers: PartNumbers, name: str) -> tuple[tuple[key.Option, ...], tuple[str, ...]]:
        """The options as they stand on this paper, and the letters of the right ones. Numbers rise or fall, as drawn."""
        count = len(part.options)
        name += f"~{self.shuffle}" if self.shuffle else ""
        if numbers.options:
            falling = draw(self.secret, self.paper, self.item.id, f"{name}/falling", self.variant.attempt, 2) == 1
            order = sorted(range(count), key=lambda place: numbers.options[place][0], reverse=falling)
        else:
            order = list(range(count)) if part.keep_order else self.order(name, count)
        found, right = [], []
        for letter, place in zip(LETTERS, order, strict=False):
            option = part.options[place]
            printed = (
                with_unit(numbers.options[place][1], option.unit) if numbers.options and option.unit else self.text(option.text)
            )
            found.append(key.Option(letter=letter, text=printed, says=self.text(option.says)))
            right += [letter] if option.right else []
        return tuple(found), tuple(right)

    def ordered(self, part: Part, common: dict[str, Any]) -> key.Order:
        count = len(part.entries)
        order = self.order("entries", count)
        if order == sorted(order):  # the right order is no question; turn it round by one
            order = order[1:] + order[:1]
        entries = tuple(
            key.Option(letter=letter, text=self.text(part.entries[place])) for letter, place in zip(LETTERS, order, strict=False)
        )
        right = tuple(LETTERS[order.index(place)] for place in range(count))
        return key.Order(**common, entries=entries, right=right, working=self.working(part))

    def matched(self, part: Part, common: dict[str, Any]) -> key.Match:
        texts = list(dict.fromkeys([*(row.match for row in part.rows), *part.extra]))
        shown = [texts[place] for place in self.order("options", len(texts))]
        rows = [part.rows[place] for place in self.order("rows", len(part.rows))]
        return key.Match(
            **common,
            rows=tuple(key.Row(number=str(number), text=self.text(row.text)) for number, row in enumerate(rows, 1)),
            options=tuple(key.Option(letter=letter, text=self.text(text)) for letter, text in zip(LETTERS, shown, strict=False)),
            right={str(number): LETTERS[shown.index(row.match)] for number, row in enumerate(rows, 1)},
            working=self.working(part),
        )

    def case_part(self, place: int) -> key.NumericPart | key.ChoicePart:
        part, numbers = self.item.parts[place], self.variant.parts[place]
        common: dict[str, Any] = {
            "part": LETTERS[place],
            "points": f"{plain(part.points):f}",
            "stem": self.text(part.stem),
            "hint": self.text(part.hint),
            "working": self.working(part),
        }
        if part.answer is not None and numbers.key is not None:
            return key.NumericPart(
                **common, **self.numeric(part, part.answer, numbers.key, numbers), follow=self.follow(part, part.answer)
            )
        options, right = self.options(part, numbers, f"{part.name}/options")
        return key.ChoicePart(**common, options=options, right=right[0])

    def follow(self, part: Part, answer: NumericAnswer) -> key.Follow | None:
        """How the part comes from earlier ones; None where neither its answer nor a slip does."""
        formulas = [answer.value, *(slip.value for slip in part.slips)]
        names = {name for formula in formulas for name in formula.expression.names}
        earlier = names & self.earlier(part)
        if not earlier:
            return None
        letters = {other.name: letter for other, letter in zip(self.item.parts, LETTERS, strict=False)}
        return key.Follow(
            tree=answer.value.expression.tree(),
            values={name: self.variant.values[name] for name in sorted(names - earlier)},
            takes={name: letters[name] for name in sorted(earlier)},
            within=_written(answer),
        )

    def working(self, part: Part) -> tuple[key.Step, ...]:
        return worked(self.item, part, self.variant, self.text(part.working))


def _answer(answer: NumericAnswer, bounds: Bounded, read: str) -> key.Answer:
    """`read` is how the answer stands on an instrument's scale, where it does."""
    return key.Answer(
        **bounds.written(),
        unit=answer.unit.name,
        shown=read or with_unit(show_number(bounds.value, _figures(bounds)), answer.unit),
        within=answer.within.shown,
    )


@lru_cache(maxsize=1024)  # the variants of an item share it
def _plausible(least: Quantity, most: Quantity, measure: Unit) -> tuple[str, str]:
    return f"{twelve(least.si, measure):f}", f"{twelve(most.si, measure):f}"


def _figures(bounds: Bounded) -> int:
    """Enough figures that what is printed lies well inside the tolerance, and at least three."""
    reach = (bounds.high - bounds.low) / 2
    if not bounds.value or not reach:
        return 4
    return min(max(2 + floor(-log10(float(reach / abs(bounds.value)))), 3), 9)


def _written(answer: NumericAnswer) -> str:
    """A tolerance as marking reads it again: a share, or an amount in the answer's unit."""
    if answer.within.unit.name == "%":
        return f"{answer.within.written} %"
    return f"{amount(answer):f} {answer.unit.name}".removesuffix(" 1")
