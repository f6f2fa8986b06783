"""
What a phone must not break: the name of a specimen at its hyphen (`T-1`), a number from its unit (`0.80 in`).

Set when a page is built, not in the sources.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from grader.base.quantities import UNITS

HARD_HYPHEN = "\u2011"
NO_BREAK = "\u00a0"

# What is not running text: tags; and whole drawings, formulas and code, which break no line and take no element inside.
_CLOSED = "svg|math|code|pre|script|style"
_PASSED = re.compile(rf"(<(?P<name>{_CLOSED})(?:\s(?:[^>]*[^>/])?)?>.*?(?:</(?P=name)>|\Z)|<[^>]*>)", re.DOTALL)


@lru_cache(maxsize=16)
def _pattern(names: tuple[str, ...]) -> re.Pattern[str]:
    # What stands before a name is looked at last: the expression begins with letters, and they are searched for quickly.
    either = "|".join(rf"{name}(?<![\w-]{name})" for name in map(re.escape, names))
    return re.compile(rf"(?:{either})(?![\w-])" if names else r"(?!)")


@lru_cache(maxsize=1)
def _before_unit() -> re.Pattern[str]:
    signs = sorted({unit.shown for unit in UNITS.values() if unit.shown}, key=len, reverse=True)
    return re.compile(rf" (?<=\d )(?=(?:{'|'.join(map(re.escape, signs))})(?![\w²³]))")


def unbroken_text(text: str, names: Iterable[str]) -> str:
    """
    Plain text with a hyphen in each name at which no line breaks.

    >>> unbroken_text("In T-1 and in T-12.", ["T-1"]).replace(HARD_HYPHEN, "~")
    'In T~1 and in T-12.'
    """
    return _pattern(tuple(names)).sub(lambda found: found[0].replace("-", HARD_HYPHEN), text)


def unbroken(html: str, names: Iterable[str]) -> str:
    """
    HTML with each name in running text held together, and each number with its unit; a search still finds them.

    >>> unbroken('<p title="T-1">The T-1.</p><code>T-1</code>', ["T-1"])
    '<p title="T-1">The <span class="course-whole">T-1</span>.</p><code>T-1</code>'
    >>> unbroken("<td>1.9 in², 0.80 in</td>", []).replace(NO_BREAK, "~")
    '<td>1.9~in², 0.80~in</td>'
    """
    pattern, before_unit = _pattern(tuple(names)), _before_unit()
    out, at = [], 0
    for passed in _PASSED.finditer(html):
        if passed.start() > at:
            out.append(_held_together(html[at : passed.start()], pattern, before_unit))
        out.append(passed[0])
        at = passed.end()
    return "".join(out) + _held_together(html[at:], pattern, before_unit)


def _held_together(text: str, names: re.Pattern[str], before_unit: re.Pattern[str]) -> str:
    return names.sub(r'<span class="course-whole">\g<0></span>', before_unit.sub(NO_BREAK, text))
