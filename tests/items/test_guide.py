"""The authoring guide names every field, its examples are held to the check, and every file of the course names its schema."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from jsonschema import Draft202012Validator

from grader.base.findings import Finding
from grader.items import bank_checks, course_checks, drawing, item_checks, reading_checks, soundness, wording
from grader.items.blueprint_file import read_blueprint, read_course
from grader.items.checks import check_items
from grader.items.course import Course, load_course
from grader.items.glossary import read_glossary
from grader.items.guide import filled, records
from grader.items.item_file import read_items
from grader.items.lesson_checks import check_lesson
from grader.items.lesson_file import WORDS, read_lesson
from grader.items.model import ItemKind
from grader.items.specimen_file import read_sheet
from grader.items.station_file import read_station

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "questions/AUTHORING.md").read_text("utf-8")
BLOCK = re.compile(
    r"<!-- example: (?P<what>\w+) -->\n(?P<marks>`{3,})(?:yaml|markdown)\n(?P<text>.*?)^(?P=marks)$", re.DOTALL | re.MULTILINE
)
EXAMPLES = [(found["what"], found["text"]) for found in BLOCK.finditer(GUIDE)]


@pytest.fixture(scope="module")
def course() -> Course:
    """The course that the examples lean on."""
    return load_course(ROOT)


def examples(what: str) -> list[str]:
    return [text for name, text in EXAMPLES if name == what]


def told(findings: list[Finding]) -> list[str]:
    return [str(finding) for finding in findings]


def test_every_table_holds_what_the_loader_checks_by() -> None:
    assert filled(GUIDE) == GUIDE, "run: python -c \"from grader.items.guide import write; write('questions/AUTHORING.md')\""
    assert set(re.findall(r"<!-- fields: (.+?) -->", GUIDE)) == set(records())


def test_every_kind_of_thing_has_an_example() -> None:
    assert len(re.findall(r"^(`{3,})(?:yaml|markdown)$", GUIDE, re.MULTILINE)) == len(EXAMPLES)
    assert {what for what, _ in EXAMPLES} == {"items", "blueprint", "station", "specimen", "course", "lesson", "glossary"}


def test_the_items_load_without_a_finding(course: Course) -> None:
    kinds = set()
    for text in examples("items"):
        for circuit in set(re.findall(r"- id: ([a-z]+)-", text)):
            findings: list[Finding] = []
            bank = read_items(f"{circuit}.yaml", circuit, text.encode(), course.relations, findings, course.specimens)
            assert told(findings) == []
            assert told(check_items(bank.items)[0]) == []
            for item in bank.items:
                kinds.add(item.kind)
                assert item.objective in course.objectives
                assert item.figure is None or item.figure.name in course.figures
    assert kinds == set(get_args(ItemKind))


def test_every_field_of_an_item_stands_in_an_example() -> None:
    text = "\n".join(examples("items"))
    for called in ("an item", "a part", "an answer", "a slip", "an option", "a computed option", "a row", "an instrument"):
        for name in records()[called].fields:
            assert re.search(rf"\b{name}:", text) or name in {"keep_order", "waive"}, f"{called}: {name}"


def test_the_blueprint_loads_and_can_be_filled(course: Course) -> None:
    for text in examples("blueprint"):
        findings: list[Finding] = []
        plan = read_blueprint("guide-power.yaml", text.encode(), findings)
        assert told(findings) == []
        assert plan is not None
        for rule in plan.draw:
            assert len(course.eligible(rule)) >= rule.items
        assert set(plan.formulas) <= set(course.relations)
        assert set(plan.stations) <= set(course.stations)


def test_the_station_the_sheet_and_the_school_load_without_a_finding(course: Course) -> None:
    findings: list[Finding] = []
    for text in examples("station"):
        assert read_station("guide-float.yaml", text.encode(), findings, course.specimens) is not None
    for text in examples("course"):
        assert read_course("course.yaml", text.encode(), findings) is not None
    whole = (ROOT / "questions/specimens/T-1.yaml").read_text("utf-8")
    for text in examples("specimen"):
        sheet = whole[: whole.index("\npoints:")] + "\n" + text
        assert read_sheet("questions/specimens/T-1.yaml", sheet.encode(), findings) is not None
    assert told(findings) == []


def test_the_lesson_and_the_glossary_load_without_a_finding(course: Course) -> None:
    for text in examples("lesson"):
        findings: list[Finding] = []
        lesson = read_lesson("lessons/power.md", text.encode(), findings)
        assert lesson is not None
        assert told([*findings, *check_lesson(lesson, course)]) == []
        assert {fence.word for fence in lesson.fences} == set(WORDS)
    for text in examples("glossary"):
        findings = []
        page = read_lesson("lessons/glossary.md", text.encode(), findings)
        assert page is not None
        assert told(findings) == []
        assert [term.name for term in read_glossary(page).terms] == ["float"]


@pytest.mark.parametrize("word", WORDS)
def test_every_block_of_a_lesson_is_described(word: str) -> None:
    assert re.search(rf"^\| `{word}` \|", GUIDE, re.MULTILINE)


@pytest.mark.parametrize(
    "module", [wording, bank_checks, soundness, drawing, reading_checks, course_checks], ids=lambda module: module.__name__
)
def test_every_fault_of_the_writing_is_described(module: Any) -> None:
    source = Path(module.__file__).read_text("utf-8")
    codes = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', source)) - {"utf-8", "not-utf-8", "utf-8-sig"}
    assert codes
    assert {code for code in codes if f"`{code}`" not in GUIDE} == set()


def test_faults_of_use_are_described() -> None:
    source = Path(item_checks.__file__).read_text("utf-8")
    for code in ("not-stated", "unused-value"):
        assert f'"{code}"' in source
        assert f"`{code}`" in GUIDE


SCHEMA = re.compile(r"# yaml-language-server: \$schema=(\S+)\n")
FILES = sorted(path for path in (ROOT / "questions").rglob("*.yaml"))


def _typed(value: Any) -> Any:
    """Texts as an editor types them: the core schema of YAML 1.2.2, 10.3.2."""
    if isinstance(value, dict):
        return {name: _typed(below) for name, below in value.items()}
    if isinstance(value, list):
        return [_typed(below) for below in value]
    if value in {"true", "false"}:
        return value == "true"
    if re.fullmatch(r"[-+]?[0-9]+", value):
        return int(value)
    if re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", value):
        return float(value)
    return value


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_an_editor_finds_the_schema_of_every_file_and_nothing_wrong(path: Path) -> None:
    text = path.read_text("utf-8")
    first = SCHEMA.match(text)
    assert first, "the first line must name the schema"
    schema = json.loads((path.parent / first[1]).read_text("utf-8"))
    value = _typed(yaml.load(text, yaml.CBaseLoader))  # noqa: S506 (it makes texts only)
    assert [f"{list(error.path)}: {error.message[:200]}" for error in Draft202012Validator(schema).iter_errors(value)] == []


def test_an_editor_that_completes_is_told_what_each_field_is_for() -> None:
    for path in sorted((ROOT / "questions/schema").glob("*.json")):
        for place in _with_fields(json.loads(path.read_text("utf-8"))):
            for name, below in place["properties"].items():
                assert below is False or below.get("description") or "properties" in below or "required" in below, (
                    f"{path.name}: {name}"
                )


def _with_fields(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, dict):
        here = [node] if node.get("type") == "object" and "properties" in node else []
        return here + [found for below in node.values() for found in _with_fields(below)]
    return [found for below in node for found in _with_fields(below)] if isinstance(node, list) else []
