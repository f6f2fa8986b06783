"""
Several options are right.

The rule: right options taken less wrong options taken, over the number of right ones; never below nothing. So taking all earns no
more than was known, and a guess costs what it may win.
"""

from __future__ import annotations

from fractions import Fraction

from grader.marking.key import Choices
from grader.marking.letters import letters_of
from grader.marking.numbers import cut, is_blank, tidied
from grader.marking.outcome import Outcome, outcome, says


def mark_choices(question: Choices, text: str) -> Outcome:
    """The outcome of an answer to a question with several right options; a letter named twice counts once."""
    if is_blank(text):
        return outcome("blank", Fraction(0), question.points, "", says("blank"))
    letters = [option.letter for option in question.options]
    found = letters_of(text, letters)
    if not found:
        found = says("unreadable-option", text=cut(tidied(text)), letters=" ".join(letters))
    if isinstance(found, str):
        return outcome("unreadable", Fraction(0), question.points, "", found)
    taken = [letter for letter in letters if letter in found]
    hit = sum(letter in question.right for letter in taken)
    missed, wanted = len(taken) - hit, len(question.right)
    read = " ".join(taken)
    if hit == wanted and not missed:
        return outcome("right", Fraction(1), question.points, read, says("right"))
    share = max(Fraction(hit - missed, wanted), Fraction(0))
    told = [o.says for o in question.options if o.letter in taken and o.letter not in question.right and o.says]
    why = " ".join([says("choices", hit=str(hit), wanted=str(wanted), missed=str(missed)), *told])
    return outcome("part" if share else "wrong", share, question.points, read, why)
