"""`grader quiz`: an open quiz with its worked key, in one line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.cli.options import counted, tell

if TYPE_CHECKING:
    from grader.papers.quiz import Quiz

EPILOG = """\b
Examples:
  grader quiz pump                      eight questions on the pump, one copy
  grader quiz idle.2 idle.3 --items 4   four questions on two objectives
  grader quiz all --copies 12           something of everything, twelve copies
"""


@click.command("quiz", epilog=EPILOG)
@click.argument("names", nargs=-1, metavar="WHAT...")
@click.option(
    "--items", type=click.IntRange(1), metavar="N", help="How many questions. Left out: eight, or all where there are fewer."
)
@click.option("--copies", type=click.IntRange(1, 200), default=1, show_default=True, metavar="M", help="How many copies.")
@click.option(
    "--output", type=click.Path(path_type=Path), metavar="DIR", help="The folder for it. Left out: `quiz-` and what you named."
)
@click.option(
    "--word", default="", metavar="WORD", help="The word of an earlier quiz makes the same one again; it stands on its key."
)
@click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path),
    default=Path(),
    metavar="DIR",
    help="The course's folder. Left out: here.",
)
@click.option("--date", help="The day to print, as 2031-05-12. Left out: today.")
def command(
    names: tuple[str, ...], items: int | None, copies: int, output: Path | None, word: str, folder: Path, date: str | None
) -> int:
    """
    Make an open quiz to practise with, and its worked key.

    WHAT is a circuit (pump), an objective (pump.2), several of them, or all. Every copy asks the same questions with other
    numbers, so that a class can go through them together. Questions come from the practice bank, never from an examination.

    For each copy there is CODE-paper.pdf to hand out and CODE-key.pdf to keep: both bear the code. key.html has the keys of all
    copies on one page.
    """
    from grader.base.errors import UseError
    from grader.cli.paper import day
    from grader.items.course import load_practice
    from grader.papers.quiz import Wish, make_quiz

    if not names:
        raise UseError("say what the quiz is about: grader quiz pump, grader quiz idle.2 idle.3, or grader quiz all")
    course = load_practice(folder)
    quiz = make_quiz(course, Wish(names, items or 0, copies, word), day(date))
    home = output or Path("quiz-" + "-".join(name.strip().lower() for name in names[:3]))
    _write(quiz, home)
    click.echo(
        f"{quiz.title}: {counted(len(quiz.copies[0].worked), 'question')}, {'1 copy' if copies == 1 else f'{copies} copies'}"
    )
    click.echo(f"to hand out: {home / '*-paper.pdf'}")
    click.echo(f"to keep: {home / '*-key.pdf'} (the code on a paper says which key is its own), {home / 'key.html'}")
    click.echo(f"the same again: {quiz.again}")
    if quiz.alike:
        tell(f"{quiz.alike} of the copies equal another: these questions have no more variants; take more or other questions")
    return 0


def _write(quiz: Quiz, home: Path) -> None:
    """All that belongs to a quiz, into a folder where no other quiz is."""
    from grader.base.errors import UseError
    from grader.base.files import make_folder, write_atomic
    from grader.papers.pdf import set_paper
    from grader.papers.worked_key import set_worked_key
    from grader.reports.worked_key import worked_key_page

    files: dict[str, bytes | str] = {}
    for number, copy in enumerate(quiz.copies, 1):
        files[f"{copy.paper.code}-paper.pdf"] = set_paper(copy.paper)
        files[f"{copy.paper.code}-key.pdf"] = set_worked_key(copy.paper, copy.worked, quiz.again)
        if number % 10 == 0:
            tell(f"{number} of {len(quiz.copies)} copies")
    files["key.html"] = worked_key_page(quiz)
    there = {path.name for path in make_folder(home).iterdir()}
    if there & files.keys() or any(name.endswith(("-paper.pdf", "-key.pdf")) for name in there):
        raise UseError(f"{home} holds a quiz already; name another folder with --output")
    try:
        for name, data in files.items():
            write_atomic(home / name, data)
    except BaseException:  # a full disk, an interrupt: half a quiz would only stand in the way of a whole one
        for name in files:
            (home / name).unlink(missing_ok=True)
        raise
