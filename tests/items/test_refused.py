"""What must be refused is refused, on the line that is wrong; what nearly must be is not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType

import pytest

from grader.base.findings import Finding
from grader.items import drawing, soundness, wording
from grader.items.checks import check_items
from grader.items.item_file import read_items
from grader.relations.relation import Relation

HERE = Path(__file__).parent
REFUSED = sorted(HERE.glob("refused/*.yaml"))
NEAR = sorted(HERE.glob("near/*.yaml"))


def found_in(path: Path, relations: Mapping[str, Relation]) -> list[Finding]:
    findings: list[Finding] = []
    bank = read_items(path.name, "tank", path.read_bytes(), relations, findings)
    return findings + list(check_items(bank.items, 200)[0])


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


# Each rule of wording and of variants, with the near miss that it must let pass; those over a bank are in test_bank_checks.py.
NEAR_MISSES = {
    "absolute-cue": "absolute-on-both-sides",
    "all-of-the-above": "all-in-other-words",
    "alternative-tells": "alternative-says-what-is-seen",
    "double-negative": "one-negative-of-two",
    "duplicate-option": "nearly-the-same-option",
    "few-variants": "twenty-answers",
    "grammar-cue": "question-after-is-finished",
    "keys-alike": "keys-apart",
    "long-stem": "sixty-words",
    "longest-key": "a-little-longer",
    "mixed-options": "all-end-with-a-stop",
    "negative-stem": "negative-in-the-scene",
    "no-value": "one-require-of-many",
    "none-of-the-above": "none-in-other-words",
    "not-plausible": "plausible-over-three-powers",
    "odd-option": "odd-option-among-odd",
    "off-scale": "reading-whole-scale",
    "often-rejected": "half-rejected",
    "option-near-key": "option-three-percent-off",
    "options-alike": "options-that-print-apart",
    "overlapping-options": "options-that-touch",
    "repeated-words": "two-words-repeated",
    "require-unmet": "one-require-of-many",
    "slip-inside-tolerance": "slip-just-outside",
    "slip-is-answer": "slip-just-outside",
    "slips-alike": "slips-apart",
    "tight-tolerance": "tolerance-as-tight-as-printed",
    "two-questions": "one-question-of-two-sentences",
    "unsorted-options": "falling-numbers",
    "wide-plausible": "plausible-over-three-powers",
    "word-cue": "word-in-a-wrong-option-too",
    "wrong-number-asked": "number-asked-is-right",
    "zero-answer": "tolerance-as-an-amount",
}


@pytest.mark.parametrize("module", [wording, soundness, drawing], ids=lambda module: module.__name__)
def test_every_rule_has_an_item_that_breaks_it_and_a_near_miss(module: ModuleType) -> None:
    codes = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', Path(str(module.__file__)).read_text("utf-8")))
    broken = {code for path in REFUSED for code in re.findall(r"# finds: ([a-z0-9-]+)", path.read_text("utf-8"))}
    assert codes
    assert codes - broken == set()
    assert codes - NEAR_MISSES.keys() == set()
    for name in NEAR_MISSES.values():
        assert (HERE / "near" / f"{name}.yaml").exists(), name
