from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import pikepdf
import pypdfium2
import pytest

from grader.marking.key import AnyQuestion, Step
from grader.papers.paper import Paper
from grader.papers.worked_key import Worked, set_worked_key, worked_question

AGAIN = "grader quiz pump --items 8 --copies 1 --seed brass"


def flat(pdf: bytes) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        return " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())


@pytest.fixture
def worked(questions: tuple[AnyQuestion, ...]) -> tuple[Worked, ...]:
    return tuple(map(worked_question, questions))


def test_a_question_of_every_kind_has_its_answer(worked: tuple[Worked, ...]) -> None:
    answers = {one.item: [answer.answer for answer in one.answers] for one in worked}
    assert answers == {
        "SECRET-ring": ["7771.23 SECRET"],
        "SECRET-c": ["b"],
        "SECRET-cs": ["a c"],
        "SECRET-o": ["c b a"],
        "SECRET-m": ["1-c 2-a"],
        "SECRET-case": ["7771.23 SECRET", "7771.23 SECRET", "b"],
        "SECRET-r": ["7771.23 SECRET"],
        "SECRET-ratio": ["7771.23 SECRET"],
    }
    assert [answer.number for answer in worked[5].answers] == ["6a", "6b", "6c"]
    assert [option.letter for option in worked[2].answers[0].options if option.right] == ["a", "c"]


@pytest.mark.paper
def test_all_that_an_instructor_needs_stands_in_the_pdf(make_paper: Callable[..., Paper], worked: tuple[Worked, ...]) -> None:
    said = flat(set_worked_key(make_paper(), worked, AGAIN))
    for words in (
        "7M2KQ-8D4XT",
        AGAIN,
        "SECRET slip",
        "SECRET says",
        "SECRET working",
        "7770.1 to 7772.3",
        "Read to half a line",
        "slips",
    ):
        assert words in said


@pytest.mark.paper
def test_the_pdf_is_tagged_and_the_same_each_time(make_paper: Callable[..., Paper], worked: tuple[Worked, ...]) -> None:
    pdf = set_worked_key(make_paper(), worked, AGAIN)
    assert pdf == set_worked_key(make_paper(), worked, AGAIN)
    with pikepdf.open(BytesIO(pdf)) as document:
        assert str(document.Root.Lang) == "en-GB"
        assert document.Root.MarkInfo.Marked
        assert str(document.docinfo["/Title"]).startswith("Worked key · ")


@pytest.mark.paper
def test_what_a_person_wrote_is_never_source(make_paper: Callable[..., Paper], worked: tuple[Worked, ...]) -> None:
    hostile = '#panic("no") $x$ *b* @ref <label> \\ ' + "x" * 300
    question = Worked("1", hostile, hostile, "1", hostile, None, worked[0].answers)
    assert '#panic("no") $x$ *b* @ref <label>' in flat(set_worked_key(make_paper(title=hostile), (question,), hostile))


@pytest.mark.paper
def test_a_formula_too_wide_for_the_page_is_set_as_text(make_paper: Callable[..., Paper], worked: tuple[Worked, ...]) -> None:
    wide = Step(says="", text="the sum " + "1 + " * 90 + "1", typst=" + ".join(["123456"] * 90))
    (answer,) = worked[7].answers
    question = Worked("1", "i", "o", "1", "s", None, (type(answer)("1", "", "91", steps=(wide,)),))
    assert "the sum 1 + 1" in flat(set_worked_key(make_paper(), (question,), AGAIN))
