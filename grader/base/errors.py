"""
The tree of errors a caller may meet; `cli` alone turns them into exit statuses.

    GraderError
    ├── UseError        the command or the call was used wrongly              exit status 2
    ├── FindingsError   what a person wrote is wrong: carries every finding   exit status 1
    └── RangeError      a number lies outside what a relation is valid for    exit status 2
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grader.base.findings import Finding


class GraderError(Exception):
    """Any error this program raises on purpose."""


class UseError(GraderError):
    """The caller asked for something that cannot be done; the message says what would do."""


class RangeError(GraderError, ValueError):
    """A number outside its valid range; the message names the symbol, the value and the range."""


class FindingsError(GraderError):
    """
    Everything wrong with what a person wrote, at once.

    >>> from grader.base.findings import Finding
    >>> raise FindingsError([Finding("class.csv", 3, "empty-name", "the name is empty", "write the candidate's name")])
    Traceback (most recent call last):
    ...
    grader.base.errors.FindingsError: class.csv:3: the name is empty; write the candidate's name [empty-name]
    """

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(map(str, self.findings)))
