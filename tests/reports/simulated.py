"""Sittings of invented people whose answers follow a known rule, so that what is found can be held against what was put in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

import numpy as np
from msgspec.structs import replace

from grader.marking.key import FORM, Answer, AnyQuestion, Choice, Key, Numeric, Option, Slip, unit_entries
from grader.marking.mark import mark
from grader.register.records import Marking, Paper, Sitting
from grader.register.rule import Rule
from grader.reports.view import Sat, View

UNITS = unit_entries(["mm"])
Chance = np.random.Generator
Give = Callable[[float, int, Chance], str]
"""What a person of some ability, with some number in their question, writes."""


def numeric(item: str, value: int) -> Numeric:
    """A number to be given, with one slip: ten times as much."""
    answer = Answer(value=str(value), low=str(value), high=str(value), unit="mm", shown=f"{value} mm", within="0 mm")
    slip = Slip(value=str(10 * value), low=str(10 * value), high=str(10 * value), says="Ten times too much.")
    return Numeric(item=item, objective="pump.1", circuit="pump", points="1", stem="How long?", answer=answer, slips=(slip,))


def choice(item: str, right: str, turned: bool) -> Choice:
    """Three texts, dealt to letters one way or the other."""
    texts = ["up", "down", "not at all"]
    letters = dict(zip("cba" if turned else "abc", texts, strict=True))
    options = tuple(Option(letter=letter, text=letters[letter]) for letter in "abc")
    answer = next(letter for letter, text in letters.items() if text == right)
    return Choice(item=item, objective="pump.2", circuit="pump", points="1", stem="Which way?", options=options, right=answer)


def follows(difficulty: float) -> Give:
    """Right as the Rasch model says, else something that is no slip."""
    return lambda able, value, chance: str(value) if chance.random() < 1 / (1 + np.exp(difficulty - able)) else "0.5"


def sitting(name: str, people: int, items: Mapping[str, Give], seed: int, groups: Mapping[str, float] | None = None) -> View:
    """A sitting in which everybody has all items; a group of the roster adds to its members' ability."""
    chance = np.random.default_rng(seed)
    names = list(groups or {"": 0.0})
    held = Sitting(
        name, {"title": "Trial"}, "0" * 64, bytes(32), "2031-05-12", "Course", {"name": "School", "id": "", "place": ""}
    )
    sats = []
    for place in range(people):
        group = names[place % len(names)]
        able = float(chance.normal(0, 1)) + (groups or {}).get(group, 0.0)
        sats.append(_sat(name, f"c-{place}", group, able, items, chance))
    return View(held, Rule(Fraction(3, 5), Fraction(0)), tuple(sats), ())


def _sat(name: str, candidate: str, group: str, able: float, items: Mapping[str, Give], chance: Chance) -> Sat:
    questions: list[AnyQuestion] = []
    answers: dict[str, str] = {}
    for number, (item, give) in enumerate(items.items(), 1):
        value = int(chance.integers(1, 100))
        made = choice(item, "up", value % 2 == 0) if item.startswith("which") else numeric(item, value)
        text = give(able, value, chance)
        if isinstance(made, Choice):
            text = next((option.letter for option in made.options if option.text == text), "")
        answers[str(number)] = text
        questions.append(replace(made, number=str(number)))
    key = Key(
        form=FORM, sitting=name, paper=f"P-{name}-{candidate}", candidate=candidate, blueprint="trial", bank="0" * 64, nonce="",
        units=UNITS, questions=tuple(questions),
    )  # fmt: skip
    marks = mark(key, answers).marks
    paper = Paper(key.paper, name, candidate, candidate, "0" * 64, group=group)
    return Sat(paper, key, Marking(name, key.paper, candidate, "0" * 64, "2031-05-12T10:00:00Z", marks), None)
