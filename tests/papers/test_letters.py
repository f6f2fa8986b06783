from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from math import factorial, prod
from typing import Any

import pytest
from scipy.stats import chisquare

from grader.marking.key import AnyQuestion, Case, Choice, ChoicePart, Option
from grader.papers.letters import lopsided, right_letters, rights_of, unevenness


def counts(questions: int, letters: int) -> Iterator[tuple[int, ...]]:
    """Every way in which so many right answers can fall on so many letters."""
    if letters == 1:
        yield (questions,)
        return
    for first in range(questions + 1):
        for rest in counts(questions - first, letters - 1):
            yield (first, *rest)


def ways(found: tuple[int, ...]) -> int:
    return factorial(sum(found)) // prod(map(factorial, found))


def kept(found: tuple[int, ...]) -> bool:
    """Whether a paper with so many right answers at each letter stands as it is; which letter has how many does not matter."""
    return _kept(tuple(sorted(found)))


@cache
def _kept(found: tuple[int, ...]) -> bool:
    return not lopsided([(place, len(found)) for place, count in enumerate(found) for _ in range(count)])


def best_guess(questions: int, letters: int) -> Fraction:
    """How often the last answer is guessed from all others, over every key that is kept: the likeliest letter is taken."""
    right = all_keys = 0
    for others in counts(questions - 1, letters):
        possible = [tuple(count + (place == last) for place, count in enumerate(others)) for last in range(letters)]
        good = sum(map(kept, possible))
        right += ways(others) * (good > 0)
        all_keys += ways(others) * good
    return Fraction(right, all_keys)


@pytest.mark.parametrize("questions", [4, 8, 10, 12, 20])
def test_all_other_answers_hardly_help_to_guess_the_last(questions: int) -> None:
    # Chance is 25 %. Counted over every key of so many questions with four options.
    assert best_guess(questions, 4) < Fraction(26, 100)


@pytest.mark.parametrize("questions", [4, 8, 10, 12, 20])
def test_few_papers_are_shuffled_again(questions: int) -> None:
    again = sum(ways(found) for found in counts(questions, 4) if not kept(found))
    assert Fraction(again, 4**questions) <= Fraction(5, 100)


def test_a_letter_that_is_right_nearly_everywhere_is_not_let_pass() -> None:
    assert not kept((7, 1, 1, 1))
    assert kept((5, 2, 2, 1))


@pytest.mark.parametrize("found", [(7, 1, 1, 1), (3, 2, 3, 2), (0, 6, 2, 0)])
def test_unevenness_is_chi_square(found: tuple[int, ...]) -> None:
    rights = [(place, 4) for place, count in enumerate(found) for _ in range(count)]
    assert float(unevenness(rights)[0]) == pytest.approx(chisquare(found).statistic, rel=1e-12)  # scipy.stats.chisquare


def test_a_paper_without_choices_is_never_lopsided() -> None:
    assert unevenness([]) == (Fraction(0), 0)
    assert not lopsided([])


def test_parts_of_cases_count_too_and_letters_that_are_never_right() -> None:
    options = tuple(Option(letter=letter, text=letter) for letter in "abc")
    part = ChoicePart(part="a", points="1", stem="", options=options, right="b")
    named: dict[str, Any] = {"item": "i", "objective": "pump.1", "circuit": "pump", "points": "1", "stem": ""}
    questions: list[AnyQuestion] = [Choice(**named, options=options, right="b"), Case(**named, parts=(part,))]
    assert rights_of(questions) == [(1, 3), (1, 3)]
    assert right_letters(questions) == {"a": 0, "b": 2, "c": 0}
