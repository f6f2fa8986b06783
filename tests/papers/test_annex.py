from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.circuits.catalog import relations
from grader.papers.annex import annex


def test_the_annex_lists_the_relations_in_the_blueprint_s_order() -> None:
    found = annex(["jet_flow", "open_area"], relations())
    assert [formula.equation.text for formula in found][1] == "A = π/4 · (D² − d²)"
    meanings = [meaning for formula in found for meaning in formula.symbols]
    assert all(it.says and it.symbol.text and it.symbol.typst and it.symbol.mathml.startswith("<math") for it in meanings)


def test_a_name_that_is_no_relation_is_refused() -> None:
    with pytest.raises(UseError, match="annex names `open_arae`, which is no relation"):
        annex(["open_arae"], relations())


def test_a_symbol_that_has_a_value_of_its_own_says_it() -> None:
    meanings = [symbol.says for symbol in annex(["fuel_head"], relations())[0].symbols]
    assert meanings[-1] == "acceleration of gravity: 9.807\u202fm/s²"  # standard gravity, 9.80665 exactly


def test_a_formula_too_long_for_a_column_is_printed_by_those_it_calls_each_once() -> None:
    formulas = annex(["plate_opening", "disc_area", "plate_opening"], relations())
    # The relations as `circuits/passages.py` states them; what is called stands under its own name, with what goes in.
    assert [formula.equation.text.split(" = ")[0] for formula in formulas] == [
        "A",
        "shadow\u00a0opening(D, a, k)",
        "plate\u00a0shadow(a, ψ₀, θ)",
        "A",
    ]
    assert max(len(formula.equation.text) for formula in formulas) <= 90
    assert [meaning.symbol.text for meaning in formulas[1].symbols] == ["D", "a", "k"]
    assert formulas[1].says.endswith(", in mm²")
