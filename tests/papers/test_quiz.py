from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from grader.base.codes import is_code, show_code
from grader.base.errors import FindingsError, UseError
from grader.base.findings import Finding
from grader.items.course import Course, load_course
from grader.papers.pdf import set_paper
from grader.papers.quiz import CALLED, Wish, make_quiz, wanted
from grader.papers.worked_key import set_worked_key

DAY = "2031-05-12"


@pytest.fixture(scope="module")
def course() -> Course:
    """The small course of the register's tests, its exam bank laid open: nothing of it is an exam."""
    found = load_course(Path(__file__).parents[1] / "register" / "course")
    return replace(found, practice=found.exam, exam=())


def test_copies_ask_the_same_questions_with_other_numbers(course: Course) -> None:
    quiz = make_quiz(course, Wish(("pump",), items=4, copies=6, word="brass"), DAY)
    assert len({tuple(one.item for one in copy.worked) for copy in quiz.copies}) == 1
    assert len({tuple(one.stem for one in copy.worked) for copy in quiz.copies}) == 6
    assert (len(quiz.copies), quiz.alike) == (6, 0)
    codes = {copy.paper.code for copy in quiz.copies}
    assert len(codes) == 6
    assert all(map(is_code, codes))


def test_paper_and_key_of_a_copy_belong_together(course: Course) -> None:
    for copy in make_quiz(course, Wish(("pump",), items=5, copies=3), DAY).copies:
        assert [one.stem for one in copy.worked] == [one.stem for one in copy.paper.asked]
        assert [one.number for one in copy.worked] == [one.label for one in copy.paper.asked] == ["1", "2", "3", "4", "5"]
        assert copy.paper.called == CALLED
        assert copy.paper.open


def test_the_right_number_lies_between_the_ends_that_are_taken_and_no_slip_does(course: Course) -> None:
    quiz = make_quiz(course, Wish(("pump.1",), items=3, copies=20, word="brass"), DAY)
    numbers = [answer for copy in quiz.copies for one in copy.worked for answer in one.answers if answer.taken]
    assert len(numbers) > 10
    for answer in numbers:
        low, high = (Decimal(end) for end in answer.taken.replace("\u202f", " ").split(" (")[0].split(" ")[:3:2])
        assert low <= Decimal(answer.answer.replace("\u202f", " ").split(" ")[0]) <= high
        for value, says in answer.slips:
            assert not low <= Decimal(value.replace("\u202f", " ").split(" ")[0]) <= high
            assert says


def test_a_word_makes_the_same_quiz_and_another_word_another(course: Course) -> None:
    first, again, other = (make_quiz(course, Wish(("all",), 4, 2, word), DAY) for word in ("brass", "brass", "steel"))
    assert first == again
    assert not {copy.paper.code for copy in first.copies} & {copy.paper.code for copy in other.copies}
    assert first.again == "grader quiz all --items 4 --copies 2 --word brass"
    fresh = [make_quiz(course, Wish(("all",)), DAY).again for _ in range(2)]
    assert fresh[0] != fresh[1]


def test_every_objective_has_its_turn_before_one_comes_twice(course: Course) -> None:
    for word in "abcdef":
        (copy,) = make_quiz(course, Wish(("all",), items=2, word=word), DAY).copies
        assert {one.objective for one in copy.worked} == {"pump.1", "pump.3"}
    first = [make_quiz(course, Wish(("all",), items=1, word=word), DAY).copies[0].worked[0].objective for word in "abcdefgh"]
    assert set(first) == {"pump.1", "pump.3"}  # nor is it always the first that one question is about


def test_left_out_the_number_of_questions_is_eight_or_all_there_are(course: Course) -> None:
    assert len(make_quiz(course, Wish(("pump",)), DAY).copies[0].worked) == 8
    few = replace(course, practice=course.practice[:3])
    assert len(make_quiz(few, Wish(("all",)), DAY).copies[0].worked) == 3


def test_copies_that_cannot_differ_are_counted(course: Course) -> None:
    one = next(item for item in course.practice if item.kind == "choice" and item.parts[0].options)
    few = replace(course, practice=(one,))
    assert make_quiz(few, Wish(("all",), copies=60, word="brass"), DAY).alike > 0


@pytest.mark.parametrize("names", [("pump.3", "pump.1"), ("PUMP",), ("all",), (" pump ", "pump.1")])
def test_names_are_read_as_people_write_them_and_come_in_the_order_of_the_lessons(course: Course, names: tuple[str, ...]) -> None:
    assert wanted(course, names) == ("pump.1", "pump.3")


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        (Wish(("pmup",)), "there is no objective or circuit 'pmup'; did you mean 'pump'?"),
        (Wish(("pump.2",)), "there is no objective 'pump.2'; pump has: pump.1, pump.3"),
        (
            Wish(("x" * 500,)),
            f"there is no objective or circuit '{'x' * 60}'; name a circuit (pump), an objective such as pump.1, or all",
        ),
        (Wish(("pump",), items=99), "pump: 10 practice questions, 99 wished for; ask for 1 to 10 with --items"),
        (Wish(("pump",), copies=0), "0 copies; ask for 1 to 200"),
        (Wish(("pump",), word="a b; c"), "'a b; c' is no word for --word; take letters and digits, as it stands on the key"),
        (Wish(("pump",), copies=201), "201 copies; ask for 1 to 200"),
    ],
)
def test_what_cannot_be_had_is_refused_with_what_can(course: Course, wish: Wish, said: str) -> None:
    with pytest.raises(UseError) as refused:
        make_quiz(course, wish, DAY)
    assert str(refused.value) == said


def test_an_objective_shown_at_the_bench_says_what_it_is(course: Course) -> None:
    without = replace(course, practice=tuple(item for item in course.practice if item.objective != "pump.3"))
    with pytest.raises(UseError, match=r"pump\.3 has no practice question \(The checks through one stroke\); name another"):
        wanted(without, ["pump.3"])
    assert wanted(without, ["pump"]) == ("pump.1",)
    with pytest.raises(UseError, match="pump has no practice question yet"):
        wanted(replace(course, practice=()), ["pump"])


def test_a_course_with_errors_makes_no_quiz(course: Course) -> None:
    wrong = replace(course, findings=(Finding("questions/practice/pump.yaml", 3, "x", "a", "b"),))
    with pytest.raises(FindingsError, match=r"questions/practice/pump\.yaml:3"):
        make_quiz(wrong, Wish(("pump",)), DAY)


@pytest.mark.paper
def test_the_code_stands_on_every_page_of_paper_and_key_and_can_be_read_from_both(course: Course) -> None:
    quiz = make_quiz(course, Wish(("pump",), items=9, word="brass"), DAY)
    (copy,) = quiz.copies
    paper, key = set_paper(copy.paper), set_worked_key(copy.paper, copy.worked, quiz.again)
    for pdf in (paper, key):
        with pypdfium2.PdfDocument(pdf) as document:
            pages = [page.get_textpage().get_text_range() for page in document]
            # Read by zxing-cpp from the page as drawn by pdfium: neither is ours.
            (read,) = zxingcpp.read_barcodes(document[0].render(scale=2).to_pil())
        assert read.text == copy.paper.code
        for number, page in enumerate(pages, 1):
            assert show_code(copy.paper.code) in page
            assert f"page {number} of {len(pages)}" in " ".join(page.split())
    assert "Sealed key" not in paper.decode("latin-1")
