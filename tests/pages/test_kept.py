"""What is kept for the next build: found whole or not at all, under a name that is all it comes from."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from grader.pages import kept as keeping
from grader.pages.kept import Kept, name_of

NAME = name_of("a jet of 0.089 in")


def entry(folder: Path) -> Path:
    return folder / NAME[:2] / NAME


def test_a_text_is_made_once(tmp_path: Path) -> None:
    with Kept(tmp_path / "cache") as kept:
        assert [kept.text(NAME, lambda: "drawn ⌀") for _ in range(3)] == ["drawn ⌀"] * 3
        assert kept.made == {"": 1}
    assert Kept(tmp_path / "cache").find(NAME) == "drawn ⌀"


@pytest.mark.parametrize("damage", [b"", b"\n", b"drawn", b"\xff\xfe" * 40, b"0" * 64 + b"\ndrawn"])
def test_a_damaged_entry_is_made_again(damage: bytes, tmp_path: Path) -> None:
    kept = Kept(tmp_path)
    kept.keep(NAME, "drawn")
    entry(tmp_path).write_bytes(damage)
    assert kept.find(NAME) is None
    assert kept.text(NAME, lambda: "drawn") == "drawn"
    assert kept.find(NAME) == "drawn"


def test_one_letter_changed_or_cut_off_is_noticed(tmp_path: Path) -> None:
    kept = Kept(tmp_path)
    kept.keep(NAME, "drawn")
    whole = entry(tmp_path).read_bytes()
    for damaged in (whole[:-1], whole[:-1] + b"m", whole + b" "):
        entry(tmp_path).write_bytes(damaged)
        assert kept.find(NAME) is None


def test_an_entry_under_another_s_name_is_refused(tmp_path: Path) -> None:
    kept, other = Kept(tmp_path), name_of("a jet of 0.090 in")
    kept.keep(NAME, "drawn")
    (tmp_path / other[:2]).mkdir(exist_ok=True)
    entry(tmp_path).replace(tmp_path / other[:2] / other)
    assert kept.find(other) is None


def test_whatever_it_comes_from_and_the_program_itself_are_in_the_name(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len({name_of("a", "b"), name_of("b", "a"), name_of("ab"), name_of("a", "b", ""), name_of("", "a", "b")}) == 5
    before = name_of("a")
    monkeypatch.setattr(keeping, "program", lambda: "another")
    assert name_of("a") != before


def test_a_program_with_one_letter_changed_is_another_program(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import grader

    (tmp_path / "circuits").mkdir()
    (tmp_path / "__init__.py").touch()
    monkeypatch.setattr(grader, "__file__", str(tmp_path / "__init__.py"))
    found = set()
    for text in ("A = pi/4 * D**2", "A = pi/2 * D**2"):
        (tmp_path / "circuits" / "power.py").write_text(text, "utf-8")
        keeping.program.cache_clear()
        found.add(keeping.program())
    keeping.program.cache_clear()
    assert len(found) == 2


def test_a_folder_that_cannot_be_made_costs_time_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    kept = Kept(tmp_path / "file" / "cache")
    assert [kept.text(NAME, lambda: "drawn") for _ in range(2)] == ["drawn"] * 2
    assert kept.made == {"": 2}
    kept.close()


def test_git_is_told_to_pass_the_folder_over(tmp_path: Path) -> None:
    Kept(tmp_path / "cache").keep(NAME, "drawn")
    assert (tmp_path / "cache" / ".gitignore").read_text("utf-8") == "*\n"


def test_without_a_folder_nothing_is_left_behind() -> None:
    with Kept(None) as kept:
        kept.keep(NAME, "drawn")
        assert kept.folder.is_dir()
    assert not kept.folder.exists()


def test_many_at_once_find_the_text_whole_or_not_at_all(tmp_path: Path) -> None:
    text, seen = "drawn " * 50_000, set[str | None]()

    def build() -> None:
        kept = Kept(tmp_path)
        for _ in range(15):
            kept.keep(NAME, text)
            seen.add(kept.find(NAME))

    threads = [threading.Thread(target=build) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == {text}
    assert [file.name for file in entry(tmp_path).parent.iterdir()] == [NAME]


def test_past_the_limit_what_was_written_first_goes_and_nothing_of_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    kept, names = Kept(tmp_path), [name_of(str(number)) for number in range(10)]
    for age, name in enumerate(names):
        kept.keep(name, "x" * 935)  # with the digest and the line end 1000 bytes
        os.utime(tmp_path / name[:2] / name, ns=(age, age))
    letter = tmp_path / names[0][:2] / "letter.txt"
    letter.write_text("x" * 9000, "utf-8")
    monkeypatch.setattr(keeping, "LARGEST", 9_999)
    kept.close()
    assert [kept.find(name) is not None for name in names] == [False] * 6 + [True] * 4
    assert letter.exists()
