"""Feedback on paper: what the page says, tagged, and proof against what strangers write."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import msgspec
import pikepdf
import pypdfium2
import pytest

from grader.marking.key import Figure
from grader.register.pile import mark_pile
from grader.register.remarking import award_mark, correct
from grader.reports.feedback import Feedback, feedback, feedback_page
from grader.reports.feedback_pdf import NOT_PRINTED, feedback_pdf
from grader.reports.view import Sat, View, look_at
from grader.reports.write import write_reports
from tests.register.bench_sitting import LATER, WHEN, assess, held, right, write
from tests.reports.test_pages import LESSONS, TEXTS, text_of

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 40"><title>Jet</title><desc>3 mm.</desc><path d="M0 0h9"/></svg>'


def flat(pdf: bytes) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        return " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())


def letters(text: str) -> str:
    """Without spaces and places to break: how a line is filled is no matter."""
    return re.sub(r"[\s\u200b\ufffe\u0002]", "", text)


def of(view: View, place: int, **changed: Any) -> Feedback:
    return dataclasses.replace(feedback(view, view.candidates[place], TEXTS, LESSONS), **changed)


@pytest.mark.parametrize("place", [1, 2])
def test_the_pdf_says_what_the_page_says(view: View, place: int) -> None:
    shown = of(view, place)
    paper = letters(flat(feedback_pdf(shown)))
    page = letters(text_of(feedback_page(shown)))
    part_of_the_page = [shown.name, shown.mark, *(one.says for one in shown.again if one.says)]
    for asked in shown.asked:
        part_of_the_page += [*asked.stem]
        for part in asked.parts:
            part_of_the_page += [*part.stem, part.right, part.wrote, part.says[1], part.why, part.earned]
            part_of_the_page += [option.text for option in part.options] + [row.text for row in part.rows]
            part_of_the_page += [step.says for step in part.working]
    for words in map(letters, part_of_the_page):
        assert words in page
        assert words in paper


@pytest.mark.parametrize("place", [0, 1, 2])
def test_the_pdf_holds_no_other_candidate(view: View, place: int) -> None:
    said = flat(feedback_pdf(of(view, place))).replace("-", "")
    for other in (sat for sat in view.candidates if sat is not view.candidates[place]):
        assert other.paper.code not in said
        assert other.paper.candidate.replace("-", "") not in said.split()


def test_what_strangers_write_is_text_never_source(view: View) -> None:
    hostile = '#read("/etc/passwd") $x$ *b* `c` \\u{41} <img src=x> "]'
    sat = view.candidates[2]
    assert sat.marking is not None
    marks = tuple(dataclasses.replace(mark, answer=hostile, why=hostile) for mark in sat.marks)
    sat = dataclasses.replace(sat, marking=dataclasses.replace(sat.marking, marks=marks), paper=_named(sat, hostile))
    said = letters(flat(feedback_pdf(feedback(view, sat, {}, {}))))
    assert said.count(letters(hostile)) >= len(marks)


def test_a_sign_that_no_font_has_is_replaced_and_the_sheet_says_so(view: View) -> None:
    sat = view.candidates[0]
    strange = dataclasses.replace(sat, paper=_named(sat, "李 Ming"))
    said = flat(feedback_pdf(feedback(view, strange, {}, {})))
    assert "\ufffd Ming (c-1)" in said
    assert NOT_PRINTED in said
    assert NOT_PRINTED not in flat(feedback_pdf(of(view, 0)))


def test_a_long_answer_stays_on_the_sheet(view: View) -> None:
    sat = view.candidates[1]
    assert sat.marking is not None
    marks = tuple(dataclasses.replace(mark, answer="9" * 300) for mark in sat.marks)
    sat = dataclasses.replace(sat, marking=dataclasses.replace(sat.marking, marks=marks))
    with pypdfium2.PdfDocument(feedback_pdf(feedback(view, sat, {}, {}))) as document:
        for page in document:
            text = page.get_textpage()
            assert all(text.get_charbox(n)[2] <= page.get_width() - 50 for n in range(text.count_chars()))


def tags(pdf: bytes) -> Iterator[tuple[str, Any]]:
    def walk(node: Any) -> Iterator[tuple[str, Any]]:
        for kid in node.get("/K", []) if isinstance(node.get("/K"), pikepdf.Array) else [node.get("/K")]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield str(kid["/S"]), kid.get("/Alt")
                yield from walk(kid)

    with pikepdf.open(BytesIO(pdf)) as document:
        assert str(document.Root["/Lang"]) == "en-GB"
        assert document.docinfo["/Title"] == "Feedback · Power and pump · 7M2KQ-8D4X1"
        yield from [(name, None if alt is None else str(alt)) for name, alt in walk(document.Root["/StructTreeRoot"])]


def test_the_pdf_is_tagged_with_headings_tables_figures_and_formulas_in_words(view: View) -> None:
    # ISO 14289-1 (PDF/UA-1), as far as from memory: title, language, headings in order, header cells, alternatives.
    sat = view.candidates[1]
    figure = Figure(svg=SVG, alt="A jet, seen from its end.")
    first = msgspec.structs.replace(sat.key.questions[0], figure=figure)
    working = (msgspec.structs.replace(first.working[0], typst="A = pi/4"),)
    first = msgspec.structs.replace(first, working=working)
    sat = dataclasses.replace(sat, key=msgspec.structs.replace(sat.key, questions=(first, *sat.key.questions[1:])))
    pdf = feedback_pdf(feedback(view, sat, TEXTS, LESSONS))
    found = list(tags(pdf))
    names = [name for name, _ in found]
    assert {"/H1", "/H2", "/H3", "/H4", "/Table", "/TH", "/TD"} <= set(names)
    assert ("/Figure", "A jet, seen from its end.") in found
    assert ("/Formula", "A = 2.298 mm²") in found
    assert pdf == feedback_pdf(feedback(view, sat, TEXTS, LESSONS))


def test_stations_corrections_and_awards_stand_on_the_sheet(tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    register = held(tmp_path / "register.sqlite", each_station="80 %")
    write(folder, "c-01", right("c-01", q1="three squares"))
    assess(folder, "c-01", remarks="<i>Calm</i> #and clean.")
    mark_pile(register, "spring", [folder], WHEN)
    correct(register, "spring", ({"item": "power-case", "withdraw": "not counted"},), "the bank was wrong", LATER, "T. Examiner")
    award_mark(register, "spring", "c-01", "1", "1", "three it is", LATER, "T. Examiner")
    view = look_at(register, "spring", "T. Examiner", WHEN)
    said = flat(feedback_pdf(feedback(view, view.candidates[0], {}, {})))
    assert "passed, 6 of 6" in said
    assert "<i>Calm</i> #and clean." in said
    assert "Critical:" in said
    assert "Decided by an examiner: three it is" in said
    assert said.count("This question was withdrawn and does not count.") == 2  # both parts of the case


def test_pdfs_are_written_beside_the_pages_only_where_wanted(view: View, tmp_path: Path) -> None:
    written = write_reports(view, tmp_path, objectives=TEXTS, lessons=LESSONS, pdf=True)
    assert all(page.with_suffix(".pdf").read_bytes().startswith(b"%PDF-") for page in written[3:])
    write_reports(view, tmp_path, objectives=TEXTS, lessons=LESSONS)
    assert not list(tmp_path.rglob("*.pdf"))  # one left from before would no longer say what counts


def _named(sat: Sat, name: str) -> Any:
    return dataclasses.replace(sat.paper, name=name)
