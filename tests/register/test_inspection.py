"""Whether a register is whole: each kind of damage, done by force, is named."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.register.decisions import decide_sitting
from grader.register.inspection import marked_again, violations
from grader.register.pile import mark_pile
from grader.register.records import Certificate
from grader.register.remarking import award_mark, correct
from grader.register.store import Register
from tests.register.bench_sitting import CODES, LATER, WHEN, assess, held, right, write


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A register in which everything has happened that can."""
    folder = tmp_path / "in"
    folder.mkdir()
    with held(tmp_path / "register.sqlite") as register:
        write(folder, "c-01", right("c-01"))
        write(folder, "c-02", right("c-02", q1="two and a bit"))
        (folder / "torn.json").write_text("{")
        assess(folder, "c-01")
        mark_pile(register, "spring", [folder], WHEN)
        decide_sitting(register, "spring", "T. Examiner", "2031-05-14")
        register.keep_certificate(Certificate("7M2KQ8D4XT", "spring", "c-01", b"{}", 94567, "2031-05-14T08:00:00Z"))
        correct(register, "spring", ({"item": "power-case", "withdraw": "not counted"},), "no good", LATER, "T. Examiner")
        award_mark(register, "spring", "c-02", "1", "1", "it says three", LATER, "T. Examiner")
        decide_sitting(register, "spring", "T. Examiner", "2031-05-21")
    return tmp_path / "register.sqlite"


def force(path: Path, *statements: str, table: str = "") -> None:
    """Do to the register what only another program would; the triggers are put back."""
    database = sqlite3.connect(path)
    triggers = [
        sql for (sql,) in database.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", (table,))
    ]
    for verb in ("UPDATE", "DELETE") if table else ():
        database.execute(f"DROP TRIGGER {table}_{verb}")
    for statement in (*statements, *triggers):
        database.execute(statement)
    database.commit()
    database.close()


def test_a_register_that_only_commands_have_written_is_whole(path: Path) -> None:
    with Register(path) as register:
        assert [*violations(register)] == []
        assert [*marked_again(register, "T. Examiner", LATER)] == []
        assert register.openings("spring")[-1].purpose == "to check the register"


@pytest.mark.parametrize(
    ("table", "statement", "said"),
    [
        ("answer_files", "UPDATE answer_files SET data = x'7b7d' WHERE name LIKE '%c-01.json'", "c-01.json is not what came in"),
        ("papers", "UPDATE papers SET key = x'00' WHERE candidate = 'c-01'", f"the key of paper {CODES['c-01']} is not the one"),
        ("papers", "UPDATE papers SET key = x'' WHERE candidate = 'c-01'", f"the key of paper {CODES['c-01']} is not the one"),
        ("stations", "UPDATE stations SET data = x'7b7d'", "station rod-height is not the one that was sealed"),
        ("corrections", "UPDATE corrections SET data = '[]'", "correction 1 is not what was kept"),
        ("events", "DELETE FROM events WHERE id = 1", "table events has"),
        ("asides", "DELETE FROM asides", None),  # nothing is left that could tell; the log and the backups do
        ("marks", "UPDATE marks SET mark = '7' WHERE marking = 1 AND place = 0", "number 1 has '7' of '1'"),
        ("marks", "UPDATE marks SET mark = 'x' WHERE marking = 1 AND place = 0", "number 1 has 'x' of '1'"),
        ("marks", "UPDATE marks SET verdict = 'splendid' WHERE marking = 1 AND place = 0", "verdict 'splendid'"),
        ("marks", "DELETE FROM marks WHERE marking = 1 AND place = 2", "marking 1 has 4 marks, the last in place 4"),
        ("marks", "DELETE FROM marks WHERE marking = 1", "marking 1 of paper"),
        ("markings", "UPDATE markings SET reason = '' WHERE cause = 'award'", "comes after another and has no reason"),
        ("markings", "UPDATE markings SET cause = 'award' WHERE id = 1", "is the first and is for a award"),
        ("markings", "DELETE FROM markings WHERE id = 1", "refers to a row of markings that is not there"),
        ("marks", "UPDATE marks SET mark = '0' WHERE marking = 1 AND number = '4'", "marking 1 has 4"),
        ("decisions", "UPDATE decisions SET decision = 'fail' WHERE candidate = 'c-01'", "7M2KQ8D4XT of c-01 rests on no pass"),
        ("decisions", "UPDATE decisions SET decision = 'perhaps' WHERE id = 4", "on c-04 is 'perhaps'"),
        ("certificates", "UPDATE certificates SET data = x''", "certificate 7M2KQ8D4XT is empty"),
        ("", "DROP TRIGGER marks_UPDATE", "table marks is not held against UPDATE"),
    ],
)  # fmt: skip
def test_what_another_program_did_is_found_out(path: Path, table: str, statement: str, said: str | None) -> None:
    force(path, statement, table=table)
    with Register(path) as register:
        found = [*violations(register)]
    if said is None:
        assert found == []
    else:
        assert any(said in line for line in found), found


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE marks SET mark = '1', verdict = 'right' WHERE marking = 4 AND number = '2'", ""),
        ("UPDATE marks SET mark = '0', verdict = 'wrong' WHERE number = '2'", "number 2 has 0 (wrong), its key gives 1 (right)"),
        ("UPDATE marks SET answer = 'b c a' WHERE number = '4'", "its answers are not those of the file"),
    ],
)
def test_marks_that_no_key_gives_are_found_out_by_marking_again(path: Path, statement: str, said: str) -> None:
    force(path, statement, table="marks")
    with Register(path) as register:
        found = [*marked_again(register, "T. Examiner", LATER)]
    assert any(said in line for line in found) if said else not found


def test_a_torn_file_is_found_out(path: Path) -> None:
    data = bytearray(path.read_bytes())
    for page in range(len(data) // 8192 * 4096, len(data), 4096):  # the first half stays, so that the file still opens
        data[page : page + 64] = b"\x55" * 64
    path.write_bytes(data)
    try:
        with Register(path) as register:
            found = [*violations(register)]
    except UseError as error:  # found out at the door
        found = [str(error)]
    assert any("damaged" in line for line in found)


# A copy.


def test_a_copy_made_while_another_writes_is_a_whole_register(path: Path, tmp_path: Path) -> None:
    with Register(path) as register, Register(path) as other, other.act():
        other.note(other.events()[0])
        register.backup(tmp_path / "copy.sqlite")
        before = len(register.events())
    with Register(tmp_path / "copy.sqlite", existing=True) as copy:
        assert [*violations(copy)] == []
        assert len(copy.events()) == before
        assert copy.every_marking("spring") == Register(path).every_marking("spring")
    assert (tmp_path / "copy.sqlite").stat().st_mode & 0o777 == 0o600
    assert not list(tmp_path.glob(".*.part*"))


def test_a_copy_never_writes_over_a_file(path: Path, tmp_path: Path) -> None:
    (tmp_path / "copy.sqlite").write_text("mine")
    with Register(path) as register, pytest.raises(UseError, match="is there already; name a new file"):
        register.backup(tmp_path / "copy.sqlite")
    assert (tmp_path / "copy.sqlite").read_text() == "mine"


def test_a_copy_that_cannot_be_written_leaves_nothing(path: Path, tmp_path: Path) -> None:
    with Register(path) as register, pytest.raises(UseError, match="the register cannot be opened"):
        register.backup(tmp_path / "missing" / "copy.sqlite")
