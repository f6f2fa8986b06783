from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.circuits.catalog import relations
from grader.papers.annex import annex


def test_the_annex_lists_the_relations_in_the_blueprint_s_order() -> None:
    found = annex(["jet_flow", "open_area"], relations())
    assert [formula.text for formula in found][1] == "A = π/4 · (D² − d²)"
    assert all(says and text and typeset for formula in found for typeset, text, says, _ in formula.symbols)


def test_a_name_that_is_no_relation_is_refused() -> None:
    with pytest.raises(UseError, match="annex names `open_arae`, which is no relation"):
        annex(["open_arae"], relations())


def test_a_symbol_that_has_a_value_of_its_own_says_it() -> None:
    meanings = [symbol[2] for symbol in annex(["fuel_head"], relations())[0].symbols]
    assert meanings[-1] == "acceleration of gravity: 9.807\u202fm/s²"  # standard gravity, 9.80665 exactly
