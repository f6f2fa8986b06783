"""Tables as CSV: read as an office saves them, written so that any spreadsheet opens them and none can be made to run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from grader.base.findings import Finding

# What a spreadsheet would run as a formula. A plain signed number stays; anything else gets an apostrophe in front.
_FORMULA = re.compile(r"[=+\-@\t\r]")
_NUMBER = re.compile(r"[+-][\d.,]+\s*[\w°²³/%\"]*", re.ASCII)


def harmless(cell: str) -> str:
    """
    A cell that no spreadsheet takes for a formula.

    >>> harmless("=cmd|'/c calc'!A0"), harmless("-4.2"), harmless("c-01")
    ("'=cmd|'/c calc'!A0", '-4.2', 'c-01')
    """
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


def csv_text(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    r"""
    A table as the text of a CSV file, every cell harmless.

    >>> csv_text(["candidate", "name"], [["c-1", "=1+1"]])
    "candidate,name\nc-1,'=1+1\n"
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()


def csv_rows(file: str, text: str, findings: list[Finding]) -> list[tuple[int, list[str]]]:
    r"""
    The rows of a CSV that are not empty, each with the line where it starts; cells without spaces around.

    The separator is whichever of comma and semicolon the first line has more of. What is no CSV becomes a finding.

    >>> csv_rows("class.csv", "id;mark\n\nc-1; 2,5\n", [])
    [(1, ['id', 'mark']), (3, ['c-1', '2,5'])]
    """
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        findings.append(Finding(file, line, "unseen-letter", "a NUL stands in the line", "take it out"))
        return []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator(text), strict=True)
    rows = []
    before = 0
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((before + 1, [cell.strip() for cell in cells]))
            before = reader.line_num
    except csv.Error as error:
        findings.append(
            Finding(file, reader.line_num, "not-csv", f"not CSV: {error}", "close the quotes, and double a quote inside quotes")
        )
    return rows


def separator(text: str) -> str:
    """
    What parts the cells of a CSV, by its first line.

    >>> separator("candidate;name"), separator("candidate,name")
    (';', ',')
    """
    head = text.partition("\n")[0]
    return ";" if head.count(";") > head.count(",") else ","
