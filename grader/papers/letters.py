"""
The letters of the right options over a paper: even enough to say nothing, and never so even that they say something.

Options are shuffled by the sealed draw, every order as likely as the next. Of a paper with ten questions of four options, one in
twelve would have a letter right six times or more. Such a paper is shuffled again as a whole; every other stands as it was drawn.

Nothing more is evened out, because a paper whose letters must come out even gives answers away: who knows nine of ten answers
of such a paper finds the tenth by counting. Shuffled again only where it is lopsided (one paper in twenty or fewer), the best
guess from all other answers is right in at most 26 % of cases where chance gives 25 %; letters that differ by one at most give
it away in 55 to 100 % (computed over all keys of 4 to 20 questions of four options in the tests).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from grader.marking.key import AnyQuestion, Case, Choice, ChoicePart

LETTERS = "abcdefghijklmnopqrstuvwxyz"


def choices(questions: Iterable[AnyQuestion]) -> list[Choice | ChoicePart]:
    """Everything on a paper that asks for one option, parts of cases too."""
    found: list[Choice | ChoicePart] = []
    for question in questions:
        if isinstance(question, Choice):
            found.append(question)
        elif isinstance(question, Case):
            found += [part for part in question.parts if isinstance(part, ChoicePart)]
    return found


def right_letters(questions: Iterable[AnyQuestion]) -> Counter[str]:
    """How often each letter is right, those that are offered and never right with 0."""
    found: Counter[str] = Counter()
    for choice in choices(questions):
        found.update({option.letter: 0 for option in choice.options})
        found[choice.right] += 1
    return found


def unevenness(rights: Sequence[tuple[int, int]]) -> tuple[Fraction, int]:
    """
    Chi-square of right letters against chance, and its degrees of freedom.

    `rights` gives each question's right place, from 0, and how many options it has. Every option is expected to be right as often
    as the next of its question.

    >>> unevenness([(0, 2), (0, 2), (1, 2), (0, 2)])
    (Fraction(1, 1), 1)
    """
    most = max((options for _, options in rights), default=0)
    chance = [sum((Fraction(1, options) for _, options in rights if place < options), Fraction(0)) for place in range(most)]
    count = Counter(place for place, _ in rights)
    return sum(((count[place] - chance[place]) ** 2 / chance[place] for place in range(most)), Fraction(0)), max(most - 1, 0)


def lopsided(rights: Sequence[tuple[int, int]]) -> bool:
    """
    Whether right letters are uneven by more than two standard deviations above chance: chi-square has mean f, variance 2 f.

    >>> lopsided([(0, 4)] * 5 + [(1, 4), (2, 4), (3, 4)]), lopsided([(0, 4)] * 6 + [(1, 4), (2, 4)])
    (False, True)
    """
    found, free = unevenness(rights)
    return found > free and (found - free) ** 2 > 8 * free


def rights_of(questions: Iterable[AnyQuestion]) -> list[tuple[int, int]]:
    """The right place of each choice on a paper, and how many options it has."""
    return [(LETTERS.index(choice.right), len(choice.options)) for choice in choices(questions)]
