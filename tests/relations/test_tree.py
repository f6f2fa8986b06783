from __future__ import annotations

import json
import math
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.canon import canonical
from grader.base.errors import UseError
from grader.relations import tree as trees
from grader.relations.language import parse


def test_a_tree_survives_canonical_json_with_the_same_value() -> None:
    expression = parse("-pi/4 * (D**2.0 - d**2) * max(1.0, 0.5, x) if not (x < 1 < D) or d >= 2 else abs(x)**-1.5")
    values = {"D": 2.4, "d": 1.7, "x": 0.3}
    again = json.loads(canonical(expression.tree()))
    assert trees.evaluate(again, values) == expression.evaluate(values)
    assert canonical(again) == canonical(expression.tree())


def test_the_form_of_a_tree_is_the_one_that_keys_carry() -> None:
    # The form is kept for ten years: a change here breaks keys that are sealed.
    assert parse("area * 2").tree() == ["*", ["name", "area"], 2]
    assert parse("a < b <= 3 and not a == 1").tree() == [
        "and",
        ["compare", ["name", "a"], "<", ["name", "b"], "<=", 3],
        ["not", ["compare", ["name", "a"], "==", 1]],
    ]
    assert parse("-x**2 if x > 0 else min(x, pi, 0.5)").tree() == [
        "if",
        ["compare", ["name", "x"], ">", 0],
        ["neg", ["**", ["name", "x"], 2]],
        ["min", ["name", "x"], ["pi"], 0.5],
    ]


@given(x=st.floats(-1e3, 1e3), n=st.integers(1, 8))
def test_a_whole_power_is_the_product_from_the_left_to_the_last_bit(x: float, n: int) -> None:
    product = x
    for _ in range(n - 1):
        product = product * x
    assert trees.evaluate(["**", ["name", "x"], n], {"x": x}) == product
    if product and math.isfinite(1.0 / product):
        assert trees.evaluate(["**", ["name", "x"], ["neg", n]], {"x": x}) == 1.0 / product


def test_a_power_past_eight_is_left_to_the_mathematics_library() -> None:
    assert trees.evaluate(["**", ["name", "x"], 9], {"x": 1.1}) == math.pow(1.1, 9)
    assert trees.whole_power(9) is None


@pytest.mark.parametrize(
    ("tree", "said"),
    [
        ("x", "not an expression: x"),
        (None, "not an expression: None"),
        (True, "not an expression: True"),
        ([], "not an expression: []"),
        ([1, 2], "not an expression: [1, 2]"),
        ({"+": 1}, "not an expression: {'+': 1}"),
        (["+", 1], "`+` with 1 parts is not a step of an expression"),
        (["name"], "`name` with 0 parts is not a step of an expression"),
        (["name", 3], "`name` with 1 parts is not a step of an expression"),
        (["eval", 1], "`eval` with 1 parts is not a step of an expression"),
        (["__class__", 1], "`__class__` with 1 parts is not a step of an expression"),
        (["sqrt", 1, 2], "`sqrt` with 2 parts is not a step of an expression"),
        (["compare", 1, "in", 2], "not a comparison: ['in']"),
        (["call", "open_area", 1, 2], "a call of `open_area` is left in the expression; it must be expanded first"),
    ],
)
def test_what_is_not_a_tree_is_refused(tree: Any, said: str) -> None:
    with pytest.raises(UseError) as refused:
        trees.evaluate(tree, {})
    assert str(refused.value) == said


def test_a_tree_that_is_too_deep_or_too_large_is_refused() -> None:
    deep: Any = 1
    for _ in range(100_000):
        deep = ["neg", deep]
    with pytest.raises(UseError, match="nested more than 300 deep"):
        trees.evaluate(deep, {})
    with pytest.raises(UseError, match="more than 5,000 steps"):
        trees.evaluate(["max", *range(6000)], {})


def test_what_marking_needs_loads_no_numpy() -> None:
    script = "import sys, grader.relations.tree; print([m for m in ('numpy', 'ast', 'pint', 'yaml') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert "numpy" not in done.stdout


def test_a_relation_on_floats_loads_no_numpy() -> None:
    script = "import sys; from grader.circuits.power import open_area; open_area(.002, .001); print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
