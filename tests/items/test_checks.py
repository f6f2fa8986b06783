"""The check as a whole: what counts, what is waived, what is counted."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from grader.base.findings import Finding
from grader.items.bank_checks import check_bank
from grader.items.checks import check_course, check_items
from grader.items.course import Course
from grader.items.item_file import read_items
from grader.relations.relation import Relation

HERE = Path(__file__).parent


def test_a_sound_course_is_counted(toy: Course) -> None:
    checked = check_course(toy, 30)
    assert checked.findings == ()
    assert checked.sound
    assert checked.counts == {
        "objectives": 3,
        "taught": 3,
        "practised": 3,
        "examined": 3,
        "bench": 1,
        "practice": 4,
        "exam": 5,
        "blueprints": 1,
        "stations": 1,
        "warnings": 0,
        "errors": 0,
        "waiting": 0,
    }


def test_a_waived_warning_is_kept_with_its_reason(toy_relations: Mapping[str, Relation]) -> None:
    bank = read_items("tank.yaml", "tank", (HERE / "near/waived.yaml").read_bytes(), toy_relations, [])
    kept, waived = check_items(bank.items, 40)
    assert kept == []
    assert {(finding.code, reason) for finding, reason in waived} == {("tight-tolerance", "the numbers are read off a drawing")}


def test_an_error_cannot_be_waived(toy_relations: Mapping[str, Relation]) -> None:
    text = (HERE / "refused/all-of-the-above.yaml").read_bytes() + b"  waive: {all-of-the-above: it is meant}\n"
    kept, waived = check_items(read_items("tank.yaml", "tank", text, toy_relations, []).items, 5)
    assert waived == []
    assert [(finding.code, finding.level) for finding in kept] == [("all-of-the-above", "error"), ("idle-waiver", "warning")]
    assert kept[1].message == "tank-c: `all-of-the-above` is an error"


def test_a_bank_whose_right_options_are_mostly_the_longest_is_told(toy_relations: Mapping[str, Relation]) -> None:
    head = "- id: tank-{n}\n  objective: tank.1\n  kind: choice\n  stem: Which?\n"
    item = head + "  options: [{{text: {right}, right: true}}, {wrong}]\n"

    def told(longest: int) -> list[Finding]:
        text = "".join(
            item.format(n=n, right="the longer" if n < longest else "short", wrong="short" if n < longest else "the longer")
            for n in range(10)
        )
        return list(check_bank(list(read_items("tank.yaml", "tank", text.encode(), toy_relations, []).items)))

    assert [finding.code for finding in told(6)] == ["longest-keys"]
    assert told(5) == []
