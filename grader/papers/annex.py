"""The annex of formulae: relations of the course, typeset, with what each symbol means and its usual unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from grader.base.errors import UseError
from grader.base.quantities import show
from grader.papers.paper import Formula, Meaning, Typeset
from grader.relations import typeset
from grader.relations.relation import Relation
from grader.relations.symbol import Symbol, capital
from grader.relations.tree import Tree

LONGEST = 90
"""Letters of a formula as plain text, past which it is printed in terms of the relations that it calls, and these below it."""


def annex(names: Iterable[str], relations: Mapping[str, Relation]) -> tuple[Formula, ...]:
    """
    The formulae that a blueprint names, in its order.

    Raises `UseError` for a name that no relation has.

    >>> from grader.relations.relation import relation
    >>> ring = relation("A = pi/4 * (D**2 - d**2)", name="ring", A=("mm^2", "area of the ring"), D=("mm", "outer diameter"),
    ...     d=("mm", "inner diameter"), valid="0 <= d and d < D", example="A(D=2.41, d=1.70) = 2.292", source="plane geometry")
    >>> found = annex(["ring"], {"ring": ring})[0]
    >>> found.says, found.equation.text, found.symbols[1].says, found.symbols[1].unit
    ('Area of the ring', 'A = π/4 · (D² − d²)', 'outer diameter', 'mm')
    """
    found: dict[str, Formula] = {}
    for name in names:
        if name not in relations:
            raise UseError(f"the blueprint's annex names `{name}`, which is no relation; `grader compute` lists them")
        found |= _formulas(relations[name], relations)
    return tuple(found.values())


def _formulas(relation: Relation, relations: Mapping[str, Relation]) -> dict[str, Formula]:
    """A relation by its name; a long one with those that it calls."""
    called = relation.expression.calls if len(relation.text()) > LONGEST else ()
    node = relation.expression.node if called else relation.expression.expanded().node
    symbols = tuple(map(_meaning, relation.symbols.values()))
    found = {relation.name: Formula(capital(relation.says), _equation(("name", relation.result.name), node), symbols)}
    for name in called:
        found |= _called(relations[name], relations)
    return found


def _called(relation: Relation, relations: Mapping[str, Relation]) -> dict[str, Formula]:
    """A relation as the one above calls it: its name and what goes in, in place of the letter of its result."""
    found = _formulas(relation, relations)
    node = relation.expression.node if len(found) > 1 else relation.expression.expanded().node
    left: Tree = ("call", relation.name, *(("name", symbol.name) for symbol in relation.arguments))
    symbols = tuple(map(_meaning, relation.arguments))
    result = relation.result.unit.shown
    says = capital(relation.says) + (f", in {result}" if result else "")
    own = {f"{relation.name}()": Formula(says, _equation(left, node), symbols)}
    return own | {name: formula for name, formula in found.items() if name != relation.name}


def _equation(left: Tree, right: Tree) -> Typeset:
    return _typeset(("compare", left, "==", right))


def _typeset(node: Tree) -> Typeset:
    return Typeset(typeset.typst(node), typeset.mathml(node), typeset.plain(node))


def _meaning(symbol: Symbol) -> Meaning:
    """What a symbol means, with the value it has where the question gives none: a candidate cannot guess it."""
    letter = _typeset(("name", symbol.name))
    if symbol.default is None:
        return Meaning(letter, symbol.says, symbol.unit.shown)
    return Meaning(letter, f"{symbol.says}: {show(symbol.default, symbol.unit)}", "")
