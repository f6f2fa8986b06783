"""
The register: one SQLite file that keeps sittings, keys, marks, decisions, certificates. The only place that knows SQL.

    with Register(path) as register:            opens the file, or makes it; `existing=True` refuses a missing one
        with register.act(): ...                several acts as one: all of them are kept, or none

    sittings     hold_sitting(sitting, papers)                    sitting(name)  sittings()
    papers       hold_sitting(...), seal_papers(papers)           papers(sitting)  paper(code)  paper_of(sitting, candidate)
    keys         given with the papers, sealed                    open_keys(sitting, person, when)  open_key(code, person, when)
    answer files keep_answer_file(file, markings, asides)         seen(sitting)  answer_files(sitting)  answer_bytes(...)
    marks        keep_answer_file(...), keep_marking(marking)     marks(sitting)  every_marking(sitting)  markings(paper)
    set aside    keep_answer_file(...), set_aside(aside), settle  asides(sitting)  unsettled(sitting)
    decisions    decide(decision)                                 decisions(sitting)  decision_history(sitting, candidate)
    certificates keep_certificate(certificate), revoke(...)       certificates(sitting)  certificate(id)  certificate_of(...)
    events       note(event)                                      events()

The rows are in `grader.register.records`: Sitting, Paper, AnswerFile, Mark, Marking, Aside, Decision, Certificate, Event.
Every act is one transaction, so that an interruption leaves nothing half-done. Nothing is overwritten: a later marking or
decision stands after the earlier one and counts instead of it; triggers in the file hold that against other programs too. A key
leaves the register only with a line in its log. Days and instants are text (``2031-05-12``, ``2031-05-12T09:30:00Z``), always
passed in.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from operator import attrgetter
from pathlib import Path
from types import TracebackType
from typing import Any

from grader.base.canon import canonical, digest, read_json
from grader.base.errors import UseError
from grader.marking.mark import Mark
from grader.register.records import AnswerFile, Aside, Certificate, Decision, Event, Marking, Paper, Revocation, Sitting

VERSION = 2
APPLICATION = 0x67726472  # "grdr" in the file's header: another program's SQLite file is not taken for a register
PATIENCE = 10.0  # seconds to wait for another command that is writing


_SCHEMA = """
CREATE TABLE sittings (
    name TEXT PRIMARY KEY, blueprint TEXT NOT NULL, bank TEXT NOT NULL, secret BLOB NOT NULL CHECK (length(secret) = 32),
    held TEXT NOT NULL, course TEXT NOT NULL, school TEXT NOT NULL
) STRICT;
CREATE TABLE papers (
    code TEXT PRIMARY KEY, sitting TEXT NOT NULL REFERENCES sittings, candidate TEXT NOT NULL, name TEXT NOT NULL,
    key_digest TEXT NOT NULL, "group" TEXT NOT NULL, email TEXT NOT NULL, extra_time TEXT NOT NULL, print TEXT NOT NULL,
    key BLOB NOT NULL, UNIQUE (sitting, candidate)
) STRICT;
CREATE TABLE answer_files (
    sitting TEXT NOT NULL REFERENCES sittings, digest TEXT NOT NULL, name TEXT NOT NULL, data BLOB NOT NULL, "when" TEXT NOT NULL,
    PRIMARY KEY (sitting, digest)
) STRICT;
CREATE TABLE markings (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL REFERENCES sittings, paper TEXT NOT NULL REFERENCES papers, file TEXT NOT NULL,
    "when" TEXT NOT NULL, reason TEXT NOT NULL, person TEXT NOT NULL, FOREIGN KEY (sitting, file) REFERENCES answer_files
) STRICT;
CREATE INDEX markings_of_paper ON markings (sitting, paper, id);
CREATE TABLE marks (
    marking INTEGER NOT NULL REFERENCES markings, place INTEGER NOT NULL, number TEXT NOT NULL, item TEXT NOT NULL,
    objective TEXT NOT NULL, circuit TEXT NOT NULL, answer TEXT NOT NULL, read TEXT NOT NULL, mark TEXT NOT NULL,
    out_of TEXT NOT NULL, verdict TEXT NOT NULL, why TEXT NOT NULL, PRIMARY KEY (marking, place), UNIQUE (marking, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE asides (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL REFERENCES sittings, file TEXT NOT NULL, line INTEGER NOT NULL,
    code TEXT NOT NULL, reason TEXT NOT NULL, "when" TEXT NOT NULL, candidates TEXT NOT NULL DEFAULT '[]'
) STRICT;
CREATE TABLE settled (aside INTEGER PRIMARY KEY REFERENCES asides, why TEXT NOT NULL, "when" TEXT NOT NULL) STRICT;
CREATE TABLE decisions (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL, candidate TEXT NOT NULL, decision TEXT NOT NULL, rule TEXT NOT NULL,
    evidence TEXT NOT NULL, person TEXT NOT NULL, date TEXT NOT NULL,
    FOREIGN KEY (sitting, candidate) REFERENCES papers (sitting, candidate)
) STRICT;
CREATE INDEX decisions_of_candidate ON decisions (sitting, candidate, id);
CREATE TABLE certificates (
    id TEXT PRIMARY KEY, sitting TEXT NOT NULL, candidate TEXT NOT NULL, data BLOB NOT NULL, "index" INTEGER NOT NULL UNIQUE,
    issued TEXT NOT NULL, FOREIGN KEY (sitting, candidate) REFERENCES papers (sitting, candidate)
) STRICT;
CREATE TABLE revocations (
    certificate TEXT PRIMARY KEY REFERENCES certificates, reason TEXT NOT NULL CHECK (reason <> ''), person TEXT NOT NULL,
    date TEXT NOT NULL
) STRICT;
CREATE TABLE events (id INTEGER PRIMARY KEY, who TEXT NOT NULL, "when" TEXT NOT NULL, what TEXT NOT NULL) STRICT;
"""
_FROM_1 = (  # what brings a register of version 1 up to date
    "ALTER TABLE asides ADD COLUMN candidates TEXT NOT NULL DEFAULT '[]'",
    'CREATE TABLE settled (aside INTEGER PRIMARY KEY REFERENCES asides, why TEXT NOT NULL, "when" TEXT NOT NULL) STRICT',
)
_BEGIN, _COMMIT, _ROLLBACK = "BEGIN IMMEDIATE", "COMMIT", ("ROLLBACK",)
_SAVE, _RELEASE, _BACK = "SAVEPOINT act", "RELEASE act", ("ROLLBACK TO act", "RELEASE act")
_TABLES = (
    "sittings",
    "papers",
    "answer_files",
    "markings",
    "marks",
    "asides",
    "settled",
    "decisions",
    "certificates",
    "revocations",
    "events",
)  # every one of them only ever grows


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

    def __init__(self, path: Path, *, existing: bool = False, patience: float = PATIENCE) -> None:
        self.path = path
        self._depth = 0
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

    def hold_sitting(self, sitting: Sitting, papers: Iterable[tuple[Paper, bytes]] = ()) -> None:
        """
        Keep a new sitting and its papers, each with its key's bytes.

        Raises `UseError` where the sitting stands already, or a candidate would get two papers.
        """
        with self.act():
            if self._one("SELECT 1 FROM sittings WHERE name = ?", sitting.name):
                raise UseError(f"sitting {sitting.name!r} is in {self.path} already; give the new one another name")
            self._insert(
                "sittings",
                sitting.name,
                _text(sitting.blueprint),
                sitting.bank,
                sitting.secret,
                sitting.held,
                sitting.course,
                _text(sitting.school),
            )
            self.seal_papers(papers)

    def seal_papers(self, papers: Iterable[tuple[Paper, bytes]]) -> None:
        """
        Keep papers with their keys' bytes. A key can't be changed afterwards.

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
                self._insert("papers", *_columns(paper), key)

    def sitting(self, name: str) -> Sitting:
        """The sitting of that name; `UseError` naming those there are."""
        row = self._one("SELECT name, blueprint, bank, secret, held, course, school FROM sittings WHERE name = ?", name)
        if row is None:
            known = ", ".join(self.sittings()) or "none yet"
            raise UseError(f"no sitting {name!r} in {self.path}; there is: {known}")
        return Sitting(row[0], _value(row[1]), row[2], row[3], row[4], row[5], _value(row[6]))

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

    def open_keys(self, sitting: str, person: str, when: str) -> dict[str, bytes]:
        """
        The keys of a sitting by paper code, and a line in the log that they were opened.

        Raises `UseError` where a key is no longer the one that was sealed.
        """
        with self.act():
            self.note(Event(person, when, f"opened the keys of sitting {sitting}"))
            rows = self._all("SELECT code, key, key_digest FROM papers WHERE sitting = ? ORDER BY rowid", sitting)
        return {code: self._unbroken(code, key, sealed) for code, key, sealed in rows}

    def open_key(self, code: str, person: str, when: str) -> bytes:
        """The key of one paper, and a line in the log that it was opened; `UseError` where there is no such paper."""
        with self.act():
            row = self._one("SELECT key, key_digest FROM papers WHERE code = ?", code)
            if row is None:
                raise UseError(f"no paper {code!r} in {self.path}; check the code")
            self.note(Event(person, when, f"opened the key of paper {code}"))
        return self._unbroken(code, row[0], row[1])

    def _unbroken(self, code: str, key: bytes, sealed: str) -> bytes:
        if digest(key) != sealed:
            raise UseError(
                f"{self.path}: the key of paper {code} is not the one that was sealed; restore the register from a copy"
            )
        return key

    # Answer files, marks, files set aside.

    def keep_answer_file(self, file: AnswerFile, markings: Iterable[Marking] = (), asides: Iterable[Aside] = ()) -> None:
        """Keep an answer file with the markings it led to and what of it was set aside: all of it, or none."""
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

    def _markings(self, which: str, value: str) -> Iterator[Marking]:
        heads = self._all(
            'SELECT m.id, m.sitting, m.paper, p.candidate, m.file, m."when", m.reason, m.person '  # noqa: S608
            f"FROM markings m JOIN papers p ON p.code = m.paper WHERE {which} ORDER BY m.id",
            value,
        )
        rows: dict[int, list[Mark]] = {head[0]: [] for head in heads}
        found = self._all(
            "SELECT k.marking, k.number, k.item, k.objective, k.circuit, k.answer, k.read, k.mark, k.out_of, k.verdict, k.why "  # noqa: S608
            f"FROM marks k JOIN markings m ON m.id = k.marking WHERE {which} ORDER BY k.marking, k.place",
            value,
        )
        for row in found:
            rows[row[0]].append(Mark(*row[1:]))
        for number, sitting, paper, candidate, file, when, reason, person in heads:
            yield Marking(sitting, paper, candidate, file, when, tuple(rows[number]), reason, person)

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

    # The file itself.

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
            if now == 0:
                self._create(*_SCHEMA.split(";\n")[:-1], *_growing(*_TABLES))
            elif now == 1:
                self._create(*_FROM_1, *_growing("settled"))

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


def _growing(*tables: str) -> Iterator[str]:
    """The triggers that let some tables only grow."""
    for table in tables:
        for verb in ("UPDATE", "DELETE"):
            abort = "BEGIN SELECT RAISE(ABORT, 'the register only grows'); END"
            yield f"CREATE TRIGGER {table}_{verb} BEFORE {verb} ON {table} {abort}"


def _columns(row: Paper | Mark) -> tuple[object, ...]:
    """A row's fields in order. `dataclasses.astuple` copies deeply, which is ten times as slow."""
    return tuple(attrgetter(*row.__slots__)(row))


def _plain(error: Exception) -> str:
    said = str(error)
    return next((mend for word, mend in _TROUBLES if word in said), f"the register cannot be used ({said})")


def _text(value: Mapping[str, Any]) -> str:
    return canonical(dict(value)).decode()


def _value(text: str) -> Any:
    return read_json(text.encode())
