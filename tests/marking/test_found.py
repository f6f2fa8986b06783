"""What once broke the reader, or the fuzzer's way to it, tried for ever: `found/`; and what the fuzzer begins with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.marking.fuzz import CHECKS, seeds

FOUND = sorted(Path(__file__).with_name("found").iterdir())


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.name)
def test_what_was_found_breaks_nothing_any_more(path: Path) -> None:
    CHECKS[path.name.partition("-")[0]](path.read_bytes())


@pytest.mark.parametrize("what", CHECKS)
def test_the_fuzzer_begins_with_what_is_sound(what: str) -> None:
    for seed in seeds(what):
        CHECKS[what](seed)
        CHECKS[what](seed[:-1])
        CHECKS[what](b"\xff" + seed[1:])
