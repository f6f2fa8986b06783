"""A `table` block: drills, fractions, conversions, set so that they go on a phone and on paper."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from math import ceil

from grader.base.errors import UseError
from grader.items.lesson_file import read_pairs
from grader.items.model import Fence
from grader.items.reference_tables import Table, table_asked
from grader.pages.lessons import Fault

LONGEST = 20
"""Rows of a table, past which it is cut; the parts stand side by side where there is room."""


def table_html(fence: Fence) -> str:
    """
    The block as HTML: everything in it is computed now. Raises `Fault`.

    >>> html = table_html(Fence("table", 1, ("units: mm, in",)))
    >>> '<th scope="row">1 in</th><td>25.4</td><td>1</td>' in html.replace("\\u202f", " ")
    True
    """
    try:
        found = table_asked(read_pairs(fence))
    except UseError as error:
        raise Fault.of("wrong-block", error, "write `list: drills` or `units: kPa, psi, inHg`") from error
    parts = list(_parts(found))
    wide = " course-lookup-wide" if len(found.heads) > LONG_LINE else ""
    tables = "".join(_one(found, rows, len(parts)) for rows in parts)
    return f'<div class="course-lookup{wide}" role="group" aria-label="{escape(found.says)}">{tables}</div>'


LONG_LINE = 4
"""Columns, past which the figures are set smaller on a phone."""


def _parts(table: Table) -> Iterator[tuple[tuple[str, ...], ...]]:
    """The rows in parts of one length, as few as go."""
    count = ceil(len(table.rows) / LONGEST) if table.run else 1
    size = ceil(len(table.rows) / count)
    for start in range(0, len(table.rows), size):
        yield table.rows[start : start + size]


def _one(table: Table, rows: tuple[tuple[str, ...], ...], of: int) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' if head else "<td></td>" for head in table.heads)
    body = "".join(_row(row) for row in rows)
    about = f"{table.says}, {rows[0][0]} to {rows[-1][0]}" if of > 1 else table.says
    caption = f'<caption class="course-unseen">{escape(about)}</caption>'
    return f'<table class="course-table">{caption}<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>'


def _row(row: tuple[str, ...]) -> str:
    return f'<tr><th scope="row">{escape(row[0])}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in row[1:])}</tr>'
