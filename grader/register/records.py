"""The rows of the register: plain frozen data, as the store gives and takes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from grader.base.canon import digest
from grader.marking.mark import Mark


@dataclass(frozen=True, slots=True)
class Sitting:
    """
    A sitting: what was examined, by which blueprint, from which bank.

    `bank` is the bank's digest, `secret` the 32 bytes that every draw is keyed with, `held` the day, `course` the course's title,
    `school` its `name`, `id` (a URI) and `place`. `blueprint` is the blueprint as JSON; decisions and certificates read of it

        {"id": ..., "title": ..., "pass": {"cut": "60 %", "each_circuit": "40 %"},
         "certificate": {"name": ..., "description": ..., "criteria": ..., "valid": "3 years"}}

    with shares as ``60 %`` or ``3/5``; `each_circuit`, `certificate` and its `valid` may be left out.
    """

    name: str
    blueprint: Mapping[str, Any]
    bank: str
    secret: bytes = field(repr=False)
    held: str
    course: str
    school: Mapping[str, Any]


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
    """

    sitting: str
    paper: str
    candidate: str
    file: str
    when: str
    marks: tuple[Mark, ...]
    reason: str = ""
    person: str = ""


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
