"""What must fit together over a course."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.items.checks import Checked, check_course
from grader.items.course import load_course
from grader.relations.relation import Relation

Spoil = Callable[[str, str, str], list[str]]


@pytest.fixture
def told(copy: Path, toy_relations: Mapping[str, Relation]) -> Spoil:
    """Change one text in one file of the course, and read what the check says."""

    def spoil(file: str, old: str, new: str) -> list[str]:
        path = copy / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return [str(finding) for finding in check_course(load_course(copy, toy_relations), 20).findings]

    return spoil


def test_the_sound_course_has_no_finding(told: Spoil) -> None:
    assert told("lessons/index.md", "Two", "Two") == []


TANK = "questions/practice/tank.yaml"
LESSON = "lessons/tank.md"
PLAN = "questions/blueprints/garden.yaml"


@pytest.mark.parametrize(
    ("file", "old", "new", "expected"),
    [
        (
            LESSON,
            "{#tank.1}",
            "",
            "6: the objective tank.1 is not taught: no heading has its anchor; "
            "write `## … {#tank.1}` over its section [not-taught]",
        ),
        (
            LESSON,
            "  tank.2:",
            "  hose.2:",
            "7: the objective hose.2 does not start with the circuit `tank`; call it tank.N [foreign-objective]",
        ),
        (
            LESSON,
            "circuit: tank",
            "circuit: pond",
            "1: the lesson's circuit is `pond`, its file `tank.md`; give both one name [wrong-circuit]",
        ),
        (
            "lessons/hose.md",
            "order: 2",
            "order: 1",
            "1: the place 1 in the course is taken by lessons/hose.md; give the lesson another `order` [repeated-order]",
        ),
        (
            TANK,
            "objective: tank.1",
            "objective: tank.3",
            "3: tank-volume: no lesson teaches tank.3; did you mean tank.2? [unknown-objective]",
        ),
        (
            TANK,
            "objective: tank.1",
            "objective: hose.1",
            "3: tank-volume: hose.1 belongs to hose, the file to tank; move the item to its circuit's file [foreign-objective]",
        ),
        (
            TANK,
            "id: tank-volume",
            "id: pond-volume",
            "2: the id `pond-volume` does not start with the circuit `tank`; call it tank-… [foreign-id]",
        ),
        (
            "questions/exam/tank.yaml",
            "id: tank-depth",
            "id: tank-volume",
            "1: the id `tank-volume` stands already in questions/practice/tank.yaml:2; give one of the two another [repeated-id]",
        ),
        (
            TANK,
            "{name: tank,",
            "{name: tanks,",
            "16: tank-volume: there is no figure `tanks`; did you mean `tank`? [unknown-figure]",
        ),
        (
            TANK,
            "objective: tank.1",
            "objective: tank.2",
            "6: the objective tank.1 is practised by one item; write at least 2 into questions/practice/tank.yaml",
        ),
        (PLAN, "objective: tank.1", "objective: tank.9", "8: no lesson teaches tank.9; did you mean tank.2? [unknown-objective]"),
        (PLAN, "circuit: hose", "circuit: hoze", "9: no lesson teaches the circuit hoze; did you mean hose? [unknown-circuit]"),
        (PLAN, "fill_time", "fil_time", "5: there is no relation `fil_time`; did you mean `fill_time`? [unknown-relation]"),
        (
            PLAN,
            "items: 2",
            "items: 4",
            "9: the draw wants 4 items for circuit hose at level C, the exam bank has 3; "
            "write more exam items, or draw fewer [not-enough-items]",
        ),
        (
            PLAN,
            "time: 30 min",
            "time: 3 min",
            "3: warning: the items drawn should take 6 min, the paper allows 3 min; "
            "allow more time, or draw fewer items [short-time]",
        ),
        (
            "lessons/figures/tank.svg",
            "<title>Tank</title>",
            "<script/><title>Tank</title>",
            "1: `script` is not an element of a figure",
        ),
    ],
)
def test_what_does_not_fit_is_told_on_its_line(told: Spoil, file: str, old: str, new: str, expected: str) -> None:
    lines = told(file, old, new)
    assert any(expected in line for line in lines), "\n".join(lines)


def test_draws_that_take_each_others_items_are_told(told: Spoil) -> None:
    lines = told(PLAN, "draw:", "draw:\n  - {circuit: tank, items: 2}")
    assert lines == [
        f"{PLAN}:9: the draw wants 1 item for objective tank.1; other draws leave it 0 of 2; "
        f"write more exam items, or draw fewer [not-enough-items]"
    ]


def test_draws_that_can_be_arranged_are_not_told(told: Spoil) -> None:
    # The wide draw comes first and could take what the narrow one needs: it must make room.
    assert (
        told(
            PLAN,
            "draw:\n  - {objective: tank.1, items: 1}",
            "draw:\n  - {circuit: tank, items: 1}\n  - {objective: tank.1, items: 1}",
        )
        == []
    )


def test_an_objective_shown_at_the_bench_needs_no_items(told: Spoil) -> None:
    lines = told(LESSON, "tank.2: {level: P", "tank.2: {level: E")
    codes = [line.split(" [")[1] for line in lines]
    assert codes == ["not-examined]", "not-practised]", "not-practical]"]


def test_an_objective_that_computes_needs_a_computed_item(told: Spoil) -> None:
    lines = told(
        "lessons/hose.md", "hose.1: {level: C, says: Time to fill from volume and flow}", "hose.1: {level: C, says: Time}"
    )
    assert lines == []
    lines = told("questions/exam/hose.yaml", "kind: numeric", "kind: numerik")
    assert any("no exam item for it has a computed answer" in line for line in lines)


def test_a_broken_item_still_counts_where_items_are_counted(told: Spoil) -> None:
    lines = told("questions/exam/hose.yaml", 'value: "fill_time(content, flow)"', 'value: "fill_time(content flow)"')
    assert not any("not-examined" in line for line in lines)


def test_findings_are_values_that_json_can_carry(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    (copy / "questions/practice/tank.yaml").write_text("- id: x\n")
    checked: Checked = check_course(load_course(copy, toy_relations), 5)
    assert not checked.sound
    assert checked.counts["errors"] == sum(finding.level == "error" for finding in checked.findings)
    with pytest.raises(FindingsError):
        raise FindingsError(checked.findings)
    assert all(isinstance(finding, Finding) and finding.as_json()["file"] for finding in checked.findings)


def test_what_cannot_be_read_comes_first_and_hides_behind_nothing(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    for file, old, new in (("questions/exam/hose.yaml", "stem: ", "stem: Think: "), (TANK, "stem: ", "stem: Think: ")):
        path = copy / file
        path.write_text(path.read_text("utf-8").replace(old, new, 1), "utf-8")
    checked = check_course(load_course(copy, toy_relations), 5)
    assert [(finding.file, finding.code) for finding in checked.findings] == [
        ("questions/exam/hose.yaml", "not-yaml"),
        (TANK, "not-yaml"),
    ]
    assert set(checked.waiting) == {"questions/exam/hose.yaml", TANK}
    assert checked.counts["waiting"] == sum(checked.waiting.values()) > 2


def test_a_lesson_that_cannot_be_read_makes_no_objective_unknown(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    path = copy / LESSON
    path.write_text(path.read_text("utf-8").replace("title: ", "title: The tank: ", 1), "utf-8")
    checked = check_course(load_course(copy, toy_relations), 5)
    assert [(finding.file, finding.code) for finding in checked.findings] == [(LESSON, "not-yaml")]
    assert set(checked.waiting) == {LESSON}


def test_items_of_one_draw_that_differ_in_points_are_named(told: Spoil) -> None:
    bank = "questions/exam/tank.yaml"
    lines = told(bank, "  kind: numeric", "  points: 3\n  kind: numeric")
    (line,) = (line for line in lines if "[unequal-points]" in line)
    assert "is worth 3, others of this draw 1; write `points: 1`" in line or "is worth 1, others of this draw 3" in line


def test_an_id_of_an_item_that_cannot_be_read_is_still_taken(told: Spoil) -> None:
    lines = told(TANK, "id: tank-which-measure", "id: tank-volume\n  colour: red\n  points: -1")
    assert any("the id `tank-volume` stands already in questions/practice/tank.yaml:" in line for line in lines)


QUIZ = "bank: practice\ndraw:\n  - {circuit: hose, items: 2}\n  - {circuit: tank, items: 2}\npass: {cut: 60 %}\n"


def quiz(draw: str = QUIZ) -> str:
    return f"id: quiz\ntitle: Quiz\ntime: 30 min\n{draw}"


@pytest.mark.parametrize(
    ("draw", "expected"),
    [
        (QUIZ, []),
        (
            QUIZ.replace("circuit: hose, items: 2", "circuit: hose, items: 9"),
            [
                "questions/blueprints/quiz.yaml:6: the draw wants 9 items for circuit hose, the practice bank has 2; "
                "write more practice items, or draw fewer [not-enough-items]"
            ],
        ),
    ],
)
def test_a_quiz_is_filled_from_practice(
    draw: str, expected: list[str], copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    (copy / "questions/blueprints/quiz.yaml").write_text(quiz(draw), encoding="utf-8")
    found = check_course(load_course(copy, toy_relations), 20).findings
    assert [str(finding) for finding in found if finding.file.endswith("quiz.yaml") and finding.level == "error"] == expected


def test_items_of_a_quiz_may_differ_in_weight_and_those_of_an_exam_may_not(
    copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    path = copy / "questions/practice/hose.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("- id: hose-time\n", "- id: hose-time\n  points: 4\n", 1), encoding="utf-8")
    (copy / "questions/blueprints/quiz.yaml").write_text(quiz(), encoding="utf-8")
    codes = {finding.code for finding in check_course(load_course(copy, toy_relations), 20).findings}
    assert "unequal-points" not in codes
