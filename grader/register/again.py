"""
A sitting that is held again: what differs between what it was held with and what is given now, and which of it must stop it.

Papers that stand are printed from their sealed keys, so a course that has changed does not touch them. Who comes late is drawn
anew, beside papers that were drawn before: that is done from the same questions or not at all. So of the course's files those
count that the blueprint draws from (and the stations it names, whose sheets are written again); any other may have changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any

from grader.items.course import Course
from grader.items.model import Blueprint
from grader.items.specimen_file import SPECIMENS
from grader.items.station_file import STATIONS
from grader.register.records import Paper

MOST = 8  # differences that are told; whoever has more has another blueprint


def differences(before: Any, now: Any, where: str = "") -> Iterator[str]:
    """
    What differs between two JSON values, each with its place.

    >>> list(differences({"minutes": "40", "draw": [{"items": 2}]}, {"minutes": "50", "draw": [{"items": 3}, {"items": 1}]}))
    ['`draw/1/items` was 2, is 3', '`draw/2` is new', '`minutes` was 40, is 50']
    """
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        for name in sorted({*before, *now}):
            place = f"{where}/{name}" if where else str(name)
            if name not in now:
                yield f"`{place}` is gone"
            elif name not in before:
                yield f"`{place}` is new"
            else:
                yield from differences(before[name], now[name], place)
    elif isinstance(before, Sequence) and isinstance(now, Sequence) and not isinstance(before, str):
        one, other = (dict(enumerate(values, 1)) for values in (before, now))
        yield from differences(one, other, where)
    elif before != now:
        yield f"`{where}` was {_short(before)}, is {_short(now)}"


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def told(differing: Sequence[str]) -> str:
    """Some differences in one line, the rest counted."""
    rest = len(differing) - MOST
    return "; ".join(differing[:MOST]) + (f"; and {rest} more" if rest > 0 else "")


def roster_differences(papers: Sequence[Paper], now: Mapping[str, Paper]) -> Iterator[str]:
    """
    In what a roster differs for those who have a paper: `now` holds what its lines would make of their papers, by candidate.

    >>> ada = Paper("7M2KQ8D4XT", "spring", "c-01", "Ada Weir", "00")
    >>> list(roster_differences([ada], {})), list(roster_differences([ada], {"c-01": ada}))
    (["candidate 'c-01' is not in it"], [])
    """
    for paper in papers:
        again = now.get(paper.candidate)
        if again is None:
            yield f"candidate {paper.candidate!r} is not in it"
            continue
        for field in fields(paper):
            was, is_now = getattr(paper, field.name), getattr(again, field.name)
            if was != is_now:
                yield f"candidate {paper.candidate!r}: {field.name} was {was!r}, is {is_now!r}"


def changed_files(before: Mapping[str, str], now: Mapping[str, str]) -> dict[str, str]:
    """
    The files whose digests differ, each with what became of it.

    >>> changed_files({"a": "1", "b": "1", "c": "1"}, {"a": "1", "b": "2", "d": "1"})
    {'b': 'has changed', 'c': 'is gone', 'd': 'is new'}
    """
    found = {}
    for name in sorted({*before, *now}):
        if before.get(name) != now.get(name):
            found[name] = "is gone" if name not in now else "is new" if name not in before else "has changed"
    return found


def what_counts(changed: Mapping[str, str], course: Course, blueprint: Blueprint, *, late: bool) -> list[str]:
    """
    Of the files that have changed, those that what is made now depends on.

    Parameters
    ----------
    changed : mapping
        As `changed_files` gives it.
    late : bool
        Whether papers are drawn; where none is, only the stations' sheets are written again.
    """
    counts = {f"{STATIONS}/{name}.yaml" for name in blueprint.stations}
    if late:
        pool = [item for rule in blueprint.draw for item in course.eligible(rule)]
        counts |= {item.file for item in pool}
        counts |= {f"lessons/figures/{item.figure.name}.svg" for item in pool if item.figure is not None}
        counts |= {
            name for name, what in changed.items() if what == "is gone" and name.startswith(f"questions/{blueprint.bank}/")
        }
    if late or blueprint.stations:  # a sheet's numbers go into questions and settings
        counts |= {name for name in changed if name.startswith(f"{SPECIMENS}/")}
    return sorted(counts & changed.keys())
