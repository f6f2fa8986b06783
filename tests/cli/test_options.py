from __future__ import annotations

import contextlib
import getpass
import io
import os
import re
import select
import subprocess
import sys
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.cli import options
from grader.cli.options import asked_passphrase, counted, instant, new_passphrase, passphrase, user


def test_an_instant_is_in_utc_to_the_second() -> None:
    assert re.fullmatch(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", instant())


def test_one_thing_is_not_called_things() -> None:
    assert [counted(number, "file") for number in (0, 1, 2, 11)] == ["0 files", "1 file", "2 files", "11 files"]


def test_whoever_has_no_name_on_this_machine_is_named_by_number(monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody() -> str:
        raise KeyError("getpwuid(): uid not found: 12345")

    monkeypatch.setattr(getpass, "getuser", nobody)
    assert re.fullmatch(r"user \d+|unknown", user())


@pytest.mark.parametrize("text", ["four old jets\n", "four old jets", "four old jets\r\n", "four old jets\nand a second line\n"])
def test_a_passphrase_is_the_first_line_of_its_file(tmp_path: Path, text: str) -> None:
    file = tmp_path / "words"
    file.write_text(text, "utf-8", newline="")
    assert passphrase(file) == asked_passphrase(file)("spring") == new_passphrase(file)() == "four old jets"


def test_it_is_read_from_an_open_descriptor_too() -> None:
    reads, writes = os.pipe()
    os.write(writes, b"four old ")
    os.write(writes, b"jets\n")  # a pipe that stays open: the line's end is enough
    assert passphrase(Path(f"/dev/fd/{reads}")) == "four old jets"
    os.close(reads)
    os.close(writes)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "the first line is empty; write the passphrase there"),
        (b"\nfour old jets", "the first line is empty"),
        (b"\xff\xfe jets", "not UTF-8; save the passphrase as UTF-8"),
        (b"x" * 5000, "a passphrase of more than 4096 bytes"),
    ],
)
def test_a_file_without_a_passphrase_is_refused_and_not_repeated(tmp_path: Path, data: bytes, said: str) -> None:
    file = tmp_path / "words"
    file.write_bytes(data)
    with pytest.raises(UseError, match=said) as refused:
        passphrase(file)
    assert "jets" not in str(refused.value)
    assert refused.value.__cause__ is None


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(UseError, match=r"none: cannot be read .*; check the name of the passphrase's file"):
        passphrase(tmp_path / "none")


def test_where_nobody_can_be_asked_it_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(options, "terminal", lambda: False)
    with pytest.raises(UseError, match="nobody is here to type it; name its file with --passphrase-file or GRADER_KEYS"):
        asked_passphrase(None)("spring")


def test_without_a_terminal_or_a_standard_input_nobody_is_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_terminal(*_: object, **__: object) -> io.StringIO:
        raise OSError("no such device")

    monkeypatch.setattr(Path, "open", no_terminal)
    monkeypatch.setattr("sys.stdin", io.StringIO("four old jets"))
    assert not options.terminal()
    monkeypatch.setattr("sys.stdin", None)
    assert not options.terminal()


TYPED = """
import os
os.open(os.ttyname(0), os.O_RDWR)  # the first terminal that a session opens is its own
from grader.cli.options import asked_passphrase, new_passphrase
try:
    print("got", len(new_passphrase(None)()), len(asked_passphrase(None)("spring")))
except Exception as error:
    print(type(error).__name__, error)
"""


SAID = (  # what is asked, what is typed
    ("lock the keys", "four old jets"),
    ("The same again", "four odd jets"),
    ("lock the keys", "four old jets"),
    ("The same again", "four old jets"),
    ("Passphrase of the keys of spring", "four"),
)


def test_a_passphrase_is_typed_unseen_and_twice_where_it_is_new() -> None:
    try:
        ours, theirs = os.openpty()
    except OSError as error:
        pytest.skip(f"this machine has no terminals to give: {error}")
    seen = b""
    with subprocess.Popen([sys.executable, "-c", TYPED], stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True):
        os.close(theirs)
        for asks, types in SAID:
            fresh = b""
            while asks.encode() not in fresh or not fresh.endswith(b": "):
                assert select.select([ours], [], [], 30)[0], f"it does not ask for {asks!r}: {seen + fresh!r}"
                fresh += os.read(ours, 1024)
            os.write(ours, types.encode() + b"\n")
            seen += fresh
        with contextlib.suppress(OSError):  # the terminal is gone with the child
            while more := os.read(ours, 1024):
                seen += more
    os.close(ours)
    assert b"got 13 4" in seen
    assert b"do not match" in seen
    assert b"jets" not in seen
