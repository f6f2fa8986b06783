"""
The register's tables, and what brings the file of an earlier version up to date. SQL text only; `grader.register.store` runs it.

    1    sittings, papers with their keys, answer files, marks, what was set aside, decisions, certificates, the log
    2    what was set aside names candidates, and can be settled
    3    the course's files, locked keys, who opened keys and what for
    4    bench stations and their assessments; corrections of keys; what was awarded by hand; erasures; why a paper was marked;
         what each item was taken to weigh when papers were assembled

A new file is made by the same steps as an old one is brought up to date: so every version's step is run each time. Every table
only grows: triggers hold that against other programs too. `grader.register.retention` alone gets past them, and leaves a line.
"""

from __future__ import annotations

from collections.abc import Iterator

APPLICATION = 0x67726472  # "grdr" in the file's header: another program's SQLite file is not taken for a register

_FIRST = """
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
    code TEXT NOT NULL, reason TEXT NOT NULL, "when" TEXT NOT NULL
) STRICT;
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
_SECOND = """
ALTER TABLE asides ADD COLUMN candidates TEXT NOT NULL DEFAULT '[]';
CREATE TABLE settled (aside INTEGER PRIMARY KEY REFERENCES asides, why TEXT NOT NULL, "when" TEXT NOT NULL) STRICT;
"""
# a sitting of `locks` has its secret enciphered in `sittings`, nonce and tag here; its keys are nonce, enciphered key, tag
_THIRD = """
CREATE TABLE course_files (
    sitting TEXT NOT NULL REFERENCES sittings, file TEXT NOT NULL, digest TEXT NOT NULL, PRIMARY KEY (sitting, file)
) STRICT, WITHOUT ROWID;
CREATE TABLE locks (
    sitting TEXT PRIMARY KEY REFERENCES sittings, salt BLOB NOT NULL, n INTEGER NOT NULL, r INTEGER NOT NULL, p INTEGER NOT NULL,
    nonce BLOB NOT NULL, tag BLOB NOT NULL
) STRICT;
CREATE TABLE openings (
    event INTEGER PRIMARY KEY REFERENCES events, sitting TEXT NOT NULL REFERENCES sittings, paper TEXT NOT NULL,
    purpose TEXT NOT NULL
) STRICT;
INSERT INTO openings SELECT e.id, s.name, '', ''
    FROM events e JOIN sittings s ON e.what = 'opened the keys of sitting ' || s.name;
INSERT INTO openings SELECT e.id, p.sitting, p.code, ''
    FROM events e JOIN papers p ON e.what = 'opened the key of paper ' || p.code;
"""  # openings were lines of the log alone
_FOURTH = """
ALTER TABLE markings ADD COLUMN
    cause TEXT NOT NULL DEFAULT 'answers' CHECK (cause IN ('answers', 'correction', 'award'));
CREATE TABLE stations (
    sitting TEXT NOT NULL REFERENCES sittings, station TEXT NOT NULL, digest TEXT NOT NULL, data BLOB NOT NULL,
    PRIMARY KEY (sitting, station)
) STRICT;
CREATE TABLE assessments (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL, candidate TEXT NOT NULL, station TEXT NOT NULL, assessor TEXT NOT NULL,
    file TEXT NOT NULL, steps TEXT NOT NULL, readings TEXT NOT NULL, remarks TEXT NOT NULL, "when" TEXT NOT NULL,
    reason TEXT NOT NULL, person TEXT NOT NULL, FOREIGN KEY (sitting, candidate) REFERENCES papers (sitting, candidate),
    FOREIGN KEY (sitting, station) REFERENCES stations, FOREIGN KEY (sitting, file) REFERENCES answer_files
) STRICT;
CREATE TABLE corrections (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL REFERENCES sittings, data TEXT NOT NULL, digest TEXT NOT NULL,
    reason TEXT NOT NULL CHECK (reason <> ''), person TEXT NOT NULL, "when" TEXT NOT NULL
) STRICT;
CREATE TABLE awards (
    id INTEGER PRIMARY KEY, sitting TEXT NOT NULL, candidate TEXT NOT NULL, number TEXT NOT NULL, answer TEXT NOT NULL,
    award TEXT NOT NULL, reason TEXT NOT NULL CHECK (reason <> ''), person TEXT NOT NULL, "when" TEXT NOT NULL,
    FOREIGN KEY (sitting, candidate) REFERENCES papers (sitting, candidate)
) STRICT;
CREATE TABLE erasures (
    id INTEGER PRIMARY KEY, pseudonym TEXT NOT NULL, what TEXT NOT NULL, reason TEXT NOT NULL CHECK (reason <> ''),
    person TEXT NOT NULL, "when" TEXT NOT NULL
) STRICT;
CREATE TABLE weights (
    sitting TEXT NOT NULL REFERENCES sittings, item TEXT NOT NULL, difficulty REAL NOT NULL, minutes REAL NOT NULL,
    answers INTEGER NOT NULL, PRIMARY KEY (sitting, item)
) STRICT, WITHOUT ROWID;
"""
_STEPS = (  # from each version to the next: the statements, and the tables that they add
    (
        _FIRST,
        (
            "sittings",
            "papers",
            "answer_files",
            "markings",
            "marks",
            "asides",
            "decisions",
            "certificates",
            "revocations",
            "events",
        ),
    ),
    (_SECOND, ("settled",)),
    (_THIRD, ("course_files", "locks", "openings")),
    (_FOURTH, ("stations", "assessments", "corrections", "awards", "erasures", "weights")),
)
VERSION = len(_STEPS)
TABLES = tuple(table for _, tables in _STEPS for table in tables)


def statements(version: int, until: int = VERSION) -> Iterator[str]:
    """
    What makes a file of some version one of a later version, by default of this program's; 0 is an empty file.

    >>> len(list(statements(2))), len(list(statements(VERSION)))
    (30, 0)
    """
    for text, tables in _STEPS[version:until]:
        yield from filter(None, map(str.strip, text.split(";\n")))
        yield from growing(*tables)


def growing(*tables: str) -> Iterator[str]:
    """The triggers that let some tables only grow."""
    for table in tables:
        for verb in ("UPDATE", "DELETE"):
            abort = "BEGIN SELECT RAISE(ABORT, 'the register only grows'); END"
            yield f"CREATE TRIGGER {table}_{verb} BEFORE {verb} ON {table} {abort}"
