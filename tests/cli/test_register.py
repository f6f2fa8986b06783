from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from grader.register.store import Register
from tests.cli.conftest import Told

WHEN = "2031-05-12T09:30:00Z"


def test_it_says_who_opened_keys_when_and_what_for(school: Path, told: Callable[..., Told]) -> None:
    with Register(school / "register.sqlite") as register:
        register.open_keys("spring", "T. Examiner", WHEN, "to mark")
        register.open_key("Pc-01", "A. Second", WHEN, "to mark it again")
        register.open_keys("spring", "T. Examiner", WHEN)  # as from before purposes were kept
    status, out, err = told("register", "openings", "spring", "--in", school)
    assert (status, err) == (0, "")
    assert out.splitlines() == [
        f"{WHEN}  T. Examiner  all papers  to mark",
        f"{WHEN}  A. Second  paper Pc-01  to mark it again",
        f"{WHEN}  T. Examiner  all papers",
    ]
    status, out, _ = told("register", "openings", "spring", "--in", school, "--json")
    first = {"sitting": "spring", "paper": "", "who": "T. Examiner", "when": WHEN, "purpose": "to mark"}
    assert (status, json.loads(out)[0]) == (0, first)


def test_that_nobody_did_is_said_too(school: Path, told: Callable[..., Told]) -> None:
    assert told("register", "openings", "spring", "--in", school) == (0, "", "nobody has opened keys of spring\n")


def test_an_unknown_sitting_names_those_there_are(school: Path, told: Callable[..., Told]) -> None:
    status, out, err = told("register", "openings", "sprig", "--in", school)
    assert (status, out) == (2, "")
    assert err.endswith("there is: spring\n")


def test_a_register_without_a_sitting_is_not_called_whole(tmp_path: Path, told: Callable[..., Told]) -> None:
    (tmp_path / "register.sqlite").touch()  # as a full disk or a broken copy leaves it
    status, out, err = told("register", "check", "--in", tmp_path)
    assert (status, "no sitting is in it" in out, "the register is whole" in err) == (1, True, False)


def test_a_copy_into_no_folder_names_the_copy_and_not_the_register(school: Path, told: Callable[..., Told]) -> None:
    status, _, err = told("register", "backup", school / "none" / "copy.sqlite", "--in", school)
    assert (status, err) == (
        2,
        f"grader: {school / 'none' / 'copy.sqlite'}: there is no such folder; make it, or name another file\n",
    )
