"""What stands in a file is held against its shape; the words of a finding are looked at like code."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from grader.base.findings import Finding
from grader.items import fields
from grader.items.item_file import read_items
from grader.items.shapes import Report, nearest, shaped
from grader.items.yamlfile import read_yaml
from grader.relations.relation import Relation


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("obective: x.1", "1: `obective` is not a field of an item; did you mean `objective`? [unknown-field]"),
        ("within: 2 %", "1: `within` is not a field of an item; it belongs in `answer` [unknown-field]"),
        (
            "kind: numerc",
            "1: `numerc` is not one of numeric, choice, choices, order, match, reading, case; "
            "did you mean `numeric`? [unknown-word]",
        ),
        (
            "slips: none",
            "1: `none` stands where a list is expected; write each entry on a line of its own after `- ` [wrong-shape]",
        ),
        ("points: -1", "1: `-1` is not a plain number; write it as `2` or `1.5` [bad-number]"),
        ("objective: power1", "1: `power1` is not written as such names are; write it like `power.1` [bad-name]"),
        ("given: {x: 5 furlong}", None),
    ],
)
def test_a_finding_says_what_and_how_to_mend_it(text: str, line: str | None) -> None:
    findings: list[Finding] = []
    node = read_yaml("a.yaml", text.encode(), findings)
    assert node is not None
    shaped(node, fields.ITEM, Report("a.yaml", findings))
    told = [str(finding).removeprefix("a.yaml:") for finding in findings if finding.code != "missing-field"]
    if line is None:
        assert len(told) == 1
        assert told[0].startswith("1: `furlong` is not a unit known here; write one such as mm, in, mm^2")
    else:
        assert told == [line]


def test_every_mistake_is_told_at_once(toy_relations: Mapping[str, Relation]) -> None:
    findings: list[Finding] = []
    text = b"- id: Tank\n  kinds: numeric\n  stem:\n  points: x\n- id: tank-2\n  objective: 7\n"
    bank = read_items("a.yaml", "tank", text, toy_relations, findings)
    assert bank.items == ()
    assert {(finding.line, finding.code) for finding in findings} == {
        (1, "bad-name"),
        (1, "missing-field"),
        (2, "unknown-field"),
        (3, "empty"),
        (4, "bad-number"),
        (5, "missing-field"),
        (6, "bad-name"),
    }


def test_the_nearest_name_is_near() -> None:
    assert nearest("Given", ["given", "id"]) == "given"
    assert nearest("keep-order", ["keep_order"]) == "keep_order"
    assert nearest("colour", ["given", "id"]) == ""
