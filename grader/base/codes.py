"""
Paper codes: nine drawn characters and a check character (ISO/IEC 7064, MOD 37-2).

No I, L, O or U is ever printed, so that nothing is mistaken for 1, 0 or V. One wrong character and one swap of neighbours
are always caught; a code whose check character would be a letter outside the 32 is drawn again.
"""

from __future__ import annotations

from itertools import count

from grader.base.canon import draw

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_ALL = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_TYPED_FOR = str.maketrans({"I": "1", "L": "1", "O": "0", "U": "V", "-": "", " ": "", "\u2011": "", "\u2013": ""})
PAYLOAD = 9


def check_character(payload: str) -> str:
    """
    The MOD 37-2 check character of a payload of digits and capital letters.

    Source: ISO/IEC 7064 as implemented in python-stdnum 2.2 (the standard itself not seen).

    >>> check_character("G123489654321")
    'Y'
    """
    remainder = 0
    for letter in payload:
        remainder = (remainder + _ALL.index(letter)) * 2 % 37
    return _ALL[(1 - remainder) % 37]


def paper_code(secret: bytes, sitting: str, candidate: str) -> str:
    """
    The code of a candidate's paper, the same whenever it is drawn.

    >>> is_code(paper_code(b"demo", "spring", "c-01"))
    True
    """
    for attempt in count():
        letters = [draw(secret, sitting, candidate, f"code/{place}", attempt, 32) for place in range(PAYLOAD)]
        payload = "".join(LETTERS[number] for number in letters)
        check = check_character(payload)
        if check in LETTERS:
            return payload + check
    raise AssertionError("unreachable: attempts do not end")


def is_code(text: str) -> bool:
    """
    Whether a text is a paper code with the right check character.

    >>> is_code("7M2KQ8D4XT"), is_code("")
    (False, False)
    """
    return len(text) == PAYLOAD + 1 and all(c in LETTERS for c in text) and check_character(text[:-1]) == text[-1]


def read_code(text: str) -> str:
    """
    A code as a person typed it, put into its one spelling: capitals, no hyphen, O for 0 and I or L for 1 undone.

    >>> read_code(" 7m2kq-8d4xo ")
    '7M2KQ8D4X0'
    """
    return text.strip().upper().translate(_TYPED_FOR)


def show_code(code: str) -> str:
    """
    A code in two groups, as printed.

    >>> show_code("7M2KQ8D4XT")
    '7M2KQ-8D4XT'
    """
    return f"{code[:5]}-{code[5:]}"
