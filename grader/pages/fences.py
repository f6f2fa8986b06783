"""
What our blocks and inline numbers become: a relation with its symbols, a worked example, a figure, a number.

Every number on a page is computed here from the relation that states it; nothing is typed twice.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path

from grader.base.errors import GraderError, UseError
from grader.base.files import read_capped
from grader.base.quantities import show
from grader.items.figures import for_page
from grader.items.lesson_file import Computation, read_inline, read_pairs, read_worked
from grader.items.model import Fence
from grader.items.sheet_values import NO_SHEETS, Sheets, names_specimen, reference_printed
from grader.pages.formulas import typeset_formula, wide
from grader.pages.lessons import Fault, Page
from grader.pages.sample import conditions, steps_html
from grader.relations.relation import Relation

FIGURE_LIMIT = 512 * 1024


def nearest(name: str, names: Iterable[str]) -> str:
    """
    How to mend an unknown name: the one that was probably meant, or all there are.

    >>> nearest("open_aera", ["open_area", "jet_flow"])
    'did you mean `open_area`?'
    """
    every = list(names)
    found = difflib.get_close_matches(name, every, n=1, cutoff=0.6)
    return f"did you mean `{found[0]}`?" if found else f"there are {', '.join(every) or 'none'}"


def find_relation(name: str, relations: Mapping[str, Relation]) -> Relation:
    """The relation of that name, or a `Fault` that says which there are."""
    if name not in relations:
        raise Fault("unknown-relation", f"there is no relation `{name[:60]}`", nearest(name, relations))
    return relations[name]


def relation_html(fence: Fence, relations: Mapping[str, Relation]) -> str:
    """A `relation` block: the formula typeset, what each symbol means in which unit, where it holds, and its source."""
    relation = find_relation(" ".join(fence.lines).strip(), relations)
    rows = "".join(
        f"<tr><td>{symbol.mathml()}</td><td>{escape(symbol.says)}</td><td>{escape(symbol.unit.shown) or '–'}</td></tr>"
        for symbol in relation.symbols.values()
    )
    says = relation.says[:1].upper() + relation.says[1:]
    valid = f'<p class="course-note">Holds for {conditions(relation.condition.mathml())}.</p>' if relation.condition else ""
    return (
        f'<div class="course-relation" role="group" aria-label="Relation: {escape(relation.says)}">'
        f'<p class="course-name">{escape(says)}</p>'
        f'<div class="course-formula{wide(relation)}" data-search-exclude>{typeset_formula(relation)}</div>'
        '<table class="course-table"><thead><tr><th scope="col">Symbol</th><th scope="col">Meaning</th>'
        '<th scope="col">Unit</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>{valid}"
        f'<p class="course-note">Source: {escape(relation.source)}.</p></div>'
    )


def worked_html(fence: Fence, relations: Mapping[str, Relation], sheets: Sheets = NO_SHEETS) -> str:
    """A `worked` block: what is given, the formula, the numbers put in, the result, computed now."""
    try:
        asked = read_worked(fence, sheets)
    except UseError as error:
        raise Fault.of("wrong-block", error, "write it as `SYMBOL: quantity`, one a line") from error
    relation = check_computation(asked, relations)
    try:
        steps = relation.working(asked.values, asked.unit, asked.figures)
    except GraderError as error:
        raise Fault.of("out-of-range", error, "give values for which the relation holds") from error
    given = "".join(
        f"<li>{escape(relation.symbols[symbol].says)}: "
        f'<span class="course-whole">{relation.symbols[symbol].mathml()} = {escape(quantity.shown)}</span></li>'
        for symbol, quantity in asked.values.items()
    )
    return (
        '<div class="course-worked" role="group" aria-label="Worked example"><p class="course-name">Worked example</p>'
        f"<ul>{given}</ul>{steps_html(steps)}</div>"
    )


def inline_number(text: str, relations: Mapping[str, Relation], sheets: Sheets = NO_SHEETS) -> str:
    """What stands between double brackets, computed: ``open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures``.

    Or taken from a specimen: ``T-1 main_jet``, ``T-1 cruise air_fuel with rod-stuck-up``.
    """
    try:
        if names_specimen(text.strip()):
            return reference_printed(text.strip(), sheets)
        asked = read_inline(text.strip(), sheets)
    except UseError as error:
        raise Fault.of("wrong-inline", error, "write `[[RELATION SYMBOL=quantity as UNIT]]`") from error
    relation = check_computation(asked, relations)
    try:
        value = float(relation(**{name: quantity.si for name, quantity in asked.values.items()}))
    except GraderError as error:
        raise Fault.of("out-of-range", error, "give values for which the relation holds") from error
    return show(value, asked.unit, asked.figures)


def check_computation(asked: Computation, relations: Mapping[str, Relation]) -> Relation:
    """The relation that is to be computed; `Fault` where the symbols, their kinds or the unit are not its own."""
    relation = find_relation(asked.relation, relations)
    result = relation.result.unit
    if asked.unit.dimension != result.dimension:
        message = f"{relation.name} gives a value in {result.name}, the unit says {asked.unit.name}"
        raise Fault("dimension", message, f"write `{result.name}` or another unit of its kind")
    wanted_names = [symbol.name for symbol in relation.arguments]
    for symbol, quantity in asked.values.items():
        if symbol not in wanted_names:
            raise Fault("unknown-symbol", f"{relation.name} takes no `{symbol}`", nearest(symbol, wanted_names))
        wanted = relation.symbols[symbol].unit
        if quantity.unit.dimension != wanted.dimension:
            message = (
                f"{symbol} of {relation.name} is wanted in {wanted.name}, here stands {quantity.written} {quantity.unit.name}"
            )
            raise Fault("dimension", message, f"write it in {wanted.name} or another unit of its kind")
    missing = [name for name in wanted_names if name not in asked.values and relation.symbols[name].default is None]
    if missing:
        mend = f"give {', '.join(f'`{name}`' for name in missing)}"
        raise Fault("missing-symbol", f"{relation.name} lacks {', '.join(missing)}", mend)
    return relation


def figure_block(fence: Fence, page: Page, figures: Mapping[str, Path]) -> str:
    """A `figure` block: the drawing from the course's figures, inline, with its caption."""
    try:
        pairs = read_pairs(fence)
    except UseError as error:
        raise Fault.of("wrong-block", error, "write `name: …` and, if wanted, `caption: …`") from error
    name = pairs.get("name", "")
    if name not in figures:
        raise Fault("unknown-figure", f"there is no figure `{name[:60]}`", nearest(name, figures))
    svg = read_capped(figures[name], FIGURE_LIMIT).decode("utf-8", errors="replace")
    caption = pairs.get("caption", "")
    below = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    try:
        drawing = for_page(svg, f"{page.mark}f{len(page.blocks)}")
    except UseError as error:
        raise Fault.of("bad-figure", error, "mend the drawing") from error
    return f'<figure class="course-figure">{drawing}{below}</figure>'
