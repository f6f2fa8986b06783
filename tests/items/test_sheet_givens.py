"""Givens taken from a specimen: printed as the sheet prints them, drawn together, refused by line where they are not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from grader.base.findings import Finding
from grader.items.checks import check_items
from grader.items.course import load_practice
from grader.items.item_file import read_items
from grader.items.model import Item
from grader.items.variants import draw_question
from grader.marking import key

COURSE = load_practice(Path(__file__).parents[2])
HEAD = "- id: rods-area\n  objective: rods.1\n  kind: numeric\n  given:\n"
TAIL = '  stem: "Carburetor {carburetor}: {bore} and {lean}."\n  answer: {value: bore * lean, unit: mm, within: 5 %}\n'


def read(given: str, tail: str = TAIL) -> tuple[Item | None, list[str]]:
    findings: list[Finding] = []
    text = HEAD + "".join(f"    {row}\n" for row in given.split("\n")) + tail
    items = read_items("rods.yaml", "rods", text.encode(), COURSE.relations, findings, COURSE.specimens).items
    told = [str(f).replace("\u202f", " ").removeprefix("rods.yaml:") for f in findings]
    return (items[0] if items else None), told


TWO = (
    "carburetor: {specimen: [T-1, T-2]}\nbore: {specimen: [T-1, T-2], value: main_bleed}\n"
    "lean: {specimen: [T-1, T-2], fault: rod-stuck-down, point: heavy load, value: air_fuel}"
)


def test_values_of_one_list_come_from_one_carburetor() -> None:
    item, told = read(TWO)
    assert told == []
    assert item is not None
    seen = set()
    for number in range(20):
        question = draw_question(item, b"secret", f"paper-{number}", {})
        assert isinstance(question, key.Numeric)
        seen.add((question.stem.replace("\u202f", " "), question.answer.value))
    # By hand: #54 is 0.055 in, 1.397 mm; its product with the printed ratio is what is asked.
    assert {stem for stem, _ in seen} == {"Carburetor T-1: #54 (0.055 in) and 15.9.", "Carburetor T-2: #60 (0.040 in) and 15.2."}
    for stem, value in seen:
        bore, lean = float(stem.split("(")[1].split(" in)")[0]) * 25.4, float(stem.rsplit(" ", 1)[1].rstrip("."))
        assert float(value) == pytest.approx(bore * lean, rel=1e-11)
    assert len(seen) == 2


def test_a_name_counts_as_used_where_it_is_printed_and_has_no_unit() -> None:
    item, _ = read(TWO)
    assert item is not None
    assert [str(f) for f in check_items([item], 5)[0] if f.code in {"unused-value", "not-stated"}] == []
    spoilt, told = read(TWO, TAIL.replace("{carburetor}", "{carburetor:mm}"))
    assert told == []
    assert spoilt is not None
    assert any(f.code == "bad-place" for f in check_items([spoilt], 5)[0])


def test_the_dimension_of_a_sheets_value_is_checked_as_of_any_other() -> None:
    item, _ = read(TWO, TAIL.replace("unit: mm", "unit: kPa"))
    assert item is not None
    assert any(f.code == "dimension" for f in check_items([item], 5)[0])


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (
            "bore: {specimen: T-3, value: main_jet}",
            "5: `T-3` is not a specimen of this course, or its sheet cannot be read; there are",
        ),
        ("bore: {specimen: T-1, value: main_get}", "5: `main_get` is not a value of the sheet of T-1; did you mean `main_jet`?"),
        (
            "bore: {specimen: T-1, point: crise, value: air}",
            "5: `crise` is not an operating point of T-1; did you mean `cruise`?",
        ),
        (
            "bore: {specimen: T-1, point: cruise, value: main_jet}",
            "5: `main_jet` is not computed at an operating point; take the",
        ),
        ("bore: {specimen: T-1, value: air}", "5: air is computed at an operating point, and none is named; name one"),
        ("bore: {specimen: T-1, fault: rod-up, point: cruise, value: air}", "5: `rod-up` is not a fault known here"),
        ("bore: {specimen: T-1, fault: rod-stuck-up, value: air}", "5: `fault` stands here without a `point`; write `point:"),
        ("bore: {specimen: T-1, point: cruise}", "5: `point` stands here without a `value`; write `value: air_fuel`"),
        ("bore: {specimen: T-1, point: cruise, value: air, figures: 0}", "5: 0 significant figures; write 1 to 9 [bad-number]"),
        ("bore: {specimen: T-1, point: cruise, value: air, altitude: up}", "5: `up` is not a number"),
        ("bore: {specimen: [T-1, T-1], value: main_jet}", "5: a specimen stands twice in the list; keep one of the two"),
        ("bore: {specimen: t1, value: main_jet}", "5: `t1` is not written as such names are; write it like `T-1`"),
        ("bore: {specimen: T-1, valeu: main_jet}", "5: `valeu` is not a field of a value of a specimen; did you mean `value`?"),
        ("bore:\n  specimen: T-1\n  value: main_get", "7: `main_get` is not a value"),
    ],
)
def test_what_is_not_there_is_a_finding_on_its_line(given: str, told: str) -> None:
    item, findings = read(given)
    assert item is None or "valeu" in given
    assert any(found.startswith(told) for found in findings), findings
