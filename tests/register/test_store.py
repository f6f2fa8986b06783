from __future__ import annotations

import sqlite3
import subprocess
import sys
import tempfile
import textwrap
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.marking.mark import Mark
from grader.register.records import (
    AnswerFile,
    Aside,
    Certificate,
    Decision,
    Event,
    Marking,
    Opening,
    Paper,
    Revocation,
    Sitting,
)
from grader.register.schema import APPLICATION, VERSION
from grader.register.store import Register

WHEN = "2031-05-12T09:30:00Z"
SITTING = Sitting(
    name="spring",
    blueprint={"id": "module", "pass": {"cut": "60 %"}},
    bank="b" * 64,
    secret=bytes(range(32)),
    held="2031-05-12",
    course="Carburetor service",
    school={"name": "Weirgate Workshop School", "id": "https://weirgate.example/"},
)
KEYS = {"AAAAAAAAAA": b"the key of c-01", "BBBBBBBBBB": b"the key of c-02"}
PAPERS = (
    Paper("AAAAAAAAAA", "spring", "c-01", "Ada Weir", digest(KEYS["AAAAAAAAAA"]), "red", "a@weirgate.example", "25 %", "large"),
    Paper("BBBBBBBBBB", "spring", "c-02", "Ben Sluice", digest(KEYS["BBBBBBBBBB"])),
)
MARK = Mark("1", "main-venturi", "main.1", "main", "3 kPa", "3000 Pa", "1.5", "2", "part", "half of it")
FILE = AnswerFile("spring", "a.json", b'{"paper": "AAAAAAAAAA"}', WHEN)
MARKING = Marking("spring", "AAAAAAAAAA", "c-01", FILE.digest, WHEN, (MARK, replace(MARK, number="2")))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "register.sqlite"


@pytest.fixture
def register(path: Path) -> Iterator[Register]:
    with Register(path) as opened:
        opened.hold_sitting(SITTING, [(paper, KEYS[paper.code]) for paper in PAPERS])
        yield opened


def test_a_sitting_and_its_papers_are_read_back_as_they_were_kept(register: Register) -> None:
    assert register.sitting("spring") == SITTING
    assert register.sittings() == ("spring",)
    assert register.papers("spring") == PAPERS
    assert register.paper("BBBBBBBBBB") == PAPERS[1]
    assert register.paper_of("spring", "c-01") == PAPERS[0]
    assert register.paper("CCCCCCCCCC") is None
    assert register.paper_of("spring", "c-03") is None
    assert register.papers("autumn") == ()


def test_what_was_kept_is_there_when_the_file_is_opened_again(register: Register, path: Path) -> None:
    register.close()
    with Register(path, existing=True) as again:
        assert again.papers("spring") == PAPERS


def test_a_sitting_is_held_once(register: Register) -> None:
    with pytest.raises(UseError, match=r"sitting 'spring' is in .* already; give the new one another name"):
        register.hold_sitting(replace(SITTING, held="2031-06-01"))


def test_an_unknown_sitting_names_those_there_are(register: Register) -> None:
    with pytest.raises(UseError, match=r"no sitting 'sprig' in .*; there is: spring"):
        register.sitting("sprig")


def test_a_candidate_has_one_paper_a_sitting(register: Register) -> None:
    with pytest.raises(UseError, match=r"candidate 'c-01' has a paper in sitting 'spring' already; keep one of the two"):
        register.seal_papers([(replace(PAPERS[0], code="CCCCCCCCCC"), KEYS["AAAAAAAAAA"])])
    assert register.papers("spring") == PAPERS


def test_a_candidate_may_sit_again_in_another_sitting(register: Register) -> None:
    register.hold_sitting(replace(SITTING, name="autumn"))
    register.seal_papers([(replace(PAPERS[0], code="CCCCCCCCCC", sitting="autumn"), KEYS["AAAAAAAAAA"])])
    assert register.paper_of("autumn", "c-01") is not None


def test_a_key_that_is_not_the_papers_is_not_sealed(register: Register) -> None:
    with pytest.raises(UseError, match=r"paper CCCCCCCCCC: the digest of its key is .*, the paper says "):
        register.seal_papers([(replace(PAPERS[0], code="CCCCCCCCCC", candidate="c-03"), b"another key")])


def test_of_papers_sealed_together_none_stays_where_one_is_refused(register: Register) -> None:
    third = replace(PAPERS[0], code="CCCCCCCCCC", candidate="c-03")
    with pytest.raises(UseError):
        register.seal_papers([(third, KEYS["AAAAAAAAAA"]), (replace(third, code="DDDDDDDDDD"), KEYS["AAAAAAAAAA"])])
    assert register.paper("CCCCCCCCCC") is None


def test_keys_leave_the_register_only_with_a_line_in_its_log(register: Register) -> None:
    assert register.open_keys("spring", "T. Examiner", WHEN, "to mark") == KEYS
    assert register.open_key("AAAAAAAAAA", "A. Assessor", WHEN) == KEYS["AAAAAAAAAA"]
    assert register.open_secret("spring", "T. Examiner", WHEN, "to add late candidates") == SITTING.secret
    assert register.events() == (
        Event("T. Examiner", WHEN, "opened the keys of sitting spring to mark"),
        Event("A. Assessor", WHEN, "opened the key of paper AAAAAAAAAA"),
        Event("T. Examiner", WHEN, "opened the secret of sitting spring to add late candidates"),
    )
    assert register.openings("spring") == (
        Opening("spring", "", "T. Examiner", WHEN, "to mark"),
        Opening("spring", "AAAAAAAAAA", "A. Assessor", WHEN, ""),
        Opening("spring", "", "T. Examiner", WHEN, "to add late candidates"),
    )


def test_the_files_a_sitting_was_drawn_from_are_kept_with_it(register: Register) -> None:
    files = {"questions/exam/pump.yaml": "0" * 64, "lessons/figures/pump.svg": "1" * 64}
    register.hold_sitting(replace(SITTING, name="autumn", files=files))
    assert register.sitting("autumn").files == files


def test_an_unknown_papers_key_is_refused_without_a_line(register: Register) -> None:
    with pytest.raises(UseError, match="no paper 'CCCCCCCCCC'"):
        register.open_key("CCCCCCCCCC", "T. Examiner", WHEN)
    assert register.events() == ()


def test_a_key_changed_by_force_is_found_out(register: Register, path: Path) -> None:
    register.close()
    _force(path, "DROP TRIGGER papers_UPDATE", "UPDATE papers SET key = x'00' WHERE code = 'AAAAAAAAAA'")
    with Register(path) as again, pytest.raises(UseError, match="paper AAAAAAAAAA is not the one that was sealed"):
        again.open_keys("spring", "T. Examiner", WHEN)


def _force(path: Path, *statements: str) -> None:
    database = sqlite3.connect(path)
    try:
        for statement in statements:
            database.execute(statement)
        database.commit()
    finally:
        database.close()


def test_an_answer_file_is_kept_with_its_marks_and_what_was_set_aside(register: Register) -> None:
    aside = Aside("spring", "a.json", 3, "unknown-number", "there is no question 99", WHEN)
    register.keep_answer_file(FILE, [MARKING], [aside])
    assert register.seen("spring") == {FILE.digest}
    assert register.answer_files("spring") == (("a.json", FILE.digest, WHEN),)
    assert register.answer_bytes("spring", FILE.digest) == FILE.data
    assert register.marks("spring") == {"AAAAAAAAAA": MARKING}
    assert register.asides("spring") == (aside,)


def test_an_unknown_answer_file_is_refused(register: Register) -> None:
    with pytest.raises(UseError, match="no answer file"):
        register.answer_bytes("spring", "0" * 64)


def test_the_same_bytes_under_another_name_are_one_answer_file(register: Register) -> None:
    register.keep_answer_file(FILE)
    register.keep_answer_file(replace(FILE, name="copy.json"))
    assert [name for name, _, _ in register.answer_files("spring")] == ["a.json"]


def test_a_later_marking_counts_and_the_earlier_one_stays(register: Register) -> None:
    register.keep_answer_file(FILE, [MARKING])
    later = replace(MARKING, marks=(replace(MARK, mark="2", verdict="right"),), reason="question 1: the key was corrected")
    register.keep_marking(later)
    assert register.marks("spring") == {"AAAAAAAAAA": later}
    assert register.markings("AAAAAAAAAA") == (MARKING, later)


def test_marking_again_needs_a_reason(register: Register) -> None:
    register.keep_answer_file(FILE, [MARKING])
    with pytest.raises(UseError, match="paper AAAAAAAAAA is marked already; give the reason for marking it again"):
        register.keep_marking(replace(MARKING, reason="  "))


def test_a_marking_without_its_answer_file_is_refused_and_nothing_kept(register: Register) -> None:
    with pytest.raises(UseError, match="this does not fit what the register holds"), register.act():  # noqa: PT012
        register.note(Event("x", WHEN, "before"))
        register.keep_marking(MARKING)
    assert register.marks("spring") == {}
    assert register.events() == ()


def test_a_number_is_marked_once_a_marking(register: Register) -> None:
    with pytest.raises(UseError, match="this does not fit what the register holds"):
        register.keep_answer_file(FILE, [replace(MARKING, marks=(MARK, MARK))])
    assert register.seen("spring") == frozenset()


def test_the_newest_decision_counts_and_all_are_kept(register: Register) -> None:
    first = Decision(
        "spring", "c-02", "fail", {"cut": "3/5"}, {"mark": "3", "circuits": {"main": {"mark": "1"}}}, "T. Examiner", "2031-05-14"
    )
    second = replace(first, decision="pass", date="2031-06-01")
    other = replace(first, candidate="c-01", decision="not examined", evidence={})
    for decision in (first, other, second):
        register.decide(decision)
    assert register.decisions("spring") == {"c-01": other, "c-02": second}
    assert list(register.decisions("spring")) == ["c-01", "c-02"]
    assert register.decision_history("spring", "c-02") == (first, second)


def test_nobody_outside_the_sitting_is_decided_on(register: Register) -> None:
    with pytest.raises(UseError, match="this does not fit what the register holds"):
        register.decide(Decision("spring", "c-99", "pass", {}, {}, "T. Examiner", "2031-05-14"))


CERTIFICATE = Certificate("7M2KQ8D4XT", "spring", "c-01", b"{}", 94567, "2031-05-14T08:00:00Z")


def test_a_certificate_is_kept_and_found(register: Register) -> None:
    register.keep_certificate(CERTIFICATE)
    assert register.certificate("7M2KQ8D4XT") == CERTIFICATE
    assert register.certificates() == register.certificates("spring") == (CERTIFICATE,)
    assert register.certificates("autumn") == ()
    assert register.certificate_of("spring", "c-01") == CERTIFICATE
    assert register.certificate_of("spring", "c-02") is None


@pytest.mark.parametrize("change", [{"id": "ANOTHER"}, {"index": 5}])
def test_neither_an_id_nor_a_place_is_given_twice(register: Register, change: dict[str, object]) -> None:
    register.keep_certificate(CERTIFICATE)
    with pytest.raises(UseError, match="is taken already"):
        register.keep_certificate(replace(CERTIFICATE, candidate="c-02", **change))  # type: ignore[arg-type]


def test_a_certificate_is_revoked_once_and_with_a_reason(register: Register) -> None:
    register.keep_certificate(CERTIFICATE)
    with pytest.raises(UseError, match="cannot be revoked without a reason; say why"):
        register.revoke(CERTIFICATE.id, Revocation(" ", "T. Examiner", "2031-06-01"))
    why = Revocation("issued to the wrong person", "T. Examiner", "2031-06-01")
    register.revoke(CERTIFICATE.id, why)
    assert register.certificate(CERTIFICATE.id).revoked == why
    assert register.certificate_of("spring", "c-01") is None
    with pytest.raises(UseError, match=r"was revoked on 2031-06-01 by T\. Examiner: issued to the wrong person"):
        register.revoke(CERTIFICATE.id, why)


def test_an_unknown_certificate_is_refused(register: Register) -> None:
    with pytest.raises(UseError, match="no certificate 'X'"):
        register.revoke("X", Revocation("why", "who", "2031-06-01"))


@pytest.mark.parametrize(
    "table",
    [
        "sittings",
        "papers",
        "answer_files",
        "markings",
        "marks",
        "asides",
        "settled",
        "decisions",
        "certificates",
        "revocations",
        "events",
    ],
)
def test_nothing_can_be_changed_or_taken_out_even_by_another_program(register: Register, path: Path, table: str) -> None:
    register.keep_answer_file(FILE, [MARKING], [Aside("spring", "a.json", 3, "code", "reason", WHEN)])
    register.decide(Decision("spring", "c-01", "pass", {}, {}, "T. Examiner", "2031-05-14"))
    register.keep_certificate(CERTIFICATE)
    register.revoke(CERTIFICATE.id, Revocation("why", "who", "2031-06-01"))
    register.note(Event("who", WHEN, "what"))
    register.settle(1, "the file is gone", WHEN)
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET {_columns(path, table)} = 'x'"):  # noqa: S608
        with pytest.raises(sqlite3.IntegrityError, match="the register only grows"):
            _force(path, statement)


def _columns(path: Path, table: str) -> str:
    database = sqlite3.connect(path)
    try:
        return str(database.execute(f'SELECT name FROM pragma_table_info("{table}") WHERE type = "TEXT"').fetchone()[0])  # noqa: S608
    finally:
        database.close()


def test_several_acts_are_kept_together_or_not_at_all(register: Register) -> None:
    with pytest.raises(RuntimeError), register.act():  # noqa: PT012
        register.note(Event("who", WHEN, "one"))
        register.keep_answer_file(FILE, [MARKING])
        raise RuntimeError
    assert register.events() == ()
    assert register.seen("spring") == frozenset()
    with register.act():
        register.note(Event("who", WHEN, "one"))
        register.note(Event("who", WHEN, "two"))
    assert len(register.events()) == 2


def test_an_act_that_is_refused_within_another_is_undone_alone(register: Register) -> None:
    with register.act():
        register.note(Event("who", WHEN, "one"))
        with pytest.raises(UseError):
            register.keep_answer_file(FILE, [replace(MARKING, marks=(MARK, MARK))])
        register.note(Event("who", WHEN, "two"))
    assert [event.what for event in register.events()] == ["one", "two"]
    assert register.seen("spring") == frozenset()


KILLED = """
    import os, sys
    from pathlib import Path
    from grader.marking.mark import Mark
    from grader.register.records import AnswerFile, Event, Marking
    from grader.register.store import Register
    register = Register(Path(sys.argv[1]))
    with register.act():
        file = AnswerFile("spring", "a.json", b"x" * 2_000_000, "now")
        marks = tuple(Mark(str(n), "i", "o", "c", "a", "r", "1", "1", "right") for n in range(2000))
        register.keep_answer_file(file, [Marking("spring", "BBBBBBBBBB", "c-02", file.digest, "now", marks)])
        register.note(Event("who", "now", "what"))
        print("kept but not yet whole", flush=True)
        os.kill(os.getpid(), 9)
"""


def test_killed_in_the_middle_of_an_act_nothing_of_it_is_left(register: Register, path: Path) -> None:
    register.keep_answer_file(FILE, [MARKING])
    register.close()
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(KILLED), str(path)], capture_output=True, check=False)
    assert done.returncode == -9
    assert done.stdout == b"kept but not yet whole\n"
    with Register(path) as again:
        assert again.seen("spring") == {FILE.digest}
        assert again.marks("spring") == {"AAAAAAAAAA": MARKING}
        assert again.events() == ()
    database = sqlite3.connect(path)
    assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    database.close()


def test_two_writers_at_once_both_get_all_their_lines_in(path: Path) -> None:
    Register(path).close()

    def write(who: str) -> None:
        with Register(path) as mine:
            for number in range(40):
                mine.note(Event(who, WHEN, str(number)))

    writers = [threading.Thread(target=write, args=(who,)) for who in ("one", "two", "three")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with Register(path) as register:
        lines = register.events()
    for who in ("one", "two", "three"):
        assert [line.what for line in lines if line.who == who] == [str(number) for number in range(40)]


def test_two_that_make_the_register_at_once_make_one(path: Path) -> None:
    troubles: list[str] = []

    def make(who: str) -> None:
        try:
            with Register(path) as mine:
                mine.note(Event(who, WHEN, "made"))
        except UseError as error:
            troubles.append(str(error))

    makers = [threading.Thread(target=make, args=(str(number),)) for number in range(6)]
    for maker in makers:
        maker.start()
    for maker in makers:
        maker.join()
    assert troubles == []
    with Register(path) as register:
        assert sorted(event.who for event in register.events()) == ["0", "1", "2", "3", "4", "5"]


def test_a_reader_is_not_kept_waiting_by_a_writer(register: Register, path: Path) -> None:
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        assert register.papers("spring") == PAPERS
    finally:
        other.rollback()
        other.close()


def test_a_register_that_another_command_is_writing_says_so(register: Register, path: Path) -> None:
    with register.act():
        register.note(Event("who", WHEN, "what"))
        with pytest.raises(UseError) as refused:
            Register(path, patience=0.05)
    assert str(refused.value) == f"{path}: another command is writing; wait until it has ended, then try again"


def test_a_register_of_a_newer_version_is_refused(path: Path) -> None:
    Register(path).close()
    _force(path, f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(UseError) as refused:
        Register(path)
    assert (
        str(refused.value)
        == f"{path}: a register of version {VERSION + 1}, this program knows up to {VERSION}; use a newer program"
    )


@pytest.mark.parametrize(
    "data", [b"no database at all, but long enough to be looked at " * 40, b"\0" * 4096, b"SQLite format 3\0" + b"x" * 4080]
)
def test_a_file_that_is_no_register_is_refused_and_left_as_it_was(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    with pytest.raises(UseError) as refused:
        Register(path)
    assert str(refused.value) == f"{path}: not a register, nor any SQLite file; name the register"
    assert path.read_bytes() == data


def test_another_programs_database_is_refused_and_left_as_it_was(path: Path) -> None:
    _force(path, "CREATE TABLE things (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(UseError, match="an SQLite file of another program, not a register; name the register"):
        Register(path)
    assert path.read_bytes() == before


def test_a_missing_register_is_made_or_refused(path: Path) -> None:
    with pytest.raises(UseError) as refused:
        Register(path, existing=True)
    assert str(refused.value) == f"{path}: there is no register; hold a sitting first, or name the folder it lies in"
    assert not path.exists()
    Register(path).close()
    assert path.exists()


@pytest.mark.parametrize("name", [".", "missing/register.sqlite"])
def test_a_place_where_no_register_can_be_says_so(tmp_path: Path, name: str) -> None:
    with pytest.raises(UseError, match="the register cannot be opened; check the name, its permissions and its folder's"):
        Register(tmp_path / name)


def test_a_read_only_register_can_be_read_and_says_so_when_it_is_written(
    register: Register, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Root may write whatever the permissions say, so SQLite itself opens the file read-only here.
    register.close()
    connect = sqlite3.connect

    def read_only(file: Path, **more: Any) -> sqlite3.Connection:
        opened: sqlite3.Connection = connect(f"file:{file}?mode=ro", uri=True, **more)
        return opened

    monkeypatch.setattr(sqlite3, "connect", read_only)
    with Register(path) as again:
        assert again.papers("spring") == PAPERS
        with pytest.raises(UseError) as refused:
            again.note(Event("who", WHEN, "what"))
    assert str(refused.value) == f"{path}: the register is read-only; check its permissions and its folder's"


def test_the_register_is_for_its_owner_only(register: Register, path: Path) -> None:
    register.note(Event("who", WHEN, "what"))
    assert {oct(file.stat().st_mode & 0o777) for file in path.parent.glob("register.sqlite*")} == {"0o600"}


def test_neither_the_secret_nor_answers_are_shown_where_a_row_is_printed(register: Register) -> None:
    assert "secret" not in repr(register.sitting("spring"))
    assert "data" not in repr(FILE)


def test_what_was_set_aside_is_settled_once_and_stays_in_the_register(register: Register) -> None:
    first = Aside("spring", "a.json", 3, "not-json", "not JSON", WHEN, ("c-01", "c-02"))
    second = replace(first, line=4, candidates=())
    for aside in (first, second):
        register.set_aside(aside)
    assert register.unsettled("spring") == {1: first, 2: second}
    for _ in range(2):  # two commands may have seen that it is mended
        register.settle(1, "the file is gone", WHEN)
    assert register.unsettled("spring") == {2: second}
    assert register.asides("spring") == (first, second)


def test_the_file_says_whose_it_is_and_which_version(register: Register, path: Path) -> None:
    # SQLite file format: the user version at byte 60, the application id at byte 68, big-endian.
    register.close()
    header = path.read_bytes()[:100]
    assert int.from_bytes(header[60:64], "big") == VERSION
    assert int.from_bytes(header[68:72], "big") == APPLICATION


@settings(max_examples=30, deadline=None)
@given(st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=4), st.binary(max_size=40))
def test_any_text_and_any_bytes_are_read_back_as_they_were(texts: list[str], data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder, Register(Path(folder, "register.sqlite")) as register:
        register.hold_sitting(SITTING, [(PAPERS[0], KEYS["AAAAAAAAAA"])])
        file = AnswerFile("spring", texts[0], data, WHEN)
        marks = tuple(replace(MARK, number=str(number), answer=text, why=text) for number, text in enumerate(texts))
        marking = replace(MARKING, file=file.digest, marks=marks)
        register.keep_answer_file(file, [marking])
        assert register.marks("spring") == {"AAAAAAAAAA": marking}
        assert register.answer_bytes("spring", file.digest) == data
