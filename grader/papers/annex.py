"""The annex of formulae: relations of the course, typeset, with what each symbol means and its usual unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from grader.base.errors import UseError
from grader.base.quantities import show
from grader.papers.paper import Formula
from grader.relations.relation import Relation
from grader.relations.symbol import Symbol


def annex(names: Iterable[str], relations: Mapping[str, Relation]) -> tuple[Formula, ...]:
    """
    The formulae that a blueprint names, in its order.

    Raises `UseError` for a name that no relation has.

    >>> from grader.relations.relation import relation
    >>> ring = relation("A = pi/4 * (D**2 - d**2)", name="ring", A=("mm^2", "area of the ring"), D=("mm", "outer diameter"),
    ...     d=("mm", "inner diameter"), valid="0 <= d and d < D", example="A(D=2.41, d=1.70) = 2.292", source="plane geometry")
    >>> found = annex(["ring"], {"ring": ring})[0]
    >>> found.says, found.text, found.symbols[1][1:]
    ('Area of the ring', 'A = π/4 · (D² − d²)', ('D', 'outer diameter', 'mm'))
    """
    found = []
    for name in names:
        if name not in relations:
            raise UseError(f"the blueprint's annex names `{name}`, which is no relation; `grader compute` lists them")
        relation = relations[name]
        symbols = tuple((s.typst(), s.text(), _meaning(s), s.unit.shown) for s in relation.symbols.values())
        says = relation.says[:1].upper() + relation.says[1:]
        found.append(Formula(says, relation.typst(), relation.text(), symbols))
    return tuple(found)


def _meaning(symbol: Symbol) -> str:
    """What a symbol means, with the value it has where the question gives none: a candidate cannot guess it."""
    return symbol.says if symbol.default is None else f"{symbol.says}: {show(symbol.default, symbol.unit)}"
