"""A course is read whole, whatever it teaches, with everything wrong in it."""

from __future__ import annotations

import random
from collections.abc import Mapping
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.items.checks import check_course
from grader.items.course import load_course, load_practice
from grader.items.model import DrawRule
from grader.relations.relation import Relation


def test_a_course_of_another_subject_works_with_its_own_relations(
    toy_folder: Path, toy_relations: Mapping[str, Relation]
) -> None:
    course = load_course(toy_folder, toy_relations)
    assert course.findings == ()
    assert (course.title, course.school.name, course.circuits) == ("Water in the garden", "Green Lane School", ("tank", "hose"))
    assert [item.id for item in course.practice] == ["hose-time", "hose-order", "tank-volume", "tank-which-measure"]
    assert list(course.objectives) == ["tank.1", "tank.2", "hose.1"]
    assert (list(course.blueprints), list(course.figures)) == (["garden"], ["tank"])
    assert [page.title for page in course.pages] == ["Water in the garden"]
    assert course.items["tank-volume"].points == 2
    assert course.items["hose-time"].points == 4


def test_practice_is_read_without_opening_the_examination(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    for path in (copy / "questions/exam").iterdir():
        path.write_bytes(b"\xff")
    (copy / "questions/blueprints/garden.yaml").write_bytes(b"\xff")
    course = load_practice(copy, toy_relations)
    assert (course.findings, course.exam, dict(course.blueprints)) == ((), (), {})
    assert len(course.practice) == 4


def test_the_banks_digest_changes_with_what_papers_are_drawn_from_and_with_nothing_else(
    copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    before = load_course(copy, toy_relations)
    for name in ("lessons/tank.md", "questions/practice/hose.yaml"):
        (copy / name).write_text((copy / name).read_text() + "\n# More\n")
    assert load_course(copy, toy_relations).bank_digest == before.bank_digest
    assert [name for name in before.digests if "/exam/" in name] == ["questions/exam/hose.yaml", "questions/exam/tank.yaml"]
    for name in before.digests:
        text = (copy / name).read_text()
        (copy / name).write_text(text + "\n")
        after = load_course(copy, toy_relations)
        assert after.bank_digest != before.bank_digest
        assert [one for one in after.digests if after.digests[one] != before.digests[one]] == [name]
        (copy / name).write_text(text)


def test_what_a_draw_may_take(toy_folder: Path, toy_relations: Mapping[str, Relation]) -> None:
    course = load_course(toy_folder, toy_relations)
    assert [item.id for item in course.eligible(DrawRule(1, 1, objective="tank.1"))] == ["tank-depth", "tank-choose"]
    assert len(course.eligible(DrawRule(1, 1, circuit="hose", level="C"))) == 3
    assert course.eligible(DrawRule(1, 1, circuit="hose", level="D")) == ()
    numeric = course.eligible(DrawRule(1, 1, objective="tank.1", kinds=("numeric", "case")))
    assert [item.id for item in numeric] == ["tank-depth"]
    assert str(DrawRule(1, 1, objective="tank.1", kinds=("numeric", "case"))) == "objective tank.1, numeric or case"


@pytest.mark.parametrize("name", ["nowhere", "lessons", "questions/course.yaml"])
def test_a_folder_that_is_no_course_is_refused(toy_folder: Path, name: str) -> None:
    with pytest.raises(UseError, match="is not a course"):
        load_course(toy_folder / name)


def test_files_that_are_not_as_they_should_be_are_told(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    (copy / "questions/course.yaml").unlink()
    (copy / "questions/exam/tank.yml").write_text("[]")
    (copy / "questions/blueprints/other.yaml").write_text((copy / "questions/blueprints/garden.yaml").read_text())
    (copy / "questions/practice/big.yaml").write_bytes(b"#" * 3_000_000)
    (copy / "questions/practice/way-out.yaml").symlink_to("/etc/hostname")
    (copy / "questions/practice/folder.yaml").mkdir()
    (copy / "lessons/figures/way-out.svg").symlink_to("/etc/hostname")
    told = {(finding.file, finding.code) for finding in load_course(copy, toy_relations).findings}
    assert told == {
        ("questions/course.yaml", "missing-file"),
        ("questions/exam/tank.yml", "wrong-ending"),
        ("questions/blueprints/other.yaml", "wrong-id"),
        ("questions/practice/big.yaml", "unreadable-file"),
        ("questions/practice/way-out.yaml", "unreadable-file"),
        ("questions/practice/folder.yaml", "unreadable-file"),
        ("lessons/figures/way-out.svg", "unreadable-file"),
    }


def test_no_damage_ends_in_anything_but_findings(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    """A hundred courses, each spoilt in some way, are checked to the end; findings name the file and a line it has."""
    chance = random.Random(20261125)  # noqa: S311 (which damage is done matters to nobody)
    files = [path for path in sorted(copy.rglob("*")) if path.is_file()]
    told = 0
    for _ in range(100):
        path = chance.choice(files)
        before = path.read_bytes()
        path.write_bytes(spoilt(before, chance))
        checked = check_course(load_course(copy, toy_relations), variants=3)
        told += bool(checked.findings)
        for finding in checked.findings:
            lines = (copy / finding.file).read_bytes().count(b"\n") + 1 if (copy / finding.file).is_file() else 0
            assert 0 <= finding.line <= lines + 1
            assert "Traceback" not in finding.message
        path.write_bytes(before)
    assert told > 60
    assert check_course(load_course(copy, toy_relations), variants=3).findings == ()


def spoilt(data: bytes, chance: random.Random) -> bytes:
    """Data cut, swapped, indented with tabs, with lines doubled, or with bytes changed at random."""
    place = chance.randrange(len(data))
    lines = data.split(b"\n")
    first, second = chance.randrange(len(lines)), chance.randrange(len(lines))
    match chance.randrange(7):
        case 0:
            return data[:place]
        case 1:
            lines[first], lines[second] = lines[second], lines[first]
            return b"\n".join(lines)
        case 2:
            return data.replace(b"    ", b"\t")
        case 3:
            return b"\n".join([*lines[:first], lines[first], *lines[first:]])
        case 4:
            return data[:place] + bytes(chance.choices(range(256), k=3)) + data[place + 3 :]
        case 5:
            return (
                data[:place]
                + chance.choice([b"{", b"[", b'"', b": ", b"- ", b"*a", b"&a", b"!x", b"%", b"}", b"# "])
                + data[place:]
            )
        case _:
            words = data.split(b" ")
            word = chance.randrange(len(words))
            words[word] = chance.choice([b"", b"9" * 400, b"1e999", b"0", b"-1", b"1/0", b"nan", b"bore**9**9", b"x" * 5000])
            return b" ".join(words)


SHEET = Path(__file__).parents[2] / "questions" / "specimens" / "T-1.yaml"


def test_specimens_are_read_with_the_course_and_belong_to_what_papers_are_drawn_from(
    copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    before = load_course(copy, toy_relations)
    assert dict(before.specimens) == {}
    (copy / "questions/specimens").mkdir()
    (copy / "questions/specimens/T-1.yaml").write_text(SHEET.read_text())
    after = load_course(copy, toy_relations)
    assert (list(after.specimens), after.findings) == (["T-1"], ())
    assert list(load_practice(copy, toy_relations).specimens) == ["T-1"]
    assert "questions/specimens/T-1.yaml" in after.digests
    (copy / "questions/specimens/T-1.yaml").write_text(SHEET.read_text().replace("main_jet: 0.093 in", "main_jet: 0.094 in"))
    assert len({before.bank_digest, after.bank_digest, load_course(copy, toy_relations).bank_digest}) == 3


def test_a_bad_sheet_is_reported_by_line_and_the_others_are_read(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    text = SHEET.read_text()
    (copy / "questions/specimens").mkdir()
    (copy / "questions/specimens/T-1.yaml").write_text(text)
    (copy / "questions/specimens/T-5.yaml").write_text(text.replace("id: T-1", "id: T-5").replace("0.093 in", "-0.093 in"))
    (copy / "questions/specimens/T-6.yaml").write_text(text)
    course = load_course(copy, toy_relations)
    assert list(course.specimens) == ["T-1"]
    line = next(number for number, row in enumerate(text.split("\n"), 1) if "main_jet:" in row)
    told = {(f.file, f.line, f.code) for f in course.findings}
    assert told == {("questions/specimens/T-5.yaml", line, "bad-value"), ("questions/specimens/T-6.yaml", 3, "wrong-id")}


def test_the_digest_of_a_quiz_goes_by_practice_and_that_of_an_exam_does_not(
    copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    plan = "id: quiz\ntitle: Q\ntime: 9 min\nbank: practice\ndraw:\n  - {circuit: hose, items: 1}\npass: {cut: 60 %}\n"
    (copy / "questions/blueprints/quiz.yaml").write_text(plan)

    def digests() -> dict[str, str]:
        course = load_course(copy, toy_relations)
        assert [item.id for item in course.eligible(course.blueprints["quiz"].draw[0])] == ["hose-time", "hose-order"]
        return {name: course.digest_for(plan) for name, plan in course.blueprints.items()}

    def changed(name: str) -> set[str]:
        before = digests()
        (copy / name).write_text((copy / name).read_text() + "\n")
        after = digests()
        return {plan for plan in before if before[plan] != after[plan]}

    assert changed("questions/practice/hose.yaml") == {"quiz"}
    assert changed("questions/exam/hose.yaml") == {"garden"}
    assert changed("questions/blueprints/garden.yaml") == {"quiz", "garden"}
    assert changed("lessons/hose.md") == set()
