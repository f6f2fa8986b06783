"""What must be refused is refused, on the line that is wrong; what nearly must be is not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from grader.base.findings import Finding
from grader.items.checks import check_items
from grader.items.item_file import read_items
from grader.relations.relation import Relation

HERE = Path(__file__).parent
REFUSED = sorted(HERE.glob("refused/*.yaml"))
NEAR = sorted(HERE.glob("near/*.yaml"))


def found_in(path: Path, relations: Mapping[str, Relation]) -> list[Finding]:
    findings: list[Finding] = []
    bank = read_items(path.name, "tank", path.read_bytes(), relations, findings)
    return findings + list(check_items(bank.items, 60)[0])


@pytest.mark.parametrize("path", REFUSED, ids=lambda path: path.stem)
def test_one_fault_gives_one_finding_on_its_line(path: Path, toy_relations: Mapping[str, Relation]) -> None:
    expected = {
        (number, code)
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1)
        for code in re.findall(r"# finds: ([a-z0-9-]+)", line)
    }
    found = found_in(path, toy_relations)
    assert {(finding.line, finding.code) for finding in found} == expected, "\n".join(map(str, found))
    assert expected
    for finding in found:
        assert finding.message
        assert finding.mend


@pytest.mark.parametrize("path", NEAR, ids=lambda path: path.stem)
def test_near_misses_are_accepted(path: Path, toy_relations: Mapping[str, Relation]) -> None:
    assert [str(finding) for finding in found_in(path, toy_relations)] == []
