"""What was set aside and is still open: a pile handed in twice, mended in between."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from grader.base.canon import digest
from grader.base.codes import paper_code
from grader.marking.key import Key, unit_entries
from grader.register.asides import of_candidates, open_asides
from grader.register.pile import mark_again, mark_pile
from grader.register.records import Paper, Sitting
from grader.register.store import Register

FIRST, SECOND = "2031-05-12T09:30:00Z", "2031-05-13T09:30:00Z"
CODES = {candidate: paper_code(bytes(32), "spring", candidate) for candidate in ("c-01", "c-02", "c-03")}


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """A sitting of three, with one question each."""
    options = [{"letter": letter, "text": letter * 3} for letter in "ab"]
    about = {"item": "power-why", "objective": "power.1", "circuit": "power", "points": "1", "stem": "?", "number": "1"}
    question = about | {"kind": "choice", "options": options, "right": "b"}
    head = {"form": "grader-key-1", "sitting": "spring", "blueprint": "b", "bank": "0" * 64, "nonce": "1" * 64}
    rest = head | {"units": msgspec.to_builtins(unit_entries()), "questions": [question]}
    keys = [msgspec.convert(rest | {"paper": code, "candidate": candidate}, Key) for candidate, code in CODES.items()]
    school = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"}
    with Register(tmp_path / "register.sqlite") as opened:
        papers = [(Paper(k.paper, "spring", k.candidate, "Name", digest(k.encoded())), k.encoded()) for k in keys]
        opened.hold_sitting(Sitting("spring", {}, "0" * 64, bytes(32), "2031-05-12", "Course", school), papers)
        yield opened


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the files are handed in."""
    (tmp_path / "in").mkdir()
    return tmp_path / "in"


def sheet(candidate: str, answer: str = "b", paper: str = "") -> bytes:
    return json.dumps({"paper": paper or CODES[candidate], "candidate": candidate, "answers": {"1": answer}}).encode()


def still(register: Register) -> list[tuple[str, str]]:
    return [(Path(aside.file).name, aside.code) for aside in open_asides(register, "spring")]


def test_a_file_that_was_mended_under_its_name_is_settled(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01")[:-9])
    (folder / "list.csv").write_text(f"paper,candidate,1\n{CODES['c-02']},,b\n{CODES['c-03']},,b\n", "utf-8")
    mark_pile(register, "spring", [folder], FIRST)
    assert still(register) == [("c-01.json", "not-json"), ("list.csv", "not-a-sheet"), ("list.csv", "not-a-sheet")]
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    (folder / "list.csv").write_text(f"paper,candidate,1\n{CODES['c-02']},c-02,b\n{CODES['c-03']},,b\n", "utf-8")
    mark_pile(register, "spring", [folder], SECOND)
    assert [aside.line for aside in open_asides(register, "spring")] == [3]
    assert len(register.asides("spring")) == 3  # the register forgets nothing


def test_another_fault_in_the_same_file_takes_the_place_of_the_first(register: Register, folder: Path) -> None:
    (folder / "a.json").write_bytes(b"{")
    mark_pile(register, "spring", [folder], FIRST)
    (folder / "a.json").write_bytes(b"[]")
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == [("a.json", "not-a-sheet")]
    (folder / "a.json").write_bytes(b"{")
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == [("a.json", "not-json")]  # open again, though it was settled once


def test_a_file_that_is_gone_from_its_folder_is_settled(register: Register, folder: Path, tmp_path: Path) -> None:
    (folder / "photo.json").write_bytes(b"\x89PNG")
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    (tmp_path / "late").mkdir()
    (tmp_path / "late" / "bad.json").write_bytes(b"{")
    mark_pile(register, "spring", [folder, tmp_path / "late"], FIRST)
    (folder / "photo.json").unlink()
    (tmp_path / "late" / "bad.json").unlink()
    mark_pile(register, "spring", [folder / "c-01.json"], SECOND)
    assert still(register) == [("photo.json", "not-text"), ("bad.json", "not-json")]  # nobody looked there
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == [("bad.json", "not-json")]


def test_what_lies_where_nobody_could_look_is_not_taken_for_gone(register: Register, folder: Path) -> None:
    import zipfile

    with zipfile.ZipFile(folder / "all.zip", "w") as archive:
        archive.writestr("bad.json", b"{")
    mark_pile(register, "spring", [folder], FIRST)
    (folder / "all.zip").write_bytes(b"cut off")
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == [("bad.json", "not-json"), ("all.zip", "broken-archive")]


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("answers.json", sheet("c-01", paper=CODES["c-01"][:-1] + ("2" if CODES["c-01"][-1] != "2" else "3")), "wrong-code"),
        ("c-01.json", b"{", "not-json"),
        (f"{CODES['c-01']}.json", b"{", "not-json"),
        (f"{CODES['c-01']} (2).json", b"{", "not-json"),
    ],
)
def test_once_the_candidate_it_names_is_marked_it_is_settled(
    register: Register, folder: Path, name: str, data: bytes, code: str
) -> None:
    (folder / name).write_bytes(data)
    mark_pile(register, "spring", [folder], FIRST)
    assert still(register) == [(name, code)]
    assert of_candidates(open_asides(register, "spring")) == {"c-01": (str(folder / name),)}
    (folder / "new.json").write_bytes(sheet("c-01"))
    outcome = mark_pile(register, "spring", [folder], SECOND)
    assert outcome.needs_a_person  # the bad file lies there still, and is said again
    assert still(register) == []


def test_a_sheet_that_names_two_is_open_until_both_are_marked(register: Register, folder: Path) -> None:
    (folder / "swapped.json").write_bytes(sheet("c-01", paper=CODES["c-02"]))
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    mark_pile(register, "spring", [folder], FIRST)
    assert still(register) == [("swapped.json", "other-candidate")]
    (folder / "c-02.json").write_bytes(sheet("c-02"))
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == []


def test_other_answers_are_open_until_a_person_says_which_count(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01", "a"))
    mark_pile(register, "spring", [folder], FIRST)
    (folder / "second.json").write_bytes(sheet("c-01"))
    mark_pile(register, "spring", [folder], FIRST)
    assert still(register) == [("second.json", "marked-already")]
    mark_again(register, "spring", "c-01", [folder / "second.json"], "the first was a draft", SECOND, "T. Examiner")
    assert still(register) == []


def test_a_bad_file_that_comes_after_the_candidate_was_marked_is_open(register: Register, folder: Path) -> None:
    (folder / "c-01.json").write_bytes(sheet("c-01"))
    mark_pile(register, "spring", [folder], FIRST)
    (folder / "c-01.yaml").write_bytes(b"[")
    mark_pile(register, "spring", [folder], SECOND)
    assert still(register) == [("c-01.yaml", "too-deep")]
