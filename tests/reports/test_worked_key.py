from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import html

from grader.items.course import load_course
from grader.papers.quiz import Quiz, Wish, make_quiz
from grader.reports.worked_key import worked_key_page


@pytest.fixture(scope="module")
def quiz() -> Quiz:
    found = load_course(Path(__file__).parents[1] / "register" / "course")
    return make_quiz(replace(found, practice=found.exam, exam=()), Wish(("pump",), 6, 3, "brass"), "2031-05-12")


def test_every_copy_s_answers_stand_under_its_code(quiz: Quiz) -> None:
    page = html.fromstring(worked_key_page(quiz))
    for copy in quiz.copies:
        (section,) = page.xpath(f'//section[h2[@id="{copy.paper.code}"]]')
        said = " ".join(section.text_content().split())
        for one in copy.worked:
            assert " ".join(one.stem.split()) in said
            for answer in one.answers:
                slips = (f"{value}: {says}" for value, says in answer.slips)
                for words in (answer.answer, answer.taken, *slips, *(step.says for step in answer.steps)):
                    assert " ".join(words.split()) in said


def test_no_two_things_of_the_page_have_one_id_and_every_link_leads_somewhere(quiz: Quiz) -> None:
    page = html.fromstring(worked_key_page(quiz))
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert {link.removeprefix("#") for link in page.xpath("//nav//@href")} == {copy.paper.code for copy in quiz.copies}


def test_what_an_author_wrote_is_text(quiz: Quiz) -> None:
    (first, *rest) = quiz.copies
    hostile = replace(first, worked=(replace(first.worked[0], stem="<script>alert(1)</script>"), *first.worked[1:]))
    assert "<script>" not in worked_key_page(replace(quiz, copies=(hostile, *rest), title="<script>"))
