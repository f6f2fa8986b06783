from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from grader.cli.options import user
from grader.register.records import Aside
from grader.register.store import Register

Tell = Callable[..., tuple[int, str, str]]


def test_it_says_each_decision_and_why(school: Path, told: Tell) -> None:
    assert told("decide", "spring", "--in", school, "--by", "T. Examiner") == (
        0,
        "c-01  pass          6 of 10, 60.0 %\n"
        "c-02  pass          10 of 10, 100.0 %\n"
        "c-03  fail          5.9 of 10, 59.0 %: below the cut of 60 %\n"
        "c-04  not examined  no answer file was marked\n",
        "pass: 2; fail: 1; not examined: 1\n",
    )


def test_the_decisions_are_kept_with_who_decided(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school, "--by", "T. Examiner")
    with Register(school / "register.sqlite") as register:
        assert {decision.person for decision in register.decisions("spring").values()} == {"T. Examiner"}


def test_whoever_left_out_their_name_is_told_which_was_kept(school: Path, told: Tell) -> None:
    _, _, err = told("decide", "spring", "--in", school)
    assert err.splitlines()[-1] == f"decided by {user()} (name yourself with --by)"


def test_somebody_not_examined_whose_file_lies_set_aside_needs_a_person(school: Path, told: Tell) -> None:
    with Register(school / "register.sqlite") as register:
        for candidate, file in (("c-01", "in/old.json"), ("c-04", "in/c-04.json")):
            register.set_aside(Aside("spring", file, 1, "not-json", "not JSON", "2026-05-11T09:30:00Z", (candidate,)))
    status, _, err = told("decide", "spring", "--in", school, "--by", "T. Examiner")
    assert status == 1
    assert err == (
        "c-04: not examined, but set aside: in/c-04.json; mend it, mark it, decide again\npass: 2; fail: 1; not examined: 1\n"
    )


def test_json_gives_rule_and_evidence(school: Path, told: Tell) -> None:
    status, out, _ = told("decide", "spring", "--in", school, "--json")
    found = json.loads(out)
    assert status == 0
    assert [(row["candidate"], row["decision"]) for row in found][:2] == [("c-01", "pass"), ("c-02", "pass")]
    assert found[0]["rule"] == {"cut": "3/5", "each_circuit": "0"}
    assert found[0]["evidence"]["mark"] == "6"


def test_without_a_register_or_sitting_it_says_so(school: Path, told: Tell, tmp_path: Path) -> None:
    assert told("decide", "spring", "--in", tmp_path / "elsewhere") == (
        2,
        "",
        f"grader: {tmp_path}/elsewhere/register.sqlite: there is no register; "
        "hold a sitting first, or name the folder it lies in\n",
    )
    assert told("decide", "sprig", "--in", school) == (
        2,
        "",
        f"grader: no sitting 'sprig' in {school}/register.sqlite; there is: spring\n",
    )
