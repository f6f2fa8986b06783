from __future__ import annotations

import re
from fractions import Fraction

import numpy as np
import pytest

from grader.circuits.catalog import CIRCUITS, by_circuit, relations
from grader.relations.relation import Relation

ALL = list(relations().values())


def test_every_relation_of_the_modules_is_listed_under_its_own_name() -> None:
    stated = [v for modules in CIRCUITS.values() for m in modules for v in vars(m).values() if isinstance(v, Relation)]
    assert {r.name for r in stated} == set(relations())
    assert all(relations()[r.name] is r for r in stated)


@pytest.mark.parametrize("relation", ALL, ids=[r.name for r in ALL])
def test_every_relation_says_what_a_person_needs(relation: Relation) -> None:
    assert re.fullmatch(r"[a-z]+(_[a-z]+)*", relation.name)
    assert relation.source
    assert relation.condition is not None
    for s in relation.symbols.values():
        assert s.says
        assert not s.says.endswith(".")


@pytest.mark.parametrize("relation", ALL, ids=[r.name for r in ALL])
def test_every_relation_gives_an_array_what_it_gives_a_float(relation: Relation) -> None:
    inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
    values = {
        n.strip(): relation.symbols[n.strip()].unit.to_si(Fraction(v.strip()))
        for n, _, v in (p.partition("=") for p in inside.split(","))
    }
    once = relation(**values)
    several = relation(**{name: np.full(4, value) for name, value in values.items()})
    assert several == pytest.approx(np.full(4, once), rel=1e-13)


@pytest.mark.parametrize("relation", ALL, ids=[r.name for r in ALL])
def test_scaling_every_unit_scales_the_result_as_its_dimension_says(relation: Relation) -> None:
    # A law of nature does not know our metre, kilogram, second and kelvin: measured in others it must give the same thing.
    inside = relation.example[relation.example.index("(") + 1 : relation.example.rindex(")")]
    values = relation.bind(
        **{
            n.strip(): relation.symbols[n.strip()].unit.to_si(Fraction(v.strip()))
            for n, _, v in (p.partition("=") for p in inside.split(","))
        }
    )

    def scale(symbol: str) -> float:
        exponents = relation.symbols[symbol].unit.dimension
        return float(np.prod([base ** float(e) for base, e in zip((3.7, 0.41, 5.3, 1.9, 1.0), exponents, strict=True)]))

    scaled = {name: value * scale(name) for name, value in values.items()}
    assert relation(**scaled) == pytest.approx(relation(**values) * scale(relation.result.name), rel=1e-9)


def test_every_relation_stands_under_the_circuit_that_states_it() -> None:
    groups = by_circuit()
    assert list(groups) == [
        "principles",
        "safety",
        "measuring",
        "float",
        "idle",
        "main",
        "power",
        "pump",
        "choke",
        "diagnosis",
    ]
    assert [relation.name for group in groups.values() for relation in group] == list(relations())
    assert "open_area" in {relation.name for relation in groups["power"]}
    # A law that a circuit only uses (`fuel_head` in main) stays where it is stated.
    assert "fuel_head" in {relation.name for relation in groups["principles"]}
    assert "fuel_head" not in {relation.name for relation in groups["main"]}
