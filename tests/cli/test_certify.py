from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from grader.base.canon import digest
from grader.cli.options import user
from grader.marking.mark import Mark
from grader.register.records import AnswerFile, Marking, Paper
from grader.register.store import Register

Tell = Callable[..., tuple[int, str, str]]


def _numbers(school: Path) -> list[str]:
    return sorted(file.stem for file in (school / "sittings" / "spring" / "certificates").glob("*.json"))


def test_those_who_passed_get_a_signed_file_and_a_page(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    status, out, err = told("certify", "spring", "--in", school)
    assert status == 0
    assert len(_numbers(school)) == 2
    assert sorted(line.rsplit("/", 1)[1] for line in out.splitlines()) == [f"{number}.pdf" for number in _numbers(school)]
    assert err.splitlines() == [
        f"2 new, 2 in all; to be published: {school}/issuer",
        f"made the secret key, {school}/issuer-key (not sealed: grader certify --help says how to); keep a copy where nobody else"
        " comes",
        f"issued by {user()} (name yourself with --by)",
    ]


def test_a_second_time_there_is_nothing_to_do(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    assert told("certify", "spring", "--in", school) == (0, "", f"0 new, 2 in all; to be published: {school}/issuer\n")


def test_nobody_gets_a_second_one_beside_one_that_stands(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    status, out, err = told("certify", "spring", "--again", "c-01", "--in", school)
    assert (status, out) == (1, "")
    assert err.startswith("c-01: certificate ")
    assert "stands; revoke it before there is a new one" in err


def _marked_now(school: Path, candidate: str, mark: str, reason: str = "") -> None:
    with Register(school / "register.sqlite") as register:
        file = AnswerFile("spring", f"{candidate}-new.json", f"{candidate} {mark}".encode(), "2026-05-13T09:30:00Z")
        marks = (Mark("1", "pump-shot", "pump.1", "pump", "", "", mark, "10", "part"),)
        register.keep_answer_file(file, [Marking("spring", f"P{candidate}", candidate, file.digest, file.when, marks, reason)])


def test_somebody_marked_but_not_decided_on_is_named(school: Path, told: Tell) -> None:
    with Register(school / "register.sqlite") as register:
        register.seal_papers([(Paper("Pc-05", "spring", "c-05", "Name c-05", digest(b"key")), b"key")])
    told("decide", "spring", "--in", school)
    with Register(school / "register.sqlite") as register:
        register.seal_papers([(Paper("Pc-06", "spring", "c-06", "Name c-06", digest(b"key")), b"key")])
    _marked_now(school, "c-05", "9")
    _marked_now(school, "c-06", "10")
    status, _, err = told("certify", "spring", "--in", school, "--by", "T. Examiner")
    assert status == 1
    assert [line for line in err.splitlines() if "secret key" not in line] == [
        "c-05: marked again, not decided since; run `grader decide spring`",
        "c-06: marked, not decided; run `grader decide spring`",
        f"2 new, 2 in all; to be published: {school}/issuer",
    ]


def test_no_certificate_is_issued_on_a_decision_older_than_the_marks(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    _marked_now(school, "c-01", "1", "the first file was another's")
    status, out, err = told("certify", "spring", "--in", school, "--by", "T. Examiner")
    assert (status, len(out.splitlines())) == (1, 1)
    assert err.startswith("c-01: marked again, not decided since; run `grader decide spring`\n1 new, 1 in all;")


def test_json_names_the_files(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    _, out, _ = told("certify", "spring", "--in", school, "--json")
    found = json.loads(out)
    assert [row["candidate"] for row in found["new"]] == ["c-01", "c-02"]
    assert all(Path(row["file"]).is_file() for row in found["new"])
    assert found["troubles"] == []


def test_before_anybody_decided_it_says_what_to_run(school: Path, told: Tell) -> None:
    assert told("certify", "spring", "--in", school) == (
        2,
        "",
        "grader: nobody of sitting 'spring' was decided on; run `grader decide spring` first\n",
    )


def test_a_revoked_certificate_needs_a_person(school: Path, told: Tell) -> None:
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    told("revoke", _numbers(school)[0], "--reason", "misspelt", "--in", school)
    status, out, err = told("certify", "spring", "--in", school)
    assert (status, out) == (1, "")
    assert "was revoked; for a new one add --again c-0" in err


def test_a_sealed_key_needs_its_passphrase_each_time(school: Path, told: Tell) -> None:
    secret = school / "passphrase"
    secret.write_text("under the weir\n")
    told("decide", "spring", "--in", school)
    assert told("certify", "spring", "--in", school, "--passphrase-file", secret)[0] == 0
    status, _, err = told("certify", "spring", "--in", school)
    assert status == 2
    assert "the key is sealed; give its passphrase" in err
    assert told("certify", "spring", "--in", school, "--passphrase-file", secret)[0] == 0


@pytest.mark.parametrize(
    ("data", "says"),
    [(b"", "the first line is empty; write the passphrase there"), (b"\xff", "not UTF-8; save the passphrase as UTF-8")],
)
def test_a_passphrase_file_that_holds_none_is_refused(school: Path, told: Tell, data: bytes, says: str) -> None:
    secret = school / "passphrase"
    secret.write_bytes(data)
    told("decide", "spring", "--in", school)
    assert told("certify", "spring", "--in", school, "--passphrase-file", secret) == (2, "", f"grader: {secret}: {says}\n")
    assert not (school / "issuer-key").exists()
