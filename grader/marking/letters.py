"""Letters as people write them: ``b``, ``B)``, ``(b)``, ``c a d b``, ``cadb``, ``a, c and d``, ``c > a > d``."""

from __future__ import annotations

import re
from collections.abc import Iterable

from grader.marking.numbers import LONGEST, cut, tidied
from grader.marking.outcome import says

# Signs that only part letters, and words that may stand beside one. Not `or`: that is no answer.
_ALPHABET = frozenset("abcdefghijklmnopqrstuvwxyz")
_BETWEEN = re.compile(r"(?:[ ,;.:+&/()\[\]{}<>=|_→⇒\"'-]|\b(?:and|then|option|options|answer|answers)\b)+", re.ASCII)


def plain_letters(letters: Iterable[str]) -> frozenset[str]:
    """
    The letters that stand for themselves wherever they are written alone: a to z.

    >>> sorted(plain_letters("abA"))
    ['a', 'b']
    """
    return frozenset(letter for letter in letters if letter in _ALPHABET)


def letters_written(text: str, plain: frozenset[str]) -> tuple[str, ...] | None:
    """
    Known letters with a space between, as the answer sheet writes them: what `letters_of` reads in them, sooner. Else None.

    >>> letters_written("c a d", frozenset("abcd")), letters_written("cad", frozenset("abcd"))
    (('c', 'a', 'd'), None)
    """
    words = text.split(" ")
    return tuple(words) if plain.issuperset(words) and len(text) <= LONGEST else None


def letters_of(text: str, known: Iterable[str]) -> tuple[str, ...] | str:
    """
    The letters a text names, in order, or why it cannot be read.

    A run such as ``cadb`` is taken apart where every one of its letters is known.

    >>> letters_of("C > a, d and b", "abcd"), letters_of("(B)", "abcd"), letters_of("ca", "abcd")
    (('c', 'a', 'd', 'b'), ('b',), ('c', 'a'))
    >>> letters_of("e", "abcd")
    '“e” is not one of the letters a b c d.'
    """
    letters = tuple(known)
    if len(text) > LONGEST:
        return says("unreadable-long", limit=str(LONGEST))
    plain = tidied(text).lower()
    found: list[str] = []
    for word in _BETWEEN.sub(" ", plain).split(" "):
        if word in letters:
            found.append(word)
        elif all(letter in letters for letter in word):
            found.extend(word)
        else:
            return says("unreadable-option", text=cut(plain), letters=" ".join(letters))
    return tuple(found)
