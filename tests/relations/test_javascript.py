from __future__ import annotations

import json
import random
import subprocess
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import pytest

from grader.base.errors import RangeError
from grader.circuits.catalog import relations
from grader.relations.javascript import identifier
from grader.relations.language import parse

InNode = Callable[[list[tuple[str, list[str], list[float]]]], list[Any]]


def _in_node(node: str, calls: list[tuple[str, list[str], list[float]]]) -> list[Any]:
    """Every function run in one Node process: (body, names, values) each; what is not finite comes back as None."""
    script = (
        "const calls = JSON.parse(require('fs').readFileSync(0, 'utf8'));"
        "const out = calls.map(([body, names, values]) => { const y = Function(...names, body)(...values);"
        " return typeof y === 'boolean' ? y : Number.isFinite(y) ? y : null; });"
        "console.log(JSON.stringify(out));"
    )
    done = subprocess.run([node, "-e", script], input=json.dumps(calls), capture_output=True, text=True, check=True)
    found: list[Any] = json.loads(done.stdout)
    return found


@pytest.fixture
def in_node(node: str) -> InNode:
    """Runs function bodies on numbers, all in one process."""
    return partial(_in_node, node)


def test_node_gets_what_python_gets_on_formulas_of_all_kinds(draw_formulas: Callable, in_node: InNode) -> None:
    drawn = [(parse(text), values) for text, values in draw_formulas(600)]
    found = in_node([(e.javascript(), list(values), list(values.values())) for e, values in drawn])
    compared = 0
    for (expression, values), theirs in zip(drawn, found, strict=True):
        try:
            ours = expression.evaluate(values)
        except RangeError:
            continue
        # sin, exp, log and x**0.5 may differ in the last bit from engine to engine; a difference of near numbers enlarges that
        assert ours == pytest.approx(theirs, rel=1e-8, abs=1e-10), expression.text
        compared += 1
    assert compared > 350


def test_without_transcendental_functions_node_agrees_to_the_last_bit(draw_formulas: Callable, in_node: InNode) -> None:
    drawn = [(parse(text), values) for text, values in draw_formulas(600, ("sqrt", "abs")) if "0.5" not in text]
    found = in_node([(e.javascript(), list(values), list(values.values())) for e, values in drawn])
    compared = 0
    for (expression, values), theirs in zip(drawn, found, strict=True):
        try:
            ours = expression.evaluate(values)
        except RangeError:
            continue
        assert ours == theirs, expression.text
        compared += 1
    assert compared > 250


def example_values(relation: Any) -> Mapping[str, float]:
    inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
    return {
        name.strip(): relation.symbols[name.strip()].unit.to_si(float(number))
        for name, _, number in (part.partition("=") for part in inside.split(","))
    }


def test_every_relation_computes_the_same_in_node_near_its_example(in_node: InNode) -> None:
    rng = random.Random(7)  # noqa: S311 - test data, no secret
    calls: list[tuple[str, list[str], list[float]]] = []
    wanted = []
    for relation in relations().values():
        for _ in range(40):
            values = relation.bind(**{n: v * rng.uniform(0.6, 1.4) for n, v in example_values(relation).items()})
            calls.append((f"{relation.javascript()} return {relation.name}(...arguments);", [], list(values.values())))
            try:
                wanted.append((relation, relation(**values)))
            except RangeError:
                wanted.append((relation, None))
    for (relation, ours), theirs in zip(wanted, in_node(calls), strict=True):
        if ours is None:
            assert theirs is None, relation.name
        else:
            assert ours == pytest.approx(theirs, rel=1e-12), relation.name
    assert sum(ours is not None for _, ours in wanted) > len(wanted) / 2


def test_defaults_and_range_go_along(in_node: InNode) -> None:
    relation = relations()["fuel_head"]
    assert relation.javascript() == (
        "function fuel_head(rho, h, g = 9.80665) { if (!(0 < rho && 0 < g)) return NaN; return rho * g * h; }"
    )
    run = f"{relation.javascript()} return fuel_head(...arguments);"
    assert in_node([(run, [], [740, 0.1]), (run, [], [-1, 0.1])]) == [740 * 9.80665 * 0.1, None]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a - (b - c)", "return a - (b - c);"),
        ("(a * b) / (c / a)", "return a * b / (c / a);"),
        ("x**3", "return x * x * x;"),
        ("x**-2", "return 1 / (x * x);"),
        ("a / x**-1", "return a / (1 / x);"),
        ("(a + b)**2", "const $1 = a + b; return $1 * $1;"),
        ("x**0.5", "return Math.pow(x, 0.5);"),
        ("-x**2", "return -(x * x);"),
        ("-(-x)", "return -(-x);"),
        ("(-x)**2", "const $1 = -x; return $1 * $1;"),
        ("a < b + 1 <= c", "const $1 = b + 1; return a < $1 && $1 <= c;"),
        ("a == 1 or not b != 2 and a > b", "return a === 1 || !(b !== 2) && a > b;"),
        ("(a if a > 1 else b) + 1", "return (a > 1 ? a : b) + 1;"),
        ("new * var", "return new$ * var$;"),
        ("Math + NaN", "return Math$ + NaN$;"),
    ],
)
def test_the_javascript_of_a_formula(text: str, wanted: str) -> None:
    assert parse(text).javascript() == wanted


def test_words_of_javascript_work_as_names(in_node: InNode) -> None:
    words = ["new", "var", "function", "this", "Math", "arguments", "NaN", "let", "typeof"]
    body = parse(" + ".join(words)).javascript()
    assert in_node([(body, [identifier(w) for w in words], [1.0] * len(words))]) == [float(len(words))]


def test_where_python_has_no_value_node_has_none(in_node: InNode) -> None:
    bodies = ["sqrt(x)", "log(x)", "x**0.5", "1 / (x + 1)", "asin(x * 2)"]
    assert in_node([(parse(b).javascript(), ["x"], [-1.0]) for b in bodies]) == [None] * len(bodies)
