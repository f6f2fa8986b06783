"""
`make fuzz`: the reader of answer files and the reader of numbers, fed by a fuzzer that follows which lines are reached.

    python -m tests.marking.fuzz file 300      any bytes as an answer file, read and marked, for 300 seconds
    python -m tests.marking.fuzz number 300    any text as a number, read twice: by the marker, and by the slow one in `slow.py`

What breaks lies in build/fuzz/ afterwards. Put it into tests/marking/found/ as file-WHAT or number-WHAT, where `test_found.py`
tries it for ever, and then mend the code.
"""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # what is watched is imported when the fuzzer is ready to watch it
    from grader.marking.mark import Marker

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
ENDINGS = ("json", "yaml", "csv", "txt", "tsv")
PIECES = (
    *"0123456789.,/- +−×eE^xX*°%:=≈~'\"²½¼#()", " ", "10", "1/4", "234", "mm", "mm²", " in", "in. Hg", " kPa", "to 1", "F", "C",
    "per", "No. ", " drill", "42", "Mar", "ca.", "about ", "A", "\u202f", "\u200b", "\u0301", "\u212a", "０", "٣", "µ", "Ω", "ß",
    "ſ", "K", "\x07",
)  # fmt: skip
ASKED = ("mm^2", "in", "inHg", "degF", "dK", "deg", "1", "%")


def check_file(data: bytes) -> None:
    """Whatever the bytes: sheets or a reason with a place, and marks within their points. The first byte chooses the ending."""
    from grader.marking.reading import read_file

    name = f"a.{ENDINGS[data[0] % len(ENDINGS)]}" if data else "a.json"
    reading = read_file(name, data[1:])
    assert all(aside.message and aside.mend and aside.code and aside.line >= 0 for aside in reading.asides)
    for sheet in reading.sheets:
        assert sheet.paper
        assert sheet.candidate
        for given in (sheet.answers, dict(zip(_numbers(), sheet.answers.values(), strict=False))):
            marks = _marker().mark(given)
            assert all(0 <= float(m.mark) <= float(m.out_of) and m.why for m in marks.marks)


def check_number(data: bytes) -> None:
    """
    Whatever the text: read as the slow reader reads it.

    The first byte chooses the unit asked for, and whether the rest is a text in UTF-8 or a row of pieces, one a byte.
    """
    from grader.marking.numbers import ReadNumber, read_number
    from tests.marking import slow

    kind = data[0] if data else 0
    unit = ASKED[kind % len(ASKED)]
    text = "".join(PIECES[byte % len(PIECES)] for byte in data[1:]) if kind >= 128 else data[1:].decode("utf-8", "replace")
    units = _marker().key.units
    ours, theirs = read_number(text, units, unit), slow.read(text, units, unit)
    if isinstance(ours, ReadNumber):
        assert not isinstance(theirs, str), theirs
        assert (ours.number, ours.read, ours.unit) == (theirs.number, theirs.read, theirs.unit)
    else:
        assert ours.reason == theirs


@cache
def _marker() -> Marker:
    from grader.marking.key import read_key
    from grader.marking.mark import Marker

    return Marker(read_key((HERE / "golden" / "key.json").read_bytes()))


@cache
def _numbers() -> tuple[str, ...]:
    from grader.marking.mark import places

    return tuple(number for question in _marker().key.questions for number in places(question))


CHECKS = {"file": check_file, "number": check_number}


def seeds(what: str) -> list[bytes]:
    """What the fuzzer begins with: the golden files, or the written answers."""
    if what == "file":
        paths = [path for path in (HERE / "golden").iterdir() if path.name not in ("key.json", "marks.txt")]
        ending = {f".{ending}": bytes([place]) for place, ending in enumerate(ENDINGS)}
        return [ending[path.suffix] + path.read_bytes() for path in paths]
    from tests.marking.written_answers import written_answers

    rows = written_answers()
    return [bytes([ASKED.index(row.asked) if row.asked in ASKED else 0]) + row.text.encode() for row in rows]


def _words() -> list[str]:
    """What answers and their files are made of: a fuzzer puts them together sooner than it finds them."""
    return [
        "mm²", "in", '"', "°", "inHg", "kPa", ":1", "%", "e-3", "×10^", "10^", "1/4", "½", "1,234", ".5", "No. 42 drill", "#",
        "≈", "ca.", "A = ", "−", "\u202f", "\u2009", "０", "Mar", "²", "⁻", "per ", "sq ", "c a d", "1-c", "paper", "candidate",
        "answers", "sitting", "7M2KQ8D4XV", '{"', '": "', "paper: ", "answers:\n  ", "paper;candidate;1", "\r\n", "---",
        "&a ", "*a", "!!", "\ufeff", "\ud7ff",
    ]  # fmt: skip


def _dictionary(words: list[str]) -> str:
    """The words as the fuzzer reads them: one a line, in quotes, byte by byte."""
    coded = ["".join(rf"\x{byte:02x}" for byte in word.encode()) for word in words]
    return "".join(f'"{word}"\n' for word in coded)


def main(what: str, seconds: str) -> None:
    """Feed one of the checks for some seconds; the process ends with what broke, if anything did."""
    import atheris

    with atheris.instrument_imports(include=["grader.marking", "grader.base"]):
        import grader.marking.mark
        import grader.marking.numbers
        import grader.marking.reading  # noqa: F401
    folder = ROOT / "build" / "fuzz" / what
    folder.mkdir(parents=True, exist_ok=True)
    for place, seed in enumerate(seeds(what)):
        (folder / f"seed-{place:03}").write_bytes(seed)
    words = folder.parent / f"{what}.dict"
    words.write_text(_dictionary(_words()))
    longest = 6000 if what == "file" else 120
    limits = [f"-dict={words}", f"-max_total_time={seconds}", f"-max_len={longest}", "-timeout=10"]
    found = f"-artifact_prefix={folder.parent}/{what}-"
    atheris.Setup([sys.argv[0], str(folder), *limits, found, "-print_final_stats=1"], CHECKS[what])
    atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
