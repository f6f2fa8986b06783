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
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from grader.base.canon import digest
from grader.base.codes import is_code, read_code
from grader.base.errors import UseError
from grader.base.files import contained, make_folder, plain_name, write_atomic
from grader.base.findings import Finding
from grader.marking.key import Case, Key, read_key
from grader.marking.mark import Marks, mark
from grader.marking.reading import TABLE_LIMIT, Sheet, printable, read_file
from grader.register.asides import MARKED_ALREADY, same, settle_gone, settle_mended
from grader.register.records import AnswerFile, Aside, Event, Marking, Paper
from grader.register.sources import Source, gathered
from grader.register.store import Register

Progress = Callable[[str], None]
TOGETHER = 50  # files kept in one act of the register: waiting for the disk is what takes time


@dataclass(frozen=True, slots=True)
class PileOutcome:
    """
    What came of a pile.

    `files` were looked at, `passed_over` of them were marked before; `marked` is new; `asides` need a person, except those of the
    level "warning", which are only to be known.
    """

    files: int
    passed_over: int
    marked: tuple[Marks, ...]
    asides: tuple[Finding, ...]

    @property
    def needs_a_person(self) -> bool:
        """Whether anything was set aside."""
        return any(aside.level == "error" for aside in self.asides)


@dataclass(slots=True)
class _Seen:
    """What is known before a file is marked: the sitting's papers and keys, what is marked, who else claims a paper."""

    sitting: str
    register: Register
    papers: Mapping[str, Paper]
    keys: Mapping[str, Key] = field(default_factory=dict)
    counts: dict[str, str] = field(default_factory=dict)  # paper code to the name of the file whose answers count
    answers: set[tuple[str, str]] = field(default_factory=set)  # paper code and answers of every marking there is
    claims: dict[str, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))
    candidates: frozenset[str] = field(init=False)  # everybody on the roster

    def __post_init__(self) -> None:
        self.candidates = frozenset(paper.candidate for paper in self.papers.values())


def mark_pile(
    register: Register,
    sitting: str,
    paths: Iterable[Path],
    when: str,
    progress: Progress = lambda _: None,
    person: str = "",
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
    _claimed(sources, seen)
    before: dict[str, dict[int, Aside]] = defaultdict(dict)
    for number, aside in register.unsettled(sitting).items():
        before[aside.file][number] = aside
    outcome: list[_File] = []
    for batch in _batches(_marked(source, seen) for source in sources):
        with register.act():
            for file in batch:
                _without_overtaken(file, seen)
                if file.marks:
                    _copy(answers, file.name, file.data)
                _keep(register, file, before.pop(file.name, {}), sitting, when, person)
        for file in batch:  # told when it is kept: what was seen on the screen outlives an interruption
            file.data = b""
            outcome.append(file)
            _report(progress, len(outcome), len(sources), file)
    settle_gone(register, sitting, paths, sources, when)
    return PileOutcome(
        len(sources),
        sum(file.passed_over for file in outcome),
        tuple(marks for file in outcome for marks in file.marks),
        tuple(aside for file in outcome for aside, _ in file.asides),
    )


def mark_again(
    register: Register, sitting: str, candidate: str, paths: Iterable[Path], reason: str, when: str, person: str
) -> Marks:
    """
    Let the answers in some files count for a candidate who is marked already. The earlier marking stays, and no longer counts.

    Parameters
    ----------
    register, sitting, paths, when
        As for `mark_pile`. What the files hold of other candidates is left alone.
    candidate : str
        Whose paper.
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
    if not register.markings(paper.code):
        raise UseError(f"{candidate} is not marked yet; mark the file without --again")
    sheet, data = _the_one(gathered(paths), paper, _Seen(sitting, register, {p.code: p for p in register.papers(sitting)}))
    marks = mark(read_key(register.open_key(paper.code, person, when)), sheet.answers)
    file = AnswerFile(sitting, sheet.file, data, when)
    _copy(make_folder(contained(register.path.parent, "sittings", sitting, "answers")), sheet.file, data)
    with register.act():
        register.keep_answer_file(file, [_marking(marks, sitting, file.digest, when, person, reason)])
        register.note(Event(person, when, f"marked paper {paper.code} of {candidate} again, from {sheet.file}: {reason}"))
    return marks


def _the_one(sources: Iterable[Source], paper: Paper, seen: _Seen) -> tuple[Sheet, bytes]:
    """The only set of answers to a paper in some files, and the bytes it stands in."""
    found: dict[str, tuple[Sheet, bytes]] = {}
    faults: list[Finding] = []
    for source in sources:
        if source.fault is not None:
            faults.append(source.fault)
            continue
        data = source.read()
        reading = read_file(source.name, data)
        faults += reading.asides
        for sheet in reading.sheets:
            code = read_code(sheet.paper)
            fault = _fault(sheet, code, seen)
            if fault is not None:
                faults.append(fault)
            elif code == paper.code:
                found.setdefault(_digest(sheet.answers), (sheet, data))
    if len(found) == 1:
        return next(iter(found.values()))
    if found:
        names = ", ".join(sorted({f"{sheet.file}:{sheet.line}" for sheet, _ in found.values()}))
        raise UseError(f"{paper.candidate} gives different answers in {names}; name the one file that counts")
    said = "".join(f"\n  {fault}" for fault in faults)
    raise UseError(f"no answers of {paper.candidate} to paper {paper.code} there; name the file that has them{said}")


@dataclass(slots=True)
class _File:
    """One file's outcome. Each aside is there with the candidates it names."""

    name: str
    data: bytes = b""
    marks: list[Marks] = field(default_factory=list)
    asides: list[tuple[Finding, tuple[str, ...]]] = field(default_factory=list)
    passed_over: bool = False


def _seen(register: Register, sitting: str, when: str, person: str) -> _Seen:
    keys = {code: read_key(data) for code, data in register.open_keys(sitting, person or "marking", when).items()}
    names = {file: name for name, file, _ in register.answer_files(sitting)}
    seen = _Seen(sitting, register, {paper.code: paper for paper in register.papers(sitting)}, keys)
    for marking in register.every_marking(sitting):
        seen.counts[marking.paper] = names.get(marking.file, "another file")
        seen.answers.add((marking.paper, _written(marking)))
    return seen


def _claimed(sources: Iterable[Source], seen: _Seen) -> None:
    """A first look: which answers are given to which paper, by which files. Only digests are kept: a pile may be large."""
    for source in sources:
        for sheet in _sheets(source):
            code = read_code(sheet.paper)
            if code in seen.papers and _fault(sheet, code, seen) is None:
                seen.claims[code][_answers(sheet, seen.keys[code])].append(source.name)


def _sheets(source: Source) -> Iterator[Sheet]:
    if source.fault is None:
        try:
            data = source.read()
        except UseError:
            return  # said when it is marked
        yield from read_file(source.name, data).sheets


def _answers(sheet: Sheet, key: Key) -> str:
    """The digest of what was answered of what the paper asks, however it was filed."""
    asked = {q.number + part for q in key.questions for part in ([p.part for p in q.parts] if isinstance(q, Case) else [""])}
    return _digest({number: text for number, text in sheet.answers.items() if number in asked})


def _digest(answers: Mapping[str, str]) -> str:
    """The digest of some answers; what was left blank does not matter."""
    written = sorted((number, text.strip()) for number, text in answers.items() if text.strip())
    return digest(json.dumps(written).encode())  # only ever compared within one run: no canonical bytes, which cost more


def _marked(source: Source, seen: _Seen) -> _File:
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
    reading = read_file(source.name, file.data)
    file.asides.extend((aside, named) for aside in reading.asides)
    for sheet in reading.sheets:
        _mark_sheet(sheet, file, seen)
    return file


def _mark_sheet(sheet: Sheet, file: _File, seen: _Seen) -> None:
    code = read_code(sheet.paper)
    fault = _fault(sheet, code, seen)
    if fault is None:
        given = code, _answers(sheet, seen.keys[code])
        if given in seen.answers:
            file.passed_over = True
            return
        fault = _rival(sheet, *given, seen)
    if fault is not None:
        file.asides.append((fault, _concerned(sheet, code, seen)))
        return
    marks = mark(seen.keys[code], sheet.answers)
    seen.counts[code] = file.name
    seen.answers.add(given)
    file.marks.append(marks)
    file.asides.extend((aside, (marks.candidate,)) for aside in _unasked(marks, sheet))


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
        before = seen.register.markings(marks.paper)
        if not before:
            continue
        file.marks.remove(marks)
        if _written(marks) in map(_written, before):
            file.passed_over = True
            continue
        message = f"candidate {_quoted(marks.candidate)} has just been marked with other answers, by another command"
        fault = _finding(file.name, 0, MARKED_ALREADY, message, "mark this file again to see which")
        file.asides.append((fault, (marks.candidate,)))


def _written(marks: Marks | Marking) -> str:
    """The digest of the answers that some marks are for."""
    return _digest({m.number: m.answer for m in marks.marks})


def _keep(register: Register, file: _File, before: Mapping[int, Aside], sitting: str, when: str, person: str) -> None:
    """Keep what came of a file: its marks, what is newly set aside, and that what was set aside before is no longer so."""
    known = {same(aside) for aside in before.values()}
    now = [_aside(finding, candidates, sitting, when) for finding, candidates in file.asides]
    new = [aside for aside in now if same(aside) not in known]
    if file.marks or (new and file.data):
        markings = [_marking(marks, sitting, digest(file.data), when, person) for marks in file.marks]
        register.keep_answer_file(AnswerFile(sitting, file.name, file.data, when), markings, new)
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


def _rival(sheet: Sheet, code: str, given: str, seen: _Seen) -> Finding | None:
    """Why a sheet is not the only one for its paper, if so."""
    if code in seen.counts:
        message = f"candidate {_quoted(sheet.candidate)} is marked already, with other answers, from {seen.counts[code]}"
        again = f'grader mark {seen.sitting} FILE --again {sheet.candidate} --reason "…"'
        mend = f"those count; take this file out, or let these count: {again}"
        return _finding(sheet.file, sheet.line, MARKED_ALREADY, message, mend)
    others = [name for answers, names in seen.claims[code].items() if answers != given for name in names]
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


def _copy(folder: Path, name: str, data: bytes) -> None:
    """A copy of an accepted file among the sitting's answers, under its own name where that is free and plain."""
    base = name.replace("\\", "/").rpartition("/")[2]
    target = contained(folder, base if plain_name(base) else f"{digest(data)[:16]}.txt")
    if target.is_file() and target.read_bytes() == data:
        return
    if target.exists():
        target = target.with_name(f"{digest(data)[:8]}-{target.name}")
    write_atomic(target, data)


def _report(progress: Progress, place: int, total: int, file: _File) -> None:
    if file.marks:
        what = f"{len(file.marks)} marked" if len(file.marks) > 1 else f"{file.marks[0].mark} of {file.marks[0].out_of}"
    else:
        what = "marked before" if file.passed_over and not file.asides else "set aside"
    progress(f"[{place}/{total}] {file.name}: {what}")
    for aside, _ in file.asides:
        progress(f"  {aside}")
