"""The roster: a CSV of candidates as an office makes it, with whatever separator and byte order mark it comes."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from grader.base.errors import FindingsError, UseError
from grader.base.files import plain_name, read_capped
from grader.base.findings import Finding
from grader.base.tables import csv_rows
from grader.base.text import is_unseen
from grader.items import fields
from grader.items.model import Candidate
from grader.items.shapes import nearest
from grader.items.yamlfile import SIZE_LIMIT, decoded, short

COLUMNS = ("candidate", "name", "group", "email", "extra_time", "print")
MOST = 20_000
LENGTHS = {"candidate": 40, "name": 120, "group": 60, "email": 254, "extra_time": 20, "print": 20}


def read_roster(path: Path) -> tuple[Candidate, ...]:
    """
    The candidates of a roster, in its order.

    Raises `FindingsError` with every error at once, `UseError` where the file cannot be opened. Warnings do not stop it: see
    `roster_of` for them.
    """
    candidates, findings = roster_of(str(path), read_capped(path, SIZE_LIMIT))
    errors = [finding for finding in findings if finding.level == "error"]
    if errors:
        raise FindingsError(errors)
    return candidates


def roster_of(file: str, data: bytes) -> tuple[tuple[Candidate, ...], list[Finding]]:
    """
    The candidates in a roster's bytes, and every finding, warnings too.

    The header names the columns: `candidate,name` and, if wanted, `group,email,extra_time,print`, in any order, parted by
    commas or semicolons.

    >>> people, findings = roster_of("class.csv", b"candidate;name;extra_time\\nc-01;M. Okoye;25 %")
    >>> people[0].name, people[0].extra_time, findings
    ('M. Okoye', 0.25, [])
    """
    findings: list[Finding] = []
    text = decoded(file, data, findings)
    rows = [] if text is None else csv_rows(file, text, findings)
    if findings:
        return (), findings
    if not rows:
        findings.append(
            Finding(
                file, 1, "empty-roster", "the roster is empty", "write a header `candidate,name` and a line for each candidate"
            )
        )
        return (), findings
    header = _header(file, *rows[0], findings)
    if header is None:
        return (), findings
    people: list[Candidate] = []
    first: dict[str, int] = {}
    for line, cells in rows[1:]:
        found = _candidate(file, line, header, cells, findings)
        if found is None:
            continue
        folded = unicodedata.normalize("NFKC", found.candidate.casefold()).casefold()  # ids that look alike are one
        if folded in first:
            what = f'candidate "{found.candidate}" stands already on line {first[folded]}'
            findings.append(Finding(file, line, "duplicate-candidate", what, "keep one of the two"))
            continue
        first[folded] = line
        people.append(found)
    if not people and not findings:
        findings.append(
            Finding(file, 1, "empty-roster", "the roster names no candidate", "write a line for each candidate under the header")
        )
    if len(people) > MOST:
        findings.append(
            Finding(
                file, 0, "too-large", f"the roster names {len(people):,} candidates", f"part it into rosters of at most {MOST:,}"
            )
        )
    return tuple(people), findings


def _header(file: str, line: int, cells: list[str], findings: list[Finding]) -> list[str] | None:
    names = [cell.lower() for cell in cells]
    before = len(findings)
    for place, name in enumerate(names):
        if name not in COLUMNS:
            near = nearest(name, COLUMNS)
            mend = f"did you mean `{near}`?" if near else f"the columns are {', '.join(COLUMNS)}"
            findings.append(Finding(file, line, "unknown-column", f"`{short(name)}` is not a column of a roster", mend))
        elif name in names[:place]:
            findings.append(Finding(file, line, "repeated-column", f"the column `{name}` stands twice", "keep one of the two"))
    for name in ("candidate", "name"):
        if name not in names and not any(nearest(other, COLUMNS) == name for other in names):
            findings.append(
                Finding(file, line, "missing-column", f"the column `{name}` is missing", "start the roster with `candidate,name`")
            )
    return names if len(findings) == before else None


@dataclass(slots=True)
class _Line:
    """One line of a roster: its cells by column, and where findings go."""

    file: str
    number: int
    row: dict[str, str]
    findings: list[Finding]

    def note(self, code: str, message: str, mend: str, level: Literal["error", "warning"] = "error") -> None:
        self.findings.append(Finding(self.file, self.number, code, message, mend, level))

    def check_letters(self) -> None:
        for column, value in self.row.items():
            if len(value) > LENGTHS[column]:
                self.note("too-long", f"the {column} has {len(value)} letters", f"keep it to {LENGTHS[column]}")
            elif any(map(is_unseen, value)):
                self.note(
                    "unseen-letter", f"the {column} holds a letter that cannot be seen", "take it out; a value stands on one line"
                )

    def check_names(self) -> None:
        candidate = self.row["candidate"]
        if not candidate:
            self.note("empty-candidate", "the candidate's id is empty", "write the candidate's id")
        elif not plain_name(candidate):
            mend = "use letters, digits, `-`, `_` and stops, starting with a letter or a digit; it names files"
            self.note("bad-candidate", f'"{short(candidate)}" cannot be a candidate\'s id', mend)
        if not self.row["name"]:
            self.note("empty-name", "the name is empty", "write the candidate's name")

    def extra_time(self) -> float:
        try:
            return float(fields.read_share(self.row["extra_time"] or "0 %"))
        except UseError:
            self.note("bad-share", f"`{short(self.row['extra_time'])}` is not a share of the working time", "write it as `25 %`")
            return 0.0

    def large(self) -> Literal["", "large"]:
        written = self.row["print"].lower()
        if written not in {"", "large", "normal"}:
            self.note("unknown-word", f"`{short(self.row['print'])}` is not a kind of print", "write `large`, or leave it empty")
        return "large" if written == "large" else ""

    def warn_formulas(self) -> None:
        for column in ("name", "group", "email"):
            if self.row[column][:1] in {"=", "+", "-", "@"}:
                what = f"the {column} `{short(self.row[column], 30)}` starts like a spreadsheet formula"
                self.note("formula-like", what, "it is kept as text; check that it is meant", "warning")


def _candidate(file: str, number: int, header: list[str], cells: list[str], findings: list[Finding]) -> Candidate | None:
    if len(cells) != len(header):
        what = f"the line has {len(cells)} values, the header {len(header)}"
        findings.append(Finding(file, number, "wrong-count", what, "put a value that holds the separator in quotes"))
        return None
    before = len(findings)
    row = dict.fromkeys(COLUMNS, "") | dict(zip(header, cells, strict=True))
    line = _Line(file, number, row, findings)
    line.check_letters()
    line.check_names()
    extra, large = line.extra_time(), line.large()
    if len(findings) > before:
        return None
    line.warn_formulas()
    return Candidate(row["candidate"], row["name"], row["group"], row["email"], extra, large, number, file)
