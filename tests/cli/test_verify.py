from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

Tell = Callable[..., tuple[int, str, str]]


@pytest.fixture
def file(school: Path, told: Tell) -> Path:
    """The first certificate's file."""
    told("decide", "spring", "--in", school)
    told("certify", "spring", "--in", school)
    return min((school / "sittings" / "spring" / "certificates").glob("*.json"))


def test_a_good_certificate_is_called_good_with_what_it_says(told: Tell, file: Path) -> None:
    status, out, err = told("verify", file)
    lines = out.splitlines()
    assert (status, err) == (0, "")
    assert lines[0] == f"good: {file}"
    assert lines[1] == "  the issuer's signature is good"
    assert lines[2].startswith("  it is not revoked; so says the status list of 20")
    assert lines[3] == f"  checked with {file.parents[3]}/issuer/issuer.json"
    assert lines[4].startswith("  Name c-0")
    assert f"Pump circuit; https://weirgate.example/certificates/{file.stem}; 20" in lines[4]


@pytest.mark.parametrize("place", [0, 40, 900, -200, -1])
def test_one_byte_changed_and_it_is_not_good(told: Tell, file: Path, place: int) -> None:
    data = bytearray(file.read_bytes())
    data[place] ^= 1
    file.write_bytes(data)
    status, out, err = told("verify", file)
    assert (status, err) == (1, "")
    assert out.split(":")[0] in ("altered", "unreadable", "unknown issuer")


def test_it_needs_only_the_file_and_what_the_school_publishes(told: Tell, file: Path, school: Path, tmp_path: Path) -> None:
    away = tmp_path / "elsewhere"
    shutil.copytree(school / "issuer", away / "published")
    shutil.copy(file, away / "shown.json")
    shutil.rmtree(school / "issuer-key")
    assert told("verify", away / "shown.json", "--issuer", away / "published" / "issuer.json")[0] == 0
    assert told("verify", away / "shown.json", "--issuer", away / "published")[0] == 0
    assert told("verify", away / "shown.json", "--in", school)[0] == 0


def test_without_the_status_list_it_is_not_called_good(told: Tell, file: Path, school: Path, tmp_path: Path) -> None:
    shutil.move(school / "issuer" / "status.json", tmp_path / "list.json")
    status, out, _ = told("verify", file)
    assert status == 1
    assert out.startswith(f"status unknown: {file}\n")
    assert told("verify", file, "--status", tmp_path / "list.json")[0] == 0


def test_another_schools_document_makes_it_unknown(told: Tell, file: Path, tmp_path: Path) -> None:
    from grader.certificates.issuer import document
    from grader.certificates.keys import IssuerKey

    other = tmp_path / "other.json"
    other.write_text(json.dumps(document("https://elsewhere.example/", [IssuerKey(bytes(32)).multikey])))
    status, out, _ = told("verify", file, "--issuer", other)
    assert status == 1
    assert out == (
        f"unknown issuer: {file}\n  it was signed with a key that no trusted issuer has; trusted: https://elsewhere.example/\n"
        f"  checked with {other}\n"
    )


def test_the_page_is_told_from_the_signed_file(told: Tell, file: Path) -> None:
    status, out, _ = told("verify", file.with_suffix(".pdf"))
    assert status == 1
    assert out.splitlines()[:2] == [
        f"unreadable: {file.with_suffix('.pdf')}",
        "  it is the page to hang up; check the signed file, which is attached to it",
    ]


def test_a_file_far_too_large_is_judged_all_the_same(told: Tell, file: Path) -> None:
    file.write_bytes(bytes(2_000_000))
    status, out, _ = told("verify", file)
    assert status == 1
    assert out.splitlines()[1] == "  it is larger than 1,048,576 bytes; no certificate is"


def test_json_says_the_same(told: Tell, file: Path, school: Path) -> None:
    status, out, _ = told("verify", file, "--json")
    found = json.loads(out)
    assert status == 0
    assert found["state"] == "good"
    assert found["issuer"] == str(school / "issuer" / "issuer.json")
    assert found["certified"]["id"] == f"https://weirgate.example/certificates/{file.stem}"


def test_what_is_missing_is_wrong_use(told: Tell, file: Path, school: Path, tmp_path: Path) -> None:
    assert told("verify", tmp_path / "none.json", "--in", school) == (
        2,
        "",
        f"grader: {tmp_path}/none.json: no such file; check the name\n",
    )
    assert told("verify", file.parent, "--in", school) == (
        2,
        "",
        f"grader: {file.parent}: it is a folder; name the certificate's .json\n",
    )
    shutil.rmtree(school / "issuer")
    status, out, err = told("verify", file, "--in", school)
    assert (status, out) == (2, "")
    assert err.startswith(f"grader: no issuer's document in {school}/issuer")
    assert err.endswith("have issuer.json from the school and name it with --issuer FILE\n")


def test_a_damaged_issuers_document_is_named(told: Tell, file: Path, school: Path) -> None:
    document = school / "issuer" / "issuer.json"
    document.write_text("{")
    status, _, err = told("verify", file)
    assert status == 2
    assert err.startswith(f"grader: {document}: not JSON")


def test_a_file_that_is_no_issuer_s_document_is_named_with_what_to_name(
    tmp_path: Path, told: Callable[..., tuple[int, str, str]]
) -> None:
    (tmp_path / "class.csv").write_text("candidate,name\n")
    (tmp_path / "c.json").write_text("{}")
    status, _, err = told("verify", tmp_path / "c.json", "--issuer", tmp_path / "class.csv")
    assert (status, err.endswith("; name the issuer.json that the school publishes\n")) == (2, True)
