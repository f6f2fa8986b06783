"""The worked keys of a quiz as one page: what the PDFs say, for a screen or a beamer."""

from __future__ import annotations

from markupsafe import Markup

from grader.items.figures import for_page
from grader.pages.sample import steps_html
from grader.papers.quiz import Copy, Quiz
from grader.papers.worked_key import Answered, Worked
from grader.reports.page import render


def worked_key_page(quiz: Quiz) -> str:
    """The page with the worked keys of all copies of a quiz, whole in one file."""
    paper = quiz.copies[0].paper
    return render("worked_key.html", title=f"Worked key: {quiz.title}", quiz=quiz, paper=paper, figure=_figure, steps=_steps)


def _figure(copy: Copy, question: Worked) -> Markup:
    if question.figure is None:
        return Markup()
    prefix = f"c{copy.paper.code.lower()}-q{question.number}"
    return Markup(for_page(question.figure.svg, prefix))  # noqa: S704 (a figure of the course, checked)


def _steps(answer: Answered) -> Markup:
    return Markup(steps_html(answer.steps))  # noqa: S704 (escapes words; the mathematics is our own typesetter's)
