"""What lies in folders and archives is found each once, within limits that hold before anything large is read."""

from __future__ import annotations

import struct
import time
import zipfile
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.register.sources import ARCHIVE_LIMIT, DIRECTORY_LIMIT, MEMBERS_LIMIT, Source, gathered


def archive(path: Path, *names: str, data: bytes = b"{}") -> Path:
    with zipfile.ZipFile(path, "w") as made:
        for name in names:
            made.writestr(name, data)
    return path


def codes(sources: tuple[Source, ...]) -> dict[str, str]:
    return {source.name.rpartition("/")[2]: source.fault.code for source in sources if source.fault}


@pytest.mark.filterwarnings("ignore:Duplicate name")  # zipfile's own word on what is made here
@pytest.mark.parametrize("others", [0, 2100])
def test_two_files_of_one_name_are_set_aside_however_many_others_there_are(tmp_path: Path, others: int) -> None:
    path = archive(tmp_path / "all.zip", *(f"c-{place:04}.json" for place in range(others)), "same.json", "same.json")
    found = gathered([path])
    assert codes(found) == {"same.json": "repeated-name"}
    assert len(found) == others + 1


def test_an_archive_too_large_by_itself_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "all.zip"
    with path.open("wb") as file:
        file.truncate(ARCHIVE_LIMIT + 1)  # takes no room on the disk

    def opened(*_: object) -> None:
        raise AssertionError("opened all the same")

    monkeypatch.setattr(zipfile, "ZipFile", opened)
    assert codes(gathered([path])) == {"all.zip": "too-large"}


def test_a_list_of_members_too_long_is_not_read(tmp_path: Path) -> None:
    # The two records as PKWARE's APPNOTE.TXT sets them out, 4.3.12 and 4.3.16 (from memory).
    entry = struct.pack("<4s6H3I5H2I", b"PK\x01\x02", 20, 20, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    count = DIRECTORY_LIMIT // len(entry) + 1
    size = count * len(entry)
    end = struct.pack("<4s4H2IH", b"PK\x05\x06", 0, 0, count & 0xFFFF, count & 0xFFFF, size, 0, 0)
    path = tmp_path / "all.zip"
    path.write_bytes(entry * count + end)
    begun = time.process_time()
    assert codes(gathered([path])) == {"all.zip": "too-large"}
    assert time.process_time() - begun < 0.5  # to read it takes a second, and a hundred megabytes
    path.write_bytes(entry * 3 + struct.pack("<4s4H2IH", b"PK\x05\x06", 0, 0, 3, 3, 3 * len(entry), 0, 0))
    assert codes(gathered([path])) == {"a": "repeated-name"}  # the same, short: it is a list that can be read


def test_an_archive_of_too_many_files_is_set_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("grader.register.sources.MEMBERS_LIMIT", 3)
    assert MEMBERS_LIMIT == 20_000
    path = archive(tmp_path / "all.zip", *"abcd")
    assert codes(gathered([path])) == {"all.zip": "too-large"}
    assert codes(gathered([archive(tmp_path / "all.zip", *"abc")])) == {}


def test_the_list_of_an_archive_is_read_once_for_all_its_members(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = gathered([archive(tmp_path / "all.zip", *(f"{place}.json" for place in range(50)))])
    times = 0
    first = zipfile.ZipFile._RealGetContents  # type: ignore[attr-defined]

    def counted(self: zipfile.ZipFile) -> None:
        nonlocal times
        times += 1
        first(self)

    monkeypatch.setattr(zipfile.ZipFile, "_RealGetContents", counted)
    assert {source.read() for source in found} == {b"{}"}
    assert times == 1


def test_an_archive_that_was_packed_again_is_read_as_it_is_now(tmp_path: Path) -> None:
    path = archive(tmp_path / "all.zip", "a.json", "b.json", data=b"before")
    a, b = gathered([path])
    assert a.read() == b"before"
    archive(path, "b.json", data=b"now it is another")
    assert b.read() == b"now it is another"
    with pytest.raises(UseError, match="cannot be unpacked"):
        a.read()
