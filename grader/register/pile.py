"""
Marking a pile: files, folders and zip archives from strangers against the sealed keys of a sitting.

What cannot be marked is set aside with file, line, reason and mend, and the rest goes on. Two rules make the outcome the same in
whatever order the files come:

- a paper that is marked stays marked: other answers to it are set aside, and the same answers are passed over, whichever file
  they stand in;
- where one pile holds two different sets of answers to a paper, neither is marked until a person says which one counts (by
  marking that file alone).

So running again marks only what is new, and what is still amiss is said again. That other answers shall count after all is for
a person to say, under a reason: `mark_again`.

Assessors' files of bench stations come in the same pile; `grader.register.bench_files` says which of them count.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from grader.base.canon import digest
from grader.base.codes import is_code, read_code
from grader.base.errors import UseError
from grader.base.files import contained, make_folder, plain_name, write_atomic
from grader.base.findings import Finding
from grader.marking.key import Case, Key, read_key
from grader.marking.mark import Marks
from grader.marking.reading import TABLE_LIMIT, Reading, Sheet, printable, read_file
from grader.marking.station import StationSheet
from grader.register import bench_files
from grader.register.asides import MARKED_ALREADY, same, settle_gone, settle_mended
from grader.register.bench_files import BenchSeen, bench_seen
from grader.register.corrections import InForce, Opened, in_force, opened
from grader.register.records import AnswerFile, Aside, Assessment, Correction, Event, Marking, Paper
from grader.register.remarking import with_awards
from grader.register.sources import Source, gathered
from grader.register.store import Register
from grader.register.workers import Task, Workers, marks_of, usual

if TYPE_CHECKING:
    from grader.register.cluster import Cluster  # joined by whoever wants one: a pile for one machine does not load it

Progress = Callable[[str], None]
TOGETHER = 50  # files kept in one act of the register: waiting for the disk is what takes time


@dataclass(slots=True)
class _File:
    """One file's outcome. Each aside is there with the candidates it names."""

    name: str
    data: bytes = b""
    sheets: list[tuple[str, Sheet]] = field(default_factory=list)  # that are to be marked, by paper code
    marks: list[Marks] = field(default_factory=list)
    assessments: list[Assessment] = field(default_factory=list)
    asides: list[tuple[Finding, tuple[str, ...]]] = field(default_factory=list)
    passed_over: bool = False


@dataclass(slots=True)
class PileOutcome:
    """
    What came of a pile.

    `files` were looked at, `passed_over` of them were marked before; `papers` are newly marked, their `marks` in `marked` where
    nobody else was handed them; `assessed` is new; `asides` need a person, except those of the level "warning", which are only
    to be known.
    """

    files: int
    looked_at: int = 0
    passed_over: int = 0
    papers: int = 0
    _marked: list[Marks] = field(default_factory=list)
    _asides: list[Finding] = field(default_factory=list)
    _assessed: list[Assessment] = field(default_factory=list)

    @property
    def marked(self) -> tuple[Marks, ...]:
        """The papers that are newly marked."""
        return tuple(self._marked)

    @property
    def asides(self) -> tuple[Finding, ...]:
        """What was set aside."""
        return tuple(self._asides)

    @property
    def assessed(self) -> tuple[Assessment, ...]:
        """What assessors put down that is newly taken in."""
        return tuple(self._assessed)

    @property
    def needs_a_person(self) -> bool:
        """Whether anything was set aside."""
        return any(aside.level == "error" for aside in self._asides)

    def add(self, file: _File, each: Callable[[Marks], None] | None = None) -> None:
        """Add what came of a file."""
        self.looked_at += 1
        self.passed_over += file.passed_over
        self.papers += len(file.marks)
        self._asides += [aside for aside, _ in file.asides]
        self._assessed += file.assessments
        for marks in file.marks:
            (each or self._marked.append)(marks)


@dataclass(slots=True)
class _Seen:
    """What is known before a file is marked: the sitting's papers and keys, what is marked, who else claims a paper."""

    sitting: str
    register: Register
    papers: Mapping[str, Paper]
    keys: Opened | None = None
    counts: dict[str, str] = field(default_factory=dict)  # paper code to the name of the file whose answers count
    asked: dict[str, frozenset[str]] = field(default_factory=dict)  # of each paper marked before, what numbers it has
    answers: set[tuple[str, str]] = field(default_factory=set)  # paper code and answers of every marking there was before
    claims: dict[str, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))
    erased: frozenset[str] = frozenset()  # files whose candidate's data were taken out: they do not come back
    candidates: frozenset[str] = field(init=False)  # everybody on the roster
    benches: BenchSeen = field(init=False)

    def key(self, code: str) -> InForce:
        """The key in force of a paper."""
        if self.keys is None:
            raise AssertionError("the keys were not opened for this")
        return self.keys[code]

    def __post_init__(self) -> None:
        self.candidates = frozenset(paper.candidate for paper in self.papers.values())
        names = {file: name for name, file, _ in self.register.answer_files(self.sitting)}
        self.benches = bench_seen(self.register, self.sitting, self.candidates, names)


def mark_pile(
    register: Register,
    sitting: str,
    paths: Iterable[Path],
    when: str,
    progress: Progress = lambda _: None,
    person: str = "",
    each: Callable[[Marks], None] | None = None,
    processes: int = 0,
    cluster: Cluster | None = None,
) -> PileOutcome:
    """
    Mark what is new among files, folders and zip archives, and keep it in the register.

    Parameters
    ----------
    register : Register
        Beside it lies ``sittings/``; accepted files are copied into ``sittings/NAME/answers/``.
    sitting : str
    paths : iterable of Path
        Their order does not matter.
    when : str
        The instant, as it is to be kept: ``2031-05-12T09:30:00Z``.
    progress : callable
        Is handed a line for each file.
    person : str
        Who marks, for the register's log.
    each : callable, optional
        Is handed the marks of each paper once they are kept. Then the outcome does not hold them, only how many there are: a pile
        may be large.
    processes : int
        How many shall mark; 0 for as many as the pile is worth. The marks are the same.
    cluster : Cluster, optional
        Shall mark instead: a cluster that is joined. The marks are the same, and this process alone writes the register.

    Raises
    ------
    UseError
        The sitting is unknown, a path leads nowhere or to no file at all, or the register cannot be written. Nothing that a
        file holds raises.
    """
    register.sitting(sitting)
    paths = tuple(paths)
    sources = gathered(paths)
    seen = _seen(register, sitting, when, person)
    answers = make_folder(contained(register.path.parent, "sittings", sitting, "answers"))
    _copied(register, sitting, answers)
    _claimed(sources, seen)
    before: dict[str, dict[int, Aside]] = defaultdict(dict)
    for number, aside in register.unsettled(sitting).items():
        before[aside.file][number] = aside
    outcome = PileOutcome(len(sources))
    workers = _workers(len(sources), processes, cluster, seen.keys.corrections if seen.keys else ())
    batches = _batches(_looked_at(source, seen, when, person) for source in sources)
    for batch, found in workers.each(batches, partial(_tasks, seen=seen)):
        with register.act():
            now = register.corrections(sitting)
            _with_marks(batch, found if now == workers.corrections else marks_of(_tasks(batch, seen), now))
            for file in batch:
                _without_overtaken(file, seen)
                _keep(register, file, before.pop(file.name, {}), sitting, when, person)
        for file in batch:
            if file.marks or file.assessments:
                _copy(answers, file.name, file.data)
            outcome.add(file, each)
            _report(progress, outcome.looked_at, len(sources), file)  # told when it is kept: it outlives an interruption
    settle_gone(register, sitting, paths, sources, when)
    return outcome


def _workers(files: int, processes: int, cluster: Cluster | None, corrections: tuple[Correction, ...]) -> Workers | Cluster:
    """Who marks."""
    return Workers(processes or usual(files), corrections) if cluster is None else replace(cluster, corrections=corrections)


def mark_again(
    register: Register, sitting: str, candidate: str, paths: Iterable[Path], reason: str, when: str, person: str
) -> Marks | Assessment:
    """
    Let what some files hold count for a candidate who is marked, or assessed, already. What counted before stays in the register.

    Parameters
    ----------
    register, sitting, paths, when
        As for `mark_pile`. What the files hold of other candidates is left alone.
    candidate : str
        Whose paper, or whose station.
    reason, person : str
        Why, and who says so: kept with the marking and in the log.

    Raises
    ------
    UseError
        No such sitting or candidate, not marked yet, no reason; or not exactly one set of answers of theirs. Nothing is kept.
    """
    register.sitting(sitting)
    paper = register.paper_of(sitting, candidate)
    if paper is None:
        raise UseError(f"no candidate {candidate!r} in sitting {sitting!r}; check the number")
    if not reason.strip():
        raise UseError("a paper is marked again for a reason; say it with --reason")
    seen = _Seen(sitting, register, {p.code: p for p in register.papers(sitting)})
    unmarked = UseError(f"{candidate} is not marked yet; mark the file without --again")
    if not register.markings(paper.code) and candidate not in {who[0] for who in seen.benches.counts}:
        raise unmarked
    sheet, data = _the_one(gathered(paths), paper, seen)
    file = AnswerFile(sitting, sheet.file, data, when)
    made: Marks | Assessment
    with register.act():  # nobody else corrects a key or awards a mark between reading them and keeping what comes of it
        if isinstance(sheet, StationSheet):
            if bench_files.who(sheet) not in seen.benches.counts:
                what = f"{sheet.assessor} has not assessed {candidate} at {sheet.station} yet"
                raise UseError(f"{what}; mark the file without --again")
            made = bench_files.taken_in(sheet, seen.benches, file.digest, when, person, reason)
            register.keep_answer_file(file, assessments=[made])
            what = f"took in what {sheet.assessor} put down for {candidate} at {sheet.station} again"
        else:
            if not register.is_marked(sitting, paper.code):
                raise unmarked
            key = read_key(register.open_key(paper.code, person, when, "to mark it again"))
            marks = in_force(key, register.corrections(sitting)).mark(sheet.answers)
            made = replace(marks, marks=with_awards(marks.marks, register.awards(sitting, candidate)))
            register.keep_answer_file(file, [_marking(made, sitting, file.digest, when, person, reason)])
            what = f"marked paper {paper.code} of {candidate} again"
        register.note(Event(person, when, f"{what}, from {sheet.file}: {reason}"))
    _copy(make_folder(contained(register.path.parent, "sittings", sitting, "answers")), sheet.file, data)
    return made


def _the_one(sources: Iterable[Source], paper: Paper, seen: _Seen) -> tuple[Sheet | StationSheet, bytes]:
    """The only set of answers to a paper, or the only assessment of its candidate, in some files; and the bytes it stands in."""
    found: dict[str, tuple[Sheet | StationSheet, bytes]] = {}
    faults: list[Finding] = []
    for source in sources:
        if source.fault is not None:
            faults.append(source.fault)
            continue
        data = source.read()
        reading = read_file(source.name, data)
        faults += reading.asides
        for name, sheet in _of(paper, reading, seen, faults):
            found.setdefault(name, (sheet, data))
    if len(found) == 1:
        return next(iter(found.values()))
    if found:
        names = ", ".join(sorted({f"{sheet.file}:{sheet.line}" for sheet, _ in found.values()}))
        raise UseError(f"{paper.candidate} gives different answers in {names}; name the one file that counts")
    said = "".join(f"\n  {fault}" for fault in faults)
    raise UseError(f"no answers of {paper.candidate} to paper {paper.code} there; name the file that has them{said}")


def _of(paper: Paper, reading: Reading, seen: _Seen, faults: list[Finding]) -> Iterator[tuple[str, Sheet | StationSheet]]:
    """What a file holds of a paper's candidate, each with what tells it from others."""
    for sheet in reading.sheets:
        code = read_code(sheet.paper)
        fault = _fault(sheet, code, seen)
        if fault is not None:
            faults.append(fault)
        elif code == paper.code:
            yield _digest(sheet.answers), sheet
    for station in reading.stations:
        fault = bench_files.fault(station, seen.benches)
        if fault is not None:
            faults.append(fault)
        elif station.candidate == paper.candidate:
            yield "/".join((*bench_files.who(station), bench_files.put_down(station))), station


def _seen(register: Register, sitting: str, when: str, person: str) -> _Seen:
    keys = opened(register, sitting, person or "marking", when, "to mark")
    names = {file: name for name, file, _ in register.answer_files(sitting)}
    papers = {paper.code: paper for paper in register.papers(sitting) if paper.code in keys}
    seen = _Seen(sitting, register, papers, keys)
    seen.erased = frozenset(name for one in register.erasures() for name in one.what["files"])
    same: dict[frozenset[str], frozenset[str]] = {}  # most papers have the same numbers: kept once
    for code, file, answers in register.answers_marked(sitting):
        numbers = frozenset(answers)
        seen.counts[code] = names.get(file, "another file")
        seen.asked[code] = same.setdefault(numbers, numbers)
        seen.answers.add((code, _digest(answers)))
    return seen


def _claimed(sources: Iterable[Source], seen: _Seen) -> None:
    """A first look: which answers are given to which paper, by which files. Only digests are kept: a pile may be large."""
    named = {}
    for source in sources:
        reading = _read(source)
        for code, sheet in _ours(reading, seen):
            seen.claims[code][_digest(sheet.answers)].append(source.name)
            named[source.name] = source
        for station in reading.stations:
            bench_files.claim(station, seen.benches)
    crowded = {
        code: {name for names in given.values() for name in names} for code, given in seen.claims.items() if len(given) > 1
    }
    seen.claims = defaultdict(lambda: defaultdict(list))
    for name in sorted(set().union(*crowded.values())):  # only of these it matters what their papers ask: the keys are looked at
        for code, sheet in _ours(_read(named[name]), seen):
            if code in crowded:
                seen.claims[code][_answers(sheet, _numbers(seen.key(code).key))].append(name)


def _ours(reading: Reading, seen: _Seen) -> Iterator[tuple[str, Sheet]]:
    """The sheets of a file that are of this sitting's papers and candidates, each with its paper's code."""
    for sheet in reading.sheets:
        code = read_code(sheet.paper)
        if code in seen.papers and _fault(sheet, code, seen) is None:
            yield code, sheet


def _read(source: Source) -> Reading:
    """What a file holds; nothing where it cannot be read, which is said when it is marked."""
    if source.fault is not None:
        return Reading()
    try:
        return read_file(source.name, source.read())
    except UseError:
        return Reading()


def _numbers(key: Key) -> frozenset[str]:
    """The numbers that a paper asks for."""
    return frozenset(
        q.number + part for q in key.questions for part in ([p.part for p in q.parts] if isinstance(q, Case) else [""])
    )


def _answers(sheet: Sheet, asked: frozenset[str]) -> str:
    """The digest of what was answered of what the paper asks, however it was filed."""
    return _digest({number: text for number, text in sheet.answers.items() if number in asked})


def _digest(answers: Mapping[str, str]) -> str:
    """The digest of some answers; what was left blank does not matter."""
    written = sorted((number, text.strip()) for number, text in answers.items() if text.strip())
    return digest(json.dumps(written).encode())  # only ever compared within one run: no canonical bytes, which cost more


def _looked_at(source: Source, seen: _Seen, when: str, person: str) -> _File:
    file = _File(source.name)
    named = _named(source.name, seen)
    if source.fault is not None:
        file.asides.append((source.fault, named))
        return file
    try:
        file.data = source.read()
    except UseError as error:
        file.asides.append((_finding(source.name, 0, "cannot-be-read", *_halves(str(error))), named))
        return file
    if seen.erased and digest(file.data) in seen.erased:
        file.data, file.passed_over = b"", True
        return file
    reading = read_file(source.name, file.data)
    file.asides.extend((aside, named) for aside in reading.asides)
    for sheet in reading.sheets:
        _mark_sheet(sheet, file, seen)
    for station in reading.stations:
        _take_in(station, file, seen, when, person)
    return file


def _take_in(sheet: StationSheet, file: _File, seen: _Seen, when: str, person: str) -> None:
    if bench_files.passed_over(sheet, seen.benches):
        file.passed_over = True
        return
    refused = bench_files.refusal(sheet, seen.benches)
    if refused is not None:
        file.asides.append((refused, ()))  # names nobody: a paper marked since does not settle it
        return
    file.assessments.append(bench_files.taken_in(sheet, seen.benches, digest(file.data), when, person))


def _mark_sheet(sheet: Sheet, file: _File, seen: _Seen) -> None:
    code = read_code(sheet.paper)
    fault = _fault(sheet, code, seen)
    if fault is None:
        if _again(sheet, code, seen):
            file.passed_over = True
            return
        fault = _rival(sheet, code, seen)
    if fault is not None:
        file.asides.append((fault, _concerned(sheet, code, seen)))
        return
    seen.counts[code] = file.name
    file.sheets.append((code, sheet))


def _again(sheet: Sheet, code: str, seen: _Seen) -> bool:
    """Whether the same answers to a paper are marked already, before this run or in it."""
    if code in seen.asked:
        return (code, _answers(sheet, seen.asked[code])) in seen.answers
    return code in seen.counts  # in this run: had the answers been others, neither would have been taken


def _tasks(files: list[_File], seen: _Seen) -> Iterator[Task]:
    """What is to be marked of some files."""
    if seen.keys is None:
        raise AssertionError("the keys were not opened for this")
    for file in files:
        for code, sheet in file.sheets:
            yield seen.keys.sealed(code), sheet.answers


def _with_marks(files: list[_File], found: list[Marks]) -> None:
    """Give every file its sheets' marks."""
    marks = iter(found)
    for file in files:
        for code, sheet in file.sheets:
            made = next(marks)
            if made.paper != code:  # never, whoever marked: one candidate's marks would be another's
                raise AssertionError(f"marks of paper {made.paper} came back for paper {code}")
            file.marks.append(made)
            file.asides.extend((aside, (made.candidate,)) for aside in _unasked(made, sheet))
        file.sheets.clear()


def _concerned(sheet: Sheet, code: str, seen: _Seen) -> tuple[str, ...]:
    """Whom of the roster a sheet names: by its paper, and by its candidate."""
    named = {sheet.candidate} & seen.candidates
    return tuple(sorted(named | {seen.papers[code].candidate} if code in seen.papers else named))


_COPY = re.compile(r" \(\d+\)$")  # what a browser adds to a name that is taken


def _named(name: str, seen: _Seen) -> tuple[str, ...]:
    """Whom of the roster a file is named after: by the candidate, or by the paper's code as an answer sheet saves it."""
    stem = _COPY.sub("", name.rpartition("/")[2].rpartition(".")[0])
    paper = seen.papers.get(read_code(stem))
    return (paper.candidate,) if paper else tuple({stem} & seen.candidates)


def _batches(files: Iterable[_File]) -> Iterator[list[_File]]:
    batch: list[_File] = []
    for file in files:
        batch.append(file)
        if len(batch) == TOGETHER or sum(len(one.data) for one in batch) > TABLE_LIMIT:  # a pile may be large
            yield batch
            batch = []
    yield batch


def _without_overtaken(file: _File, seen: _Seen) -> None:
    """Take out what another command has marked since this one began; within an act, so that none comes between."""
    for marks in tuple(file.marks):
        if not seen.register.is_marked(seen.sitting, marks.paper):
            continue
        before = seen.register.markings(marks.paper)
        file.marks.remove(marks)
        if _written(marks) in map(_written, before):
            file.passed_over = True
            continue
        message = f"candidate {_quoted(marks.candidate)} has just been marked with other answers, by another command"
        fault = _finding(file.name, 0, MARKED_ALREADY, message, "mark this file again to see which")
        file.asides.append((fault, (marks.candidate,)))
    if file.assessments:
        _without_overtaken_assessments(file, seen)


def _without_overtaken_assessments(file: _File, seen: _Seen) -> None:
    there = {bench_files.who(one): bench_files.put_down(one) for one in seen.register.assessments(seen.sitting)}
    for mine in tuple(file.assessments):
        other = there.get(bench_files.who(mine))
        if other is None:
            continue
        file.assessments.remove(mine)
        if other == bench_files.put_down(mine):
            file.passed_over = True
            continue
        message = f"{_quoted(mine.assessor)} has just been taken in with other ticks, by another command"
        fault = _finding(file.name, 0, bench_files.ASSESSED_ALREADY, message, "mark this file again to see which")
        file.asides.append((fault, ()))


def _written(marks: Marks | Marking) -> str:
    """The digest of the answers that some marks are for."""
    return _digest({m.number: m.answer for m in marks.marks})


def _keep(register: Register, file: _File, before: Mapping[int, Aside], sitting: str, when: str, person: str) -> None:
    """Keep what came of a file: its marks, what is newly set aside, and that what was set aside before is no longer so."""
    known = {same(aside) for aside in before.values()}
    now = [_aside(finding, candidates, sitting, when) for finding, candidates in file.asides]
    new = [aside for aside in now if same(aside) not in known]
    if file.marks or file.assessments or (new and file.data):
        markings = [_marking(marks, sitting, digest(file.data), when, person) for marks in file.marks]
        register.keep_answer_file(AnswerFile(sitting, file.name, file.data, when), markings, new, file.assessments)
    else:
        for aside in new:
            register.set_aside(aside)
    settle_mended(register, before, now, when)


def _fault(sheet: Sheet, code: str, seen: _Seen) -> Finding | None:
    """Why a sheet is no paper of this sitting's candidate, if so."""
    paper = seen.papers.get(code)
    if sheet.sitting and sheet.sitting != seen.sitting:
        message = f"written for sitting {_quoted(sheet.sitting)}, not {_quoted(seen.sitting)}"
        return _finding(sheet.file, sheet.line, "unknown-sitting", message, "mark it with the sitting it belongs to")
    if not is_code(code):
        message = f"paper code {_quoted(sheet.paper)} is mistyped: its check character does not fit"
        return _finding(sheet.file, sheet.line, "wrong-code", message, "compare it with the code printed on the paper")
    if paper is None:
        other = seen.register.paper(code)
        if other is not None:
            message = f"paper {code} is of sitting {_quoted(other.sitting)}, not {_quoted(seen.sitting)}"
            return _finding(sheet.file, sheet.line, "other-sitting", message, "mark it with the sitting it belongs to")
        message = f"no paper {_quoted(sheet.paper)} was set for sitting {_quoted(seen.sitting)}"
        return _finding(sheet.file, sheet.line, "unknown-paper", message, "compare it with the code printed on the paper")
    if sheet.candidate != paper.candidate:
        if sheet.candidate in seen.candidates:
            message = f"paper {code} is not the paper of candidate {_quoted(sheet.candidate)}"
            return _finding(
                sheet.file, sheet.line, "other-candidate", message, "find out who wrote it, then mend code or candidate"
            )
        message = f"candidate {_quoted(sheet.candidate)} is not on the roster of sitting {_quoted(seen.sitting)}"
        return _finding(sheet.file, sheet.line, "unknown-candidate", message, "write the candidate as printed on the paper")
    return None


def _rival(sheet: Sheet, code: str, seen: _Seen) -> Finding | None:
    """Why a sheet is not the only one for its paper, if so."""
    if code in seen.counts:
        message = f"candidate {_quoted(sheet.candidate)} is marked already, with other answers, from {seen.counts[code]}"
        again = f'grader mark {seen.sitting} FILE --again {sheet.candidate} --reason "…"'
        mend = f"those count; take this file out, or let these count: {again}"
        return _finding(sheet.file, sheet.line, MARKED_ALREADY, message, mend)
    given = _answers(sheet, _numbers(seen.key(code).key)) if code in seen.claims else ""
    others = [name for answers, names in seen.claims.get(code, {}).items() if answers != given for name in names]
    if others:
        message = f"candidate {_quoted(sheet.candidate)} gives other answers in {', '.join(sorted(set(others))[:3])}"
        alone = "mark that file alone" if {*others} != {sheet.file} else "take the other out of the file"
        return _finding(sheet.file, sheet.line, "two-answers", message, f"find out which one counts, and {alone}")
    return None


def _unasked(marks: Marks, sheet: Sheet) -> Iterator[Finding]:
    for number in marks.unasked:
        message = f"number {_quoted(number)} is answered, but is not on paper {marks.paper}"
        yield Finding(
            sheet.file, sheet.line, "unasked-number", message, "the other answers are marked; look at the file", "warning"
        )


def _finding(file: str, line: int, code: str, message: str, mend: str) -> Finding:
    return Finding(file, line, code, message, mend)


def _quoted(text: str) -> str:
    """A stranger's text, short and printable."""
    return f'"{printable(text)[:60]}"'


def _halves(said: str) -> tuple[str, str]:
    """What is wrong and how to mend it, from an error's text without the file's name in front."""
    message, _, mend = said.rpartition(": ")[2].partition("; ")
    return message, mend or "hand it in again"


def _aside(finding: Finding, candidates: tuple[str, ...], sitting: str, when: str) -> Aside:
    return Aside(sitting, finding.file, finding.line, finding.code, f"{finding.message}; {finding.mend}", when, candidates)


def _marking(marks: Marks, sitting: str, file: str, when: str, person: str, reason: str = "") -> Marking:
    return Marking(sitting, marks.paper, marks.candidate, file, when, marks.marks, reason, person)


def _copied(register: Register, sitting: str, folder: Path) -> None:
    """Make the copies that an interruption left out: the register holds every file, what lies in the folder is for people."""
    for name, file, size in register.counted_files(sitting):
        if size and not any(place.is_file() and place.stat().st_size == size for place in _places(folder, name, file)):
            _copy(folder, name, register.answer_bytes(sitting, file))


def _places(folder: Path, name: str, file: str) -> tuple[Path, Path]:
    """Where the copy of a file lies: under its own name where that is plain, or, where that is taken, under a longer one."""
    base = name.replace("\\", "/").rpartition("/")[2]
    place = folder / (base if plain_name(base) else f"{file[:16]}.txt")  # a plain name leads nowhere else
    return place, place.with_name(f"{file[:8]}-{place.name}")


def _copy(folder: Path, name: str, data: bytes) -> None:
    """A copy of an accepted file among the sitting's answers."""
    place, other = _places(folder, name, digest(data))
    if place.is_file() and place.read_bytes() == data:
        return
    write_atomic(other if place.exists() else place, data, synced=False)


def _report(progress: Progress, place: int, total: int, file: _File) -> None:
    if file.assessments and not file.marks:
        what = f"{file.assessments[0].station} taken in"
    elif file.marks:
        what = f"{len(file.marks)} marked" if len(file.marks) > 1 else f"{file.marks[0].mark} of {file.marks[0].out_of}"
    else:
        what = "marked before" if file.passed_over and not file.asides else "set aside"
    progress(f"[{place}/{total}] {file.name}: {what}")
    for aside, _ in file.asides:
        progress(f"  {aside}")
