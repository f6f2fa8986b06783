"""Letters that cannot be seen: told apart, so that none of them hides in a name or moves a terminal's cursor."""

from __future__ import annotations

import unicodedata

# Cc controls, Cf formats (turning the writing direction, joining, tags), Cs halves, Co private, Cn none, Zl Zp ends of lines.
_KINDS = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_JOINERS = frozenset("\u200c\u200d")  # formats that Persian and Indian names are written with
# Letters by their category, but drawn as nothing: Default_Ignorable_Code_Point of Unicode (from memory) that is not Cf or Cn.
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u2800\u3164\uffa0")


def is_unseen(letter: str) -> bool:
    """
    Whether a letter cannot be seen, though it is no space; the joiners of Persian and Indian writing count as seen.

    >>> [is_unseen(letter) for letter in ("Ō", " ", "\\u200d", "\\u202e", "\\x1b", "\\u2028", "\\u3164", "\\ud800")]
    [False, False, False, True, True, True, True, True]
    """
    if letter in _JOINERS:
        return False
    return unicodedata.category(letter) in _KINDS or letter in _BLANK or "\ufe00" <= letter <= "\ufe0f"


def visible(text: str) -> str:
    """
    A text with every letter that cannot be seen spelt out.

    >>> visible("c-01\\x1b[2J Ōta")
    'c-01\\\\x1b[2J Ōta'
    """
    return "".join(letter.encode("unicode_escape").decode() if is_unseen(letter) else letter for letter in text)
