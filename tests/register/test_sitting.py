from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from grader.base.canon import digest
from grader.base.codes import is_code
from grader.base.errors import FindingsError, UseError
from grader.base.findings import Finding
from grader.items.course import Course, load_course
from grader.items.model import Blueprint, Candidate, DrawRule
from grader.marking.browser import script as marker_script
from grader.marking.key import Key, Numeric, read_key
from grader.register.records import Event, Opening, Sitting
from grader.register.retention import erase
from grader.register.sitting import Held, blueprint_json, check_inputs, hold_sitting, preview_paper, share_text
from grader.register.store import Register

pytestmark = pytest.mark.paper
FOLDER = Path(__file__).with_name("course")
SECRET = bytes(range(32))
ROSTER = (
    Candidate("c-01", "Ada Weir", line=2),
    Candidate("c-02", "Bo Lind", group="A", email="bo@trial.example", extra_time=0.25, line=3),
    Candidate("c-03", "Zoë Ōta", print="large", line=4),
)


@pytest.fixture(scope="module")
def course() -> Course:
    found = load_course(FOLDER)
    assert found.findings == ()
    return found


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    with Register(tmp_path / "register.sqlite") as found:
        yield found


def hold(register: Register, course: Course, roster: tuple[Candidate, ...] = ROSTER, **named: Any) -> Held:
    fields: dict[str, Any] = {"blueprint": course.blueprints["trial"], "name": "spring", "date": "2031-05-12", "secret": SECRET}
    fields = {**fields, **named}
    return hold_sitting(register, course, roster=roster, folder=register.path.parent, **fields)


def printed(home: Path) -> dict[str, str]:
    """Every file of a sitting with its digest."""
    return {str(path.relative_to(home)): digest(path.read_bytes()) for path in sorted(home.rglob("*")) if path.is_file()}


def keys(register: Register) -> dict[str, Key]:
    return {code: read_key(data) for code, data in register.open_keys("spring", "a test", "2031-05-12").items()}


def test_every_candidate_has_a_paper_a_sheet_and_a_sealed_key(register: Register, course: Course) -> None:
    held = hold(register, course)
    assert (held.sealed, held.printed) == (3, 3)
    assert [paper.candidate for paper in held.papers] == ["c-01", "c-02", "c-03"]
    sealed = keys(register)
    for paper in held.papers:
        assert is_code(paper.code)
        assert (held.folder / "papers" / f"{paper.code}.pdf").read_bytes().startswith(b"%PDF-")
        assert (held.folder / "sheets" / f"{paper.code}.html").read_text().startswith("<!doctype html>")
        assert digest(sealed[paper.code].encoded()) == paper.key_digest
        assert sealed[paper.code].candidate == paper.candidate
        assert sealed[paper.code].bank == course.bank_digest
        assert [question.number for question in sealed[paper.code].questions] == ["1", "2", "3"]


def test_papers_names_and_marks_are_for_their_owner_only(register: Register, course: Course) -> None:
    held = hold(register, course)
    assert oct(held.folder.parent.stat().st_mode & 0o777) == "0o700"
    held.folder.parent.chmod(0o750)  # a school may let a group in: that stays
    hold(register, course)
    assert oct(held.folder.parent.stat().st_mode & 0o777) == "0o750"


def test_the_manifest_says_who_has_which_paper_and_which_digest(register: Register, course: Course) -> None:
    held = hold(register, course)
    with (held.folder / "manifest.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [(row["candidate"], row["name"]) for row in rows] == [(person.candidate, person.name) for person in ROSTER]
    assert [(row["paper"], row["digest"]) for row in rows] == [(paper.code, paper.key_digest) for paper in held.papers]


def test_no_spreadsheet_takes_a_name_in_the_manifest_for_a_formula(register: Register, course: Course) -> None:
    held = hold(register, course, (Candidate("c-01", "=1+1"),))
    assert ",'=1+1," in (held.folder / "manifest.csv").read_text()


def test_papers_of_one_sitting_hold_different_numbers(register: Register, course: Course) -> None:
    hold(register, course, tuple(Candidate(f"c-{n:02}", f"Person {n}") for n in range(8)))
    stems = [
        tuple(question.stem for question in key.questions if isinstance(question, Numeric)) for key in keys(register).values()
    ]
    assert len(set(stems)) == len(stems)


def test_time_and_print_of_the_roster_stand_on_the_paper(register: Register, course: Course) -> None:
    held = hold(register, course)
    sheets = [(held.folder / "sheets" / f"{paper.code}.html").read_text() for paper in held.papers]
    assert [re.search(r'"minutes":(\d+)', sheet)[1] for sheet in sheets] == ["40", "50", "40"]  # type: ignore[index]
    pages = []
    for paper in held.papers:
        with pikepdf.open(held.folder / "papers" / f"{paper.code}.pdf") as document:
            pages.append(len(document.pages))
    assert pages[2] > pages[0]


def test_no_key_leaves_the_register(register: Register, course: Course) -> None:
    held = hold(register, course)
    for code, key in keys(register).items():
        numbers = [question.answer.value for question in key.questions if isinstance(question, Numeric)]
        slips = [slip.value for question in key.questions if isinstance(question, Numeric) for slip in question.slips]
        sheet = (held.folder / "sheets" / f"{code}.html").read_text().replace(marker_script(), "")
        with pikepdf.open(held.folder / "papers" / f"{code}.pdf") as document:
            pdf = b"".join(stream.read_bytes() for stream in document.objects if isinstance(stream, pikepdf.Stream)).decode(
                "latin-1"
            )
        for word in ("HINT-MARK", "SLIP-MARK", "WORKING-MARK", "OPTION-MARK", "WORDS OF THE LESSON", key.nonce, *numbers, *slips):
            assert word not in sheet
            assert word not in pdf
    assert {path.suffix for path in held.folder.rglob("*") if path.is_file()} == {".pdf", ".html", ".csv"}


def test_the_same_inputs_and_secret_give_the_same_files(course: Course, tmp_path: Path) -> None:
    found = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        with Register(tmp_path / name / "register.sqlite") as register:
            found.append(printed(hold(register, course).folder))
    assert found[0] == found[1]


def test_without_a_secret_no_two_sittings_are_alike(register: Register, course: Course) -> None:
    first, second = hold(register, course, secret=None), hold(register, course, secret=None, name="autumn")
    assert not {paper.code for paper in first.papers} & {paper.code for paper in second.papers}
    assert register.sitting("spring").secret != register.sitting("autumn").secret


def test_running_again_changes_nothing(register: Register, course: Course) -> None:
    before = printed(hold(register, course).folder)
    times = {path: path.stat().st_mtime_ns for path in (register.path.parent / "sittings/spring/papers").iterdir()}
    again = hold(register, course, secret=None, date="2031-05-13")
    assert (again.sealed, again.printed) == (0, 0)
    assert printed(again.folder) == before
    assert {path: path.stat().st_mtime_ns for path in times} == times
    assert register.sitting("spring").held == "2031-05-12"


def test_what_is_missing_is_made_again_from_the_sealed_keys(register: Register, course: Course) -> None:
    held = hold(register, course)
    before = printed(held.folder)
    (held.folder / "papers" / f"{held.papers[1].code}.pdf").unlink()
    (held.folder / "sheets" / f"{held.papers[2].code}.html").unlink()
    (held.folder / "papers" / f".{held.papers[1].code}.pdf.00ff.part").write_bytes(b"half")
    assert hold(register, course, person="T. Examiner", when="2031-05-12T08:00:00Z").printed == 2
    assert printed(held.folder) == before
    assert register.openings("spring") == (Opening("spring", "", "T. Examiner", "2031-05-12T08:00:00Z", "to print the rest"),)


def test_a_paper_that_stands_is_never_written_over(register: Register, course: Course) -> None:
    held = hold(register, course)
    mine = held.folder / "papers" / f"{held.papers[0].code}.pdf"
    mine.write_bytes(b"%PDF- as it was handed out")
    (held.folder / "sheets" / f"{held.papers[0].code}.html").unlink()  # the pair is made whole without touching this one
    hold(register, course)
    assert mine.read_bytes() == b"%PDF- as it was handed out"


def test_who_comes_late_is_added_and_nobody_else_s_paper_changes(register: Register, course: Course) -> None:
    before = printed(hold(register, course).folder)
    late = hold(register, course, (*ROSTER, Candidate("c-04", "Late Lee")))
    after = printed(late.folder)
    assert (late.sealed, late.printed) == (1, 1)
    assert {name: after[name] for name in before if name != "manifest.csv"} == {
        k: v for k, v in before.items() if k != "manifest.csv"
    }
    assert len(after) == len(before) + 2
    assert "c-04,Late Lee," in (late.folder / "manifest.csv").read_text()


def test_the_others_go_on_where_somebody_s_data_were_taken_out(register: Register, course: Course) -> None:
    home = hold(register, course).folder
    gone = erase(register, "c-02", "asked for it", "2031-05-13T09:00:00Z", "T. Examiner").pseudonym
    others = (ROSTER[0], ROSTER[2], Candidate("c-04", "Late Lee"))
    late = hold(register, course, others)
    assert (late.sealed, late.printed, {paper.candidate for paper in late.papers}) == (1, 1, {"c-01", "c-03", "c-04"})
    assert gone in (home / "manifest.csv").read_text()
    assert len([*(home / "papers").iterdir()]) == 3


def test_an_old_roster_brings_back_nobody_whose_data_were_taken_out(register: Register, course: Course) -> None:
    hold(register, course)
    erase(register, "c-02", "asked for it", "2031-05-13T09:00:00Z", "T. Examiner")
    before = register.papers("spring")
    with pytest.raises(UseError, match=r"the data of c-02 were taken out of sitting 'spring'; leave them out of the roster"):
        hold(register, course, (*ROSTER, Candidate("c-04", "Late Lee")))
    assert register.papers("spring") == before


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"roster": ROSTER[1:]}, "another roster: candidate 'c-01' is not in it"),
        (
            {"roster": (replace(ROSTER[0], name="Eda Weir"), ROSTER[1], replace(ROSTER[2], extra_time=0.5))},
            "another roster: candidate 'c-01': name was 'Ada Weir', is 'Eda Weir'; "
            "candidate 'c-03': extra_time was '', is '50 %'",
        ),
        ({"secret": bytes(32)}, "another secret"),
    ],
)
def test_other_inputs_are_refused(register: Register, course: Course, change: dict[str, Any], said: str) -> None:
    before = printed(hold(register, course).folder)
    with pytest.raises(UseError) as refused:
        hold(register, course, **change)
    again = "give back what it was held with, or give the new sitting another name"
    assert str(refused.value) == f"sitting 'spring' was held with {said}; {again}"
    assert printed(register.path.parent / "sittings/spring") == before


def test_another_blueprint_is_refused_and_what_differs_is_said(register: Register, course: Course) -> None:
    plan = course.blueprints["trial"]
    hold(register, course)
    changed = replace(plan, minutes=50.0, draw=(replace(plan.draw[0], items=3), *plan.draw[1:]))
    with pytest.raises(UseError, match="held with another blueprint: `draw/1/items` was 2, is 3; `minutes` was 40, is 50; give"):
        hold(register, course, blueprint=changed)


BANK, UNUSED = "questions/exam/pump.yaml", "questions/exam/idle.yaml"
LATE = (*ROSTER, Candidate("c-04", "Late Lee"))


def altered(course: Course, *names: str) -> Course:
    """The course with other bytes in some of its files."""
    return replace(course, digests={**course.digests, **dict.fromkeys(names, "00" * 32)}, bank_digest="00" * 32)


def test_a_bank_that_changed_is_named_to_whoever_would_draw_from_it(register: Register, course: Course) -> None:
    hold(register, course)
    with pytest.raises(UseError, match=f"held with another bank: {BANK} has changed; give back"):
        hold(register, altered(course, BANK, UNUSED), LATE)
    assert len(register.papers("spring")) == 3


def test_a_bank_that_changed_stops_nobody_from_printing_what_is_sealed(register: Register, course: Course) -> None:
    before = hold(register, course)
    (before.folder / "papers" / f"{before.papers[1].code}.pdf").unlink()
    again = hold(register, altered(course, BANK))
    assert (again.printed, again.changed) == (1, (BANK,))


def test_a_file_that_nothing_here_is_drawn_from_may_change(register: Register, course: Course) -> None:
    with_idle = replace(course, digests={**course.digests, UNUSED: "11" * 32}, bank_digest="11" * 32)
    hold(register, with_idle)
    late = hold(register, altered(with_idle, UNUSED), LATE)
    assert (late.sealed, late.changed) == (1, (UNUSED,))


def test_a_bank_s_file_that_is_gone_stops_late_candidates(register: Register, course: Course) -> None:
    hold(register, replace(course, digests={**course.digests, UNUSED: "11" * 32}, bank_digest="11" * 32))
    with pytest.raises(UseError, match=f"another bank: {UNUSED} is gone; give back"):
        hold(register, course, LATE)


def test_a_sitting_from_before_the_files_were_kept_says_so(register: Register, course: Course) -> None:
    plan = course.blueprints["trial"]
    sitting = Sitting("spring", blueprint_json(plan), course.bank_digest, SECRET, "2031-05-12", "Course", {"name": "School"})
    register.hold_sitting(sitting)
    assert hold(register, course).sealed == 3
    with pytest.raises(UseError, match="a file of `questions` has changed, and the register of then did not keep which; give"):
        hold(register, altered(course, BANK), LATE)
    assert hold(register, altered(course, BANK)).changed == ()


def test_what_items_were_taken_to_weigh_is_kept_and_holds_for_who_comes_late(register: Register, course: Course) -> None:
    hold(register, course)
    kept = register.sitting("spring").weights
    pool = {item.id: item for rule in course.blueprints["trial"].draw for item in course.eligible(rule)}
    assert {name: (weight.difficulty, weight.minutes, weight.answers) for name, weight in kept.items()} == {
        name: (item.difficulty, item.minutes, 0) for name, item in pool.items()
    }
    harder = replace(course, exam=tuple(replace(item, difficulty=0.1) for item in course.exam))
    late = hold(register, harder, LATE)
    assert register.sitting("spring").weights == kept
    assert late.likeness is not None
    assert late.likeness.papers == 4
    assert late.likeness.difficulty.least > 0.1


def test_who_comes_late_gets_the_paper_he_would_have_got_in_time(register: Register, course: Course, tmp_path: Path) -> None:
    hold(register, course)
    hold(register, course, LATE)
    (tmp_path / "other").mkdir()
    with Register(tmp_path / "other" / "register.sqlite") as other:
        hold(other, course, LATE)
        assert {code: key.questions for code, key in keys(other).items()} == {
            code: key.questions for code, key in keys(register).items()
        }


def test_the_log_says_who_held_a_sitting_and_who_added_to_it(register: Register, course: Course) -> None:
    hold(register, course, person="T. Examiner", when="2031-05-12T08:00:00Z")
    hold(register, course, LATE, person="A. Second", when="2031-05-12T09:00:00Z")
    assert register.events() == (
        Event("T. Examiner", "2031-05-12T08:00:00Z", "sealed 3 papers of sitting spring, now held"),
        Event("A. Second", "2031-05-12T09:00:00Z", "opened the secret of sitting spring to draw late papers"),
        Event("A. Second", "2031-05-12T09:00:00Z", "opened the keys of sitting spring to see what is used already"),
        Event("A. Second", "2031-05-12T09:00:00Z", "sealed 1 more papers of sitting spring"),
    )


def test_a_blueprint_that_cannot_be_filled_leaves_nothing_behind(register: Register, course: Course) -> None:
    plan = replace(course.blueprints["trial"], draw=(DrawRule(11, 1, circuit="pump"),))
    with pytest.raises(UseError, match="circuit pump asks for 11 items, the exam bank has 10"):
        hold(register, course, blueprint=plan)
    assert register.sittings() == ()
    assert not (register.path.parent / "sittings").exists()


@pytest.mark.parametrize("name", ["../x", "", "con", "a/b", "x" * 81])
def test_a_name_that_leads_elsewhere_is_refused(register: Register, course: Course, name: str) -> None:
    with pytest.raises(UseError, match="cannot name a sitting"):
        hold(register, course, name=name)


def test_a_name_no_font_has_is_printed_in_part_and_told(register: Register, course: Course) -> None:
    held = hold(register, course, (*ROSTER, Candidate("c-04", "李 Ming", line=5)))
    assert [str(finding) for finding in held.findings] == [
        "roster:5: warning: no font has '李' of c-04, '李 Ming'; � is printed there: call c-04 by the id, or write the name in "
        "other letters before the sitting is held [name-in-part]"
    ]
    assert [paper.name for paper in held.papers] == [*(person.name for person in ROSTER), "李 Ming"]  # whole where it can be
    assert "李 Ming" in (held.folder / "sheets" / f"{held.papers[-1].code}.html").read_text("utf-8")
    assert hold(register, course, ROSTER, name="other").findings == ()


def test_an_id_no_font_has_is_a_finding_before_anything_is_sealed(register: Register, course: Course) -> None:
    with pytest.raises(FindingsError) as refused:
        hold(register, course, (*ROSTER, Candidate("李-4", "Ada", line=5), Candidate("明", "Amina", line=6)))
    assert str(refused.value).splitlines() == [
        "roster:5: no font has '李' of the id '李-4'; write the id in letters and digits [unprintable-id]",
        "roster:6: no font has '明' of the id '明'; write the id in letters and digits [unprintable-id]",
    ]
    assert register.sittings() == ()


def test_an_empty_roster_is_refused(register: Register, course: Course) -> None:
    with pytest.raises(UseError, match="names no candidate"):
        hold(register, course, ())


def test_a_course_with_errors_is_refused(course: Course) -> None:
    wrong = replace(course, findings=(Finding("questions/exam/pump.yaml", 3, "x", "a", "b"),))
    with pytest.raises(FindingsError, match=r"questions/exam/pump\.yaml:3"):
        check_inputs(wrong, course.blueprints["trial"], ROSTER, "spring")


def test_a_folder_that_cannot_be_written_is_one_message(register: Register, course: Course) -> None:
    (register.path.parent / "sittings").write_text("a file stands here")
    with pytest.raises(UseError, match="the folder cannot be made"):
        hold(register, course)
    (register.path.parent / "sittings").unlink()
    assert hold(register, course).printed == 3  # the sealed keys are still there


def test_progress_is_told_after_each_paper(register: Register, course: Course) -> None:
    told: list[tuple[int, int]] = []
    hold(register, course, progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_a_preview_keeps_nothing_and_is_another_every_time(course: Course) -> None:
    first, second = (preview_paper(course, course.blueprints["trial"], "2031-05-12") for _ in range(2))
    assert first.startswith(b"%PDF-")
    assert first != second


def test_the_blueprint_is_kept_as_decisions_read_it(course: Course) -> None:
    kept = blueprint_json(course.blueprints["trial"])
    assert kept["pass"] == {"cut": "60 %", "each_circuit": "40 %"}
    assert kept["certificate"] == {"name": "Trial", "description": "A trial", "criteria": "None", "valid": "3 years"}
    assert kept["draw"] == [{"items": 2, "objective": "pump.1"}, {"items": 1, "circuit": "pump", "level": "E"}]


@pytest.mark.parametrize(("share", "text"), [(0.3, "30 %"), (0.333, "33.3 %"), (0.0, "0 %")])
def test_a_share_is_written_as_the_roster_has_it(share: float, text: str) -> None:
    assert share_text(share) == text


def test_a_blueprint_of_the_model_is_all_that_is_needed(register: Register, course: Course) -> None:
    plan = course.blueprints["trial"]
    assert isinstance(plan, Blueprint)
    bare = replace(plan, aids=(), cautions=(), formulas=(), certificate=None)
    assert hold(register, course, blueprint=bare).printed == 3


def test_a_quiz_is_drawn_from_open_items_and_kept_as_such(register: Register, course: Course) -> None:
    plan = replace(
        course.blueprints["trial"],
        id="quiz",
        draw=(DrawRule(1, 1, circuit="pump", bank="practice"),),
        certificate=None,
    )
    course = replace(course, practice=course.exam[:2], exam=course.exam[2:], open_digests={"questions/practice/pump.yaml": "00"})
    hold(register, course, blueprint=plan)
    asked = {question.item for key in keys(register).values() for question in key.questions}
    assert asked <= {item.id for item in course.practice}
    kept = register.sitting("spring")
    assert kept.blueprint["bank"] == "practice"
    assert kept.bank == course.digest_for(plan) != course.bank_digest
    with pytest.raises(UseError, match="circuit pump asks for 99 items, the practice bank has"):
        hold(register, course, name="other", blueprint=replace(plan, draw=(DrawRule(99, 1, circuit="pump", bank="practice"),)))
