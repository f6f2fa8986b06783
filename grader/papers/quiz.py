"""
An instructor's open quiz: practice questions of some objectives, copies with different numbers, and what belongs to each.

All copies ask the same questions in the same order, so that they can be gone through together; what differs is numbers and the
order of options. Everything is drawn from a word (`word`): the same word gives the same quiz.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

import msgspec

from grader.base.canon import shuffled
from grader.base.codes import LETTERS, paper_code
from grader.base.errors import FindingsError, UseError
from grader.base.files import plain_name
from grader.items.course import Course
from grader.items.model import Item
from grader.items.shapes import nearest
from grader.items.variants import draw_question
from grader.marking.key import AnyQuestion
from grader.papers.paper import Paper, asked, own_minutes
from grader.papers.worked_key import Worked, worked_question

ITEMS, MOST_COPIES, TRIES = 8, 200, 40
CALLED = "Practice quiz, open items"
AIDS = ("a pocket calculator", "the lessons, where the instructor allows them")
CAUTIONS = (
    "This quiz is worked at a desk. Nothing in it is an instruction to work on a vehicle.",
    "At the bench the usual cautions hold: no flame or spark near fuel, moving air, exhaust led outdoors, eye protection.",
    "Local codes, the sheet of the carburetor in hand and licensed practice come before any value used here.",
)


@dataclass(frozen=True, slots=True)
class Wish:
    """
    What an instructor wants: objectives (``pump.1``), circuits (``pump``) or ``all``; how many items and copies; the word.

    `items` 0 means some eight, or all there are where there are fewer.
    """

    names: tuple[str, ...]
    items: int = 0
    copies: int = 1
    word: str = ""


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy: its paper, and the questions with their answers."""

    paper: Paper
    worked: tuple[Worked, ...]


@dataclass(frozen=True, slots=True)
class Quiz:
    """
    The copies of a quiz.

    `again` is the command that makes the same quiz again, `alike` how many copies equal an earlier one because the questions
    have no more variants.
    """

    title: str
    again: str
    copies: tuple[Copy, ...]
    alike: int = 0


def make_quiz(course: Course, wish: Wish, date: str) -> Quiz:
    """
    The quiz that was wished for.

    Parameters
    ----------
    course : Course
        As `load_practice` reads it: no exam item is ever opened.
    wish : Wish
    date : str
        The day, for the paper.

    Raises
    ------
    FindingsError
        The course's files are wrong.
    UseError
        A name is no objective or circuit, or there are fewer practice questions than wished for.
    """
    errors = [finding for finding in course.findings if finding.level == "error"]
    if errors:
        raise FindingsError(errors)
    if not 1 <= wish.copies <= MOST_COPIES:
        raise UseError(f"{wish.copies} copies; ask for 1 to {MOST_COPIES}")
    if wish.word and not plain_name(wish.word):
        raise UseError(f"{wish.word[:60]!r} is no word for --word; take letters and digits, as it stands on the key")
    objectives = wanted(course, wish.names)
    word = wish.word or "".join(secrets.choice(LETTERS) for _ in range(6))
    secret = hashlib.blake2b(f"grader-quiz-1 {word}".encode(), digest_size=32).digest()
    items = _chosen(course, objectives, wish, secret)
    title = _title(course, wish.names, objectives)
    copies: list[Copy] = []
    seen: set[bytes] = set()
    for number in range(1, wish.copies + 1):
        code, questions = _unlike(items, course, secret, number, seen)
        seen.add(msgspec.json.encode(questions))
        paper = _paper(course, title, code, questions, items, f"copy {number} of {wish.copies}", date)
        copies.append(Copy(paper, tuple(map(worked_question, questions))))
    names = " ".join(name.strip().lower() for name in wish.names)
    again = f"grader quiz {names} --items {len(items)} --copies {wish.copies} --word {word}"
    return Quiz(title, again, tuple(copies), len(copies) - len(seen))


def wanted(course: Course, names: Sequence[str]) -> tuple[str, ...]:
    """
    The objectives that some names mean, in the order of the lessons: of those that are practised, unless one is named itself.

    Raises `UseError` for a name that is none, with the one that was probably meant.
    """
    known = course.objectives
    practised = {item.objective for item in course.practice}
    by_circuit = {lesson.circuit: [one.id for one in lesson.objectives] for lesson in course.lessons}
    found: set[str] = set()
    for name in names:
        plain = name.strip().lower()
        if plain == "all":
            found |= practised
        elif plain in by_circuit:
            found |= practised & set(by_circuit[plain])
            if not practised & set(by_circuit[plain]):
                raise UseError(f"{plain} has no practice question yet; name another circuit")
        elif plain in known:
            if plain not in practised:
                raise UseError(f"{plain} has no practice question ({known[plain].says}); name another objective")
            found.add(plain)
        else:
            raise UseError(_unknown(name, by_circuit, known))
    return tuple(name for name in known if name in found)


def _unknown(name: str, by_circuit: Mapping[str, Sequence[str]], known: Mapping[str, object]) -> str:
    circuit = name.strip().lower().partition(".")[0]
    if circuit in by_circuit and "." in name:
        return f"there is no objective {name[:60]!r}; {circuit} has: {', '.join(by_circuit[circuit])}"
    near = nearest(name.strip().lower(), [*by_circuit, *known, "all"])
    said = (
        f"did you mean {near!r}?"
        if near
        else f"name a circuit ({', '.join(by_circuit)}), an objective such as {next(iter(known), '')}, or all"
    )
    return f"there is no objective or circuit {name[:60]!r}; {said}"


def _chosen(course: Course, objectives: Sequence[str], wish: Wish, secret: bytes) -> tuple[Item, ...]:
    """One item of each objective in turn, then a second of each, until there are enough; then in the order of the lessons."""
    pools = [_mixed([item for item in course.practice if item.objective == name], secret, name) for name in objectives]
    there = sum(map(len, pools))
    count = wish.items or min(ITEMS, there)
    if not 1 <= count <= there:
        which = " and ".join(wish.names)
        raise UseError(f"{which}: {there} practice questions, {count} wished for; ask for 1 to {there} with --items")
    start = shuffled(secret, "", "", "objectives", 0, len(pools))  # so that few items are not always of the first objectives
    turns = [(turn, place) for turn in range(max(map(len, pools))) for place in start if turn < len(pools[place])]
    taken = sorted((place, turn) for turn, place in turns[:count])
    return tuple(pools[place][turn] for place, turn in taken)


def _mixed(items: Sequence[Item], secret: bytes, objective: str) -> list[Item]:
    return [items[place] for place in shuffled(secret, "", objective, "items", 0, len(items))]


def _unlike(
    items: Sequence[Item], course: Course, secret: bytes, number: int, seen: set[bytes]
) -> tuple[str, tuple[AnyQuestion, ...]]:
    """Code and questions of a copy that is unlike those before it, as far as the items give so many."""
    draw = partial(draw_question, figures=course.figures)
    for again in range(TRIES):
        code = paper_code(secret, "quiz", f"{number}/{again}")
        drawn = (draw(item, secret, code) for item in items)
        questions = tuple(msgspec.structs.replace(question, number=str(place)) for place, question in enumerate(drawn, 1))
        if msgspec.json.encode(questions) not in seen:
            break
    return code, questions


def _paper(
    course: Course,
    title: str,
    code: str,
    questions: Sequence[AnyQuestion],
    items: Sequence[Item],
    name: str,
    date: str,
) -> Paper:
    minutes = sum((Fraction(str(item.minutes)) for item in items), Fraction(0))
    return Paper(
        school=course.school.name,
        place=course.school.place,
        title=title,
        language=course.about.language,
        sitting="",
        date=date,
        candidate="",
        name=name,
        code=code,
        key_digest="",
        minutes=own_minutes(minutes, Fraction(0)),
        asked=tuple(map(asked, questions)),
        aids=AIDS,
        cautions=CAUTIONS,
        notice=course.about.notice,
        called=CALLED,
        open=True,
    )


def _title(course: Course, names: Sequence[str], objectives: Sequence[str]) -> str:
    """What the quiz is called: after the lesson, the objective, or the course."""
    if len(objectives) == 1:
        return course.objectives[objectives[0]].says
    circuits = dict.fromkeys(course.objectives[name].circuit for name in objectives)
    if "all" in names or len(circuits) > 3:
        return course.title
    return " · ".join(lesson.title for lesson in course.lessons if lesson.circuit in circuits)
