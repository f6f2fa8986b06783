"""The schemas that editors use say the same as the loader."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from grader.base.findings import Finding
from grader.items.item_file import read_items
from grader.items.schema import printed, schemas
from grader.relations.relation import Relation

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
# Faults of shape: an editor that knows only the schema sees these too.
SEEN_BY_SCHEMA = {
    "unknown-field", "field-of-another-level", "missing-field", "foreign-field", "wrong-shape", "unknown-word", "wrong-count",
    "bad-name", "bad-name-of-a-value", "not-a-list", "empty", "numeric-without-within", "part-without-within",
    "reading-unknown-instrument", "reading-without-shows", "reading-with-figure", "reading-without-answer",
    "instrument-in-numeric",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(schemas()))
def test_the_file_holds_what_the_loader_checks_by(name: str) -> None:
    held = (ROOT / "questions" / "schema" / name).read_text(encoding="utf-8")
    assert held == printed(schemas()[name]), "run: python -c \"from grader.items.schema import write; write('questions/schema')\""


@pytest.mark.parametrize("name", sorted(schemas()))
def test_each_is_a_schema_and_every_field_is_described(name: str) -> None:
    found = schemas()[name]
    Draft202012Validator.check_schema(found)
    for place in _objects(found):
        for field, below in place["properties"].items():
            assert below["description"], field


def _objects(node: object) -> list[dict[str, dict[str, dict[str, str]]]]:
    if isinstance(node, dict):
        here = [node] if node.get("type") == "object" and "properties" in node else []
        return here + [found for below in node.values() for found in _objects(below)]
    if isinstance(node, list):
        return [found for below in node for found in _objects(below)]
    return []


def _typed(value: Any) -> Any:
    """Texts as an editor types them: the core schema of YAML 1.2.2, 10.3.2."""
    if isinstance(value, dict):
        return {name: _typed(below) for name, below in value.items()}
    if isinstance(value, list):
        return [_typed(below) for below in value]
    if value in {"true", "false"}:
        return value == "true"
    if value in {"", "~", "null"}:
        return None
    if re.fullmatch(r"[-+]?[0-9]+", value):
        return int(value)
    if re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", value):
        return float(value)
    return value


def _errors(schema: str, path: Path) -> list[str]:
    value = _typed(yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader))  # noqa: S506 (it makes texts only)
    return [error.message for error in Draft202012Validator(schemas()[schema]).iter_errors(value)]


@pytest.mark.parametrize(
    "path", sorted(HERE.glob("near/*.yaml")) + sorted(HERE.glob("toy/questions/[pe]*/*.yaml")), ids=lambda p: p.stem
)
def test_the_schema_accepts_what_the_loader_accepts(path: Path) -> None:
    assert _errors("items.schema.json", path) == []


def test_the_schema_accepts_the_course_and_its_blueprint() -> None:
    assert _errors("course.schema.json", HERE / "toy/questions/course.yaml") == []
    assert _errors("blueprint.schema.json", HERE / "toy/questions/blueprints/garden.yaml") == []


@pytest.mark.parametrize("name", sorted(SEEN_BY_SCHEMA))
def test_the_schema_refuses_what_has_the_wrong_shape(name: str, toy_relations: Mapping[str, Relation]) -> None:
    path = HERE / "refused" / f"{name}.yaml"
    assert _errors("items.schema.json", path)
    findings: list[Finding] = []
    read_items(path.name, "tank", path.read_bytes(), toy_relations, findings)
    assert findings


def test_the_kinds_ask_for_the_same_fields_in_both() -> None:
    items = json.loads(printed(schemas()["items.schema.json"]))["items"]
    cases = {case["if"]["properties"]["kind"]["const"]: case["then"] for case in items["allOf"]}
    assert set(cases) == set(items["properties"]["kind"]["enum"])
    assert cases["numeric"]["required"] == ["answer"]
    assert cases["case"]["properties"] == dict.fromkeys(
        ["answer", "entries", "extra", "instrument", "keep_order", "options", "points", "rows", "slips"], False
    )
    assert cases["reading"]["required"] == ["answer", "instrument"]
    assert cases["reading"]["properties"]["figure"] is False
