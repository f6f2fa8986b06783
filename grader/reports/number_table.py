"""A table of numbers as an instructor keeps it: a CSV, names in the first column and the first line, numbers in between."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import FindingsError
from grader.base.files import read_capped
from grader.base.findings import Finding
from grader.base.tables import csv_rows, separator
from grader.items.yamlfile import decoded, short

SIZE_LIMIT = 64_000_000
_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?\s*%?")


@dataclass(frozen=True, slots=True)
class NumberTable:
    """
    Parameters
    ----------
    file : str
    rows, columns : tuple of str
        The names in the first column and in the first line.
    lines : tuple of int
        Where each row stands in the file.
    numbers : ndarray, shape (rows, columns)
        NaN where a cell is empty.
    """

    file: str
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    lines: tuple[int, ...]
    numbers: NDArray[np.float64]

    def without(self, name: str) -> tuple[NumberTable, NDArray[np.float64] | None]:
        """The table without the row of that name, and that row's numbers; `None` where there is no such row."""
        wanted = [place for place, row in enumerate(self.rows) if row.casefold() == name]
        if not wanted:
            return self, None
        keep = [place for place in range(len(self.rows)) if place != wanted[0]]
        rest = NumberTable(
            self.file,
            tuple(self.rows[place] for place in keep),
            self.columns,
            tuple(self.lines[place] for place in keep),
            self.numbers[keep],
        )
        return rest, self.numbers[wanted[0]]


@dataclass(frozen=True, slots=True)
class _Cells:
    """A table as written: names round it, text in it, and whether numbers in it have a comma."""

    file: str
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    lines: tuple[int, ...]
    cells: tuple[tuple[str, ...], ...]
    comma: bool

    def __iter__(self) -> Iterator[tuple[int, str]]:
        return ((line, cell) for line, cells in zip(self.lines, self.cells, strict=True) for cell in cells)

    def table(self, numbers: Sequence[float]) -> NumberTable:
        square = np.array(numbers, dtype=np.float64).reshape(len(self.rows), len(self.columns))
        return NumberTable(self.file, self.rows, self.columns, self.lines, square)


def read_numbers(path: Path) -> NumberTable:
    """
    A table of numbers from a CSV.

    Numbers have a point, or a comma where semicolons part the cells; a percent sign behind them is let pass and changes nothing.

    Raises
    ------
    FindingsError
        Every fault at once: a cell that is no number, a row of another length, a name that stands twice, a table without numbers.
    UseError
        The file cannot be opened, or has more than 64 MB.
    """
    return numbers_of(str(path), read_capped(path, SIZE_LIMIT))


def numbers_of(file: str, data: bytes) -> NumberTable:
    """
    A table of numbers from a CSV's bytes; raises as `read_numbers`.

    >>> table = numbers_of("marks.csv", b"person;q1;q2\\nc-1;1;0,5\\nc-2;;1\\n")
    >>> table.rows, table.columns, table.numbers.tolist()
    (('c-1', 'c-2'), ('q1', 'q2'), [[1.0, 0.5], [nan, 1.0]])
    """
    found, findings = _cells(file, data), []
    numbers = [_number(cell, found.comma) for _, cell in found]
    for (line, cell), number in zip(found, numbers, strict=True):
        if cell and number is None:
            mend = "write a number, or leave it empty"
            if "," in cell:
                mend = "write it with a decimal point, or part the cells by semicolons"
            findings.append(Finding(file, line, "no-number", f"`{short(cell)}` is no number", mend))
    if findings:
        raise FindingsError(findings)
    return found.table([math.nan if number is None else number for number in numbers])


def read_grades(path: Path) -> tuple[NumberTable, tuple[str, ...]]:
    """
    A table of grades from a CSV, numbers or words, and the words; no words where all are numbers.

    A word becomes its place among the words in order of the alphabet: a name, no amount. Raises as `read_numbers`.
    """
    return grades_of(str(path), read_capped(path, SIZE_LIMIT))


def grades_of(file: str, data: bytes) -> tuple[NumberTable, tuple[str, ...]]:
    """
    A table of grades from a CSV's bytes.

    >>> table, words = grades_of("bench.csv", b"who,A,B\\nc-1,done,done\\nc-2,not done,done\\n")
    >>> words, table.numbers.tolist()
    (('done', 'not done'), [[0.0, 0.0], [1.0, 0.0]])
    """
    found = _cells(file, data)
    numbers = [_number(cell, found.comma) for _, cell in found]
    if all(number is not None or not cell for (_, cell), number in zip(found, numbers, strict=True)):
        return found.table([math.nan if number is None else number for number in numbers]), ()
    words = tuple(sorted({cell.casefold() for _, cell in found if cell}))
    return found.table([words.index(cell.casefold()) if cell else math.nan for _, cell in found]), words


def _cells(file: str, data: bytes) -> _Cells:
    findings: list[Finding] = []
    text = decoded(file, data, findings)
    rows = [] if text is None else csv_rows(file, text, findings)
    if not findings and (len(rows) < 2 or len(rows[0][1]) < 2):
        says = "the table is empty"
        findings.append(Finding(file, 1, "no-table", says, "write a line of names, then lines of a name and its values"))
    if findings or text is None:
        raise FindingsError(findings)
    columns = _names(file, [(rows[0][0], name) for name in rows[0][1][1:]], "column", findings)
    whole = [(line, cells) for line, cells in rows[1:] if _of_length(file, line, cells, len(rows[0][1]), findings)]
    names = _names(file, [(line, cells[0]) for line, cells in whole], "row", findings)
    if findings:
        raise FindingsError(findings)
    lines, cells = tuple(line for line, _ in whole), tuple(tuple(cells[1:]) for _, cells in whole)
    return _Cells(file, names, columns, lines, cells, separator(text) == ";")


def _names(file: str, found: list[tuple[int, str]], what: str, findings: list[Finding]) -> tuple[str, ...]:
    first: dict[str, int] = {}
    for line, name in found:
        if not name:
            findings.append(Finding(file, line, "empty-name", f"a {what} has no name", "write one"))
        elif name in first:
            says = f"the {what} `{short(name)}` stands twice, first on line {first[name]}"
            findings.append(Finding(file, line, "repeated-name", says, "keep one of the two"))
        first.setdefault(name, line)
    return tuple(name for _, name in found)


def _of_length(file: str, line: int, cells: list[str], wanted: int, findings: list[Finding]) -> bool:
    if len(cells) == wanted:
        return True
    says = f"the line has {len(cells)} values, the first line {wanted}"
    findings.append(Finding(file, line, "wrong-count", says, "write a value, or nothing, for each column"))
    return False


def _number(cell: str, comma: bool) -> float | None:
    """The number in a cell; `None` where there is none."""
    text = cell.replace(",", ".") if comma else cell
    if not _PLAIN.fullmatch(text):
        return None
    number = float(text.rstrip("% "))
    return number if math.isfinite(number) else None
