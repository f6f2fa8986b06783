"""
Marking a pile: files, folders and zip archives from strangers against the sealed keys of a sitting.

What cannot be marked is set aside with file, line, reason and mend, and the rest goes on. Two rules make the outcome the same in
whatever order the files come:

- a paper that is marked stays marked: other answers to it are set aside, and the same file is passed over;
- where one pile holds two different sets of answers to a paper, neither is marked until a person says which one counts (by
  marking that file alone).

So running again marks only what is new, and what is still amiss is said again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import astuple, dataclass, field
from pathlib import Path

from grader.base.canon import canonical, digest
from grader.base.codes import is_code, read_code
from grader.base.errors import UseError
from grader.base.files import contained, make_folder, plain_name, write_atomic
from grader.base.findings import Finding
from grader.marking.key import Key, read_key
from grader.marking.mark import Marks, mark
from grader.marking.reading import Sheet, printable, read_file
from grader.marking.strays import Stray, strays
from grader.register.records import AnswerFile, Aside, Mark, Marking, Paper
from grader.register.sources import Source, gathered
from grader.register.store import Register

Progress = Callable[[str], None]


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
    """What is known before a file is marked: the sitting's papers, what is marked, who else claims a paper."""

    sitting: str
    register: Register
    papers: Mapping[str, Paper]
    marked: dict[str, str]  # paper code to the digest of the file it was marked from
    names: dict[str, str]  # digest of a file to its name
    claims: dict[str, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))
    first: dict[str, str] = field(default_factory=dict)  # digest to the first file in this pile that has it


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
        The sitting is unknown, or the register cannot be written. Nothing that a file holds raises.
    """
    register.sitting(sitting)
    keys = {code: read_key(data) for code, data in register.open_keys(sitting, person or "marking", when).items()}
    seen = _Seen(
        sitting,
        register,
        {paper.code: paper for paper in register.papers(sitting)},
        {code: marking.file for code, marking in register.marks(sitting).items()},
        {file: name for name, file, _ in register.answer_files(sitting)},
    )
    kept = {(a.file, a.line, a.code, a.reason) for a in register.asides(sitting)}
    answers = make_folder(contained(register.path.parent, "sittings", sitting, "answers"))
    sources = gathered(paths)
    _claimed(sources, seen)
    marked: list[Marks] = []
    asides: list[Finding] = []
    passed_over = 0
    for place, source in enumerate(sources, start=1):
        file = _marked(source, keys, seen)
        new = [_aside(a, sitting, when) for a in file.asides]
        new = [a for a in new if (a.file, a.line, a.code, a.reason) not in kept]
        if file.marks:
            _copy(answers, source.name, file.data)
        if file.marks or (new and file.data):
            markings = [_marking(marks, sitting, digest(file.data), when, person) for marks in file.marks]
            register.keep_answer_file(AnswerFile(sitting, source.name, file.data, when), markings, new)
        else:
            for aside in new:
                register.set_aside(aside)
        marked += file.marks
        asides += file.asides
        passed_over += file.passed_over
        _report(progress, place, len(sources), source.name, file)
    return PileOutcome(len(sources), passed_over, tuple(marked), tuple(asides))


def sitting_strays(register: Register, sitting: str, when: str, person: str = "") -> tuple[Stray, ...]:
    """The strays among all marks of a sitting that count; see `grader.marking.strays`."""
    keys = {code: read_key(data) for code, data in register.open_keys(sitting, person or "marking", when).items()}
    counted = [mark(keys[code], {m.number: m.answer for m in found.marks}) for code, found in register.marks(sitting).items()]
    return strays(keys, counted)


@dataclass(slots=True)
class _File:
    """One file's outcome."""

    data: bytes = b""
    marks: list[Marks] = field(default_factory=list)
    asides: list[Finding] = field(default_factory=list)
    passed_over: bool = False


def _claimed(sources: Iterable[Source], seen: _Seen) -> None:
    """A first look: which answers are given to which paper, by which files. Only digests are kept: a pile may be large."""
    for source in sources:
        for sheet in _sheets(source, seen):
            code = read_code(sheet.paper)
            if code in seen.papers and _fault(sheet, code, seen) is None:
                seen.claims[code][_answers(sheet)].append(source.name)


def _sheets(source: Source, seen: _Seen) -> Iterator[Sheet]:
    if source.fault is None:
        try:
            data = source.read()
        except UseError:
            return  # said when it is marked
        seen.first.setdefault(digest(data), source.name)
        yield from read_file(source.name, data).sheets


def _answers(sheet: Sheet) -> str:
    """The digest of what was answered, however it was filed; what was left blank does not matter."""
    return digest(canonical({number: text.strip() for number, text in sheet.answers.items() if text.strip()}))


def _marked(source: Source, keys: Mapping[str, Key], seen: _Seen) -> _File:
    file = _File()
    if source.fault is not None:
        file.asides.append(source.fault)
        return file
    try:
        file.data = source.read()
    except UseError as error:
        file.asides.append(_finding(source.name, 0, "cannot-be-read", *_halves(str(error))))
        return file
    sign = digest(file.data)
    first = seen.first.get(sign, source.name)
    if first != source.name:
        file.asides.append(_finding(source.name, 0, "same-bytes", f"the same bytes as {first}", "take one of the two out"))
        return file
    reading = read_file(source.name, file.data)
    file.asides.extend(reading.asides)
    for sheet in reading.sheets:
        code = read_code(sheet.paper)
        if seen.marked.get(code) == sign:
            file.passed_over = True
            continue
        fault = _fault(sheet, code, seen) or _rival(sheet, code, seen)
        if fault is not None:
            file.asides.append(fault)
            continue
        marks = mark(keys[code], sheet.answers)
        seen.marked[code], seen.names[sign] = sign, source.name
        file.marks.append(marks)
        file.asides.extend(_unasked(marks, sheet))
    return file


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
        known = any(other.candidate == sheet.candidate for other in seen.papers.values())
        if known:
            message = f"paper {code} is not the paper of candidate {_quoted(sheet.candidate)}"
            return _finding(
                sheet.file, sheet.line, "other-candidate", message, "find out who wrote it, then mend code or candidate"
            )
        message = f"candidate {_quoted(sheet.candidate)} is not on the roster of sitting {_quoted(seen.sitting)}"
        return _finding(sheet.file, sheet.line, "unknown-candidate", message, "write the candidate as printed on the paper")
    return None


def _rival(sheet: Sheet, code: str, seen: _Seen) -> Finding | None:
    """Why a sheet is not the only one for its paper, if so."""
    if code in seen.marked:
        before = seen.names.get(seen.marked[code], "another file")
        message = f"candidate {_quoted(sheet.candidate)} is marked already, from {before}"
        mend = "that marking counts; take this file out, or mark the paper again under a reason"
        return _finding(sheet.file, sheet.line, "marked-already", message, mend)
    others = [name for answers, names in seen.claims[code].items() if answers != _answers(sheet) for name in names]
    if others:
        message = f"candidate {_quoted(sheet.candidate)} gives other answers in {', '.join(sorted(set(others))[:3])}"
        return _finding(sheet.file, sheet.line, "two-answers", message, "find out which one counts, and mark that file alone")
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


def _aside(finding: Finding, sitting: str, when: str) -> Aside:
    return Aside(sitting, finding.file, finding.line, finding.code, f"{finding.message}; {finding.mend}", when)


def _marking(marks: Marks, sitting: str, file: str, when: str, person: str) -> Marking:
    rows = tuple(Mark(*astuple(m)) for m in marks.marks)
    return Marking(sitting, marks.paper, marks.candidate, file, when, rows, person=person)


def _copy(folder: Path, name: str, data: bytes) -> None:
    """A copy of an accepted file among the sitting's answers, under its own name where that is free and plain."""
    base = name.replace("\\", "/").rpartition("/")[2]
    target = contained(folder, base if plain_name(base) else f"{digest(data)[:16]}.txt")
    if target.is_file() and target.read_bytes() == data:
        return
    if target.exists():
        target = target.with_name(f"{digest(data)[:8]}-{target.name}")
    write_atomic(target, data)


def _report(progress: Progress, place: int, total: int, name: str, file: _File) -> None:
    if file.marks:
        what = f"{len(file.marks)} marked" if len(file.marks) > 1 else f"{file.marks[0].mark} of {file.marks[0].out_of}"
    else:
        what = "marked before" if file.passed_over else "set aside"
    progress(f"[{place}/{total}] {name}: {what}")
    for aside in file.asides:
        progress(f"  {aside}")
