"""A small sitting for tests: a paper of four questions and a bench station. Everybody in it is invented."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec

from grader.base.canon import digest
from grader.base.codes import LETTERS, check_character
from grader.marking.key import Key, unit_entries
from grader.register.records import Paper, Sitting
from grader.register.stations import SealedStation
from grader.register.store import Register

WHEN = "2031-05-12T09:30:00Z"
LATER = "2031-05-20T08:00:00Z"
CANDIDATES = ("c-01", "c-02", "c-03", "c-04")
SCHOOL = {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"}


def code_of(place: int) -> str:
    """A paper code with the right check character."""
    return next(
        payload + check_character(payload)
        for letter in LETTERS
        if check_character(payload := f"TRY0{place}0X{letter}7") in LETTERS
    )


CODES = {candidate: code_of(place) for place, candidate in enumerate(CANDIDATES)}


def key_of(candidate: str, sitting: str = "spring") -> Key:
    """
    A number (each candidate's own), a choice, a case of two parts, an order. Options are in another order on each paper.

    Circuits: 1 and 3 are power, 2 and 4 are pump. Points: 1, 1, 2, 2.
    """
    place = CANDIDATES.index(candidate)
    value = 2 + place
    answer = {
        "value": str(value),
        "low": f"{value - 0.1:.1f}",
        "high": f"{value + 0.1:.1f}",
        "unit": "mm^2",
        "shown": "",
        "within": "0.1 mm^2",
    }
    double = {
        "value": str(2 * value),
        "low": str(2 * value - 0.2),
        "high": str(2 * value + 0.2),
        "unit": "mm^2",
        "shown": "",
        "within": "0.2 mm^2",
    }
    texts = ("the small one", "the large one", "none")
    order = [(text, "abc"[(at + place) % 3]) for at, text in enumerate(texts)]
    options = sorted(({"letter": letter, "text": text} for text, letter in order), key=lambda option: option["letter"])
    letters = dict(order)
    follow = {"tree": ["*", 2, ["name", "area"]], "values": {}, "takes": {"area": "a"}, "within": "0.2 mm^2"}
    about: dict[str, Any] = {"objective": "power.1", "circuit": "power", "points": "1", "stem": "?"}
    pump = about | {"objective": "pump.1", "circuit": "pump"}
    questions = [
        about | {"item": "power-area", "kind": "numeric", "number": "1", "answer": answer},
        pump | {"item": "pump-why", "kind": "choice", "number": "2", "options": options, "right": letters["the small one"]},
        about | {"item": "power-case", "kind": "case", "number": "3", "points": "2", "parts": [
            {"kind": "numeric", "part": "a", "points": "1", "stem": "?", "answer": answer},
            {"kind": "numeric", "part": "b", "points": "1", "stem": "?", "answer": double, "follow": follow},
        ]},
        pump
        | {"item": "pump-order", "kind": "order", "number": "4", "points": "2", "entries": options, "right": ["a", "b", "c"]},
    ]  # fmt: skip
    head = {"form": "grader-key-1", "sitting": sitting, "paper": CODES[candidate], "candidate": candidate, "blueprint": "b"}
    rest = {"bank": "0" * 64, "nonce": "1" * 64, "units": msgspec.to_builtins(unit_entries())}
    return msgspec.convert(head | rest | {"questions": questions}, Key)


def letter_of(candidate: str, text: str) -> str:
    """The letter that an option of question 2 has on a candidate's paper."""
    (question,) = [q for q in msgspec.to_builtins(key_of(candidate))["questions"] if q["item"] == "pump-why"]
    return str(next(option["letter"] for option in question["options"] if option["text"] == text))


STATION = msgspec.convert(
    {
        "form": "grader-station-1", "sitting": "spring", "station": "rod-height", "title": "Set the rod", "objective": "power.9",
        "specimen": "T-1", "done": ["The rod stands as the sheet wants it."], "units": msgspec.to_builtins(unit_entries()),
        "steps": [
            {"number": "1", "text": "Make it safe.", "points": "2", "critical": True, "reason": "Fuel burns.", "sees": "Dry."},
            {"number": "2", "text": "Measure.", "points": "3", "measures": "rod height", "range": "7/32 to 9/32 in",
             "answer": {"value": "0.25", "low": "0.21875", "high": "0.28125", "unit": "in", "shown": "1/4 in",
                        "within": "1/32 in"}},
            {"number": "3", "text": "Write down.", "points": "1", "sees": "Both figures."},
        ],
    },
    SealedStation,
)  # fmt: skip


def held(path: Path, *, each_station: str | None = None) -> Register:
    """A register with the sitting "spring": pass at 60 %, and with `each_station`, at the bench too."""
    passing = {"cut": "60 %"} | ({"each_station": each_station} if each_station else {})
    blueprint = {"id": "module", "title": "Power and pump", "pass": passing, "stations": ["rod-height"]}
    sitting = Sitting("spring", blueprint, "0" * 64, bytes(32), "2031-05-12", "The course", SCHOOL)
    papers = [
        (
            Paper(CODES[c], "spring", c, f"Name {c}", digest(key_of(c).encoded()), email=f"{c}@weirgate.example"),
            key_of(c).encoded(),
        )
        for c in CANDIDATES
    ]
    register = Register(path)
    register.hold_sitting(sitting, papers)
    register.seal_station("spring", "rod-height", STATION.encoded())
    return register


def right(candidate: str, **other: str) -> dict[str, str]:
    """Right answers of a candidate, but for those given."""
    value = 2 + CANDIDATES.index(candidate)
    given = {
        "1": f"{value} mm2",
        "2": letter_of(candidate, "the small one"),
        "3a": f"{value}",
        "3b": f"{2 * value}",
        "4": "a b c",
    }
    return given | {name.lstrip("q"): text for name, text in other.items()}


def write(folder: Path, candidate: str, answers: dict[str, str], name: str = "") -> Path:
    """An answer file."""
    file = folder / (name or f"{candidate}.json")
    file.write_text(json.dumps({"paper": CODES[candidate], "candidate": candidate, "answers": answers}), encoding="utf-8")
    return file


DONE = {"1": "done", "2": "done", "3": "done"}


def assess(
    folder: Path,
    candidate: str,
    steps: dict[str, str] | None = None,
    readings: dict[str, str] | None = None,
    assessor: str = "A. Bench",
    name: str = "",
    **more: str,
) -> Path:
    """An assessor's file, as the station's sheet saves it."""
    file = folder / (name or f"rod-height-{candidate}-{assessor[0]}.json")
    text = {
        "sitting": "spring", "candidate": candidate, "assessor": assessor, "station": "rod-height",
        "steps": DONE if steps is None else steps, "readings": {"2": "1/4 in"} if readings is None else readings,
    }  # fmt: skip
    file.write_text(json.dumps(text | more), encoding="utf-8")
    return file
