"""`grader issuer`: the whole chain from an old key to a new one, checked by `grader verify`."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

Tell = Callable[..., tuple[int, str, str]]


@pytest.fixture
def issued(school: Path, told: Tell) -> list[Path]:
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    return sorted((school / "sittings" / "spring" / "certificates").glob("*.json"))


def verified(told: Tell, file: Path, school: Path) -> int:
    return told("verify", file, "--issuer", school / "issuer")[0]


def test_what_the_old_key_signed_stays_good_and_so_does_what_the_new_one_signs(
    school: Path, told: Tell, issued: list[Path]
) -> None:
    status, shown, _ = told("issuer", "renew", "--reason", "yearly", "--in", school, "--by", "T. Examiner")
    assert (status, "a new key signs" in shown) == (0, True)
    assert [verified(told, file, school) for file in issued] == [0, 0]
    told("revoke", issued[0].stem, "--reason", "issued in error", "--in", school)
    assert [verified(told, file, school) for file in issued] == [1, 0]
    issued[1].with_suffix(".pdf").unlink()
    told("certify", "spring", "--in", school)
    assert issued[1].with_suffix(".pdf").exists()
    shown = told("issuer", "show", "--in", school)[1]
    assert [line.partition(":")[0][:7] for line in shown.splitlines() if line[0] != " "] == ["signs n", "retired"]
    assert "yearly" in shown


def test_what_a_stolen_key_signed_no_longer_holds_and_is_listed(school: Path, told: Tell, issued: list[Path]) -> None:
    status, _, said = told("issuer", "renew", "--stolen", "--reason", "broken into", "--in", school)
    assert status == 1
    assert all(file.stem in said for file in issued)
    assert [verified(told, file, school) for file in issued] == [1, 1]
    number, candidate = issued[0].stem, next(line.split(":")[0] for line in said.splitlines() if issued[0].stem in line)
    mend = next(line for line in said.splitlines() if number in line).partition("; ")[2].partition(", then ")[0]
    words = shlex.split(mend.removeprefix("grader "))  # the sentence that is told is a command that works
    assert told(*words, "--in", school)[0] == 0
    status, _, said = told("certify", "spring", "--again", candidate, "--in", school)
    assert (status, issued[0].stem in said, issued[1].stem in said) == (1, False, True)  # the other is still to be mended
    anew = [file for file in issued[0].parent.glob("*.json") if file not in issued]
    assert [verified(told, file, school) for file in anew] == [0]


def test_a_key_that_cannot_be_published_is_not_made_twice(school: Path, told: Tell, issued: list[Path]) -> None:
    listed = school / "issuer" / "status.json"
    listed.unlink()
    listed.mkdir()  # what no permission helps against, whoever runs the tests
    status, _, said = told("issuer", "renew", "--stolen", "--reason", "broken into", "--in", school)
    assert (status, "the new key signs already, so do not renew again: grader certify publishes it" in said) == (2, True)
    listed.rmdir()
    status, _, said = told("certify", "spring", "--in", school)
    assert (status, [file.stem in said for file in issued]) == (1, [True, True])  # whose certificates fell is told there, too
    assert [verified(told, file, school) for file in issued] == [1, 1]


def test_what_cannot_be_done_is_said(school: Path, told: Tell) -> None:
    assert "no certificate was issued yet" in told("issuer", "renew", "--reason", "x", "--in", school)[2]
    assert "no reason" in told("issuer", "renew", "--reason", " ", "--in", school)[2]
    status, _, said = told("issuer", "show", "--in", school)
    assert (status, "the first certificate makes it" in said) == (2, True)
