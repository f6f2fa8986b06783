from __future__ import annotations

import getpass
import re

import pytest

from grader.cli.options import counted, instant, user


def test_an_instant_is_in_utc_to_the_second() -> None:
    assert re.fullmatch(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", instant())


def test_one_thing_is_not_called_things() -> None:
    assert [counted(number, "file") for number in (0, 1, 2, 11)] == ["0 files", "1 file", "2 files", "11 files"]


def test_whoever_has_no_name_on_this_machine_is_named_by_number(monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody() -> str:
        raise KeyError("getpwuid(): uid not found: 12345")

    monkeypatch.setattr(getpass, "getuser", nobody)
    assert re.fullmatch(r"user \d+|unknown", user())
