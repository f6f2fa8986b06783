"""Tables as CSV that any spreadsheet opens and none can be made to run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

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
