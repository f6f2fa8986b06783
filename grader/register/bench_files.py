"""
Assessors' files in a pile: which of them count. The same two rules as for papers, for each assessor of a candidate at a station:

- what is taken in stays: other ticks by the same assessor are set aside, the same are passed over;
- where one pile holds two different files of one assessor, neither is taken in until a person says which one counts.

Two assessors of one candidate are both kept; where they differ, `grader.register.stations` says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from grader.base.canon import canonical, digest
from grader.base.findings import Finding
from grader.marking.reading import printable
from grader.marking.station import StationSheet
from grader.register.records import Assessment
from grader.register.stations import SealedStation, same_name, sealed_stations
from grader.register.store import Register

ASSESSED_ALREADY = "assessed-already"  # other ticks by the same assessor than those that count

Who = tuple[str, str, str]
"""Candidate, station, assessor."""


@dataclass(slots=True)
class BenchSeen:
    """What is known before an assessor's file is taken in: the sealed stations, what counts, who else claims it."""

    sitting: str
    stations: Mapping[str, SealedStation]
    candidates: frozenset[str]
    counts: dict[Who, tuple[str, str]] = field(default_factory=dict)  # what was put down, as a digest, and in which file
    claims: dict[Who, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))


def bench_seen(register: Register, sitting: str, candidates: Iterable[str], names: Mapping[str, str]) -> BenchSeen:
    """What the register knows of a sitting's stations; `names` are the files' names by their digests."""
    seen = BenchSeen(sitting, sealed_stations(register, sitting), frozenset(candidates))
    for one in register.assessments(sitting):
        seen.counts[who(one)] = put_down(one), names.get(one.file, "another file")
    return seen


def who(sheet: StationSheet | Assessment) -> Who:
    """Whom a file is about, where, and by whom, however the assessor's name is written."""
    return sheet.candidate, sheet.station, same_name(sheet.assessor)


def put_down(sheet: StationSheet | Assessment) -> str:
    """The digest of what an assessor put down, however the file is laid out."""
    return digest(canonical([dict(sheet.steps), dict(sheet.readings), sheet.remarks]))


def claim(sheet: StationSheet, seen: BenchSeen) -> None:
    """A first look at a file, before any is taken in."""
    if fault(sheet, seen) is None:
        seen.claims[who(sheet)][put_down(sheet)].append(sheet.file)


def passed_over(sheet: StationSheet, seen: BenchSeen) -> bool:
    """Whether the same was taken in before."""
    return seen.counts.get(who(sheet), ("", ""))[0] == put_down(sheet)


def refusal(sheet: StationSheet, seen: BenchSeen) -> Finding | None:
    """Why a file is not taken in, if so."""
    return fault(sheet, seen) or _rival(sheet, seen)


def fault(sheet: StationSheet, seen: BenchSeen) -> Finding | None:
    """Why a file is none of this sitting's stations and candidates, if so."""
    if sheet.sitting != seen.sitting:
        message = f"written for sitting {_quoted(sheet.sitting)}, not {_quoted(seen.sitting)}"
        return _finding(sheet, "unknown-sitting", message, "mark it with the sitting it belongs to")
    station = seen.stations.get(sheet.station)
    if station is None:
        there = ", ".join(seen.stations)
        mend = f"it has: {there}" if there else "it was held without stations, or before they were sealed"
        return _finding(sheet, "unknown-station", f"station {_quoted(sheet.station)} is none of this sitting", mend)
    if sheet.candidate not in seen.candidates:
        message = f"candidate {_quoted(sheet.candidate)} is not on the roster of sitting {_quoted(seen.sitting)}"
        return _finding(sheet, "unknown-candidate", message, "write the candidate as the roster does")
    unknown = [number for number in (*sheet.steps, *sheet.readings) if station.step(number) is None]
    if unknown:
        message = f"step {unknown[0]} is not at station {sheet.station}, which has {len(station.steps)}"
        return _finding(sheet, "unknown-step", message, "use the sheet that was made for this sitting")
    bare = [number for number in sheet.readings if getattr(station.step(number), "answer", None) is None]
    if bare:
        message = f"step {bare[0]} of {sheet.station} has a reading, and nothing is measured there"
        return _finding(sheet, "unknown-step", message, "use the sheet that was made for this sitting")
    return None


def _rival(sheet: StationSheet, seen: BenchSeen) -> Finding | None:
    """Why a file is not the only one of its assessor, if so."""
    named = f"{_quoted(sheet.assessor)} puts down something else for candidate {_quoted(sheet.candidate)} at {sheet.station}"
    if who(sheet) in seen.counts:
        again = f'grader mark {seen.sitting} FILE --again {sheet.candidate} --reason "…"'
        mend = f"that counts; take this file out, or let this count: {again}"
        return _finding(sheet, ASSESSED_ALREADY, f"{named} in {seen.counts[who(sheet)][1]}", mend)
    others = [name for what, names in seen.claims[who(sheet)].items() if what != put_down(sheet) for name in names]
    if others:
        mend = "find out which one counts, and mark that file alone"
        return _finding(sheet, "two-answers", f"{named} in {', '.join(sorted(set(others))[:3])}", mend)
    return None


def taken_in(sheet: StationSheet, seen: BenchSeen, file: str, when: str, person: str, reason: str = "") -> Assessment:
    """The assessment that a file makes; `file` is the digest of its bytes. It counts from now on."""
    seen.counts[who(sheet)] = put_down(sheet), sheet.file
    head = seen.sitting, sheet.candidate, sheet.station, sheet.assessor, file
    return Assessment(*head, dict(sheet.steps), dict(sheet.readings), sheet.remarks, when, reason, person)


def _finding(sheet: StationSheet, code: str, message: str, mend: str) -> Finding:
    return Finding(sheet.file, sheet.line, code, message, mend)


def _quoted(text: str) -> str:
    return f'"{printable(text)[:60]}"'
