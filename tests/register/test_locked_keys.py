"""Keys of a sitting under a passphrase: nothing that opens them lies in the register's file."""

from __future__ import annotations

import os
import sqlite3
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.base.locks import Cost, Lock
from grader.items.course import Course, load_course
from grader.items.model import Candidate
from grader.register.records import Paper, Sitting
from grader.register.sitting import hold_sitting
from grader.register.store import Register
from tests.register.test_store import SITTING, WHEN

PASSPHRASE = "four old brass jets"  # noqa: S105 (of a register that the tests make)
KEYS = {"AAAAAAAAAA": b"the key of c-01: 19.4", "BBBBBBBBBB": b"the key of c-02: 20.1"}
PAPERS = tuple(Paper(code, "spring", f"c-0{n}", "Ada Weir", digest(key)) for n, (code, key) in enumerate(KEYS.items(), 1))


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A lock that costs nothing: what a real one costs is tested in tests/base/test_locks.py."""
    monkeypatch.setattr("grader.register.store.new_lock", lambda: Lock(os.urandom(16), Cost(n=2)))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A register with one sitting whose keys are locked."""
    file = tmp_path / "register.sqlite"
    with Register(file) as register:
        register.hold_sitting(SITTING, [(paper, KEYS[paper.code]) for paper in PAPERS], PASSPHRASE)
    return file


def given(word: str) -> Callable[[str], str]:
    return lambda _sitting: word


def test_the_passphrase_opens_keys_and_secret(path: Path) -> None:
    with Register(path, passphrase=given(PASSPHRASE)) as register:
        assert register.open_keys("spring", "T. Examiner", WHEN, "to mark") == KEYS
        assert register.open_key("AAAAAAAAAA", "T. Examiner", WHEN) == KEYS["AAAAAAAAAA"]
        assert register.open_secret("spring", "T. Examiner", WHEN) == SITTING.secret
        assert len(register.openings("spring")) == 3


def test_it_is_asked_for_once_a_sitting(path: Path) -> None:
    asked: list[str] = []

    def ask(sitting: str) -> str:
        asked.append(sitting)
        return PASSPHRASE

    with Register(path, passphrase=ask) as register:
        for _ in range(3):
            register.open_keys("spring", "T. Examiner", WHEN)
    assert asked == ["spring"]


@pytest.mark.parametrize("word", ["four old brass jet", "", "Four old brass jets", PASSPHRASE + " "])
def test_a_wrong_passphrase_opens_nothing_and_leaves_the_register_as_it_was(path: Path, word: str) -> None:
    with Register(path, passphrase=given(word)) as register:
        for open_them in (
            lambda: register.open_keys("spring", "T. Examiner", WHEN),
            lambda: register.open_key("AAAAAAAAAA", "T. Examiner", WHEN),
            lambda: register.open_secret("spring", "T. Examiner", WHEN),
        ):
            with pytest.raises(UseError) as refused:
                open_them()
            said = "this is not the passphrase that locks the keys of sitting 'spring'; nothing was opened"
            assert str(refused.value) == said
            if word:
                assert word not in "".join(traceback.format_exception(refused.value))
        assert register.events() == ()
        assert register.openings("spring") == ()


def test_without_a_passphrase_the_keys_stay_shut_and_the_rest_is_open(path: Path) -> None:
    with Register(path) as register:
        with pytest.raises(UseError, match="the keys of sitting 'spring' are locked; give their passphrase"):
            register.open_keys("spring", "T. Examiner", WHEN)
        assert register.sitting("spring") == replace(SITTING, secret=b"", locked=True)
        assert register.papers("spring") == PAPERS


def test_nothing_of_keys_secret_or_passphrase_lies_in_the_file(path: Path) -> None:
    data = b"".join(file.read_bytes() for file in path.parent.iterdir())
    assert b"register only grows" in data  # the search sees what does lie there
    for kept in (*KEYS.values(), b"the key of", SITTING.secret, SITTING.secret[:12], PASSPHRASE.encode()):
        assert kept not in data


def test_a_locked_key_opens_for_its_own_paper_and_sitting_alone(path: Path) -> None:
    # Whoever can write the file could put one candidate's locked key in another's place: it is bound to its paper.
    swap = (
        "UPDATE papers SET key = (SELECT key FROM papers WHERE code = 'BBBBBBBBBB'), key_digest = '{}' WHERE code = 'AAAAAAAAAA'"
    )
    database = sqlite3.connect(path)
    database.execute("DROP TRIGGER papers_UPDATE")
    database.execute(swap.format(digest(KEYS["BBBBBBBBBB"])))
    database.commit()
    database.close()
    with (
        Register(path, passphrase=given(PASSPHRASE)) as register,
        pytest.raises(UseError, match="the key of paper AAAAAAAAAA is not the one that was sealed; restore the register"),
    ):
        register.open_keys("spring", "T. Examiner", WHEN)


def test_each_sitting_has_its_own_lock_and_each_key_its_own_nonce(path: Path) -> None:
    with Register(path) as register:
        papers = [
            replace(paper, sitting="autumn", code=paper.code.replace(paper.code[0], "C")[:9] + paper.code[0]) for paper in PAPERS
        ]
        register.hold_sitting(
            replace(SITTING, name="autumn"),
            [(paper, KEYS[old.code]) for paper, old in zip(papers, PAPERS, strict=True)],
            "another one",
        )
    database = sqlite3.connect(path)
    salts = {row[0] for row in database.execute("SELECT salt FROM locks")}
    nonces = {bytes(row[0][:12]) for row in database.execute("SELECT key FROM papers")}
    secrets = {row[0] for row in database.execute("SELECT secret FROM sittings")}
    database.close()
    assert (len(salts), len(nonces), len(secrets)) == (2, 4, 2)
    with Register(path, passphrase=lambda sitting: {"spring": PASSPHRASE, "autumn": "another one"}[sitting]) as register:
        assert list(register.open_keys("autumn", "T. Examiner", WHEN).values()) == list(KEYS.values())
        assert register.open_keys("spring", "T. Examiner", WHEN) == KEYS


def test_a_short_passphrase_locks_nothing_and_holds_nothing(tmp_path: Path) -> None:
    with Register(tmp_path / "register.sqlite") as register:
        with pytest.raises(UseError, match="the passphrase has 3 letters; take 8 or more"):
            register.hold_sitting(SITTING, (), "jet")
        assert register.sittings() == ()


def test_late_papers_of_a_locked_sitting_are_locked_too(path: Path) -> None:
    late = Paper("DDDDDDDDDD", "spring", "c-09", "Late Lee", digest(b"late: 21.7"))
    with Register(path) as register, pytest.raises(UseError, match="are locked"):
        register.seal_papers([(late, b"late: 21.7")])
    with Register(path, passphrase=given(PASSPHRASE)) as register:
        register.seal_papers([(late, b"late: 21.7")])
    assert b"late: 21.7" not in b"".join(file.read_bytes() for file in path.parent.iterdir())
    with Register(path, passphrase=given(PASSPHRASE)) as register:
        assert register.open_key("DDDDDDDDDD", "T. Examiner", WHEN) == b"late: 21.7"


# Holding a sitting with its keys locked.

ROSTER = (Candidate("c-01", "Ada Weir"), Candidate("c-02", "Bo Lind"))


@pytest.fixture(scope="module")
def course() -> Course:
    return load_course(Path(__file__).with_name("course"))


def hold(path: Path, course: Course, people: tuple[Candidate, ...], word: str = "", *, lock: bool = False) -> Sitting:
    with Register(path, passphrase=given(word) if word else None) as register:
        hold_sitting(
            register,
            course,
            course.blueprints["trial"],
            people,
            "autumn",
            path.parent,
            "2031-05-12",
            lock=(lambda: word) if lock else None,
        )
        return register.sitting("autumn")


@pytest.mark.paper
def test_a_locked_sitting_is_resumed_and_added_to_with_its_passphrase_alone(tmp_path: Path, course: Course) -> None:
    path = tmp_path / "register.sqlite"
    assert hold(path, course, ROSTER, PASSPHRASE, lock=True).locked
    home = tmp_path / "sittings" / "autumn"
    before = {file: file.read_bytes() for file in home.rglob("*.*")}
    hold(path, course, ROSTER)  # nothing is missing: nothing is opened, so nothing is asked
    assert {file: file.read_bytes() for file in home.rglob("*.*")} == before
    for file in home.glob("papers/*"):
        file.unlink()
    for word in ("", "another passphrase"):
        with pytest.raises(UseError, match=r"the keys of sitting 'autumn'"):
            hold(path, course, ROSTER, word)
    hold(path, course, ROSTER, PASSPHRASE)
    assert {file: file.read_bytes() for file in home.rglob("*.*")} == before
    late = (*ROSTER, Candidate("c-03", "Late Lee"))
    with pytest.raises(UseError, match=r"the keys of sitting 'autumn' are locked"):
        hold(path, course, late)
    hold(path, course, late, PASSPHRASE)
    assert len([*home.glob("papers/*")]) == 3
    with Register(path) as register:
        purposes = [opening.purpose for opening in register.openings("autumn")]
    assert purposes == ["to print the rest", "to draw late papers", "to see what is used already"]


@pytest.mark.paper
def test_a_sitting_held_open_cannot_be_locked_afterwards(tmp_path: Path, course: Course) -> None:
    path = tmp_path / "register.sqlite"
    assert not hold(path, course, ROSTER).locked
    with pytest.raises(UseError, match="sitting 'autumn' was held without a lock; leave --lock out"):
        hold(path, course, ROSTER, PASSPHRASE, lock=True)
