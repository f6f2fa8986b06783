"""
An `explorer` block on a page: to be read without a script, and moved with one.

Without a script stands what the first quantity does to the result, in a table of a few lines; `assets/explorer.js` puts
sliders, a curve and the drawing in its place. The relation runs in the browser as the JavaScript that its statement yields.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from html import escape

from grader.base.errors import UseError
from grader.base.quantities import show
from grader.items.exploring import Exploration, check_exploration, read_exploration, values_at
from grader.items.model import Fence, Lesson
from grader.items.sheet_values import Sheets
from grader.pages.formulas import typeset_formula, wide
from grader.pages.lessons import Fault, Page
from grader.relations import typeset
from grader.relations.javascript import body, identifier
from grader.relations.relation import Relation
from grader.relations.symbol import Symbol, capital

ROWS = 4
"""Steps of the table that stands there without a script."""


def explorer_html(fence: Fence, page: Page, relations: Mapping[str, Relation], sheets: Sheets) -> str:
    """An `explorer` block; `Fault` where it cannot be. The relation's name is kept in `page.explored`."""
    try:
        asked = read_exploration(fence, sheets)
        relation = check_exploration(asked, relations)
    except UseError as error:
        raise Fault.of("wrong-block", error, "write `SYMBOL: LEAST to MOST step STEP`, one a line") from error
    page.explored.append(relation.name)
    again = page.explored.count(relation.name)
    mark = relation.name.replace("_", "-") + (f"-{again}" if again > 1 else "")
    caption = f'<p class="explorer-caption">{escape(asked.caption)}</p>' if asked.caption else ""
    return (
        f'<course-explorer id="explore-{mark}" data-search-exclude>'
        f'<p class="course-name">To move: {escape(relation.says)}</p>'
        f'<div class="course-formula{wide(relation)}">{typeset_formula(relation)}</div>{caption}{_table(asked, relation)}'
        f'<script type="application/json">{_plain(_settings(asked, relation))}</script></course-explorer>'
    )


def _table(asked: Exploration, relation: Relation) -> str:
    """What the first moved quantity does to the result, the others where they begin."""
    name, first = next(iter(asked.moved.items()))
    start = {other: one.start for other, one in asked.moved.items()}
    stops = sorted({first.least + first.step * (first.steps * place // ROWS) for place in range(ROWS + 1)} | {first.start})
    rows = ""
    for stop in stops:
        try:
            result = show(values_at(asked, relation, start | {name: stop}), asked.unit, asked.figures)
        except UseError:
            result = "none: out of range"
        bold = ' class="explorer-start"' if stop == first.start else ""
        rows += f"<tr{bold}><td>{escape(first.shown(stop))}</td><td>{escape(result)}</td></tr>"
    others = ", ".join(
        f"{relation.symbols[other].mathml()} = {escape(one.shown(one.start))}" for other, one in list(asked.moved.items())[1:]
    )
    heads = (relation.symbols[name].says, relation.says)
    head = "".join(f'<th scope="col">{escape(capital(words))}</th>' for words in heads)
    held = f'<p class="course-note">With {others}.</p>' if others else ""
    return f'<table class="course-table"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{held}'


def _settings(asked: Exploration, relation: Relation) -> dict[str, object]:
    """What the script needs: the quantities in the order in which the relation takes them."""
    return {
        "relation": relation.name,
        "takes": list(relation.parameters),
        "fixed": {name: one.si for name, one in asked.fixed.items()} | _left_out(asked, relation),
        "moved": [
            {
                **_said(relation.symbols[name]),
                "unit": one.unit.shown,
                "factor": float(one.unit.factor),
                "offset": float(one.unit.offset),
                "least": float(one.least),
                "step": float(one.step),
                "steps": one.steps,
                "start": int((one.start - one.least) / one.step),
                "decimals": one.decimals,
            }
            for name, one in asked.moved.items()
        ],
        "result": {
            **_said(relation.result),
            "unit": asked.unit.shown,
            "factor": float(asked.unit.factor),
            "offset": float(asked.unit.offset),
            "figures": asked.figures,
        },
        "drawing": asked.drawing,
    }


def _left_out(asked: Exploration, relation: Relation) -> dict[str, float]:
    return {name: value for name, value in relation.defaults.items() if name not in asked.fixed and name not in asked.moved}


def _said(symbol: Symbol) -> dict[str, str]:
    return {"symbol": symbol.name, "says": symbol.says, "mathml": symbol.mathml()}


def _plain(settings: dict[str, object]) -> str:
    """JSON that can stand in a page: nothing in it ends the script."""
    return json.dumps(settings, ensure_ascii=False, sort_keys=True, separators=(",", ":")).replace("</", "<\\/")


def explored(lessons: Iterable[Lesson]) -> list[str]:
    """The relations that some lessons' explorers name, each once; a name that is none is left to the check of its block."""
    lines = (line for lesson in lessons for fence in lesson.fences if fence.word == "explorer" for line in fence.lines)
    named = {line.partition(":")[2].strip() for line in lines if line.partition(":")[0].strip() == "relation"}
    return sorted(named)


def relations_script(names: Iterable[str], relations: Mapping[str, Relation]) -> str:
    """
    The relations that a site's explorers move, as a classic script.

    >>> from grader.circuits.catalog import relations
    >>> relations_script(["disc_area"], relations()).splitlines()[1]
    'function disc_area(D) { if (!(0 <= D)) return NaN; return Math.PI / 4 * (D * D); }'
    """
    known = sorted(name for name in names if name in relations)
    functions = "\n".join(f"{relations[name].javascript()}\n{_must(relations[name])}" for name in known)
    return f"(function () {{\n{functions}\nwindow.graderRelations = {{ {', '.join(known)} }};\n}})();\n"


def _must(relation: Relation) -> str:
    """What must hold, each part with its test: so that the page can say which part does not."""
    if relation.condition is None:
        return f"{identifier(relation.name)}.must = [];"
    node = relation.condition.node
    parts = node[1:] if isinstance(node, tuple) and node[0] == "and" else (node,)
    takes = ", ".join(identifier(name) for name in relation.parameters)
    tests = ", ".join(
        f"[{json.dumps(typeset.plain(part), ensure_ascii=False)}, ({takes}) => {{ {body(part)} }}]" for part in parts
    )
    return f"{identifier(relation.name)}.must = [{tests}];"
