"""Tables of the lessons: only those that may outgrow a phone slide, and take a stop of the keyboard."""

from __future__ import annotations

from grader.pages.plugin import _with_wide_tables


def table(columns: int) -> str:
    head = "\n".join(f"<th>c{n}</th>" for n in range(columns))
    row = "\n".join(f"<td><a href='#'>v{n}</a></td>" for n in range(columns))
    return f"<table>\n<thead>\n<tr>\n{head}\n</tr>\n</thead>\n<tbody>\n<tr>\n{row}\n</tr>\n<tr>\n{row}\n</tr>\n</tbody>\n</table>"


def test_five_columns_slide_and_four_do_not_however_many_rows_there_are() -> None:
    assert "course-scroll" not in _with_wide_tables(table(2))
    assert "course-scroll" not in _with_wide_tables(table(4))
    assert _with_wide_tables(table(5)).startswith('<div class="course-scroll"')
    assert _with_wide_tables(table(3) + "<p>and</p>" + table(6)).count('tabindex="0"') == 1
