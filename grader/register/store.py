"""
The register: one SQLite file that keeps sittings, keys, marks, decisions, certificates. The only place that knows SQL.

    with Register(path) as register:            opens the file, or makes it; `existing=True` refuses a missing one
        with register.act(): ...                several acts as one: all of them are kept, or none

    sittings     hold_sitting(sitting, papers)                    sitting(name)  sittings()
    papers       hold_sitting(...), seal_papers(papers)           papers(sitting)  paper(code)  paper_of(sitting, candidate)
    keys         given with the papers, sealed                    open_keys(sitting, person, when, purpose)  open_key(code, ...)
                                                                  open_secret(sitting, ...)  openings(sitting)
    answer files keep_answer_file(file, markings, asides)         seen(sitting)  answer_files(sitting)  answer_bytes(...)
    marks        keep_answer_file(...), keep_marking(marking)     marks(sitting)  every_marking(sitting)  markings(paper)
    set aside    keep_answer_file(...), set_aside(aside), settle  asides(sitting)  unsettled(sitting)
    stations     seal_station(sitting, station, data)             stations(sitting)
    assessments  keep_answer_file(...), keep_assessment(...)      assessments(sitting)
    corrections  keep_correction(correction)                      corrections(sitting)
    awards       keep_award(award)                                awards(sitting)
    decisions    decide(decision)                                 decisions(sitting)  decision_history(sitting, candidate)
    certificates keep_certificate(certificate), revoke(...)       certificates(sitting)  certificate(id)  certificate_of(...)
    events       note(event)                                      events()

The rows are in `grader.register.records`: Sitting, Paper, AnswerFile, Mark, Marking, Aside, Decision, Certificate, Event,
Opening. Every act is one transaction, so that an interruption leaves nothing half-done. Nothing is overwritten: a later marking
or decision stands after the earlier one and counts instead of it; triggers in the file hold that against other programs too. A
key leaves the register only with a line in its log. Where a passphrase locks a sitting, its keys and the secret they were drawn
with lie in the file locked (`grader.base.locks`), each bound to its sitting and paper. Days and instants are text
(``2031-05-12``, ``2031-05-12T09:30:00Z``), always passed in.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from types import TracebackType
from typing import Any

from grader.base.canon import canonical, digest, read_json
from grader.base.errors import UseError
from grader.base.locks import NONCE, TAG, Cost, Lock, check_new, locked, new_lock, unlocked
from grader.marking.mark import Mark
from grader.papers.weights import Weight
from grader.register.records import (
    AnswerFile,
    Aside,
    Assessment,
    Award,
    Certificate,
    Correction,
    Decision,
    Erasure,
    Event,
    Marking,
    Opening,
    Paper,
    Revocation,
    Sitting,
)
from grader.register.schema import APPLICATION, VERSION, statements

PATIENCE = 10.0  # seconds to wait for another command that is writing


_BEGIN, _COMMIT, _ROLLBACK = "BEGIN IMMEDIATE", "COMMIT", ("ROLLBACK",)
_SAVE, _RELEASE, _BACK = "SAVEPOINT act", "RELEASE act", ("ROLLBACK TO act", "RELEASE act")


class Register:
    """
    The register of an examining school, one SQLite file.

    Parameters
    ----------
    path : Path
        The file; made with mode 0600 where it is missing (it holds keys and names), unless `existing`.
    existing : bool
        Refuse a missing file instead of making one.
    patience : float
        How long to wait for another command that is writing. [s]
    passphrase : callable, optional
        Asked, with the sitting's name, for the passphrase of its keys where they are locked and shall be opened; once a sitting.

    Raises
    ------
    UseError
        The file is missing, not a register, of a newer version, or locked. One that is read-only can be read; writing is refused.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, Register(Path(folder, "register.sqlite")) as register:
    ...     register.note(Event("T. Examiner", "2031-05-12T09:30:00Z", "looked in"))
    ...     register.events()
    (Event(who='T. Examiner', when='2031-05-12T09:30:00Z', what='looked in'),)
    """

    def __init__(
        self,
        path: Path,
        *,
        existing: bool = False,
        patience: float = PATIENCE,
        passphrase: Callable[[str], str] | None = None,
    ) -> None:
        self.path = path
        self._depth = 0
        self._passphrase = passphrase
        self._openers: dict[str, bytes] = {}  # what opens the keys of the sittings whose passphrase was given
        if existing and not path.exists():
            raise UseError(f"{path}: there is no register; hold a sitting first, or name the folder it lies in")
        with self._plainly():
            if not path.exists():
                os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
            self._database = sqlite3.connect(path, timeout=patience, isolation_level=None)
        try:
            self._prepare()
        except BaseException:
            self._database.close()
            raise

    def __enter__(self) -> Register:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was kept stays kept."""
        self._database.close()

    @contextmanager
    def act(self) -> Iterator[None]:
        """
        Several acts as one: kept together when the block ends, none of them where it raises.

        An act within an act is undone alone where it raises, and kept or undone with the outer one otherwise.
        """
        begin, keep, undo = (_BEGIN, _COMMIT, _ROLLBACK) if not self._depth else (_SAVE, _RELEASE, _BACK)
        self._run(begin)
        self._depth += 1
        try:
            yield
            self._run(keep)
        except BaseException:
            if self._database.in_transaction:
                for statement in undo:
                    self._run(statement)
            raise
        finally:
            self._depth -= 1

    # Sittings, papers, keys.

    def hold_sitting(self, sitting: Sitting, papers: Iterable[tuple[Paper, bytes]] = (), passphrase: str = "") -> None:
        """
        Keep a new sitting and its papers, each with its key's bytes.

        With a passphrase the secret and the keys are kept locked. Raises `UseError` where the sitting stands already, a candidate
        would get two papers, or the passphrase is too short.
        """
        lock = new_lock() if passphrase else None
        opener = lock.key(check_new(passphrase)) if lock is not None else b""
        sealed = locked(opener, sitting.secret, _about(sitting.name)) if lock is not None else b""
        secret = sealed[NONCE:-TAG] if lock is not None else sitting.secret
        with self.act():
            if self._one("SELECT 1 FROM sittings WHERE name = ?", sitting.name):
                raise UseError(f"sitting {sitting.name!r} is in {self.path} already; give the new one another name")
            self._insert(
                "sittings",
                sitting.name,
                _text(sitting.blueprint),
                sitting.bank,
                secret,
                sitting.held,
                sitting.course,
                _text(sitting.school),
            )
            self._insert_all("course_files", ((sitting.name, file, value) for file, value in sitting.files.items()))
            self._insert_all("weights", ((sitting.name, item, *_columns(weight)) for item, weight in sitting.weights.items()))
            if lock is not None:
                cost = lock.cost
                self._insert("locks", sitting.name, lock.salt, cost.n, cost.r, cost.p, sealed[:NONCE], sealed[-TAG:])
                self._openers[sitting.name] = opener
            self.seal_papers(papers)

    def seal_papers(self, papers: Iterable[tuple[Paper, bytes]]) -> None:
        """
        Keep papers with their keys' bytes; locked where the keys of their sitting are. A key can't be changed afterwards.

        Raises `UseError` where a key's digest is not the paper's, or a candidate of the sitting has a paper already.
        """
        with self.act():
            for paper, key in papers:
                if digest(key) != paper.key_digest:
                    raise UseError(
                        f"paper {paper.code}: the digest of its key is {digest(key)}, the paper says {paper.key_digest}"
                    )
                if self._one("SELECT 1 FROM papers WHERE sitting = ? AND candidate = ?", paper.sitting, paper.candidate):
                    raise UseError(
                        f"candidate {paper.candidate!r} has a paper in sitting {paper.sitting!r} already; keep one of the two"
                    )
                opener = self._opener(paper.sitting)
                kept = key if opener is None else locked(opener, key, _about(paper.sitting, paper.code))
                self._insert("papers", *_columns(paper), kept)

    def sitting(self, name: str) -> Sitting:
        """The sitting of that name, without its secret where that is locked; `UseError` naming those there are."""
        row = self._one("SELECT name, blueprint, bank, secret, held, course, school FROM sittings WHERE name = ?", name)
        if row is None:
            known = ", ".join(self.sittings()) or "none yet"
            raise UseError(f"no sitting {name!r} in {self.path}; there is: {known}")
        shut = self._one("SELECT 1 FROM locks WHERE sitting = ?", name) is not None
        files = dict(self._all("SELECT file, digest FROM course_files WHERE sitting = ? ORDER BY file", name))
        secret = b"" if shut else row[3]
        rows = self._all("SELECT item, difficulty, minutes, answers FROM weights WHERE sitting = ? ORDER BY item", name)
        weights = {item: Weight(*rest) for item, *rest in rows}
        return Sitting(row[0], _value(row[1]), row[2], secret, row[4], row[5], _value(row[6]), files, shut, weights)

    def sittings(self) -> tuple[str, ...]:
        """The names of all sittings, in the order they were held."""
        return tuple(row[0] for row in self._all("SELECT name FROM sittings ORDER BY held, name"))

    def papers(self, sitting: str) -> tuple[Paper, ...]:
        """Every paper of a sitting, in the order they were sealed."""
        return self._papers("sitting = ?", sitting)

    def paper(self, code: str) -> Paper | None:
        """The paper with that code, whichever sitting it is of; None where there is none."""
        return next(iter(self._papers("code = ?", code)), None)

    def paper_of(self, sitting: str, candidate: str) -> Paper | None:
        """The paper of a candidate in a sitting; None where there is none."""
        return next(iter(self._papers("sitting = ? AND candidate = ?", sitting, candidate)), None)

    def _papers(self, which: str, *values: str) -> tuple[Paper, ...]:
        columns = 'code, sitting, candidate, name, key_digest, "group", email, extra_time, print'
        rows = self._all(f"SELECT {columns} FROM papers WHERE {which} ORDER BY rowid", *values)  # noqa: S608
        return tuple(Paper(*row) for row in rows)

    def open_keys(self, sitting: str, person: str, when: str, purpose: str = "") -> dict[str, bytes]:
        """
        The keys of a sitting by paper code, and a line in the log that they were opened: by whom, when, "to mark".

        Raises `UseError` where they are locked and the passphrase is missing or wrong (then there is no line), or a key is no
        longer the one that was sealed.
        """
        self.sitting(sitting)
        opener = self._opener(sitting)
        with self.act():
            self._opened(f"the keys of sitting {sitting}", sitting, "", person, when, purpose)
            rows = self._all("SELECT code, key, key_digest FROM papers WHERE sitting = ? AND key <> x'' ORDER BY rowid", sitting)
        return {code: self._unbroken(sitting, code, key, sealed, opener) for code, key, sealed in rows}

    def open_keys_singly(self, sitting: str, person: str, when: str, purpose: str = "") -> Mapping[str, bytes]:
        """
        As `open_keys`, for sittings of any size: every key is held against its digest now, and read again when it is asked for.

        What is given is good as long as the register is open.
        """
        self.sitting(sitting)
        opener = self._opener(sitting)
        with self.act():
            self._opened(f"the keys of sitting {sitting}", sitting, "", person, when, purpose)
        statement = "SELECT code, key, key_digest FROM papers WHERE sitting = ? AND key <> x'' ORDER BY rowid"
        codes = []
        for code, key, sealed in self._each(statement, sitting):
            self._unbroken(sitting, code, key, sealed, opener)
            codes.append(code)

        def read(code: str) -> bytes:
            key, sealed = self._one("SELECT key, key_digest FROM papers WHERE code = ?", code) or (b"", "")
            return self._unbroken(sitting, code, key, sealed, opener)

        return _Singly(codes, read)

    def open_key(self, code: str, person: str, when: str, purpose: str = "") -> bytes:
        """The key of one paper, as `open_keys`; `UseError` also where there is no such paper."""
        row = self._one("SELECT sitting, key, key_digest FROM papers WHERE code = ?", code)
        if row is None:
            raise UseError(f"no paper {code!r} in {self.path}; check the code")
        sitting, key, sealed = row
        if not key:
            raise UseError(f"the key of paper {code} was taken out with its candidate's data")
        opener = self._opener(sitting)
        with self.act():
            self._opened(f"the key of paper {code}", sitting, code, person, when, purpose)
        return self._unbroken(sitting, code, key, sealed, opener)

    def open_secret(self, sitting: str, person: str, when: str, purpose: str = "") -> bytes:
        """The secret that a sitting's papers are drawn with: who has it can draw every key, so it is opened as they are."""
        self.sitting(sitting)
        opener = self._opener(sitting)
        with self.act():
            self._opened(f"the secret of sitting {sitting}", sitting, "", person, when, purpose)
        return self._secret(sitting, opener)

    def openings(self, sitting: str) -> tuple[Opening, ...]:
        """Who opened keys of a sitting, when, what for: the oldest first."""
        rows = self._all(
            'SELECT o.sitting, o.paper, e.who, e."when", o.purpose FROM openings o JOIN events e ON e.id = o.event '
            "WHERE o.sitting = ? ORDER BY e.id",
            sitting,
        )
        return tuple(Opening(*row) for row in rows)

    def _opened(self, what: str, sitting: str, paper: str, person: str, when: str, purpose: str) -> None:
        event = self._insert("events", None, person, when, f"opened {what}" + (f" {purpose}" if purpose else ""))
        self._insert("openings", event, sitting, paper, purpose)

    def _opener(self, sitting: str) -> bytes | None:
        """What opens the keys of a sitting, None where they are not locked; whoever holds the passphrase is asked once."""
        row = self._one("SELECT salt, n, r, p FROM locks WHERE sitting = ?", sitting)
        if row is None:
            return None
        if sitting not in self._openers:
            if self._passphrase is None:
                raise UseError(f"the keys of sitting {sitting!r} are locked; give their passphrase")
            opener = Lock(row[0], Cost(*row[1:])).key(self._passphrase(sitting))
            self._secret(sitting, opener)  # opens only with the right one
            self._openers[sitting] = opener
        return self._openers[sitting]

    def _secret(self, sitting: str, opener: bytes | None) -> bytes:
        row = self._one(
            "SELECT s.secret, l.nonce, l.tag FROM sittings s LEFT JOIN locks l ON l.sitting = s.name WHERE name = ?", sitting
        )
        if row is None or opener is None:
            return self.sitting(sitting).secret
        secret = unlocked(opener, row[1] + row[0] + row[2], _about(sitting))
        if secret is None:
            raise UseError(f"this is not the passphrase that locks the keys of sitting {sitting!r}; nothing was opened")
        return secret

    def _unbroken(self, sitting: str, code: str, kept: bytes, sealed: str, opener: bytes | None) -> bytes:
        key = kept if opener is None else unlocked(opener, kept, _about(sitting, code))
        if key is None or digest(key) != sealed:
            raise UseError(
                f"{self.path}: the key of paper {code} is not the one that was sealed; restore the register from a copy"
            )
        return key

    # Answer files, marks, files set aside.

    def keep_answer_file(
        self,
        file: AnswerFile,
        markings: Iterable[Marking] = (),
        asides: Iterable[Aside] = (),
        assessments: Iterable[Assessment] = (),
    ) -> None:
        """Keep an answer file with the markings and assessments it led to and what of it was set aside: all of it, or none."""
        with self.act():
            self._run(
                "INSERT OR IGNORE INTO answer_files VALUES (?, ?, ?, ?, ?)",
                file.sitting,
                file.digest,
                file.name,
                file.data,
                file.when,
            )
            for marking in markings:
                self.keep_marking(marking)
            for aside in asides:
                self.set_aside(aside)
            for assessment in assessments:
                self.keep_assessment(assessment)

    def keep_marking(self, marking: Marking) -> None:
        """
        Keep a marking of a paper; it counts from now on, the earlier ones stay.

        Raises `UseError` where the paper was marked before and no reason is given for marking it again.
        """
        with self.act():
            again = self._one("SELECT 1 FROM markings WHERE sitting = ? AND paper = ?", marking.sitting, marking.paper)
            if again and not marking.reason.strip():
                raise UseError(f"paper {marking.paper} is marked already; give the reason for marking it again")
            number = self._insert(
                "markings",
                None,
                marking.sitting,
                marking.paper,
                marking.file,
                marking.when,
                marking.reason,
                marking.person,
                marking.cause,
            )
            self._insert_all("marks", ((number, place, *_columns(mark)) for place, mark in enumerate(marking.marks)))

    def set_aside(self, aside: Aside) -> None:
        """Keep what could not be marked, and why."""
        with self.act():
            row = (aside.sitting, aside.file, aside.line, aside.code, aside.reason, aside.when)
            self._insert("asides", None, *row, canonical([*aside.candidates]).decode())

    def settle(self, number: int, why: str, when: str) -> None:
        """Keep that what was set aside under that number (see `unsettled`) is settled, and why; the aside itself stays."""
        with self.act():
            self._run("INSERT OR IGNORE INTO settled VALUES (?, ?, ?)", number, why, when)  # another command may have seen it too

    def seen(self, sitting: str) -> frozenset[str]:
        """The digests of all answer files that were read for a sitting, marked or set aside."""
        return frozenset(row[0] for row in self._all("SELECT digest FROM answer_files WHERE sitting = ?", sitting))

    def answer_files(self, sitting: str) -> tuple[tuple[str, str, str], ...]:
        """Name, digest and instant of every answer file that was read for a sitting, in that order."""
        rows = self._all('SELECT name, digest, "when" FROM answer_files WHERE sitting = ? ORDER BY rowid', sitting)
        return tuple((row[0], row[1], row[2]) for row in rows)

    def counted_files(self, sitting: str) -> Iterator[tuple[str, str, int]]:
        """Name, digest and size of every answer file that a marking or an assessment came from."""
        yield from self._all(
            "SELECT name, digest, length(data) FROM answer_files WHERE sitting = ? AND (digest IN (SELECT file FROM markings "
            "WHERE sitting = ?) OR digest IN (SELECT file FROM assessments WHERE sitting = ?)) ORDER BY rowid",
            *(sitting,) * 3,
        )

    def answer_bytes(self, sitting: str, file: str) -> bytes:
        """The bytes of the answer file with that digest; `UseError` where there is none."""
        row = self._one("SELECT data FROM answer_files WHERE sitting = ? AND digest = ?", sitting, file)
        if row is None:
            raise UseError(f"no answer file {file!r} in sitting {sitting!r}; check the digest")
        return bytes(row[0])

    def marks(self, sitting: str) -> dict[str, Marking]:
        """The marking that counts for each marked paper of a sitting, by paper code: the newest."""
        newest = "SELECT max(id) FROM markings WHERE sitting = ? GROUP BY paper"
        return {marking.paper: marking for marking in self._markings(f"m.id IN ({newest})", sitting)}

    def markings(self, paper: str) -> tuple[Marking, ...]:
        """Every marking of a paper, the oldest first; the last one counts."""
        return tuple(self._markings("m.paper = ?", paper))

    def every_marking(self, sitting: str) -> tuple[Marking, ...]:
        """Every marking of a sitting, the oldest first; of each paper the last one counts."""
        return tuple(self._markings("m.sitting = ?", sitting))

    def is_marked(self, sitting: str, paper: str) -> bool:
        """Whether a paper was ever marked."""
        return self._one("SELECT 1 FROM markings WHERE sitting = ? AND paper = ? LIMIT 1", sitting, paper) is not None

    def answers_marked(self, sitting: str) -> Iterator[tuple[str, str, dict[str, str]]]:
        """Of every marking of a sitting, the oldest first and one at a time: paper, file, and the answers by number."""
        rows = self._each(
            "SELECT m.id, m.paper, m.file, k.number, k.answer FROM markings m JOIN marks k ON k.marking = m.id "
            "WHERE m.sitting = ? ORDER BY m.id, k.place",
            sitting,
        )
        for (_, paper, file), marks in groupby(rows, key=lambda row: row[:3]):
            yield paper, file, {number: answer for *_, number, answer in marks}

    def headings(self, sitting: str) -> tuple[Marking, ...]:
        """Every marking of a sitting as in `every_marking`, without its marks: what for, from which file, when, why, by whom."""
        heads = self._heads("m.sitting = ?", sitting)
        return tuple(
            Marking(name, paper, candidate, file, when, (), reason, person, cause, number)
            for number, name, paper, candidate, file, when, reason, person, cause in heads
        )

    def _heads(self, which: str, value: str) -> list[Any]:
        return self._all(
            'SELECT m.id, m.sitting, m.paper, p.candidate, m.file, m."when", m.reason, m.person, m.cause '  # noqa: S608
            f"FROM markings m JOIN papers p ON p.code = m.paper WHERE {which} ORDER BY m.id",
            value,
        )

    def _markings(self, which: str, value: str) -> Iterator[Marking]:
        heads = self._heads(which, value)
        rows: dict[int, list[Mark]] = {head[0]: [] for head in heads}
        found = self._all(
            "SELECT k.marking, k.number, k.item, k.objective, k.circuit, k.answer, k.read, k.mark, k.out_of, k.verdict, k.why "  # noqa: S608
            f"FROM marks k JOIN markings m ON m.id = k.marking WHERE {which} ORDER BY k.marking, k.place",
            value,
        )
        for row in found:
            rows[row[0]].append(Mark(*row[1:]))
        for number, sitting, paper, candidate, file, when, reason, person, cause in heads:
            yield Marking(sitting, paper, candidate, file, when, tuple(rows[number]), reason, person, cause, number)

    def asides(self, sitting: str) -> tuple[Aside, ...]:
        """Everything that was set aside in a sitting, in that order."""
        return tuple(self._asides("sitting = ?", sitting).values())

    def unsettled(self, sitting: str) -> dict[int, Aside]:
        """By number, what was set aside in a sitting and not settled since; `register.asides` says what of it is still open."""
        return self._asides("sitting = ? AND id NOT IN (SELECT aside FROM settled)", sitting)

    def _asides(self, which: str, value: str) -> dict[int, Aside]:
        columns = 'id, sitting, file, line, code, reason, "when", candidates'
        rows = self._all(f"SELECT {columns} FROM asides WHERE {which} ORDER BY id", value)  # noqa: S608
        return {number: Aside(*rest) for number, *rest in ((*row[:-1], tuple(_value(row[-1]))) for row in rows)}

    # Bench stations.

    def seal_station(self, sitting: str, station: str, data: bytes) -> None:
        """Keep a station's bytes as they were when the sitting was held; what is sealed already stays as it is."""
        with self.act():
            self._run("INSERT OR IGNORE INTO stations VALUES (?, ?, ?, ?)", sitting, station, digest(data), data)

    def stations(self, sitting: str) -> dict[str, bytes]:
        """The stations sealed into a sitting, by name; `UseError` where one is no longer what was sealed."""
        rows = self._all("SELECT station, data, digest FROM stations WHERE sitting = ? ORDER BY rowid", sitting)
        for station, data, sealed in rows:
            if digest(data) != sealed:
                raise UseError(
                    f"{self.path}: station {station!r} is not the one that was sealed; restore the register from a copy"
                )
        return {station: bytes(data) for station, data, _ in rows}

    def keep_assessment(self, assessment: Assessment) -> None:
        """Keep what an assessor put down; of each assessor the last one counts, the earlier ones stay."""
        with self.act():
            texts = _text(assessment.steps), _text(assessment.readings), assessment.remarks
            head = assessment.sitting, assessment.candidate, assessment.station, assessment.assessor, assessment.file
            self._insert("assessments", None, *head, *texts, assessment.when, assessment.reason, assessment.person)

    def assessments(self, sitting: str) -> tuple[Assessment, ...]:
        """Every assessment of a sitting, the oldest first."""
        columns = 'sitting, candidate, station, assessor, file, steps, readings, remarks, "when", reason, person, id'
        rows = self._all(f"SELECT {columns} FROM assessments WHERE sitting = ? ORDER BY id", sitting)  # noqa: S608
        return tuple(
            Assessment(name, candidate, station, assessor, file, _value(steps), _value(readings), *rest)
            for name, candidate, station, assessor, file, steps, readings, *rest in rows
        )

    # Corrections of keys, and what was awarded by hand.

    def keep_correction(self, correction: Correction) -> None:
        """Keep what is corrected in a sitting's keys: all later markings heed it. `UseError` where no reason is given."""
        if not correction.reason.strip():
            raise UseError("a key is corrected for a reason; say it")
        with self.act():
            data = correction.data
            why = correction.reason, correction.person, correction.when
            self._insert("corrections", None, correction.sitting, data.decode(), digest(data), *why)

    def corrections(self, sitting: str) -> tuple[Correction, ...]:
        """What was corrected in a sitting's keys, the oldest first; `UseError` where it is no longer what was kept."""
        rows = self._all(
            'SELECT data, digest, reason, person, "when", id FROM corrections WHERE sitting = ? ORDER BY id', sitting
        )
        for data, kept, *_, number in rows:
            if digest(data.encode()) != kept:
                raise UseError(f"{self.path}: correction {number} is not what was kept; restore the register from a copy")
        return tuple(Correction(sitting, tuple(_value(data)), *why) for data, _, *why in rows)

    def keep_award(self, award: Award) -> None:
        """Keep what an examiner decided by hand; of each number the last one counts. `UseError` where no reason is given."""
        if not award.reason.strip():
            raise UseError("what is decided by hand has a reason; say it")
        with self.act():
            what = award.sitting, award.candidate, award.number, award.answer, award.award
            self._insert("awards", None, *what, award.reason, award.person, award.when)

    def awards(self, sitting: str, candidate: str | None = None) -> tuple[Award, ...]:
        """Everything that was decided by hand in a sitting, or for one candidate of it, the oldest first."""
        columns = 'sitting, candidate, number, answer, award, reason, person, "when", id'
        rows = self._all(
            f"SELECT {columns} FROM awards WHERE sitting = ? AND ? IN (candidate, '') ORDER BY id",  # noqa: S608
            sitting,
            candidate or "",
        )
        return tuple(Award(*row) for row in rows)

    # Decisions, certificates, events.

    def decide(self, decision: Decision) -> None:
        """Keep a decision; it counts from now on, the earlier ones stay."""
        with self.act():
            self._insert(
                "decisions",
                None,
                decision.sitting,
                decision.candidate,
                decision.decision,
                _text(decision.rule),
                _text(decision.evidence),
                decision.person,
                decision.date,
            )

    def decisions(self, sitting: str) -> dict[str, Decision]:
        """The decision that counts for each candidate of a sitting: the newest. By candidate, in the order of the papers."""
        newest = "SELECT max(id) FROM decisions WHERE sitting = ? GROUP BY candidate"
        found = {decision.candidate: decision for decision in self._decisions(f"id IN ({newest})", sitting)}
        return {paper.candidate: found[paper.candidate] for paper in self.papers(sitting) if paper.candidate in found}

    def decision_history(self, sitting: str, candidate: str) -> tuple[Decision, ...]:
        """Every decision about a candidate in a sitting, the oldest first; the last one counts."""
        return tuple(self._decisions("sitting = ? AND candidate = ?", sitting, candidate))

    def _decisions(self, which: str, *values: str) -> Iterator[Decision]:
        columns = "sitting, candidate, decision, rule, evidence, person, date"
        for row in self._all(f"SELECT {columns} FROM decisions WHERE {which} ORDER BY id", *values):  # noqa: S608
            yield Decision(row[0], row[1], row[2], _value(row[3]), _value(row[4]), row[5], row[6])

    def keep_certificate(self, certificate: Certificate) -> None:
        """Keep a certificate that was signed; `UseError` where its id or its place in the status list is taken."""
        with self.act():
            if self._one('SELECT 1 FROM certificates WHERE id = ? OR "index" = ?', certificate.id, certificate.index):
                raise UseError(f"certificate {certificate.id} or place {certificate.index} of the status list is taken already")
            self._insert(
                "certificates",
                certificate.id,
                certificate.sitting,
                certificate.candidate,
                certificate.data,
                certificate.index,
                certificate.issued,
            )

    def revoke(self, certificate: str, revocation: Revocation) -> None:
        """Revoke a certificate; `UseError` where there is none, it is revoked already, or no reason is given."""
        with self.act():
            before = self.certificate(certificate).revoked
            if before is not None:
                raise UseError(f"certificate {certificate} was revoked on {before.date} by {before.person}: {before.reason}")
            if not revocation.reason.strip():
                raise UseError(f"certificate {certificate} cannot be revoked without a reason; say why")
            self._insert("revocations", certificate, revocation.reason, revocation.person, revocation.date)

    def certificates(self, sitting: str | None = None) -> tuple[Certificate, ...]:
        """All certificates, or those of one sitting, in the order they were issued."""
        if sitting is None:
            return self._certificates("1")
        return self._certificates("c.sitting = ?", sitting)

    def certificate(self, number: str) -> Certificate:
        """The certificate with that id; `UseError` where there is none."""
        found = self._certificates("c.id = ?", number)
        if not found:
            raise UseError(f"no certificate {number!r} in {self.path}; its id stands on it and in its file's name")
        return found[0]

    def certificate_of(self, sitting: str, candidate: str) -> Certificate | None:
        """The newest certificate of a candidate for a sitting that is not revoked; None where there is none."""
        found = self._certificates("c.sitting = ? AND c.candidate = ? AND r.reason IS NULL", sitting, candidate)
        return found[-1] if found else None

    def _certificates(self, which: str, *values: str) -> tuple[Certificate, ...]:
        rows = self._all(
            'SELECT c.id, c.sitting, c.candidate, c.data, c."index", c.issued, r.reason, r.person, r.date FROM certificates c '  # noqa: S608
            f"LEFT JOIN revocations r ON r.certificate = c.id WHERE {which} ORDER BY c.rowid",
            *values,
        )
        return tuple(
            Certificate(number, sitting, candidate, data, index, issued, Revocation(*rest) if rest[0] else None)
            for number, sitting, candidate, data, index, issued, *rest in rows
        )

    def note(self, event: Event) -> None:
        """Add a line to the log."""
        with self.act():
            self._insert("events", None, event.who, event.when, event.what)

    def events(self) -> tuple[Event, ...]:
        """The log, the oldest line first."""
        return tuple(Event(*row) for row in self._all('SELECT who, "when", what FROM events ORDER BY id'))

    def erasures(self) -> tuple[Erasure, ...]:
        """Every erasure of a candidate's personal data, the oldest first."""
        rows = self._all('SELECT pseudonym, what, reason, person, "when" FROM erasures ORDER BY id')
        return tuple(Erasure(pseudonym, _value(what), *why) for pseudonym, what, *why in rows)

    # The file itself.

    def backup(self, path: Path) -> None:
        """
        A copy of the whole register, as it stands at one moment, while other commands go on reading and writing.

        Raises `UseError` where the file is there already, or cannot be written; nothing is left half-made.
        """
        if path.exists():
            raise UseError(f"{path}: is there already; name a new file, or take it away")
        neighbour = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.part")
        try:
            with self._plainly():
                os.close(os.open(neighbour, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
                with closing(sqlite3.connect(neighbour)) as copy:
                    self._database.backup(copy, pages=1024)
                    copy.execute("PRAGMA journal_mode = DELETE")  # one file, to be carried away
                    if copy.execute("PRAGMA integrity_check").fetchone() != ("ok",):
                        raise UseError(f"{path}: the copy is not whole; see `grader register check`")
                neighbour.replace(path)
        finally:
            neighbour.unlink(missing_ok=True)

    def rows(self, statement: str, *values: object) -> list[Any]:
        """What a query gives: for `grader.register.inspection` and `retention` alone, which look beneath the rows."""
        return self._all(statement, *values)

    def run(self, statement: str, *values: object) -> None:
        """A statement run: for `grader.register.retention` alone."""
        self._run(statement, *values)

    def _prepare(self) -> None:
        self._run("BEGIN")  # one look: another command may be making the register at this moment
        filled = self._one("SELECT 1 FROM sqlite_master LIMIT 1")
        version, application = self._pragma("user_version"), self._pragma("application_id")
        self._run("COMMIT")
        if version > VERSION and application == APPLICATION:
            raise UseError(
                f"{self.path}: a register of version {version}, this program knows up to {VERSION}; use a newer program"
            )
        if filled and application != APPLICATION:
            raise UseError(f"{self.path}: an SQLite file of another program, not a register; name the register")
        self._run("PRAGMA journal_mode = WAL")
        self._run("PRAGMA synchronous = FULL")  # a decision that was reported must outlive a power cut
        self._run("PRAGMA foreign_keys = ON")
        with self.act():  # also finds out at the door whether another command is writing
            now = self._pragma("user_version")
            if now < VERSION:
                self._create(*statements(now))

    def _create(self, *statements: str) -> None:
        for statement in statements:
            self._run(statement)
        self._run(f"PRAGMA application_id = {APPLICATION}")
        self._run(f"PRAGMA user_version = {VERSION}")

    def _pragma(self, name: str) -> int:
        row = self._one(f"PRAGMA {name}")
        return int(row[0]) if row else 0

    def _insert(self, table: str, *values: object) -> int:
        places = ", ".join("?" * len(values))
        return self._run(f"INSERT INTO {table} VALUES ({places})", *values).lastrowid or 0  # noqa: S608 - the tables' names are ours

    def _insert_all(self, table: str, rows: Iterable[tuple[object, ...]]) -> None:
        first, *rest = [*rows] or [()]
        places = ", ".join("?" * len(first))
        with self._plainly():
            if first:
                self._database.executemany(f"INSERT INTO {table} VALUES ({places})", [first, *rest])  # noqa: S608 - as above

    def _run(self, statement: str, *values: object) -> sqlite3.Cursor:
        with self._plainly():
            return self._database.execute(statement, values)

    def _all(self, statement: str, *values: object) -> list[Any]:
        with self._plainly():
            return self._database.execute(statement, values).fetchall()

    def _each(self, statement: str, *values: object) -> Iterator[Any]:
        """Row by row: for what is too large to be held all at once."""
        with self._plainly():
            yield from self._database.execute(statement, values)

    def _one(self, statement: str, *values: object) -> Any | None:
        with self._plainly():
            return self._database.execute(statement, values).fetchone()

    @contextmanager
    def _plainly(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.IntegrityError as error:
            raise UseError(f"{self.path}: this does not fit what the register holds ({error}); nothing was kept") from error
        except sqlite3.Error as error:
            raise UseError(f"{self.path}: {_plain(error)}") from error
        except OSError as error:
            raise UseError(f"{self.path}: {_CLOSED}") from error
        except UnicodeEncodeError as error:
            raise UseError(f"{self.path}: a text with half a character in it cannot be kept ({error.reason})") from error


class _Singly(Mapping[str, bytes]):
    """Keys by paper code, each read when it is asked for."""

    def __init__(self, codes: Iterable[str], read: Callable[[str], bytes]) -> None:
        self._codes = dict.fromkeys(codes)
        self._read = read

    def __getitem__(self, code: str) -> bytes:
        if code not in self._codes:
            raise KeyError(code)
        return self._read(code)

    def __iter__(self) -> Iterator[str]:
        return iter(self._codes)

    def __len__(self) -> int:
        return len(self._codes)


_CLOSED = "the register cannot be opened; check the name, its permissions and its folder's"
_TROUBLES = (
    ("not a database", "not a register, nor any SQLite file; name the register"),
    ("locked", "another command is writing; wait until it has ended, then try again"),
    ("readonly", "the register is read-only; check its permissions and its folder's"),
    ("unable to open", _CLOSED),
    ("malformed", "the register is damaged; restore it from a copy"),
    ("disk I/O", "the disk failed, or is full; make room, then run the command again"),
    ("is full", "the disk is full; make room, then run the command again"),
)


def _about(sitting: str, paper: str = "") -> bytes:
    """What a locked key is bound to, so that it opens nowhere else; without a paper, the secret of the sitting."""
    return canonical(["grader-lock-1", sitting, paper])


def _columns(row: Paper | Mark | Weight) -> tuple[object, ...]:
    """A row's fields in order. `dataclasses.astuple` copies deeply, which is ten times as slow."""
    return tuple(attrgetter(*row.__slots__)(row))


def _plain(error: Exception) -> str:
    said = str(error)
    return next((mend for word, mend in _TROUBLES if word in said), f"the register cannot be used ({said})")


def _text(value: Mapping[str, Any]) -> str:
    return canonical(dict(value)).decode()


def _value(text: str) -> Any:
    return read_json(text.encode())
