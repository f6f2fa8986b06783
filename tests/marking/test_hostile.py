"""Files made to break a reader: each is set aside with its reason, soon, and in little memory."""

from __future__ import annotations

import time
import tracemalloc
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.marking.key import Key
from grader.marking.mark import mark
from grader.marking.reading import ASIDES_LIMIT, SHEET_LIMIT, read_file
from grader.register.sources import gathered

HEAD = '{"paper": "7M2KQ8D4XV", "candidate": "c-01", "answers": '
DIGITS = "9" * 1_000_000
MANY = ",".join(f'"k{place}": "x"' for place in range(15_000))
LAUGHS = "a: &a [x, x, x]\n" + "".join(f"{b}: &{b} [*{a}, *{a}, *{a}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True))

FILES = {
    "a million digits as a text": ("a.json", HEAD + f'{{"1": "{DIGITS}"}}}}', "too-large"),
    "a million digits as a number": ("a.json", HEAD + f'{{"1": {DIGITS}}}}}', "too-large"),
    "200,000 digits as a number": ("a.json", HEAD + f'{{"1": {DIGITS[:200_000]}}}}}', "not-a-sheet"),
    "a million digits in a cell": ("a.csv", f"paper,candidate,1\nA,c,{DIGITS}\n", "not-a-table"),
    "100,000 digits in a cell": ("a.csv", f"paper,candidate,1\nA,c,{DIGITS[:100_000]}\n", "long-answer"),
    "no number": ("a.json", HEAD + '{"1": NaN}}', "not-json"),
    "infinity": ("a.json", HEAD + '{"1": -Infinity}}', "not-json"),
    "lists in lists": ("a.json", "[" * 100_000 + "]" * 100_000, "not-json"),
    "groups in groups": ("a.json", '{"a":' * 40_000, "not-json"),
    "a list in an answer": ("a.json", HEAD + '{"1": ' + "[" * 30 + "]" * 30 + "}}", "not-json"),
    "lists in lists, YAML": ("a.yaml", "[" * 100_000, "not-yaml"),
    "lists below lists, YAML": ("a.yaml", "- " * 100_000, "too-deep"),
    "columns below columns, YAML": ("a.yaml", "".join(" " * place + "a:\n" for place in range(500)), "too-deep"),
    "a key that is a list, YAML": ("a.yaml", "? [a]\n: b\n", "too-deep"),
    "a merged key, YAML": ("a.yaml", "<<: {paper: A}\n", "not-a-sheet"),
    "aliases of aliases": ("a.yaml", LAUGHS, "yaml-alias"),
    "an anchor on itself": ("a.yaml", "&a paper: *a\n", "yaml-alias"),
    "a name of 200,000 letters": ("a.json", '{"' + "p" * 200_000 + '": "x"}', "not-a-sheet"),
    "a number of 200,000 noughts": ("a.json", HEAD + '{"' + "0" * 200_000 + 'x": "b"}, "1": "2"}', "not-a-sheet"),
    "15,000 names, one twice": ("a.json", HEAD + f'{{{MANY}, "k14999": "y"}}}}', "repeated-key"),
    "15,000 answers": ("a.json", HEAD + f"{{{MANY}}}}}", "too-many"),
    "spaces": ("a.json", " " * SHEET_LIMIT + "{", "too-large"),
    "quotation marks": ("a.csv", "paper,candidate,1\n" + '"' * 100_001, "not-a-table"),
    "separators": ("a.csv", "paper,candidate,1\n" + "," * 200_000 + "x\n", "too-many-cells"),
    "headings": ("a.csv", "paper,candidate," + ",".join(f"q{place}" for place in range(60_000)), "too-many"),
    "remarks": ("a.csv", "paper,candidate," + ",".join(f"remark {place}" for place in range(60_000)), "unknown-column"),
    "rows without anybody": ("a.csv", "paper,candidate,1\n" + "A,,x\n" * 10_000, "too-many"),
}


@pytest.mark.parametrize("what", FILES)
def test_a_hostile_file_is_set_aside_soon_and_in_little_memory(what: str) -> None:
    name, text, code = FILES[what]
    data = text.encode()
    tracemalloc.start()
    start = time.process_time()
    reading = read_file(name, data)
    took, (_, most) = time.process_time() - start, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert reading.sheets == ()
    assert code in {aside.code for aside in reading.asides}
    assert took < 5
    assert most < 60_000_000
    assert all(len(str(aside)) < 1000 for aside in reading.asides)


def test_how_deep_is_too_deep_does_not_hang_on_who_asks() -> None:
    text = (HEAD + '{"1": ' + "[" * 19 + "]" * 19 + "}}").encode()

    def below(depth: int) -> object:
        return below(depth - 1) if depth else read_file("a.json", text)

    assert below(0) == below(400)


def test_many_rows_that_cannot_be_read_are_told_of_and_then_counted() -> None:
    reading = read_file("a.csv", ("paper,candidate,1\n" + "A,,x\n" * 700 + "B,c-2,y\n").encode())
    assert [sheet.candidate for sheet in reading.sheets] == ["c-2"]
    assert len(reading.asides) == ASIDES_LIMIT + 1
    assert str(reading.asides[-1]) == "a.csv: 200 more that cannot be read; mend those that are told first [too-many]"


def test_a_gigabyte_is_not_read(tmp_path: Path) -> None:
    for name in ("a.json", "b.csv", "c.zip", "d"):
        with (tmp_path / name).open("wb") as stream:
            stream.truncate(1 << 30)  # sparse: no disk is used
    tracemalloc.start()
    for source in gathered([tmp_path]):
        if source.fault is None:
            with pytest.raises(UseError, match="larger than"):
                source.read()
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 120_000_000


def test_any_answers_that_a_file_can_hold_are_marked_soon(key: Key) -> None:
    texts = [
        "(" * 4000,
        "1 " * 2000,
        "a " * 2000,
        "1-c " * 1000,
        "½" * 4000,
        "per " * 1000,
        "\u202e" * 4000,
        "1/" * 2000,
        "ﷺ" * 4000,
    ]
    start = time.process_time()
    for text in texts:
        marks = mark(key, dict.fromkeys(("1", "2", "3", "4a", "4b", "4c", "5", "6", "7"), text)).marks
        assert {m.verdict for m in marks} <= {"unreadable", "blank"}
    assert time.process_time() - start < 5
