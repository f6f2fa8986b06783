"""
What our blocks and inline numbers become: a relation with its symbols, a worked example, a figure, a number computed where it stands.

Every number on a page is computed here from the relation that states it; nothing is typed twice.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path

from grader.base.errors import GraderError, UseError
from grader.base.files import contained, plain_name, read_capped
from grader.base.quantities import Quantity, Unit, read_quantity, show, unit
from grader.pages.figures import figure_html
from grader.pages.lessons import Block, Fault, Page
from grader.pages.sample import steps_html
from grader.relations.relation import Relation

FIGURE_LIMIT = 512 * 1024
FIGURES = 3

_INLINE = re.compile(
    r"\s*(?P<name>\w+)\s+(?P<given>.+?)\s+as\s+(?P<unit>\S+)(?:\s+to\s+(?P<figures>\d{1,2})\s+figures?)?\s*", re.ASCII
)
_GIVEN = re.compile(r"\s*(?P<name>[A-Za-z]\w*)\s*=\s*(?P<value>.*?)\s*")


def nearest(name: str, names: Iterable[str]) -> str:
    """
    How to mend an unknown name: the one that was probably meant, or all there are.

    >>> nearest("open_aera", ["open_area", "jet_flow"])
    'did you mean `open_area`?'
    """
    every = list(names)
    found = difflib.get_close_matches(name, every, n=1, cutoff=0.6)
    return f"did you mean `{found[0]}`?" if found else f"there are {', '.join(every) or 'none'}"


def find_relation(name: str, relations: Mapping[str, Relation], line: int = 0) -> Relation:
    """The relation of that name, or a `Fault` that says which there are."""
    if name not in relations:
        raise Fault("unknown-relation", f"there is no relation `{name[:60]}`", nearest(name, relations), line)
    return relations[name]


def relation_html(block: Block, relations: Mapping[str, Relation]) -> str:
    """A `relation` block: the formula typeset, what each symbol means in which unit, where it holds, and its source."""
    relation = find_relation(block.name(), relations, 1)
    rows = "".join(
        f"<tr><td>{symbol_html(name)}</td><td>{escape(symbol.says)}</td><td>{escape(symbol.unit.shown) or '–'}</td></tr>"
        for name, symbol in relation.symbols.items()
    )
    says = relation.says[:1].upper() + relation.says[1:]
    valid = f'<p class="course-note">Holds for {valid_html(relation.valid)}.</p>' if relation.valid else ""
    return (
        f'<section class="course-relation" aria-label="Relation: {escape(relation.says)}">'
        f'<p class="course-name">{escape(says)}</p>'
        f'<div class="course-formula" data-search-exclude>{relation.mathml()}</div>'
        '<table class="course-table"><thead><tr><th scope="col">Symbol</th><th scope="col">Meaning</th><th scope="col">Unit</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>{valid}"
        f'<p class="course-note">Source: {escape(relation.source)}.</p></section>'
    )


def worked_html(block: Block, relations: Mapping[str, Relation]) -> str:
    """A `worked` block: the relation, the numbers put in, the result, computed now."""
    fields = block.fields()
    for needed in ("relation", "unit"):
        if needed not in fields:
            raise Fault("missing-field", f"`{needed}` is missing from the block", f"write `{needed}: …` on a line of its own")
    name, line = fields.pop("relation")
    relation = find_relation(name, relations, line)
    text, line = fields.pop("unit")
    measure = read_unit(text, relation, line)
    givens = {symbol: read_given(symbol, value, relation, line) for symbol, (value, line) in fields.items()}
    complete(givens, relation)
    try:
        steps = relation.working(givens, measure)
    except GraderError as error:
        raise _out_of_range(error) from error
    given = "; ".join(f"{relation.symbols[symbol].says} {quantity.shown}" for symbol, quantity in givens.items())
    return (
        '<section class="course-worked" aria-label="Worked example"><p class="course-name">Worked example</p>'
        f"<p>Given: {escape(given)}.</p>{steps_html(steps)}</section>"
    )


def inline_number(text: str, relations: Mapping[str, Relation]) -> str:
    """What stands between double brackets, computed: ``open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures``."""
    found = _INLINE.fullmatch(text)
    if found is None:
        example = "`[[open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures]]`"
        raise Fault("wrong-inline", f"`[[{text[:80]}]]` is not a relation, its values and a unit", f"write it like {example}")
    relation = find_relation(found["name"], relations)
    measure = read_unit(found["unit"], relation)
    figures = int(found["figures"] or FIGURES)
    if not 1 <= figures <= 9:
        raise Fault("wrong-inline", f"{figures} figures are asked for", "ask for 1 to 9")
    givens = {}
    for piece in found["given"].split(","):
        given = _GIVEN.fullmatch(piece)
        if given is None:
            raise Fault("wrong-inline", f"`{piece.strip()[:60]}` is not `SYMBOL=quantity`", "write it like `D=0.095 in`")
        givens[given["name"]] = read_given(given["name"], given["value"], relation)
    complete(givens, relation)
    try:
        value = float(relation(**{name: quantity.si for name, quantity in givens.items()}))
    except GraderError as error:
        raise _out_of_range(error) from error
    return show(value, measure, figures)


def read_unit(name: str, relation: Relation, line: int = 0) -> Unit:
    """A unit that the relation's result can be given in."""
    wanted = relation.symbols[relation.result].unit
    try:
        measure = unit(name)
    except UseError as error:
        raise Fault("unknown-unit", f"`{name[:40]}` is not a unit known here", f"write it like `{wanted.name}`", line) from error
    if measure.dimension != wanted.dimension:
        message = f"{relation.name} gives a value in {wanted.name}, the unit says {name}"
        raise Fault("dimension", message, f"write `{wanted.name}` or another unit of its kind", line)
    return measure


def read_given(symbol: str, text: str, relation: Relation, line: int = 0) -> Quantity:
    """The quantity of a symbol, of the symbol's own kind."""
    if symbol not in relation.arguments:
        raise Fault("unknown-symbol", f"{relation.name} takes no `{symbol}`", nearest(symbol, relation.arguments), line)
    wanted = relation.symbols[symbol].unit
    try:
        quantity = read_quantity(text)
    except UseError as error:
        what, _, mend = str(error).partition("; ")
        raise Fault("bad-quantity", f"{symbol}: {what}", mend or f"write it like `1 {wanted.name}`", line) from error
    if quantity.unit.dimension != wanted.dimension:
        message = f"{symbol} of {relation.name} is wanted in {wanted.name}, here stands `{text}`"
        raise Fault("dimension", message, f"write it in {wanted.name} or another unit of its kind", line)
    return quantity


def complete(givens: Mapping[str, Quantity], relation: Relation) -> None:
    """Refuse where a symbol without a default is left out."""
    missing = [name for name in relation.arguments if name not in givens and relation.symbols[name].default is None]
    if missing:
        mend = f"give {', '.join(f'`{name}`' for name in missing)}"
        raise Fault("missing-symbol", f"{relation.name} lacks {', '.join(missing)}", mend)


def _out_of_range(error: GraderError) -> Fault:
    what, _, mend = str(error).partition("; ")
    return Fault("out-of-range", what, mend or "give values for which the relation holds")


def figure_block(block: Block, page: Page, folder: Path) -> str:
    """A `figure` block: the drawing from the course's figures, inline, with its caption."""
    fields = block.fields()
    if "name" not in fields:
        raise Fault("missing-field", "`name` is missing from the block", "write `name: …`, the file's name without .svg")
    name, line = fields["name"]
    for other, (_, place) in fields.items():
        if other not in ("name", "caption"):
            raise Fault("unknown-field", f"`{other}` is not a field of a figure", "the fields are name, caption", place)
    file = contained(folder, f"{name}.svg") if plain_name(name) else folder
    if not file.is_file():
        there = sorted(path.stem for path in folder.glob("*.svg"))
        raise Fault("unknown-figure", f"there is no figure `{name[:60]}`", nearest(name, there), line)
    svg = read_capped(file, FIGURE_LIMIT).decode("utf-8", errors="replace")
    return figure_html(svg, f"{page.mark}f{len(page.blocks)}", fields.get("caption", ("", 0))[0])


def symbol_html(name: str) -> str:
    """A symbol as it stands in a formula."""
    from grader.relations.mathml import symbol_mathml

    return f"<math>{symbol_mathml(name)}</math>"


def valid_html(valid: str) -> str:
    """The range a relation holds for, in the signs of print."""
    text = valid.replace("<=", "≤").replace(">=", "≥").replace(" and ", ", ")
    return escape(text)
