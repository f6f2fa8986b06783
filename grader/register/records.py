"""The rows of the register: plain frozen data, as the store gives and takes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from grader.base.canon import canonical, digest
from grader.marking.mark import Mark
from grader.papers.weights import Weight


@dataclass(frozen=True, slots=True)
class Sitting:
    """
    A sitting: what was examined, by which blueprint, from which bank.

    `bank` is the bank's digest, `secret` the 32 bytes that every draw is keyed with, `held` the day, `course` the course's title,
    `school` its `name`, `id` (a URI) and `place`. `blueprint` is the blueprint as JSON; decisions and certificates read of it

        {"id": ..., "title": ..., "pass": {"cut": "60 %", "each_circuit": "40 %"},
         "certificate": {"name": ..., "description": ..., "criteria": ..., "valid": "3 years"}}

    with shares as ``60 %`` or ``3/5``; `each_circuit`, `certificate` and its `valid` may be left out.

    `files` has the digest of each of the course's files that went into `bank`; empty for a sitting from before they were kept.
    `weights` says what each item that could be drawn was taken to weigh when the papers were assembled; empty likewise.
    Where a passphrase locks the keys, `locked` is true and `secret` empty: the register opens it as it opens keys.
    """

    name: str
    blueprint: Mapping[str, Any]
    bank: str
    secret: bytes = field(repr=False)
    held: str
    course: str
    school: Mapping[str, Any]
    files: Mapping[str, str] = field(default_factory=dict)
    locked: bool = False
    weights: Mapping[str, Weight] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Paper:
    """A candidate's paper: the roster's fields, and the digest of its key. `extra_time` is a percentage as written."""

    code: str
    sitting: str
    candidate: str
    name: str
    key_digest: str
    group: str = ""
    email: str = ""
    extra_time: str = ""
    print: str = ""


@dataclass(frozen=True, slots=True)
class AnswerFile:
    """An answer file as it came in: its name, its bytes, when it was read."""

    sitting: str
    name: str
    data: bytes = field(repr=False)
    when: str

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes: two files of the same bytes are one."""
        return digest(self.data)


@dataclass(frozen=True, slots=True)
class Marking:
    """
    One marking of one paper: every number's mark.

    `file` is the digest of the answer file, `reason` why it was marked again ("" for the first time), `person` who marked.
    `cause` says what it was marked for: ``answers`` that came in, a ``correction`` of the key, or an ``award`` by hand. `id` is
    its number in the register, 0 before it is kept.
    """

    sitting: str
    paper: str
    candidate: str
    file: str
    when: str
    marks: tuple[Mark, ...]
    reason: str = ""
    person: str = ""
    cause: str = "answers"
    id: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Assessment:
    """
    What one assessor put down for one candidate at one station: ticks and readings by the step's number.

    `file` is the digest of the file it came in, `reason` why it counts instead of an earlier one by the same assessor, `person`
    who took it in. `id` is its number in the register, 0 before it is kept.
    """

    sitting: str
    candidate: str
    station: str
    assessor: str
    file: str
    steps: Mapping[str, str]
    readings: Mapping[str, str]
    remarks: str
    when: str
    reason: str = ""
    person: str = ""
    id: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Correction:
    """
    What is corrected in the keys of a sitting: `entries` as in `grader.register.corrections`, why, by whom, when.

    `id` is its number in the register, 0 before it is kept.
    """

    sitting: str
    entries: tuple[Mapping[str, Any], ...]
    reason: str
    person: str
    when: str
    id: int = field(default=0, compare=False)

    @property
    def data(self) -> bytes:
        """The entries' canonical bytes."""
        return canonical([dict(entry) for entry in self.entries])

    @property
    def told(self) -> tuple[str, ...]:
        """
        Each entry in a line.

        >>> Correction("s", ({"item": "idle-case", "part": "b", "within": "5 %"},), "why", "who", "when").told
        ('idle-case part b: within 5 %',)
        """
        lines = []
        for entry in self.entries:
            part = f" part {entry['part']}" if "part" in entry else ""
            ways = [(way, text) for way, text in entry.items() if way not in ("item", "part")]
            said = ", ".join(f"{way} {text if isinstance(text, str) else '; '.join(text)}" for way, text in ways)
            lines.append(f"{entry['item']}{part}: {said}")
        return tuple(lines)


@dataclass(frozen=True, slots=True)
class Award:
    """
    What an examiner decided by hand: the mark of one number of a paper (``4a``), or a step of a station (``curb-idle/4``).

    `answer` is what stood there when it was decided, `award` the mark, or `done` or `not done`; `reason` and `person` say why and
    who. `id` is its number in the register, 0 before it is kept.
    """

    sitting: str
    candidate: str
    number: str
    answer: str
    award: str
    reason: str
    person: str
    when: str
    id: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Erasure:
    """That a candidate's personal data were taken out: under which name the marks stay, what went, why, by whom, when."""

    pseudonym: str
    what: Mapping[str, Any]
    reason: str
    person: str
    when: str


@dataclass(frozen=True, slots=True)
class Aside:
    """
    A file, or a line of one, that could not be marked, and why. `line` is 0 where the whole file is meant.

    `candidates` are those of the sitting whom it names, by what is written in it or by its own name.
    """

    sitting: str
    file: str
    line: int
    code: str
    reason: str
    when: str
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided about a candidate, by which rule, on which evidence, by whom, on which day."""

    sitting: str
    candidate: str
    decision: str
    rule: Mapping[str, Any]
    evidence: Mapping[str, Any]
    person: str
    date: str


@dataclass(frozen=True, slots=True)
class Revocation:
    """Why, by whom and on which day a certificate was revoked."""

    reason: str
    person: str
    date: str


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate that was issued: its signed bytes, and its place in the status list."""

    id: str
    sitting: str
    candidate: str
    data: bytes = field(repr=False)
    index: int
    issued: str
    revoked: Revocation | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """A line of the log: who did what, when."""

    who: str
    when: str
    what: str


@dataclass(frozen=True, slots=True)
class Opening:
    """That keys were opened: of a sitting, or of one paper of it; by whom, when, what for."""

    sitting: str
    paper: str
    who: str
    when: str
    purpose: str
