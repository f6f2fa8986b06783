"""Names that the paper's fonts can print only in part: whose they are, and what is missing, told to whoever prints them."""

from __future__ import annotations

from collections.abc import Iterable

from grader.base.findings import Finding
from grader.base.printing import REPLACED, unprintable
from grader.items.model import Candidate


def names_in_part(roster: Iterable[Candidate]) -> tuple[Finding, ...]:
    """
    A warning for each candidate whose name has signs that no font has; papers are printed all the same, the id whole.

    >>> print(*names_in_part([Candidate("c-1", "Ada"), Candidate("c-2", "李 Ming", line=3)]))
    roster:3: warning: no font has '李' of c-2, '李 Ming'; � is printed there: call c-2 by the id, or write the name in other letters before the sitting is held [name-in-part]
    """  # noqa: E501 (a finding is one line)
    return tuple(
        Finding(
            person.file,
            person.line,
            "name-in-part",
            f"no font has {missing!r} of {person.candidate}, {person.name!r}",
            f"{REPLACED} is printed there: call {person.candidate} by the id, or write the name in other letters before the "
            "sitting is held",
            level="warning",
        )
        for person in roster
        if (missing := unprintable(person.name))
    )


def ids_unprintable(roster: Iterable[Candidate]) -> list[Finding]:
    """
    An error for each candidate whose id cannot be printed whole: the id is what tells people apart, whatever their names are.

    >>> print(*ids_unprintable([Candidate("c-1", "李"), Candidate("李-2", "Ada", line=3)]))
    roster:3: no font has '李' of the id '李-2'; write the id in letters and digits [unprintable-id]
    """
    return [
        Finding(
            person.file,
            person.line,
            "unprintable-id",
            f"no font has {missing!r} of the id {person.candidate!r}",
            "write the id in letters and digits",
        )
        for person in roster
        if (missing := unprintable(person.candidate))
    ]
