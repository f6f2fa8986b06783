"""The numbers of a paper's questions, however they are written."""

from __future__ import annotations

import re
from functools import lru_cache

_NUMBER = re.compile(r"(?:q|no\.?|question)? ?0*([0-9]{1,3}) ?[-.(]? ?([a-z]?)[.)]*", re.ASCII | re.IGNORECASE)

_COMMON = 20  # characters of a label that is remembered: the same few stand in every file


def number_of(label: str) -> str:
    """
    A question's number as printed, however it was written; empty where it is none.

    >>> [number_of(label) for label in ("4a", "4 A)", "Q4(a)", "04", "note")]
    ['4a', '4a', '4a', '4', '']
    """
    return _common(label) if len(label) <= _COMMON else _number(label)


def _number(label: str) -> str:
    found = _NUMBER.fullmatch(label.strip())
    return f"{found[1]}{found[2].lower()}" if found else ""


_common = lru_cache(maxsize=2048)(_number)
