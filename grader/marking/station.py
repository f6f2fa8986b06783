"""
An assessor's file of a bench station: what was ticked and read for one candidate. Texts only; nothing is judged here.

    {"sitting": NAME, "candidate": ID, "assessor": NAME, "station": ID,
     "steps": {"1": "done", "2": "not done"}, "readings": {"3": "0.110 in"}, "remarks": "..."}

`readings` and `remarks` may be left out. A step that is not named was not ticked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from grader.base.text import is_unseen

DONE, NOT_DONE = "done", "not done"
STEPS_LIMIT = 100
READING_LIMIT = 100  # characters, as for an answer that is a number
REMARKS_LIMIT = 4000
NAME_LIMIT = 200
GROUPS = ("steps", "readings")
_HEAD = ("sitting", "candidate", "assessor", "station")
_NUMBER = re.compile(r"[1-9][0-9]{0,2}")
_SAVE = "save the station's sheet again, or write it as the sheet does"

Note = Callable[[int, str, str, str], None]
"""Takes line, code, what is wrong, and how to mend it."""


@dataclass(frozen=True, slots=True)
class StationSheet:
    """What one assessor ticked and read for one candidate at one station, by the step's number, and where it stands."""

    sitting: str
    candidate: str
    assessor: str
    station: str
    steps: Mapping[str, str]
    readings: Mapping[str, str] = field(default_factory=dict)
    remarks: str = ""
    file: str = ""
    line: int = 1


Fields = Mapping[str, tuple[int, "str | list[tuple[str, str]]"]]


def is_station(names: Mapping[str, object]) -> bool:
    """Whether a file's names are those of a station's file: then it is read as one, whatever else is wrong with it."""
    return {"station", "steps"} <= names.keys()


def read_station(fields: Fields, file: str, note: Note) -> StationSheet | None:
    """
    The sheet that a file's fields make, or None where it cannot be used; every fault is told to `note`.

    >>> head = {name: (1, name) for name in ("sitting", "candidate", "assessor", "station")}
    >>> read_station(head | {"steps": (2, [("1", "done")])}, "a.json", print).steps
    {'1': 'done'}
    >>> read_station(head | {"steps": (2, [("1", "yes")])}, "a.json", print)
    2 bad-step step 1 is "yes" write done or not done, or leave the step out where nobody saw it
    """
    faults: list[tuple[int, str, str, str]] = []
    for name, (line, _) in fields.items():
        if name not in (*_HEAD, *GROUPS, "remarks"):
            faults.append((line, "not-a-sheet", f"`{name[:40]}` does not belong in a station's file", _SAVE))
    head = {name: _head(name, fields, faults) for name in _HEAD}
    steps = _group("steps", fields, faults)
    readings = _group("readings", fields, faults)
    for line, number, text in steps:
        if text not in (DONE, NOT_DONE):
            mend = f"write {DONE} or {NOT_DONE}, or leave the step out where nobody saw it"
            faults.append((line, "bad-step", f'step {number} is "{text[:40]}"', mend))
    for line, number, text in readings:
        if len(text) > READING_LIMIT:
            faults.append((line, "long-answer", f"the reading of step {number} has {len(text):,} characters", "write it alone"))
    remarks = _text("remarks", fields, REMARKS_LIMIT, faults) if "remarks" in fields else ""
    if any("\ud800" <= letter <= "\udfff" for text in (remarks, *(text for *_, text in readings)) for letter in text):
        faults.append((1, "not-a-sheet", "half a character stands in it", _SAVE))
    if faults:
        for fault in faults:
            note(*fault)
        return None
    read = {number: text.strip() for _, number, text in readings if text.strip()}
    ticks = {number: text for _, number, text in steps}
    sitting, candidate, assessor, station = (head[name] for name in _HEAD)
    return StationSheet(sitting, candidate, assessor, station, ticks, read, remarks, file)


def _head(name: str, fields: Fields, faults: list[tuple[int, str, str, str]]) -> str:
    if name not in fields:
        faults.append((1, "not-a-sheet", f"the {name} is missing", _SAVE))
        return ""
    text = _text(name, fields, NAME_LIMIT, faults)
    if not text:
        faults.append((fields[name][0], "not-a-sheet", f"the {name} is empty", f"fill in the {name} at the top of the sheet"))
    elif any(is_unseen(letter) for letter in text):
        faults.append((fields[name][0], "not-a-sheet", f"the {name} has a letter that cannot be seen", f"type the {name} again"))
    return text


def _text(name: str, fields: Fields, limit: int, faults: list[tuple[int, str, str, str]]) -> str:
    line, text = fields[name]
    if not isinstance(text, str):
        faults.append((line, "not-a-sheet", f"`{name}` is no text", "write one text in quotes"))
        return "?"
    if len(text) > limit:
        faults.append((line, "not-a-sheet", f"`{name}` has {len(text):,} characters", f"write at most {limit:,}"))
    return text.strip()


def _group(name: str, fields: Fields, faults: list[tuple[int, str, str, str]]) -> list[tuple[int, str, str]]:
    if name not in fields:
        return []  # `steps` is there: it is what tells a station's file
    line, entries = fields[name]
    if isinstance(entries, str):
        faults.append((line, "not-a-sheet", f"`{name}` is a text", 'write it as {"1": "…", "2": "…"}'))
        return []
    if len(entries) > STEPS_LIMIT:
        faults.append((line, "too-many", f"more than {STEPS_LIMIT} {name}", "hand in one candidate's station alone"))
        return []
    for number, _ in entries:
        if not _NUMBER.fullmatch(number):
            faults.append((line, "bad-step", f'"{number[:40]}" is no number of a step', "name steps as the sheet does: 1, 2, 3"))
    return [(line, number, text) for number, text in entries]
