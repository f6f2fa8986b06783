"""Corrected keys and marks awarded by hand: both marks kept, who and why, and what rests on the earlier one."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from grader.base.errors import FindingsError, UseError
from grader.register import pile
from grader.register.asides import open_asides
from grader.register.correction_file import read_corrections
from grader.register.corrections import Entry, InForce, in_force, opened
from grader.register.decisions import decide_sitting
from grader.register.inspection import marked_again
from grader.register.pile import mark_again, mark_pile
from grader.register.records import Correction
from grader.register.remarking import MarkedAgain, award_mark, changes, correct, resting
from grader.register.store import Register
from tests.register.bench_sitting import CODES, LATER, WHEN, held, key_of, letter_of, right, write

WHY = "the bank's key was wrong"
LARGE, SMALL = "the large one", "the small one"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "in").mkdir()
    return tmp_path / "in"


@pytest.fixture
def register(tmp_path: Path, folder: Path) -> Iterator[Register]:
    """c-01 all right; c-02 took the large one and is just off in 1; c-03 wrote what cannot be read; c-04 handed nothing in."""
    with held(tmp_path / "register.sqlite") as opened_register:
        write(folder, "c-01", right("c-01"))
        write(folder, "c-02", right("c-02", q2=letter_of("c-02", LARGE), q1="3.14 mm2"))
        write(folder, "c-03", right("c-03", q1="four and a bit", q3a="5", q3b="10"))
        mark_pile(opened_register, "spring", [folder], WHEN, person="T. Examiner")
        decide_sitting(opened_register, "spring", "T. Examiner", "2031-05-14")
        yield opened_register


def totals(register: Register) -> dict[str, str]:
    return {
        m.candidate: f"{sum(Fraction(one.mark) for one in m.marks)}/{sum(Fraction(one.out_of) for one in m.marks)}"
        for m in register.marks("spring").values()
    }


def corrected(register: Register, *entries: Entry, trial: bool = False) -> MarkedAgain:
    return correct(register, "spring", entries, WHY, LATER, "T. Examiner", trial=trial)


def test_another_option_counts_too_on_every_paper_whatever_its_letter_there(register: Register) -> None:
    assert letter_of("c-01", LARGE) != letter_of("c-02", LARGE)
    found = corrected(register, {"item": "pump-why", "accept": [LARGE]})
    assert (found.looked_at, [change.after.candidate for change in found.changes]) == (3, ["c-02"])
    ((pair,),) = (change.differences for change in found.changes)
    assert (pair.before.number, pair.before.mark, pair.after.mark, pair.after.verdict) == ("2", "0", "1", "right")
    assert totals(register) == {"c-01": "6/6", "c-02": "5/6", "c-03": "4/6"}


def test_both_marks_are_kept_with_who_and_why(register: Register) -> None:
    corrected(register, {"item": "pump-why", "accept": [LARGE]})
    first, second = register.markings(CODES["c-02"])
    assert (first.cause, first.reason, second.cause, second.reason, second.person, second.when) == (
        "answers", "", "correction", WHY, "T. Examiner", LATER,
    )  # fmt: skip
    assert first.file == second.file
    (kept,) = register.corrections("spring")
    assert (kept.entries, kept.reason, kept.person) == (({"item": "pump-why", "accept": [LARGE]},), WHY, "T. Examiner")
    assert register.events()[-1].what == f"corrected the keys of sitting spring (pump-why): {WHY}"
    assert [change.after.cause for change in changes(register, "spring")] == ["correction"]


def test_the_sealed_key_is_not_changed(register: Register) -> None:
    corrected(register, {"item": "pump-why", "right": [LARGE]})
    assert register.open_key(CODES["c-01"], "T. Examiner", LATER) == key_of("c-01").encoded()


def test_another_right_answer_takes_marks_away_too(register: Register) -> None:
    found = corrected(register, {"item": "pump-why", "right": [LARGE]})
    moved = {change.after.candidate: [(p.before.mark, p.after.mark) for p in change.differences] for change in found.changes}
    assert moved == {"c-01": [("1", "0")], "c-02": [("0", "1")], "c-03": [("1", "0")]}


def test_a_range_is_widened_round_each_papers_own_value_and_its_end_is_inside(register: Register, folder: Path) -> None:
    corrected(register, {"item": "power-area", "within": "5 %"})
    assert {m.candidate: m.marks[0].verdict for m in register.marks("spring").values()} == {
        "c-01": "right", "c-02": "right", "c-03": "unreadable",
    }  # fmt: skip
    write(folder, "c-04", right("c-04", q1="5.25"))  # 5 and 5 %: papers marked later heed the correction
    mark_pile(register, "spring", [folder], LATER)
    assert register.marks("spring")[CODES["c-04"]].marks[0].verdict == "right"


def test_a_wider_part_carries_its_range_to_what_follows(register: Register) -> None:
    entry = {"item": "power-case", "part": "b", "within": "30 %"}
    corrected(register, entry)
    key = in_force(key_of("c-03"), register.corrections("spring")).key
    case = key.questions[2]
    assert case.parts[1].follow.within == "30 %"  # type: ignore[union-attr]


def test_a_withdrawn_question_gives_everybody_its_marks_or_does_not_count(register: Register) -> None:
    corrected(register, {"item": "power-area", "withdraw": "full marks"}, {"item": "power-case", "withdraw": "not counted"})
    assert totals(register) == {"c-01": "4/4", "c-02": "3/4", "c-03": "4/4"}
    (mark,) = [one for one in register.marks("spring")[CODES["c-03"]].marks if one.number == "1"]
    assert (mark.verdict, mark.why) == ("unreadable", "This question was withdrawn: everybody who had it has its marks.")


def test_a_trial_says_the_same_and_keeps_nothing(register: Register) -> None:
    entry = {"item": "pump-why", "accept": [LARGE]}
    tried = corrected(register, entry, trial=True)
    assert register.corrections("spring") == ()
    assert totals(register)["c-02"] == "4/6"
    done = corrected(register, entry)
    assert [(c.after.candidate, c.differences) for c in tried.changes] == [
        (c.after.candidate, c.differences) for c in done.changes
    ]


def test_decisions_are_not_changed_and_those_on_an_earlier_mark_are_named(register: Register) -> None:
    found = corrected(register, {"item": "power-area", "withdraw": "full marks"})
    assert [one.candidate for one in found.resting] == ["c-02", "c-03"]
    assert register.decisions("spring")["c-03"].evidence["mark"] == "4"
    decide_sitting(register, "spring", "T. Examiner", "2031-05-21")
    assert resting(register, "spring") == ()
    assert register.decisions("spring")["c-03"].evidence["mark"] == "5"
    assert len(register.decision_history("spring", "c-01")) == 1


def test_a_correction_in_the_same_second_as_the_marking_is_seen_all_the_same(register: Register) -> None:
    correct(register, "spring", ({"item": "power-area", "withdraw": "full marks"},), WHY, WHEN, "T. Examiner")
    assert [one.candidate for one in resting(register, "spring")] == ["c-02", "c-03"]


def test_corrections_add_up_in_their_order(register: Register) -> None:
    corrected(register, {"item": "pump-why", "right": [LARGE]})
    corrected(register, {"item": "pump-why", "accept": ["none"]}, {"item": "power-area", "within": "10 %"})
    force = opened(register, "spring", "T. Examiner", LATER, "to look")[CODES["c-01"]]
    given = {text: force.mark({"2": letter_of("c-01", text)}).marks[1].mark for text in (LARGE, "none", SMALL)}
    assert given == {LARGE: "1", "none": "1", SMALL: "0"}
    assert force.notes["2"] == (
        "Corrected after the sitting: right is “the large one”.",
        "Corrected after the sitting: “none” counts too.",
    )


def test_marking_by_a_key_without_corrections_is_marking_by_the_sealed_key() -> None:
    from grader.marking.mark import mark

    for candidate in CODES:
        key = key_of(candidate)
        assert in_force(key, []).mark(right(candidate)) == mark(key, right(candidate))


def test_nobody_loses_by_what_is_accepted_or_widened() -> None:
    entries = ({"item": "pump-why", "accept": [LARGE]}, {"item": "pump-order", "accept": ["none", SMALL, LARGE]})
    wider = ({"item": "power-area", "within": "50 %"}, {"item": "power-case", "part": "a", "within": "50 %"})
    correction = Correction("spring", (*entries, *wider), WHY, "T. Examiner", LATER)
    for candidate in CODES:
        sealed, force = InForce(key_of(candidate)), in_force(key_of(candidate), [correction])
        for answers in (right(candidate), right(candidate, q4="c b a"), right(candidate, q1="0", q2="c"), {}):
            pairs = zip(sealed.mark(answers).marks, force.mark(answers).marks, strict=True)
            assert all(Fraction(before.mark) <= Fraction(after.mark) for before, after in pairs)


def test_a_key_corrected_while_a_pile_is_marked_holds_for_the_rest_of_the_pile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pile, "TOGETHER", 1)
    (tmp_path / "in").mkdir()
    with held(tmp_path / "other.sqlite") as register:
        for candidate in CODES:
            write(tmp_path / "in", candidate, right(candidate, q1="0"))

        def correct_meanwhile(line: str) -> None:
            if line.startswith("[1/"):
                with Register(tmp_path / "other.sqlite") as other:
                    correct(other, "spring", ({"item": "power-area", "withdraw": "full marks"},), WHY, LATER, "T. Examiner")

        mark_pile(register, "spring", [tmp_path / "in"], WHEN, correct_meanwhile)
        assert {m.marks[0].mark for m in register.marks("spring").values()} == {"1"}
        assert [*marked_again(register, "T. Examiner", LATER)] == []


# The file.


def read(tmp_path: Path, text: str) -> tuple[Entry, ...]:
    file = tmp_path / "corrections.yaml"
    file.write_text(text, encoding="utf-8")
    return read_corrections(file, [InForce(key_of(candidate)) for candidate in CODES])


def test_corrections_are_read_from_a_file(tmp_path: Path) -> None:
    text = (
        "- {item: pump-why, accept: the large one}\n- {item: power-case, part: b, within: 5 %}\n"
        "- item: pump-order\n  right: [none, the small one, the large one]\n"
    )
    assert read(tmp_path, text) == (
        {"item": "pump-why", "accept": ["the large one"]},
        {"item": "power-case", "part": "b", "within": "5 %"},
        {"item": "pump-order", "right": ["none", "the small one", "the large one"]},
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("- {item: pump-why, acept: x}", "1: `acept` is not a field of a correction; write item, part, and one of accept, right"),
        ("- {item: pump-why}", "1: an entry says nothing to be corrected; write one of"),
        ("- {item: pump-why, accept: none, right: none}", "1: an entry says both accept and right; write one of"),
        ("- {accept: none}", "1: an entry names no item; write `item: …`"),
        ("- item", "1: an entry is no group of fields"),
        ("[]", "1: 0 entries; write 1 to 200"),
        ("- {item: pump-what, withdraw: full marks}", "1: no paper of the sitting has the item `pump-what`"),
        ("- {item: pump-why, withdraw: yes}", "1: withdraw is `yes`; write `full marks` or `not counted`"),
        ("- {item: pump-why, accept: the huge one}", "1: pump-why has no option “the huge one” on every paper"),
        ("- {item: pump-why, accept: [none, the large one]}", "1: pump-why has one right option; name one text"),
        ("- {item: pump-why, within: 5 %}", "1: pump-why asks for no number; `within` is for numbers"),
        ("- {item: pump-why, part: a, accept: none}", "1: pump-why has no parts; leave `part` out"),
        ("- {item: pump-order, right: [none]}", "1: pump-order has 3 entries; name all of them, in order"),
        ("- {item: power-area, accept: '3'}", "1: power-area cannot be corrected this way; widen its range"),
        ("- {item: power-area, within: 1 %}", "1: power-area: within 1 % is narrower than 0.1 mm^2, by which answers were given"),
        ("- {item: power-area, within: wide}", "1: `wide` is not a number with a unit"),
        ("- {item: power-area, within: 0 %}", "1: a range is wider than nothing; write it as `5 %` or `0.2 mm`"),
        ("- {item: power-area, within: 3 mm}", "1: power-area: 3 mm is of another kind (length) than the answer"),
        ("- {item: power-case, within: 5 %}", "1: power-case is a case; say which part with `part`, or withdraw all of it"),
        ("- {item: power-case, part: z, within: 5 %}", "1: power-case has no part 'z'; it has a, b"),
        ("- {item: power-case, part: aa, within: 5 %}", "1: part is `aa`; write its letter: a, b, c"),
        ("- {item: [a], withdraw: full marks}", "1: `item` is not written as it must be"),
    ],
)
def test_a_correction_that_does_not_fit_is_refused_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(FindingsError) as refused:
        read(tmp_path, text)
    assert said in str(refused.value)


def test_every_fault_of_the_file_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(FindingsError) as refused:
        read(tmp_path, "- {item: pump-why}\n- {item: power-area, within: 1 %}\n- {item: nothing, accept: x}\n")
    assert [finding.line for finding in refused.value.findings] == [1, 2, 3]


# By hand.


def awarded(register: Register, candidate: str, number: str, mark: str, reason: str = "the photo shows 4 mm2") -> MarkedAgain:
    return award_mark(register, "spring", candidate, number, mark, reason, LATER, "T. Examiner")


def test_a_mark_is_awarded_by_hand_and_the_earlier_one_stays(register: Register) -> None:
    found = awarded(register, "c-03", "1", "1")
    first, second = register.markings(CODES["c-03"])
    assert (first.marks[0].mark, first.marks[0].verdict) == ("0", "unreadable")
    assert (second.marks[0].mark, second.marks[0].verdict, second.marks[0].why) == (
        "1", "right", "Decided by an examiner: the photo shows 4 mm2",
    )  # fmt: skip
    assert (second.cause, second.person, second.reason) == ("award", "T. Examiner", "the photo shows 4 mm2")
    (award,) = register.awards("spring", "c-03")
    assert (award.number, award.answer, award.award) == ("1", "four and a bit", "1")
    assert [one.candidate for one in found.resting] == ["c-03"]
    assert register.events()[-1].what == f"awarded 1 of 1 for number 1 of paper {CODES['c-03']} of c-03: the photo shows 4 mm2"


def test_part_of_the_points_and_none_of_them_can_be_awarded(register: Register) -> None:
    awarded(register, "c-03", "No. 1", "0.50")
    assert register.marks("spring")[CODES["c-03"]].marks[0].mark == "0.5"
    assert register.marks("spring")[CODES["c-03"]].marks[0].verdict == "part"
    awarded(register, "c-01", "1", "0", "copied")
    assert register.marks("spring")[CODES["c-01"]].marks[0].verdict == "wrong"


def test_an_award_stands_through_a_corrected_key(register: Register) -> None:
    awarded(register, "c-03", "1", "1")
    corrected(register, {"item": "power-area", "within": "20 %"}, {"item": "pump-why", "right": [LARGE]})
    marks = {one.number: one for one in register.marks("spring")[CODES["c-03"]].marks}
    assert (marks["1"].mark, marks["2"].mark) == ("1", "0")


def test_an_award_does_not_stand_for_another_answer(register: Register, folder: Path) -> None:
    awarded(register, "c-03", "1", "1")
    second = write(folder, "c-03", right("c-03", q1="17 mm2"), "second.json")
    mark_again(register, "spring", "c-03", [second], "the first was a draft", LATER, "T. Examiner")
    assert register.marks("spring")[CODES["c-03"]].marks[0].mark == "0"
    third = write(folder, "c-03", right("c-03", q1="four and a bit", q2="c"), "third.json")
    mark_again(register, "spring", "c-03", [third], "no, the first it was", LATER, "T. Examiner")
    assert register.marks("spring")[CODES["c-03"]].marks[0].mark == "1"


@pytest.mark.parametrize(
    ("candidate", "number", "mark", "reason", "said"),
    [
        ("c-99", "1", "1", "why", "no candidate 'c-99' in sitting 'spring'"),
        ("c-04", "1", "1", "why", "c-04 is not marked yet"),
        ("c-03", "9", "1", "why", "no number '9' on paper"),
        ("c-03", "1", "2", "why", "'2' is no mark for number 1; write 0 to 1, as `1.5`"),
        ("c-03", "1", "-1", "why", "'-1' is no mark"),
        ("c-03", "1", "nan", "why", "'nan' is no mark"),
        ("c-03", "1", "1e9", "why", "'1e9' is no mark"),
        ("c-03", "1", "0.333", "why", "'0.333' is no mark"),
        ("c-03", "1", "0", "why", "c-03 has 0 of 1 for number 1 already; nothing to award"),
        ("c-03", "1", "1", " ", "what is decided by hand has a reason"),
    ],
)
def test_what_cannot_be_awarded_is_refused_and_nothing_kept(
    register: Register, candidate: str, number: str, mark: str, reason: str, said: str
) -> None:
    with pytest.raises(UseError) as refused:
        awarded(register, candidate, number, mark, reason)
    assert said in str(refused.value)
    assert register.awards("spring") == ()
    assert len(register.every_marking("spring")) == 3


def test_neither_a_correction_nor_an_award_settles_what_was_handed_in(register: Register, folder: Path) -> None:
    write(folder, "c-02", right("c-02"), "other.json")
    mark_pile(register, "spring", [folder], WHEN)
    assert [aside.code for aside in open_asides(register, "spring")] == ["marked-already"]
    corrected(register, {"item": "pump-why", "accept": [LARGE]})
    awarded(register, "c-02", "1", "1")
    assert [aside.code for aside in open_asides(register, "spring")] == ["marked-already"]
