"""Files: capped, contained, whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.base.files import contained, make_folder, plain_name, read_capped, write_atomic


def test_a_file_larger_than_the_cap_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"12345")
    assert read_capped(file, 5) == b"12345"
    with pytest.raises(UseError, match="larger than 4 bytes"):
        read_capped(file, 4)


@pytest.mark.parametrize(
    ("name", "said"), [("missing", "no such file"), ("folder", "a folder, a pipe or a device"), ("pipe", "a pipe or a device")]
)
def test_what_is_no_file_is_refused(tmp_path: Path, name: str, said: str) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(UseError, match=said):
        read_capped(tmp_path / name, 5)


def test_a_write_that_fails_leaves_the_old_file_and_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "a"
    write_atomic(file, "old")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UseError, match="No space left"):
        write_atomic(file, "new")
    assert file.read_text() == "old"
    assert list(tmp_path.iterdir()) == [file]


def test_a_missing_folder_is_said_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(UseError, match="cannot be written"):
        write_atomic(tmp_path / "no" / "a", "x")


def test_a_folder_cannot_be_made_where_a_file_stands(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("")
    with pytest.raises(UseError, match="cannot be made"):
        make_folder(tmp_path / "a" / "b")
    with pytest.raises(UseError, match="a file has that name; name another"):
        make_folder(tmp_path / "a")


@pytest.mark.parametrize("name", ["c-01", "Okoye", "a.b", "Żółw"])
def test_plain_names_are_taken(name: str) -> None:
    assert plain_name(name)


@pytest.mark.parametrize(
    "name", ["", ".", "..", "../x", "a/b", "a\\b", "-rf", "nul", "COM1.txt", "a.", "a b", "a\0b", "x" * 81, "=cmd"]
)
def test_names_that_lead_elsewhere_are_not(name: str) -> None:
    assert not plain_name(name)


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "course").mkdir()
    (tmp_path / "course" / "link").symlink_to(tmp_path)
    with pytest.raises(UseError, match="leads out of"):
        contained(tmp_path / "course", "link", "secret")
    assert contained(tmp_path / "course", "lessons", "a.md") == tmp_path / "course" / "lessons" / "a.md"


def test_a_link_that_leads_back_to_itself_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(UseError, match="a: a link that leads back to itself; put the file itself there"):
        contained(tmp_path, "a")
