"""A `table` block: heads and rows as a screen reader needs them, cut into parts where it is long, refusals with their line."""

from __future__ import annotations

import re

import pytest
from lxml import html as markup

from grader.items.model import Fence
from grader.pages.lessons import Fault
from grader.pages.tables import LONGEST, table_html


def block(*lines: str) -> str:
    return table_html(Fence("table", 7, lines))


def test_a_long_table_is_cut_into_parts_that_each_have_heads_and_say_what_they_hold() -> None:
    found = markup.fromstring(block("list: drills"))
    tables = found.findall(".//table")
    assert [len(table.findall(".//tbody/tr")) for table in tables] == [20, 20, 20, 20]
    assert max(len(table.findall(".//tbody/tr")) for table in tables) <= LONGEST
    assert [table.findtext("caption").rpartition(", ")[2] for table in tables] == ["80 to 61", "60 to 41", "40 to 21", "20 to 1"]
    for table in tables:
        assert [head.get("scope") for head in table.findall(".//thead/tr/th")] == ["col"] * 4
        assert all(row.find("th").get("scope") == "row" for row in table.findall(".//tbody/tr"))


def test_factors_stay_in_one_table_and_an_empty_corner_is_no_heading() -> None:
    html = block("units: kPa, mbar, psi, inHg, inH2O")
    assert html.count("<table") == 1
    assert "<td></td><th scope=" in html
    assert "course-lookup-wide" in html
    assert "course-lookup-wide" not in block("units: mm, in")


def test_signs_of_units_stand_in_heads_and_rows() -> None:
    assert re.findall(r'<th scope="row">([^<]*)</th>', block("units: inH2O, Pa")) == ["1 inH₂O", "1 Pa"]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("drills",), "`drills` is not a line of a table block; write it as `name: value`"),
        (("list: drills", "list: drills"), "`list` stands twice in the table block; keep one of the two"),
        (("list: nails",), "there is no list `nails`; there are drills, fractions"),
        ((), "the table block asks for nothing; write `list: drills` or `units: kPa, psi, inHg`"),
    ],
)
def test_what_is_wrong_in_a_block_is_a_fault(lines: tuple[str, ...], told: str) -> None:
    with pytest.raises(Fault) as caught:
        block(*lines)
    assert caught.value.code == "wrong-block"
    assert str(caught.value) == told
