"""Marking a pile of files from strangers."""

from __future__ import annotations

import io
import json
import os
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from grader.base.canon import digest
from grader.base.codes import LETTERS, check_character, is_code
from grader.base.errors import UseError
from grader.marking.key import Key, unit_entries
from grader.marking.mark import Marks
from grader.register import pile as mark_module
from grader.register.pile import PileOutcome, mark_again, mark_pile
from grader.register.records import Paper, Sitting
from grader.register.store import Register

WHEN = "2031-05-12T09:30:00Z"
CANDIDATES = ["c-01", "c-02", "c-03", "c-04", "c-05"]


def code_of(place: int) -> str:
    """A paper code with the right check character."""
    for letter in LETTERS:
        payload = f"TRY0{place}0X{letter}7"
        if check_character(payload) in LETTERS:
            return payload + check_character(payload)
    raise AssertionError(place)


CODES = {candidate: code_of(place) for place, candidate in enumerate(CANDIDATES)}


def key_of(candidate: str, sitting: str = "spring-1", code: str = "") -> Key:
    """A key of two questions; each candidate's number is another one."""
    value = 2 + CANDIDATES.index(candidate)
    low, high = f"{value - 0.1:.1f}", f"{value + 0.1:.1f}"
    answer = {"value": str(value), "low": low, "high": high, "unit": "mm^2", "shown": "", "within": "0.1 mm^2"}
    about = {"item": "power-area", "objective": "power.1", "circuit": "power", "points": "1", "stem": "?"}
    options = [{"letter": letter, "text": letter * 3} for letter in "abc"]
    questions = [
        about | {"kind": "numeric", "number": "1", "answer": answer},
        about | {"kind": "choice", "number": "2", "item": "power-why", "options": options, "right": "b"},
    ]
    head = {"form": "grader-key-1", "sitting": sitting, "paper": code or CODES[candidate], "candidate": candidate}
    rest = {"blueprint": "b", "bank": "0" * 64, "nonce": "1" * 64, "units": msgspec.to_builtins(unit_entries())}
    return msgspec.convert(head | rest | {"questions": questions}, Key)


def hold(register: Register, sitting: str, keys: list[Key]) -> None:
    school = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"}
    papers = [(Paper(k.paper, sitting, k.candidate, f"Name {k.candidate}", digest(k.encoded())), k.encoded()) for k in keys]
    register.hold_sitting(Sitting(sitting, {}, "0" * 64, bytes(32), "2031-05-12", "Course", school), papers)


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """A register that knows a sitting of five, and another one of one."""
    with Register(tmp_path / "register.sqlite") as register:
        hold(register, "spring-1", [key_of(c) for c in CANDIDATES])
        hold(register, "autumn-1", [key_of("c-01", "autumn-1", code_of(9))])
        yield register


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the files are handed in."""
    (tmp_path / "in").mkdir()
    return tmp_path / "in"


def sheet(candidate: str, one: str = "", two: str = "b", **changed: Any) -> bytes:
    right = str(2 + CANDIDATES.index(candidate)) if candidate in CANDIDATES else "2"
    plain = {"paper": CODES.get(candidate, CODES["c-01"]), "candidate": candidate, "answers": {"1": one or right, "2": two}}
    return json.dumps(plain | changed).encode()


def run(register: Register, *paths: Path) -> PileOutcome:
    return mark_pile(register, "spring-1", paths, WHEN)


def codes(outcome: PileOutcome) -> list[tuple[str, str]]:
    return [(Path(a.file).name, a.code) for a in outcome.asides]


def test_good_files_are_marked_kept_and_copied(register: Register, folder: Path, tmp_path: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    (folder / "c-02.yaml").write_text(
        f"paper: {CODES['c-02'].lower()}\ncandidate: c-02\nanswers: {{1: 3.05 mm², 2: a}}\n", "utf-8"
    )
    (folder / "class.csv").write_text(f"paper;candidate;1;2\n{CODES['c-03']};c-03;4;b\n{CODES['c-04']};c-04;9;b\n", "utf-8")
    outcome = run(register, folder)
    assert (outcome.files, outcome.passed_over, outcome.asides, outcome.needs_a_person) == (3, 0, (), False)
    assert {m.candidate: m.mark for m in outcome.marked} == {"c-01": "2", "c-02": "1", "c-03": "2", "c-04": "1"}
    kept = register.marks("spring-1")
    assert {m.candidate: [k.verdict for k in m.marks] for m in kept.values()} == {
        "c-01": ["right", "right"],
        "c-02": ["right", "wrong"],
        "c-03": ["right", "right"],
        "c-04": ["wrong", "right"],
    }
    assert kept[CODES["c-01"]].file == digest(sheet("c-01"))
    copies = tmp_path / "sittings" / "spring-1" / "answers"
    assert sorted(p.name for p in copies.iterdir()) == ["c-01.json", "c-02.yaml", "class.csv"]
    assert (copies / "c-01.json").read_bytes() == sheet("c-01")


def test_run_again_it_marks_only_what_is_new(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    run(register, folder)
    (folder / "c-02.json").write_bytes(sheet("c-02"))
    outcome = run(register, folder)
    assert ([m.candidate for m in outcome.marked], outcome.passed_over, outcome.asides) == (["c-02"], 1, ())
    assert len(register.markings(CODES["c-01"])) == 1


BAD = {
    "empty.json": (b"", "empty-file"),
    "cut.json": (sheet("c-02")[:-20], "not-json"),
    "picture.json": (b"\xff\xd8\xff\xe0\x00\x10JFIF", "not-text"),
    "bomb.yaml": (b"a: &a [x]\npaper: *a\n", "yaml-alias"),
    "twice.json": (b'{"paper": "A", "paper": "B"}', "repeated-key"),
    "mistyped.json": (sheet("c-02", paper=CODES["c-02"][:3] + "9" + CODES["c-02"][4:]), "wrong-code"),
    "nowhere.json": (sheet("c-02", paper=code_of(8)), "unknown-paper"),
    "elsewhere.json": (sheet("c-01", paper=code_of(9)), "other-sitting"),
    "other-sitting.json": (sheet("c-02", sitting="winter-9"), "unknown-sitting"),
    "stranger.json": (sheet("c-99"), "unknown-candidate"),
    "swapped.json": (sheet("c-02", paper=CODES["c-03"]), "other-candidate"),
    "notes.txt": (b"Please mark me kindly.", "not-a-sheet"),
    "tool.bin": (bytes(range(256)) * 4, "not-text"),
}


@pytest.mark.parametrize(("name", "bad"), BAD.items())
def test_a_bad_file_is_set_aside_and_the_rest_goes_on(
    register: Register, folder: Path, name: str, bad: tuple[bytes, str]
) -> None:
    (folder / name).write_bytes(bad[0])
    (folder / "c-05.json").write_bytes(sheet("c-05"))
    outcome = run(register, folder)
    assert codes(outcome) == [(name, bad[1])]
    assert [m.candidate for m in outcome.marked] == ["c-05"]
    assert outcome.needs_a_person
    (kept,) = register.asides("spring-1")
    assert (kept.file, kept.code) == (str(folder / name), bad[1])
    assert register.answer_bytes("spring-1", digest(bad[0])) == bad[0] if bad[0] else True


def test_what_is_still_amiss_is_said_again_but_kept_once(register: Register, folder: Path) -> None:
    for name, (data, _) in BAD.items():
        (folder / name).write_bytes(data)
    first, second = run(register, folder), run(register, folder)
    assert sorted(codes(first)) == sorted(codes(second)) == sorted((name, code) for name, (_, code) in BAD.items())
    assert len(register.asides("spring-1")) == len(BAD)


def test_an_aside_says_place_reason_and_mend(register: Register, folder: Path) -> None:
    (folder / "a.json").write_bytes(sheet("c-02", paper=CODES["c-03"]))
    lines: list[str] = []
    mark_pile(register, "spring-1", [folder / "a.json"], WHEN, lines.append)
    assert lines == [
        f"[1/1] {folder}/a.json: set aside",
        f'  {folder}/a.json:1: paper {CODES["c-03"]} is not the paper of candidate "c-02"; '
        "find out who wrote it, then mend code or candidate [other-candidate]",
    ]


def test_what_another_command_marks_meanwhile_is_neither_lost_nor_doubled(
    register: Register, folder: Path, tmp_path: Path
) -> None:
    for candidate in CANDIDATES[:3]:
        (folder / f"{candidate}.json").write_bytes(sheet(candidate))
    other = tmp_path / "other"
    other.mkdir()
    (other / "c-01.json").write_bytes(sheet("c-01"))
    (other / "c-02.json").write_bytes(sheet("c-02", two="a"))
    began = mark_module._claimed

    def overtaken(*arguments: Any) -> None:
        began(*arguments)
        with pytest.MonkeyPatch.context() as patch, Register(register.path) as second:
            patch.setattr(mark_module, "_claimed", began)
            assert len(run(second, other).marked) == 2

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(mark_module, "_claimed", overtaken)
        outcome = run(register, folder)
    assert [marks.candidate for marks in outcome.marked] == ["c-03"]
    assert (outcome.passed_over, codes(outcome)) == (1, [("c-02.json", "marked-already")])
    assert all(len(register.markings(CODES[candidate])) == 1 for candidate in CANDIDATES[:3])


def test_an_exact_copy_is_marked_once_and_needs_nobody(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    (folder / "c-01 (1).json").write_bytes(sheet("c-01"))
    outcome = run(register, folder)
    assert (len(outcome.marked), outcome.passed_over, outcome.asides) == (1, 1, ())
    again = run(register, folder / "c-01.json")
    assert (len(again.marked), again.passed_over, again.asides) == (0, 1, ())


def test_a_table_that_is_corrected_or_grows_is_no_rival_to_itself(register: Register, folder: Path) -> None:
    table = folder / "class.csv"
    table.write_text(f"paper,candidate,1,2\n{CODES['c-01']},c-01,2,b\n{CODES['c-02']},c-02,9,b\n", "utf-8")
    run(register, folder)
    table.write_text(
        f"paper,candidate,1,2\n{CODES['c-01']},c-01, 2 ,b\n{CODES['c-02']},c-02,3,b\n{CODES['c-03']},c-03,4,b\n", "utf-8"
    )
    outcome = run(register, folder)
    assert [m.candidate for m in outcome.marked] == ["c-03"]
    assert [(a.line, a.code) for a in outcome.asides] == [(3, "marked-already")]  # other answers: for a person to say


def test_answers_to_what_the_paper_does_not_ask_make_no_rival(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    run(register, folder)
    (folder / "d.json").write_bytes(sheet("c-01", answers={"1": "2", "2": "b", "9": "z"}))
    assert run(register, folder / "d.json").passed_over == 1


def test_other_answers_of_somebody_who_is_marked_are_set_aside(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "9"))
    run(register, folder)
    (folder / "a-better.json").write_bytes(sheet("c-01"))
    outcome = run(register, folder)
    assert codes(outcome) == [("a-better.json", "marked-already")]
    assert outcome.asides[0].message == f'candidate "c-01" is marked already, with other answers, from {folder}/c-01.json'
    assert outcome.asides[0].mend == (
        'those count; take this file out, or let these count: grader mark spring-1 FILE --again c-01 --reason "…"'
    )
    assert (outcome.marked, register.marks("spring-1")[CODES["c-01"]].marks[0].mark) == ((), "0")


def test_of_two_sets_of_answers_in_one_pile_neither_counts_until_a_person_says_which(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "9"))
    (folder / "c-01-again.json").write_bytes(sheet("c-01"))
    (folder / "c-02.json").write_bytes(sheet("c-02"))
    outcome = run(register, folder)
    assert sorted(codes(outcome)) == [("c-01-again.json", "two-answers"), ("c-01.json", "two-answers")]
    assert [m.candidate for m in outcome.marked] == ["c-02"]
    chosen = run(register, folder / "c-01-again.json")
    assert ([m.mark for m in chosen.marked], chosen.asides) == (["2"], ())


def test_the_same_answers_in_two_forms_are_one(register: Register, folder: Path) -> None:
    (folder / "a.json").write_bytes(sheet("c-01"))
    (folder / "b.json").write_bytes(sheet("c-01", answers={"2": " b", "1": "2", "3": ""}))
    outcome = run(register, folder)
    assert [m.mark for m in outcome.marked] == ["2"]
    assert (outcome.passed_over, outcome.asides) == (1, ())


def test_a_false_claim_to_a_paper_cannot_shut_its_owner_out(register: Register, folder: Path) -> None:
    (folder / "a.json").write_bytes(sheet("c-02", paper=CODES["c-01"]))
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    assert [m.candidate for m in run(register, folder).marked] == ["c-01"]


def test_two_rows_for_one_candidate_in_a_table_are_set_aside(register: Register, folder: Path) -> None:
    rows = [f"{CODES['c-01']},c-01,2,b", f"{CODES['c-02']},c-02,3,b", f"{CODES['c-01']},c-01,9,b"]
    (folder / "class.csv").write_text("\n".join(["paper,candidate,1,2", *rows]), "utf-8")
    outcome = run(register, folder)
    assert [(a.line, a.code) for a in outcome.asides] == [(2, "two-answers"), (4, "two-answers")]
    assert {a.mend for a in outcome.asides} == {"find out which one counts, and take the other out of the file"}
    assert [m.candidate for m in outcome.marked] == ["c-02"]


def test_answers_to_numbers_not_on_the_paper_are_flagged_and_the_rest_is_marked(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", answers={"1": "2", "2": "b", "9": "c"}))
    outcome = run(register, folder)
    assert ([m.mark for m in outcome.marked], codes(outcome)) == (["2"], [("c-01.json", "unasked-number")])
    assert not outcome.needs_a_person


@given(order=st.permutations(range(6)))
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_order_of_the_files_does_not_matter(tmp_path_factory: pytest.TempPathFactory, order: list[int]) -> None:
    home = tmp_path_factory.mktemp("order")
    files = {
        "c-01.json": sheet("c-01"), "c-01-again.json": sheet("c-01", "7"), "c-02.json": sheet("c-02"), "x.json": sheet("c-02"),
        "c-03.json": sheet("c-03", "8"), "bad.json": b"{",
    }  # fmt: skip
    for name, data in files.items():
        (home / name).write_bytes(data)
    with Register(home / "register.sqlite") as register:
        hold(register, "spring-1", [key_of(c) for c in CANDIDATES])
        outcome = mark_pile(register, "spring-1", [home / list(files)[place] for place in order], WHEN)
        marks = {code: [m.mark for m in marking.marks] for code, marking in register.marks("spring-1").items()}
    assert codes(outcome) == [
        ("bad.json", "not-json"), ("c-01-again.json", "two-answers"), ("c-01.json", "two-answers"),
    ]  # fmt: skip
    assert marks == {CODES["c-02"]: ["1", "1"], CODES["c-03"]: ["0", "1"]}


def packed(*files: tuple[str, bytes], change: Callable[[zipfile.ZipFile], None] = lambda _: None) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files:
            archive.writestr(name, data)
        change(archive)
    return stream.getvalue()


def test_an_archive_is_opened_with_care(register: Register, folder: Path, tmp_path: Path) -> None:
    inner = packed(("c-05.json", sheet("c-05")))
    data = packed(
        ("../../c-01.json", sheet("c-01")), ("deep/c-02.json", sheet("c-02")), ("__MACOSX/._c-02.json", b"x"),
        ("inner.zip", inner), ("zeros.json", b" " * (1 << 26)), ("bad.json", b"{"),
    )  # fmt: skip
    (folder / "all.zip").write_bytes(data)
    outcome = run(register, folder)
    assert {m.candidate for m in outcome.marked} == {"c-01", "c-02"}
    assert codes(outcome) == [("bad.json", "not-json"), ("inner.zip", "archive-in-archive"), ("zeros.json", "cannot-be-read")]
    assert sorted(p.name for p in (tmp_path / "sittings" / "spring-1" / "answers").iterdir()) == ["c-01.json", "c-02.json"]
    assert not (tmp_path / "c-01.json").exists()


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04broken", packed(("a.json", b"{}"))[:-30]], ids=["empty", "broken", "cut"])
def test_a_broken_archive_is_set_aside(register: Register, folder: Path, data: bytes) -> None:
    (folder / "a.zip").write_bytes(data)
    assert codes(run(register, folder)) == [("a.zip", "broken-archive")]


def test_an_archive_that_lies_about_its_sizes_is_set_aside(register: Register, folder: Path) -> None:
    data = bytearray(packed(("c-01.json", sheet("c-01"))))
    place = data.rindex(b"PK\x01\x02")
    data[place + 16] ^= 0xFF  # the checksum
    (folder / "a.zip").write_bytes(bytes(data))
    assert codes(run(register, folder)) == [("c-01.json", "cannot-be-read")]


def test_a_locked_archive_is_told_so(register: Register, folder: Path) -> None:
    data = bytearray(packed(("c-01.json", sheet("c-01"))))
    data[6] |= 1
    data[data.rindex(b"PK\x01\x02") + 8] |= 1
    (folder / "a.zip").write_bytes(bytes(data))
    assert codes(run(register, folder)) == [("c-01.json", "locked-archive")]


def test_links_and_pipes_are_set_aside(register: Register, folder: Path, tmp_path: Path) -> None:
    (tmp_path / "secret.json").write_bytes(sheet("c-01"))
    (folder / "link.json").symlink_to(tmp_path / "secret.json")
    (folder / "loop").symlink_to(folder)
    os.mkfifo(folder / "pipe.json")
    (folder / ".hidden.json").write_bytes(b"x")
    outcome = run(register, folder, Path("/dev/zero"))
    assert sorted(codes(outcome)) == [
        ("link.json", "link"), ("loop", "link"), ("pipe.json", "cannot-be-read"), ("zero", "cannot-be-read"),
    ]  # fmt: skip


def test_folders_are_followed_however_deep(register: Register, folder: Path) -> None:
    deep = folder.joinpath(*["d"] * 400)
    deep.mkdir(parents=True)
    (deep / "c-01.json").write_bytes(sheet("c-01"))
    assert [m.candidate for m in run(register, folder).marked] == ["c-01"]


def test_names_that_are_no_plain_names_are_copied_under_another(register: Register, folder: Path, tmp_path: Path) -> None:
    (folder / "con.json").write_bytes(sheet("c-01"))
    (folder / "what I wrote (final).json").write_bytes(sheet("c-02"))
    assert len(run(register, folder).marked) == 2
    names = {p.name for p in (tmp_path / "sittings" / "spring-1" / "answers").iterdir()}
    assert names == {f"{digest(sheet(c))[:16]}.txt" for c in ("c-01", "c-02")}


def test_two_files_of_one_name_are_both_copied(register: Register, folder: Path, tmp_path: Path) -> None:
    for place, candidate in (("x", "c-01"), ("y", "c-02")):
        (folder / place).mkdir()
        (folder / place / "answers.json").write_bytes(sheet(candidate))
    run(register, folder)
    names = sorted(p.name for p in (tmp_path / "sittings" / "spring-1" / "answers").iterdir())
    assert names == sorted(["answers.json", f"{digest(sheet('c-02'))[:8]}-answers.json"])


def test_names_that_a_terminal_would_choke_on_are_shown_without_harm(register: Register, folder: Path) -> None:
    Path(os.fsdecode(bytes(folder) + b"/a\xff\x1b[2J.json")).write_bytes(sheet("c-01"))
    (folder / "all.zip").write_bytes(packed(("b\nc.json", b"{")))
    lines: list[str] = []
    outcome = mark_pile(register, "spring-1", [folder], WHEN, lines.append)
    assert ([m.candidate for m in outcome.marked], codes(outcome)) == (["c-01"], [("b?c.json", "not-json")])
    assert all(line.isprintable() for line in lines)
    assert register.answer_files("spring-1")[0][0].endswith("/a??[2J.json")


def test_an_unknown_sitting_is_the_callers_mistake(register: Register, folder: Path) -> None:
    with pytest.raises(UseError, match="no sitting 'summer'"):
        mark_pile(register, "summer", [folder], WHEN)


def test_a_name_that_leads_nowhere_and_an_empty_folder_are_the_callers_mistake(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    with pytest.raises(UseError) as refused:
        run(register, folder, folder / "x.json", folder / "y")
    assert str(refused.value) == f"{folder}/x.json, {folder}/y: no such file or folder; check the name"
    (folder / "empty").mkdir()
    with pytest.raises(UseError, match=r"empty: no file there; name where the answer files are"):
        run(register, folder / "empty")
    assert (register.marks("spring-1"), register.asides("spring-1"), register.events()) == ({}, (), ())


def test_what_was_told_is_kept_whatever_happens_next(register: Register, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mark_module, "TOGETHER", 2)
    for candidate in CANDIDATES:
        (folder / f"{candidate}.json").write_bytes(sheet(candidate))
    told: list[str] = []

    def until_the_third(line: str) -> None:
        told.append(line)
        if len(told) == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        mark_pile(register, "spring-1", [folder], WHEN, until_the_third)
    assert {m.candidate for m in register.marks("spring-1").values()} >= {"c-01", "c-02", "c-03"}
    outcome = run(register, folder)
    assert (len(outcome.marked) + outcome.passed_over, outcome.asides) == (5, ())
    assert [len(register.markings(code)) for code in CODES.values()] == [1] * 5


LATER = "2031-05-13T09:30:00Z"


def again(register: Register, *paths: Path, candidate: str = "c-01", reason: str = "the first was a draft") -> str:
    made = mark_again(register, "spring-1", candidate, paths, reason, LATER, "T. Examiner")
    assert isinstance(made, Marks)
    return made.mark


def test_other_answers_count_under_a_reason_and_both_markings_stay(register: Register, folder: Path, tmp_path: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "9"))
    run(register, folder)
    (folder / "second.csv").write_text(f"paper,candidate,1,2\n{CODES['c-01']},c-01,2,b\n{CODES['c-02']},c-02,3,b\n", "utf-8")
    assert again(register, folder / "second.csv") == "2"
    first, second = register.markings(CODES["c-01"])
    assert (first.reason, second.reason, second.person, second.when) == ("", "the first was a draft", "T. Examiner", LATER)
    assert register.marks("spring-1") == {CODES["c-01"]: second}  # c-02's row waits for the pile
    assert register.answer_bytes("spring-1", second.file) == (folder / "second.csv").read_bytes()
    assert (tmp_path / "sittings" / "spring-1" / "answers" / "second.csv").is_file()
    event = register.events()[-1]
    assert (event.who, event.what) == (
        "T. Examiner",
        f"marked paper {CODES['c-01']} of c-01 again, from {folder}/second.csv: the first was a draft",
    )


def test_after_marking_again_neither_file_needs_anybody(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "9"))
    run(register, folder)
    (folder / "second.json").write_bytes(sheet("c-01"))
    assert codes(run(register, folder)) == [("second.json", "marked-already")]
    again(register, folder / "second.json")
    outcome = run(register, folder)
    assert (outcome.marked, outcome.passed_over, outcome.asides) == ((), 2, ())
    assert again(register, folder / "c-01.json", reason="it was no draft") == "1"
    assert len(register.markings(CODES["c-01"])) == 3


@pytest.mark.parametrize(
    ("candidate", "files", "reason", "said"),
    [
        ("c-99", ["second.json"], "why", "no candidate 'c-99' in sitting 'spring-1'"),
        ("c-01", ["second.json"], " ", "a paper is marked again for a reason; say it with --reason"),
        ("c-02", ["second.json"], "why", "c-02 is not marked yet; mark the file without --again"),
        ("c-01", ["none.json"], "why", "none.json: no such file or folder"),
        ("c-01", ["bad.json"], "why", r"no answers of c-01 to paper \w+ there; name .*\n  .*bad.json:1: not JSON"),
        ("c-01", ["swapped.json"], "why", "is not the paper of candidate"),
        ("c-01", ["second.json", "c-01.json"], "why", "c-01 gives different answers in .*c-01.json:1, .*second.json:1"),
    ],
)  # fmt: skip
def test_marking_again_takes_one_set_of_answers_of_somebody_marked(
    register: Register, folder: Path, candidate: str, files: list[str], reason: str, said: str
) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "9"))
    run(register, folder)
    (folder / "second.json").write_bytes(sheet("c-01"))
    (folder / "bad.json").write_bytes(b"{")
    (folder / "swapped.json").write_bytes(sheet("c-02", paper=CODES["c-01"]))
    events = register.events()
    with pytest.raises(UseError, match=said):
        again(register, *(folder / name for name in files), candidate=candidate, reason=reason)
    assert (len(register.markings(CODES["c-01"])), register.events()) == (1, events)


@given(data=st.lists(st.one_of(st.binary(max_size=80), st.just(sheet("c-01"))), min_size=1, max_size=4))
@settings(max_examples=15, deadline=None)
def test_any_bytes_lead_to_marks_or_a_reason(tmp_path_factory: pytest.TempPathFactory, data: list[bytes]) -> None:
    home = tmp_path_factory.mktemp("bytes")
    for place, bytes_ in enumerate(data):
        (home / f"{place}.{('json', 'csv', 'yaml', 'zip')[place % 4]}").write_bytes(bytes_)
    with Register(home / "r.sqlite") as register:
        hold(register, "spring-1", [key_of("c-01")])
        outcome = mark_pile(register, "spring-1", sorted(home.glob("[0-9].*")), WHEN)
    assert outcome.files == len(data)
    assert {a.file for a in outcome.asides} or outcome.marked or all(b"paper" in d for d in data)


def test_the_codes_of_this_file_are_codes() -> None:
    assert all(is_code(code) for code in CODES.values())
