"""
Whether a register is whole: every digest, and all that must hold between its rows. Each violation is named; nothing is mended.

    what is looked at                                                          what it finds out
    the file by SQLite itself, references, the triggers                        a damaged disk; rows changed by another program
    digests of keys, answer files, stations, corrections                       bytes that are not what was sealed or came in
    numbers of rows without a gap                                              rows taken out
    marks within their points, in their order; a reason for marking again      marks that no marker wrote
    decisions and certificates against what they rest on                       a pass that no decision said

`marked_again` also marks every paper anew, by its key in force: the marks that count must come out, byte for byte.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import get_args

from grader.base.canon import digest
from grader.base.codes import read_code
from grader.base.errors import UseError
from grader.marking.mark import Mark
from grader.marking.outcome import Verdict
from grader.marking.reading import read_file
from grader.register.corrections import opened
from grader.register.records import Marking
from grader.register.remarking import with_awards
from grader.register.rule import FAIL, NOT_EXAMINED, PASS, decimal, earned
from grader.register.schema import TABLES
from grader.register.stations import read_sealed
from grader.register.store import Register

NUMBERED = ("markings", "asides", "decisions", "events", "assessments", "corrections", "awards", "erasures")
"""Tables whose rows are numbered from 1: they only grow, so a gap is a row that was taken out."""


def violations(register: Register) -> Iterator[str]:
    """
    Everything that does not hold in a register, in words; nothing where it is whole.

    Keys that a passphrase locks are not opened for this: their lock itself finds out what was changed, when they are.
    """
    try:
        yield from _file(register)
        yield from _digests(register)
        yield from _numbers(register)
        for sitting in register.sittings():
            yield from _marks(register, sitting)
            yield from _decisions(register, sitting)
            yield from _certificates(register, sitting)
    except UseError as error:  # so far damaged that the rest cannot be looked at
        yield str(error)


def _file(register: Register) -> Iterator[str]:
    for (said,) in register.rows("PRAGMA integrity_check"):
        if said != "ok":
            yield f"the file is damaged: {said}"
    for table, row, parent, _ in register.rows("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} refers to a row of {parent} that is not there"
    there = {name for (name,) in register.rows("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    for table in TABLES:
        for verb in ("UPDATE", "DELETE"):
            if f"{table}_{verb}" not in there:
                yield f"table {table} is not held against {verb}: its trigger is gone"


def _digests(register: Register) -> Iterator[str]:
    erased = {name for one in register.erasures() for name in one.what.get("files", ())}
    for sitting, kept, name, data in register.rows("SELECT sitting, digest, name, data FROM answer_files"):
        if digest(data) != kept and kept not in erased:
            yield f"sitting {sitting}: answer file {name} is not what came in (digest {kept[:16]})"
    gone = {code for one in register.erasures() for code in one.what.get("papers", ())}
    papers = "SELECT code, sitting, key, key_digest FROM papers WHERE sitting NOT IN (SELECT sitting FROM locks)"
    for code, sitting, key, kept in register.rows(papers):
        if digest(key) != kept and code not in gone:
            yield f"sitting {sitting}: the key of paper {code} is not the one that was sealed"
    for sitting, station, kept, data in register.rows("SELECT sitting, station, digest, data FROM stations"):
        if digest(data) != kept:
            yield f"sitting {sitting}: station {station} is not the one that was sealed"
        elif trouble := _unreadable(data):
            yield f"sitting {sitting}: station {station}: {trouble}"
    for number, sitting, data, kept in register.rows("SELECT id, sitting, data, digest FROM corrections"):
        if digest(data.encode()) != kept:
            yield f"sitting {sitting}: correction {number} is not what was kept"


def _unreadable(station: bytes) -> str:
    try:
        read_sealed(station)
    except UseError as error:
        return str(error)
    return ""


def _numbers(register: Register) -> Iterator[str]:
    for table in NUMBERED:
        ((count, least, greatest),) = register.rows(f"SELECT count(*), min(id), max(id) FROM {table}")  # noqa: S608 - our names
        if count and (least, greatest) != (1, count):
            yield f"table {table} has {count} rows numbered {least} to {greatest}: some were taken out"


def _marks(register: Register, sitting: str) -> Iterator[str]:
    seen: set[str] = set()
    for marking in register.every_marking(sitting):
        name = f"sitting {sitting}: marking {marking.id} of paper {marking.paper}"
        if not marking.marks:
            yield f"{name} has no marks"
        if marking.paper in seen and not marking.reason.strip():
            yield f"{name} comes after another and has no reason"
        if marking.paper not in seen and marking.cause != "answers":
            yield f"{name} is the first and is for a {marking.cause}"
        seen.add(marking.paper)
        for mark in marking.marks:
            if not _within(mark):
                yield f"{name}: number {mark.number} has {mark.mark!r} of {mark.out_of!r}, verdict {mark.verdict!r}"
    places = (
        "SELECT k.marking, count(*), max(k.place) FROM marks k JOIN markings m ON m.id = k.marking WHERE m.sitting = ? "
        "GROUP BY k.marking HAVING count(*) <> max(k.place) + 1"
    )
    for number, count, last in register.rows(places, sitting):
        yield f"sitting {sitting}: marking {number} has {count} marks, the last in place {last}: some were taken out"
    strangers = "SELECT m.id, m.paper FROM markings m JOIN papers p ON p.code = m.paper WHERE m.sitting = ? AND p.sitting <> ?"
    for number, paper in register.rows(strangers, sitting, sitting):
        yield f"sitting {sitting}: marking {number} is of paper {paper}, which is of another sitting"


def _within(mark: Mark) -> bool:
    try:
        return 0 <= Decimal(mark.mark) <= Decimal(mark.out_of) and mark.verdict in get_args(Verdict)
    except InvalidOperation:
        return False


def _decisions(register: Register, sitting: str) -> Iterator[str]:
    markings = {marking.id: marking for marking in register.every_marking(sitting)}
    for paper in register.papers(sitting):
        for decision in register.decision_history(sitting, paper.candidate):
            name = f"sitting {sitting}: the decision of {decision.date} on {paper.candidate}"
            if decision.decision not in (PASS, FAIL, NOT_EXAMINED):
                yield f"{name} is {decision.decision!r}"
            number = decision.evidence.get("marking")
            if number is None:
                continue
            marking = markings.get(number)
            if marking is None or marking.paper != paper.code:
                yield f"{name} rests on marking {number}, which is none of that paper"
            elif not all(map(_within, marking.marks)):
                yield f"{name} rests on marking {number}, whose marks are no marks"
            elif decision.evidence.get("mark") != (worth := decimal(earned(marking.marks).mark)):
                yield f"{name} says {decision.evidence.get('mark')} marks, marking {number} has {worth}"


def _certificates(register: Register, sitting: str) -> Iterator[str]:
    erased = {number for one in register.erasures() for number in one.what.get("certificates", ())}
    for certificate in register.certificates(sitting):
        history = register.decision_history(sitting, certificate.candidate)
        if not any(one.decision == PASS and one.date <= certificate.issued[:10] for one in history):
            yield f"sitting {sitting}: certificate {certificate.id} of {certificate.candidate} rests on no pass"
        if not certificate.data and certificate.id not in erased:
            yield f"sitting {sitting}: certificate {certificate.id} is empty"


def marked_again(register: Register, person: str, when: str) -> Iterator[str]:
    """
    Whether the marks that count are those that keys in force, answers and awards give, and the answers those of the files.

    The keys are opened for it, and the register's log says so. What was erased is left out.
    """
    for sitting in register.sittings():
        keys = opened(register, sitting, person, when, "to check the register")
        names = {file: name for name, file, _ in register.answer_files(sitting)}
        for code, marking in register.marks(sitting).items():
            if code not in keys:
                continue
            name = f"sitting {sitting}: paper {code} of {marking.candidate}"
            found = keys[code].mark({mark.number: mark.answer for mark in marking.marks}).marks
            wanted = with_awards(found, register.awards(sitting, marking.candidate))
            yield from (
                f"{name}: number {mark.number} has {mark.mark} ({mark.verdict}), its key gives {other.mark} ({other.verdict})"
                for mark, other in zip(marking.marks, wanted, strict=False)
                if mark != other
            )
            if len(marking.marks) != len(wanted):
                yield f"{name}: {len(marking.marks)} marks, its key asks {len(wanted)} numbers"
            if not _stands_in(register.answer_bytes(sitting, marking.file), names[marking.file], marking):
                yield f"{name}: its answers are not those of the file that it was marked from"


def _stands_in(data: bytes, name: str, marking: Marking) -> bool:
    for sheet in read_file(name, data).sheets:
        if read_code(sheet.paper) == marking.paper and all(
            sheet.answers.get(mark.number, "").strip() == mark.answer.strip() for mark in marking.marks
        ):
            return True
    return False
