from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from grader.cli.options import user

Tell = Callable[..., tuple[int, str, str]]


@pytest.fixture
def file(school: Path, told: Tell) -> Path:
    """The first certificate's file."""
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    return min((school / "sittings" / "spring" / "certificates").glob("*.json"))


def test_a_revoked_certificate_no_longer_verifies(school: Path, told: Tell, file: Path) -> None:
    assert told("verify", file)[0] == 0
    typed = f"{file.stem[:5]}-{file.stem[5:]}".lower()  # as it is printed, and as it may be typed
    status, out, err = told("revoke", typed, "--reason", "issued to the wrong person", "--in", school)
    assert (status, err) == (0, f"revoked by {user()} (name yourself with --by)\n")
    assert out.startswith(f"{file.stem} of candidate c-0")
    assert out.endswith(f"is revoked; publish {school}/issuer/status.json again\n")
    status, out, _ = told("verify", file)
    assert status == 1
    assert out.startswith(f"revoked: {file}\n")


def test_a_certificate_is_revoked_once(school: Path, told: Tell, file: Path) -> None:
    told("revoke", file.stem, "--reason", "why", "--in", school, "--by", "T. Examiner")
    status, _, err = told("revoke", file.stem, "--reason", "why", "--in", school)
    assert status == 2
    assert f"certificate {file.stem} was revoked on 20" in err
    assert "by T. Examiner: why" in err


def test_an_unknown_id_and_a_missing_reason_are_refused(school: Path, told: Tell, file: Path) -> None:
    assert told("revoke", "2222222222", "--reason", "why", "--in", school)[0] == 2
    assert told("revoke", file.stem, "--in", school)[0] == 2
    assert told("revoke", file.stem, "--reason", " ", "--in", school)[0] == 2
    assert told("verify", file)[0] == 0


def test_a_list_that_cannot_be_written_is_said_and_written_the_next_time(school: Path, told: Tell, file: Path) -> None:
    listed = school / "issuer" / "status.json"
    kept = listed.read_bytes()
    listed.unlink()
    listed.mkdir()  # what no permission helps against, whoever runs the tests
    words = ("revoke", file.stem, "--reason", "why", "--in", school)
    status, _, err = told(*words)
    assert (status, "it is revoked in the register, and nobody can see it: run this again" in err) == (2, True)
    listed.rmdir()
    listed.write_bytes(kept)
    assert told("verify", file)[0] == 0
    assert told(*words)[0] == 2
    assert told("verify", file)[1].startswith("revoked: ")
