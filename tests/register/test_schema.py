"""Registers of every earlier version, made by the SQL of their day (`versions/`), are brought up to date with all they hold."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.register.records import Aside, Opening
from grader.register.schema import APPLICATION, TABLES, VERSION, statements
from grader.register.store import Register

WHEN = "2031-05-12T09:30:00Z"
VERSIONS = Path(__file__).with_name("versions")
EARLIER = tuple(range(1, VERSION))


def made(path: Path, version: int) -> Path:
    """A register as that version's program left it."""
    database = sqlite3.connect(path)
    database.executescript((VERSIONS / f"{version}.sql").read_text("utf-8"))
    database.close()
    return path


def shape(path: Path) -> dict[str, object]:
    """Every table's columns, and every trigger and index."""
    database = sqlite3.connect(path)
    try:
        rows = database.execute("SELECT type, name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'").fetchall()
        tables = [name for kind, name in rows if kind == "table"]
        return {name: database.execute(f'PRAGMA table_info("{name}")').fetchall() for name in tables} | {
            "besides": sorted(row for row in rows if row[0] != "table")
        }
    finally:
        database.close()


def test_there_is_a_file_of_every_earlier_version() -> None:
    assert sorted(int(path.stem) for path in VERSIONS.glob("*.sql")) == list(EARLIER)


@pytest.mark.parametrize("version", EARLIER)
def test_an_earlier_register_becomes_what_a_new_one_is(tmp_path: Path, version: int) -> None:
    Register(made(tmp_path / "old.sqlite", version)).close()
    Register(tmp_path / "new.sqlite").close()
    assert shape(tmp_path / "old.sqlite") == shape(tmp_path / "new.sqlite")
    header = (tmp_path / "old.sqlite").read_bytes()[:100]
    assert int.from_bytes(header[60:64], "big") == VERSION
    assert int.from_bytes(header[68:72], "big") == APPLICATION


@pytest.mark.parametrize("version", EARLIER)
def test_nothing_that_an_earlier_register_holds_is_lost(tmp_path: Path, version: int) -> None:
    with Register(made(tmp_path / "register.sqlite", version)) as register:
        (paper,) = register.papers("spring")
        assert (paper.code, paper.candidate, paper.name, paper.email) == ("AAAAAAAAAA", "c-01", "Ada Weir", "a@weirgate.example")
        assert register.sitting("spring").secret == bytes(range(32))
        assert register.open_keys("spring", "T. Examiner", WHEN) == {"AAAAAAAAAA": b"the key of c-01"}
        (marking,) = register.markings("AAAAAAAAAA")
        assert (marking.cause, marking.id, marking.person, marking.marks[0].mark) == ("answers", 1, "T. Examiner", "1.5")
        named = () if version == 1 else ("c-01",)
        assert register.asides("spring") == (Aside("spring", "b.json", 3, "not-json", "not JSON", WHEN, named),)
        assert bool(register.unsettled("spring")) is (version == 1)
        assert register.decisions("spring")["c-01"].decision == "pass"
        revoked = register.certificate("7M2KQ8D4XT").revoked
        assert revoked is not None
        assert revoked.reason == "issued to the wrong person"
        assert register.stations("spring") == {}
        assert register.awards("spring") == ()
        assert register.corrections("spring") == ()
        assert register.assessments("spring") == ()


@pytest.mark.parametrize("version", [1, 2])
def test_who_opened_keys_is_learnt_from_the_log_of_before(tmp_path: Path, version: int) -> None:
    with Register(made(tmp_path / "register.sqlite", version)) as register:
        assert register.openings("spring") == (
            Opening("spring", "", "T. Examiner", WHEN, ""),
            Opening("spring", "AAAAAAAAAA", "A. Assessor", WHEN, ""),
        )


@pytest.mark.parametrize("version", EARLIER)
@pytest.mark.parametrize("table", TABLES)
def test_every_table_only_grows_afterwards(tmp_path: Path, version: int, table: str) -> None:
    path = made(tmp_path / "register.sqlite", version)
    Register(path).close()
    database = sqlite3.connect(path)
    found = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", (table,)).fetchall()
    assert sorted(name for (name,) in found) == [f"{table}_DELETE", f"{table}_UPDATE"]
    if database.execute(f"SELECT 1 FROM {table}").fetchone():  # noqa: S608 - the tables' names are ours
        with pytest.raises(sqlite3.IntegrityError, match="the register only grows"):
            database.execute(f"DELETE FROM {table}")  # noqa: S608
    database.close()


@pytest.mark.parametrize("version", EARLIER)
def test_an_upgrade_that_is_interrupted_leaves_the_earlier_register(tmp_path: Path, version: int) -> None:
    path = made(tmp_path / "register.sqlite", version)
    before = shape(path)
    database = sqlite3.connect(path)
    database.execute("CREATE TABLE erasures (something TEXT)")  # the last table but one of the last step cannot be made
    database.commit()
    database.close()
    with pytest.raises(UseError, match="the register cannot be used"):
        Register(path)
    after = shape(path)
    assert after.pop("erasures")
    assert after == before


def test_statements_go_from_any_version_to_any_later_one() -> None:
    for first in range(VERSION):
        assert list(statements(first)) == [*statements(first, first + 1), *statements(first + 1)]
