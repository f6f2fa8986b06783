"""
Taking out a candidate's personal data, while the marks stay for statistics under a name that means nobody.

The one deliberate way past the triggers that let the register only grow; it leaves a row that says when, why, by whom, and which
papers, files and certificates are no longer whole because of it. It cannot be undone, and does not reach copies made before.

    goes       name, group, e-mail, extra time, print; the key (it names the candidate); answers as typed and as read, remarks,
               reasons given about them; their answer files; certificates' text; their papers, sheets, pages and files on the disk
    stays      paper code, marks, verdicts and slips, steps done, decisions, a certificate's place in the status list
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path

from grader.base.canon import canonical, digest
from grader.base.codes import LETTERS
from grader.base.errors import UseError
from grader.base.files import contained, write_atomic
from grader.base.tables import csv_text
from grader.marking.reading import read_file
from grader.register.records import Event, Paper
from grader.register.schema import growing
from grader.register.sitting import manifest
from grader.register.store import Register

ERASED = "erased"
_TOUCHED = (
    "papers",
    "decisions",
    "certificates",
    "revocations",
    "assessments",
    "awards",
    "markings",
    "marks",
    "answer_files",
    "asides",
    "events",
)


@dataclass(frozen=True, slots=True)
class Erased:
    """Under which name the marks stay, which sittings they are of, and how many files were taken off the disk."""

    pseudonym: str
    sittings: tuple[str, ...]
    files: int


def erase(register: Register, candidate: str, reason: str, when: str, person: str, sittings: Collection[str] = ()) -> Erased:
    """
    Take out a candidate's personal data from the register and from the folders of their sittings.

    Parameters
    ----------
    register : Register
        Beside it lies ``sittings/``.
    candidate : str
    reason, person, when : str
        Kept. The reason is kept as it is: name nobody in it.
    sittings : collection of str
        Which sittings; all that the candidate sat if left out, and then there must be only one, or one name in all of them.

    Raises
    ------
    UseError
        No such candidate, no reason, or the same number names different people. Nothing is changed.
    """
    if not reason.strip():
        raise UseError("personal data are taken out for a reason; say it with --reason")
    papers = _papers(register, candidate, sittings)
    pseudonym = f"{ERASED}-{''.join(secrets.choice(LETTERS) for _ in range(8))}"
    held = tuple(paper.sitting for paper in papers)
    files = {sitting: _files(register, sitting, candidate) for sitting in held}
    names = {paper.name for paper in papers} - {""}
    taken = _from_disk(register, papers, {name for found in files.values() for name in found})
    register.run("PRAGMA secure_delete = ON")
    with register.act():
        register.run("PRAGMA defer_foreign_keys = ON")
        for table in _TOUCHED:
            for verb in ("UPDATE", "DELETE"):
                register.run(f"DROP TRIGGER {table}_{verb}")
        for paper in papers:
            _rename(register, paper, pseudonym)
            for name in files[paper.sitting]:
                _rewrite(register, paper, name)
            _asides(register, paper, pseudonym)
        _texts(register, {candidate, *names}, pseudonym)
        for statement in growing(*_TOUCHED):
            register.run(statement)
        what = {
            "sittings": [*held],
            "papers": [paper.code for paper in papers],
            "files": sorted({name for found in files.values() for name in found}),
            "certificates": [
                one.id for paper in papers for one in register.certificates(paper.sitting) if one.candidate == pseudonym
            ],
        }
        register.run(
            "INSERT INTO erasures VALUES (NULL, ?, ?, ?, ?, ?)", pseudonym, canonical(what).decode(), reason, person, when
        )
        register.note(Event(person, when, f"took out a candidate's personal data; the marks stay under {pseudonym}: {reason}"))
    register.run("PRAGMA wal_checkpoint(TRUNCATE)")
    register.run("VACUUM")  # what was written over lies in no free page either
    register.run("PRAGMA wal_checkpoint(TRUNCATE)")
    for sitting in held:
        home = contained(register.path.parent, "sittings", sitting)
        if home.is_dir():
            write_atomic(home / "manifest.csv", manifest(register.papers(sitting)))
    return Erased(pseudonym, held, taken)


def _papers(register: Register, candidate: str, sittings: Collection[str]) -> tuple[Paper, ...]:
    for name in sittings:
        register.sitting(name)
    found = [register.paper_of(name, candidate) for name in register.sittings() if not sittings or name in sittings]
    papers = tuple(paper for paper in found if paper is not None)
    if not papers:
        raise UseError(f"no candidate {candidate!r} in {', '.join(sittings) or 'any sitting'}; check the number")
    if not sittings and len({paper.name for paper in papers}) > 1:
        people = ", ".join(f"{paper.name} in {paper.sitting}" for paper in papers)
        raise UseError(f"candidate {candidate!r} is {people}; say which with --sitting")
    return papers


def _files(register: Register, sitting: str, candidate: str) -> tuple[str, ...]:
    """The digests of the answer files that a candidate's markings and assessments came from, or that were set aside as theirs."""
    marked = register.rows(
        "SELECT file FROM markings m JOIN papers p ON p.code = m.paper WHERE m.sitting = ? AND p.candidate = ? UNION "
        "SELECT file FROM assessments WHERE sitting = ? AND candidate = ?",
        *(sitting, candidate) * 2,
    )
    aside = {one.file for one in register.asides(sitting) if candidate in one.candidates}
    named = {file for name, file, _ in register.answer_files(sitting) if name in aside}
    return tuple(sorted(named | {file for (file,) in marked}))


def _rename(register: Register, paper: Paper, pseudonym: str) -> None:
    who = paper.sitting, paper.candidate
    register.run(
        """UPDATE papers SET candidate = ?, name = '', "group" = '', email = '', extra_time = '', print = '', key = x''
        WHERE sitting = ? AND candidate = ?""",
        pseudonym,
        *who,
    )
    for table, also in (
        ("decisions", ""),
        ("certificates", ", data = x''"),
        ("assessments", ", remarks = '', readings = '{}'"),
        ("awards", f", answer = '', reason = '{ERASED}'"),
    ):
        register.run(f"UPDATE {table} SET candidate = ?{also} WHERE sitting = ? AND candidate = ?", pseudonym, *who)  # noqa: S608 - our names
    own = "SELECT id FROM markings WHERE paper = ?"
    register.run(f"UPDATE marks SET answer = '', read = '' WHERE marking IN ({own})", paper.code)  # noqa: S608
    register.run(f"UPDATE marks SET why = '' WHERE verdict <> 'slip' AND marking IN ({own})", paper.code)  # noqa: S608
    register.run(f"UPDATE markings SET reason = '{ERASED}' WHERE paper = ? AND reason <> ''", paper.code)  # noqa: S608


def _rewrite(register: Register, paper: Paper, name: str) -> None:
    """What is left of an answer file when a candidate is taken out: others' rows of a class's table, or nothing."""
    data, written = register.answer_bytes(paper.sitting, name), ERASED
    ((file,),) = register.rows("SELECT name FROM answer_files WHERE sitting = ? AND digest = ?", paper.sitting, name)
    others = [sheet for sheet in read_file(file, data).sheets if sheet.candidate != paper.candidate]
    left = b""
    if others:
        numbers = list(dict.fromkeys(number for sheet in others for number in sheet.answers))
        rows = [(one.paper, one.candidate, *(one.answers.get(number, "") for number in numbers)) for one in others]
        left, written = csv_text(("paper", "candidate", *numbers), rows).encode(), file
    register.run(
        "UPDATE answer_files SET data = ?, name = ? WHERE sitting = ? AND digest = ?", left, written, paper.sitting, name
    )


def _asides(register: Register, paper: Paper, pseudonym: str) -> None:
    for number, text in register.rows("SELECT id, candidates FROM asides WHERE sitting = ?", paper.sitting):
        named = _listed(text)
        if paper.candidate in named:
            others = canonical([pseudonym if one == paper.candidate else one for one in named]).decode()
            register.run(
                f"UPDATE asides SET file = '{ERASED}', reason = '{ERASED}', candidates = ? WHERE id = ?",  # noqa: S608
                others,
                number,
            )


def _listed(text: str) -> list[str]:
    from grader.base.canon import read_json

    return [str(one) for one in read_json(text.encode())]


def _texts(register: Register, names: Iterable[str], pseudonym: str) -> None:
    """The candidate's number and name in what people and the program wrote down, where they stand as words."""
    pattern = re.compile("|".join(rf"(?<![\w-]){re.escape(name)}(?![\w-])" for name in names))
    for table, column, key in (("events", "what", "id"), ("asides", "reason", "id"), ("revocations", "reason", "certificate")):
        for number, text in register.rows(f"SELECT {key}, {column} FROM {table}"):  # noqa: S608 - our names
            told = pattern.sub(pseudonym, text)
            if told != text:
                register.run(f"UPDATE {table} SET {column} = ? WHERE {key} = ?", told, number)  # noqa: S608


# The disk.


def _from_disk(register: Register, papers: Iterable[Paper], files: Collection[str]) -> int:
    """Take away what the folders of the sittings hold of a candidate; reports and lists that name everybody can be made anew."""
    taken = 0
    for paper in papers:
        home = contained(register.path.parent, "sittings", paper.sitting)
        certificates = [one.id for one in register.certificates(paper.sitting) if one.candidate == paper.candidate]
        own = [
            home / "papers" / f"{paper.code}.pdf",
            home / "sheets" / f"{paper.code}.html",
            *(home / "results" / "feedback").glob(f"{paper.code}.*"),
            *(home / "certificates" / f"{number}.{ending}" for number in certificates for ending in ("json", "pdf")),
            *(found for found in (home / "answers").glob("*") if found.is_file() and digest(found.read_bytes()) in files),
            *(found for found in (home / "results").glob("*") if found.is_file()),
            *(home / "stations").glob("*.html"),
            *(home / "stations").glob("*.pdf"),
            home / "manifest.csv",
        ]
        taken += sum(_away(file) for file in own)
    return taken


def _away(file: Path) -> bool:
    try:
        file.unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UseError(f"{file}: cannot be taken away ({error.strerror}); nothing in the register was changed yet") from error
    return True
