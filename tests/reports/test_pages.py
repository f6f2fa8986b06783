"""Feedback and report: complete, private, and proof against what strangers write."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import msgspec
import pytest
from lxml import html

from grader.base.quantities import NO_BREAK
from grader.marking.key import Answer, Figure, Reading
from grader.marking.mark import mark
from grader.marking.strays import Pair, Stray
from grader.reports.charts import bars, distribution, histogram
from grader.reports.feedback import feedback, feedback_page, study_again
from grader.reports.report import report_page
from grader.reports.view import View
from grader.reports.write import write_reports

TEXTS = {"power.1": "Open area of a jet round a stepped rod", "pump.3": "Intake check and discharge check"}
LESSONS = {"power": "The power circuit", "pump": "The accelerator pump"}


def text_of(page: str) -> str:
    body = html.fromstring(page).find("body")
    assert body is not None
    return " ".join(" ".join(body.itertext()).split())


def test_feedback_says_what_was_written_how_it_was_read_and_why(view: View) -> None:
    text = text_of(feedback_page(feedback(view, view.candidates[1], TEXTS, LESSONS)))
    assert "4.57 mm²" in text
    assert "A known slip" in text
    assert "That is the whole jet." in text
    assert "Right on your own earlier value" in text
    assert "2.298 mm² (taken: 2.252 to 2.344" in text


def test_feedback_holds_the_typeset_working(view: View) -> None:
    assert "<math alttext=" in feedback_page(feedback(view, view.candidates[0], TEXTS, LESSONS))


def test_feedback_on_an_instrument_draws_it_again_with_its_rule_and_the_right_reading(view: View) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Gauge</title><desc>A dial.</desc></svg>'
    gauge = Figure(svg=svg, alt="Gauge. A dial.")
    right = Answer(value="14.5", low="14", high="15", unit="inHg", shown="14.5 inHg", within="0.5 inHg")
    reading = Reading(
        number="5", item="gauge", objective="power.1", circuit="power", points="1", stem="Read it.", figure=gauge, answer=right,
        rule="Read to half a division; an answer within 0.5 inHg is right.",
    )  # fmt: skip
    sat = view.candidates[0]
    key = msgspec.structs.replace(sat.key, questions=(reading,))
    assert sat.marking is not None
    marks = mark(key, {"5": "12 inHg"}).marks
    sat = dataclasses.replace(sat, key=key, marking=dataclasses.replace(sat.marking, marks=marks))
    page = feedback_page(feedback(view, sat, {}, {})).replace(NO_BREAK, " ")
    for words in (
        reading.rule,
        "14.5 inHg (taken: 14 to 15 inHg)",
        "Not within 0.5 inHg of the answer.",
        'aria-labelledby="q5-title"',
    ):
        assert words in page


def test_feedback_names_what_to_study_again_most_lost_first(view: View) -> None:
    again = study_again(view.candidates[1], TEXTS, LESSONS)
    assert [one.objective for one in again] == ["pump.1", "power.1", "pump.3", "power.2"]
    assert again[1].says == "Open area of a jet round a stepped rod"
    assert study_again(view.candidates[0], TEXTS, LESSONS) == []


@pytest.mark.parametrize("place", [0, 1, 2])
def test_feedback_holds_no_other_candidate(view: View, place: int) -> None:
    page = feedback_page(feedback(view, view.candidates[place], TEXTS, LESSONS))
    for other in (sat for sat in view.candidates if sat is not view.candidates[place]):
        assert other.paper.code not in page
        assert other.paper.candidate not in page


def test_what_strangers_write_is_text_and_nothing_else(view: View) -> None:
    pages = [feedback_page(feedback(view, sat, TEXTS, LESSONS)) for sat in view.marked]
    pages.append(report_page(view, TEXTS, LESSONS))
    for page in pages:
        tree = html.fromstring(page)
        assert tree.xpath("//script") == []
        assert tree.xpath("//img") == []
        assert tree.xpath("//@onerror") == []
        assert tree.xpath("//b[text()='photo']") == []


def test_nothing_that_a_stranger_wrote_turns_the_line_round(view: View) -> None:
    # U+202E writes what follows from right to left: "9.4" after it reads "4.9".
    sat = view.candidates[2]
    assert sat.marking is not None
    turned = tuple(dataclasses.replace(mark, answer="\u202e9.4 mm²", why="“\u202e9.4” is no number") for mark in sat.marks)
    hostile = dataclasses.replace(sat, marking=dataclasses.replace(sat.marking, marks=turned))
    changed = dataclasses.replace(view, candidates=(*view.candidates[:2], hostile, *view.candidates[3:]))
    for page in (feedback_page(feedback(changed, hostile, TEXTS, LESSONS)), report_page(changed, TEXTS, LESSONS)):
        assert "\u202e" not in page
        assert "\\u202e9.4 mm²" in page


def test_a_page_asks_for_nothing_from_outside(view: View) -> None:
    for page in (feedback_page(feedback(view, view.candidates[0], TEXTS, LESSONS)), report_page(view, TEXTS, LESSONS)):
        assert "default-src 'none'" in page
        assert html.fromstring(page).xpath("//@src | //@href") == []
        assert "url(http" not in page


def test_the_report_lists_what_needs_a_person(view: View) -> None:
    text = text_of(report_page(view, TEXTS, LESSONS))
    assert "b>.json" in text
    assert "not-an-answer-file" in text
    assert "<img src=x onerror=alert(1)>" in text  # an answer that could not be read, as text
    assert "3 candidates: below 30" in text
    assert "To pass: 60 % of all marks, and 40 % of the marks in each circuit." in text


def test_reports_are_written_whole(view: View, tmp_path: Path) -> None:
    written = write_reports(view, tmp_path / "results", objectives=TEXTS, lessons=LESSONS)
    assert [p.name for p in written] == ["report.html", "results.csv", "marks.csv", *(f"7M2KQ8D4X{n}.html" for n in range(3))]
    assert sorted(p for p in (tmp_path / "results").rglob("*") if p.is_file()) == sorted(written)


def test_pairs_that_accident_explains_are_folded_away_and_rare_ones_are_not(view: View) -> None:
    # 3 marked papers, each against 3 others: 9 pairs. 1e-4 for one is 1 in 1,100 for some pair, 0.05 is 1 in 2.7 (derived)
    changed = dataclasses.replace(view)
    one, two, three, _ = (sat.paper.code for sat in view.candidates)
    stray = Stray(one, "c-1", "1", "power-open-area", "<9> mm²", (two,), 3, 0.05)
    likely = Pair(two, three, 1, 2, 0.05)
    changed.__dict__.update(pairs=(Pair(one, two, 4, 5, 1e-4), likely), strays=(stray,))
    page = html.fromstring(report_page(changed, TEXTS, LESSONS))
    folded = " ".join(" ".join(part.itertext()) for part in page.xpath("//details"))
    assert "c-2 c-3 1 of 2" in " ".join(folded.split())
    assert "Pairs that accident explains: 1" in folded
    text = text_of(report_page(changed, TEXTS, LESSONS))
    assert "Look at this pair:" in text
    assert "c-1 c-2 4 of 5 1 in 10,000 1 in 1,100 next to each other in the roster" in text
    changed.__dict__["pairs"] = (likely,)
    text = text_of(report_page(changed, TEXTS, LESSONS))
    assert "Nothing to do: no pair meets more often" in text
    assert "Look at this pair" not in text


def test_before_anybody_is_decided_on_nobody_is_said_to_have_failed(view: View) -> None:
    undecided = tuple(dataclasses.replace(sat, decision=None) for sat in view.candidates)
    text = text_of(report_page(dataclasses.replace(view, candidates=undecided), TEXTS, LESSONS))
    assert "not decided yet" in text
    assert "% passed" not in text


def test_a_distribution_counts_everybody_once() -> None:
    percents = [0.0, 9.99, 10.0, 55.0, 99.9, 100.0]
    assert sum(distribution(percents).values()) == len(percents)
    assert distribution(percents)[90] == 2


def test_charts_say_in_words_what_they_draw() -> None:
    drawn = html.fromstring(bars('By "circuit"', {"<power>": 62.5}, cut=60))
    assert drawn.get("aria-label") == 'By "circuit": <power> 62.5 %'
    assert html.fromstring(histogram("Class", [])).get("aria-label") == "Class: no candidate"


def test_a_table_that_scrolls_can_be_reached_and_scrolled_from_the_keyboard(view: View) -> None:
    # the rule "scrollable-region-focusable" of axe 4.12.1, which found these
    wide = html.fromstring(report_page(view, TEXTS, LESSONS)).xpath("//div[@class='wide']")
    assert len(wide) > 2
    assert all(one.get("tabindex") == "0" and one.get("role") == "group" and one.get("aria-label") for one in wide)


def test_what_is_settled_is_folded_away(view: View) -> None:
    settled = dataclasses.replace(view, asides=(), settled=view.asides)
    tree = html.fromstring(report_page(settled, TEXTS, LESSONS))
    folded = [" ".join(part.text_content().split()) for part in tree.xpath("//details[summary[starts-with(., 'Settled')]]")]
    assert len(folded) == 1
    assert "not-an-answer-file" in folded[0]
