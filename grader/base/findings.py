"""A finding: one thing wrong in a file, where it stands, and how to mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from grader.base.text import visible

Level = Literal["error", "warning"]


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """
    One thing wrong in a file.

    Parameters
    ----------
    file : str
        As the person would type it, relative to the course where possible.
    line : int
        1 is the first line; 0 where the whole file is meant.
    code : str
        The fault's name, never the cure's: `unknown-field`, not `check-fields`.
    message, mend : str
        What is wrong, with the value as written; how to mend it.
    level : {"error", "warning"}
    path : str
        Where in the file's structure, e.g. ``power-open-area/slips/2``.

    Examples
    --------
    >>> str(Finding("pump.yaml", 8, "unknown-field", "`obective` is not a field of an item", "did you mean `objective`?"))
    'pump.yaml:8: `obective` is not a field of an item; did you mean `objective`? [unknown-field]'
    >>> str(Finding("pump.yml", 0, "wrong-ending", "the file ends in .yml and is not read", "call it pump.yaml"))
    'pump.yml: the file ends in .yml and is not read; call it pump.yaml [wrong-ending]'
    """

    file: str
    line: int
    code: str
    message: str
    mend: str
    level: Level = "error"
    path: str = ""

    def __str__(self) -> str:
        warning = "warning: " if self.level == "warning" else ""
        place = f"{self.file}:{self.line}" if self.line else self.file
        return visible(f"{place}: {warning}{self.message}; {self.mend} [{self.code}]")

    def as_json(self) -> dict[str, str | int]:
        """The finding as `grader check --json` prints it."""
        return {
            "file": self.file,
            "line": self.line,
            "path": self.path,
            "message": self.message,
            "mend": self.mend,
            "level": self.level,
            "code": self.code,
        }
