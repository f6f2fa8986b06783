"""
Answer files from strangers: JSON, YAML, or a class's table (CSV). Whatever the bytes: sheets and asides, never an error.

    {"paper": CODE, "candidate": ID, "answers": {"1": "19.4 mm²", "4a": "12.1 kPa"}}     JSON or YAML; `sitting` may be added
    paper,candidate,1,2,3,4a                                                              a table: comma, semicolon or tab

The file of a bench station (`grader.marking.station`) is told by its names, and read with the same limits.

Everything is kept as the text that was written; nothing is taken for a number, a date or a truth value. An *aside* is a finding:
file, line, what is wrong, how to mend it. In a table one bad row never stops the others.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import zip_longest

from grader.base.canon import read_json
from grader.base.errors import UseError
from grader.base.findings import Finding
from grader.marking.labels import number_of
from grader.marking.station import GROUPS, StationSheet, is_station, read_station

SHEET_LIMIT = 1 << 18  # bytes of a JSON or YAML file: a full paper has some 5,000
TABLE_LIMIT = 1 << 25  # bytes of a class's table
NUMBERS_LIMIT = 500  # answers on one sheet
ANSWER_LIMIT = 4000  # characters of one answer
ROWS_LIMIT = 100_000
ASIDES_LIMIT = 500  # told of one file
DEEPEST = 20  # lists and groups in each other; a sheet has two

_HALF = re.compile("[\ud800-\udfff]")

_ENCODINGS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", ""),  # UTF-32 starts like UTF-16: told apart, and refused
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_PASSED_OVER = frozenset({"name", "group", "email", "extra_time", "print", "sitting"})  # columns of a roster, beside the answers
_SAVE = 'save the sheet again, or write it like {"paper": "…", "candidate": "…", "answers": {"1": "…", "2": "…"}}'


@dataclass(frozen=True, slots=True)
class Sheet:
    """One candidate's answers as they were written: by number, and where they stand."""

    paper: str
    candidate: str
    answers: Mapping[str, str]
    file: str
    line: int = 1
    sitting: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file holds: sheets, and what had to be set aside."""

    sheets: tuple[Sheet, ...] = ()
    asides: tuple[Finding, ...] = ()
    stations: tuple[StationSheet, ...] = ()


@dataclass(slots=True)
class Asides:
    """The asides of one file, collected."""

    file: str
    found: list[Finding] = field(default_factory=list)
    more: int = 0

    def add(self, line: int, code: str, message: str, mend: str) -> None:
        """Set something aside; past some hundreds they are only counted."""
        if len(self.found) < ASIDES_LIMIT:
            self.found.append(Finding(self.file, line, code, printable(message), mend))
        else:
            self.more += 1

    def all(self) -> tuple[Finding, ...]:
        """Everything that was set aside, and how much more there is."""
        if not self.more:
            return tuple(self.found)
        rest = Finding(self.file, 0, "too-many", f"{self.more:,} more that cannot be read", "mend those that are told first")
        return (*self.found, rest)


def printable(text: str) -> str:
    """
    A stranger's text with everything that a terminal or a database would choke on made a question mark.

    >>> printable("a\\x1b[2J\\udcff.json")
    'a?[2J?.json'
    """
    return "".join(c if c.isprintable() else "?" for c in text)


def read_file(name: str, data: bytes) -> Reading:
    """
    What an answer file holds.

    Parameters
    ----------
    name : str
        The file's name; its ending tells the form, or else its first character does.
    data : bytes
        Anything at all.

    Examples
    --------
    >>> reading = read_file("c-01.json", b'{"paper": "7M2KQ8D4XT", "candidate": "c-01", "answers": {"1": "b"}}')
    >>> reading.sheets[0].answers
    {'1': 'b'}
    >>> print(*read_file("c-02.json", b"{").asides)  # doctest: +ELLIPSIS
    c-02.json:1: not JSON (Expecting property name enclosed in double quotes, column 2); save the sheet again, ...
    """
    asides = Asides(name)
    text = _text(data, asides)
    if text is None:
        return Reading(asides=asides.all())
    found = _FORMS[_form(name, text)](text, asides)
    sheets = tuple(one for one in found if isinstance(one, Sheet))
    stations = tuple(one for one in found if isinstance(one, StationSheet))
    return Reading(sheets, asides.all(), stations)


def _text(data: bytes, asides: Asides) -> str | None:
    if not data.strip(b"\0 \t\r\n"):
        asides.add(0, "empty-file", "the file is empty", "save the sheet again")
        return None
    if len(data) > TABLE_LIMIT:
        asides.add(0, "too-large", f"the file is larger than {TABLE_LIMIT:,} bytes", "hand in the answers alone")
        return None
    other = _other_kind(data)
    if other is not None:
        what, mend = other
        asides.add(0, "not-text", f"{what}, which cannot be marked", mend)
        return None
    encoding = next((name for mark, name in _ENCODINGS if data.startswith(mark)), "utf-8")
    try:
        text = data.decode(encoding) if encoding else None
    except UnicodeDecodeError as error:
        text, line = None, data[: error.start].count(b"\n") + 1
    else:
        line = 1
    if text is None or "\0" in text:
        what = "not a text file" if b"\0" in data[:4096] else "not UTF-8"
        asides.add(line, "not-text", what, "save the file as UTF-8 (in a spreadsheet: “CSV UTF-8”)")
        return None
    return text.removeprefix("\ufeff")


_TYPE_IN = "type the answers in, on the answer sheet or as a table"
_PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF87a", b"GIF89a", b"II*\0", b"MM\0*")
_PACKED = (  # what an archive holds where it is no archive to its user
    (b"xl/workbook", "a workbook", "save the table as CSV UTF-8"),
    (b"opendocument.spreadsheet", "a workbook", "save the table as CSV UTF-8"),
    (b"word/document", "a word processor's document", _TYPE_IN),
    (b"opendocument.text", "a word processor's document", _TYPE_IN),
    (b"", "a zip archive by another name", "end its name in .zip, or hand in the files in it"),
)


def _other_kind(data: bytes) -> tuple[str, str] | None:
    """What a file is that is often handed in and holds no text, by its first bytes; and what to do about it."""
    if data.startswith(b"%PDF-"):
        return "a PDF", _TYPE_IN
    if data.startswith(_PICTURES) or data[8:12] == b"WEBP" or data[4:8] == b"ftyp":
        return "a picture", _TYPE_IN
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        return "a workbook or document in an old form", "save its table as CSV UTF-8"
    if data.startswith(b"PK\x03\x04"):
        return next((what, mend) for sign, what, mend in _PACKED if sign in data)
    return None


def _form(name: str, text: str) -> str:
    ending = name.rpartition(".")[2].lower()
    if ending in ("json", "yaml", "yml"):
        return "yaml" if ending == "yml" else ending
    if ending in ("csv", "tsv"):
        return "csv"
    if text.lstrip().startswith("{"):
        return "json"
    head = text.lstrip().partition("\n")[0].lower()
    return "csv" if any(f"paper{mark}" in head.replace('"', "") for mark in ",;\t") or head.startswith("sep=") else "yaml"


# JSON


_Found = list["Sheet | StationSheet"]


def _json(text: str, asides: Asides) -> _Found:
    data = text.encode("utf-8", "surrogatepass")
    if _over(data, asides):
        return []
    try:
        written = read_json(data, numbers=_Bare, deepest=DEEPEST)
    except UseError as error:
        asides.add(*_json_fault(str(error), text))
        return []
    if not isinstance(written, dict):
        asides.add(1, "not-a-sheet", f"not an answer file: {_no_text(written)[0]} alone", _SAVE)
        return []
    faults = [] if _texts_alone(written) else [(what, value) for what, value in _values(written) if type(value) is not str]
    if faults:
        asides.add(*_no_texts(faults, text))
        return []
    return _from_fields({name: (1, list(v.items()) if isinstance(v, dict) else v) for name, v in written.items()}, asides)


class _Bare(str):
    """A number as it stands in JSON, without quotes: kept as it was written, or 1.50 would lose its 0."""

    __slots__ = ()


def _texts_alone(written: Mapping[str, object]) -> bool:
    """Whether there are only texts, in groups or not: so it nearly always is, and then nothing has to be named."""
    named = ("answers", *GROUPS)
    groups = [value.values() if name in named and isinstance(value, dict) else (value,) for name, value in written.items()]
    return {type(value) for group in groups for value in group} <= {str}


def _values(written: Mapping[str, object]) -> Iterator[tuple[str, object]]:
    """Whatever has to be a text, with what to call it."""
    for name, value in written.items():
        if name in ("answers", *GROUPS) and isinstance(value, dict):
            what = {"steps": "step", "readings": "reading"}.get(name, "answer")
            yield from ((f"{what} {label[:40]}", text) for label, text in value.items())
        else:
            yield f"`{name[:40]}`", value


def _no_text(value: object) -> tuple[str, str]:
    """What stands in place of a text, and how to mend it."""
    match value:
        case _Bare():
            return "a number without quotes", f'write "{value[:40]}"'
        case bool():
            return f"{json.dumps(value)} without quotes", f'write "{json.dumps(value)}"'
        case None:
            return "null", 'write "" where there is no answer'
        case str():
            return "a text", _SAVE
    return "a list" if isinstance(value, list) else "a group", "write one text in quotes"


def _no_texts(faults: list[tuple[str, object]], text: str) -> tuple[int, str, str, str]:
    """Line, code, message, mend where something is no text: all of it, the first few by name."""
    what, value = faults[0]
    said, mend = _no_text(value)
    label = what.strip("`") if what.startswith("`") else what.partition(" ")[2]
    found = re.search(rf'"{re.escape(label)}"\s*:\s*{re.escape(value[:40]) if isinstance(value, _Bare) else ""}', text)
    line = text.count("\n", 0, found.start()) + 1 if found else 1
    others = [name for name, _ in faults[1:]]
    likewise = f", and no text either: {', '.join(others[:5])}{' …' if len(others) > 5 else ''}" if others else ""
    return line, "not-a-sheet", f"{what} is {said}{likewise}", mend


def _json_fault(said: str, text: str) -> tuple[int, str, str, str]:
    """Line, code, message, mend of what the strict reader said."""
    if said.startswith("not JSON at line "):
        place, _, reason = said.removeprefix("not JSON at line ").partition(": ")
        line, _, column = place.partition(", column ")
        return int(line), "not-json", f"not JSON ({reason}, column {column})", _SAVE
    message, _, mend = said.partition("; ")
    if not message.endswith("stands twice"):
        return 1, "not-json", message, mend or _SAVE
    key = re.escape(message.removeprefix("the key ").removesuffix(" stands twice"))
    places = [found.start() for found in re.finditer(rf"{key}\s*:", text)]
    return text.count("\n", 0, places[1]) + 1 if len(places) > 1 else 1, "repeated-key", message, mend


def _over(data: bytes, asides: Asides) -> bool:
    if len(data) > SHEET_LIMIT:
        asides.add(0, "too-large", f"the file is larger than {SHEET_LIMIT:,} bytes", "hand in one candidate's answers alone")
    return len(data) > SHEET_LIMIT


# YAML


class _Refused(Exception):
    """A place in a YAML file that is not let through."""

    def __init__(self, line: int, code: str, message: str, mend: str) -> None:
        self.fault = (line, code, message, mend)
        super().__init__(message)


def _yaml(text: str, asides: Asides) -> _Found:
    import yaml  # only where a YAML file comes in

    if _over(text.encode("utf-8", "surrogatepass"), asides):
        return []
    try:
        fields = _fields(text)
    except _Refused as refused:
        asides.add(*refused.fault)
        return []
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        said = str(getattr(error, "problem", None) or "it cannot be read")
        asides.add(mark.line + 1 if mark else 1, "not-yaml", f"not YAML ({said})", _SAVE)
        return []
    except (UnicodeError, ValueError, RecursionError):
        asides.add(1, "not-yaml", "not YAML (it holds what cannot be read)", _SAVE)
        return []
    return _from_fields(fields, asides)


_Fields = dict[str, tuple[int, "str | list[tuple[str, str]]"]]


def _from_fields(fields: _Fields, asides: Asides) -> _Found:
    if is_station(fields):
        station = read_station(fields, asides.file, asides.add)
        return [station] if station else []
    texts: dict[str, str] = {}
    answers: list[tuple[str, str]] | None = None
    for name, (line, value) in fields.items():
        if name == "answers" and not isinstance(value, str):
            answers = value
        elif name in ("paper", "candidate", "sitting") and isinstance(value, str):
            texts[name] = value
        else:
            asides.add(line, "not-a-sheet", f"`{name[:40]}` does not belong here, or not in this form", _SAVE)
            return []
    missing = [name for name in ("paper", "candidate") if name not in texts] + (["answers"] if answers is None else [])
    if missing or answers is None:
        asides.add(1, "not-a-sheet", f"not an answer file: {' and '.join(missing)} missing", _SAVE)
        return []
    return [*_sheets(texts["paper"], texts["candidate"], answers, texts.get("sitting", ""), 1, asides)]


def _fields(text: str) -> _Fields:
    """
    The two levels of an answer file, every scalar as the text that was written.

    Read event by event, so that no alias, tag or depth is ever followed.
    """
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    fields: _Fields = {}
    inner: list[tuple[str, str]] = []
    inside = documents = 0
    name: tuple[str, int] | None = None
    for event in yaml.parse(text, Loader=loader):
        line = event.start_mark.line + 1 if event.start_mark else 1
        _let_through(event, line)
        kind = type(event).__name__
        if kind == "DocumentStartEvent":
            documents += 1
            if documents > 1:
                raise _Refused(line, "not-a-sheet", "more than one document", "hand in one file for each candidate")
        elif kind == "SequenceStartEvent" or (kind == "MappingStartEvent" and (inside == 2 or (inside == 1 and name is None))):
            raise _Refused(
                line, "too-deep", "a list or a mapping where a text is wanted", "write each answer as a text in quotes"
            )
        elif kind == "MappingStartEvent":
            inside += 1
            if inside == 2 and name is not None:
                inner = []
                fields[name[0]], name = (name[1], inner), None
        elif kind == "MappingEndEvent":
            inside -= 1
        elif isinstance(event, yaml.ScalarEvent):
            if not inside:
                raise _Refused(line, "not-a-sheet", "not an answer file: a text alone", _SAVE)
            name = _taken(event.value, line, name, fields, inner, inside)
    return fields


def _let_through(event: object, line: int) -> None:
    """Refuse aliases, anchors and tags."""
    if type(event).__name__ == "AliasEvent" or getattr(event, "anchor", None) is not None:
        raise _Refused(line, "yaml-alias", "an anchor or an alias", "write the text out, in quotes")
    if getattr(event, "tag", None) is not None:
        raise _Refused(line, "yaml-tag", "a tag", "take it out; every answer is a text")


def _taken(
    text: str, line: int, name: tuple[str, int] | None, fields: _Fields, inner: list[tuple[str, str]], inside: int
) -> tuple[str, int] | None:
    """A scalar taken as a key (then it is waited for its value) or as a value."""
    if name is None:
        if text in (fields if inside == 1 else dict(inner)):
            raise _Refused(line, "repeated-key", f"`{text[:40]}` stands twice", "keep one of the two")
        return text, line
    if inside == 1:
        fields[name[0]] = (name[1], text)
    else:
        if len(inner) >= NUMBERS_LIMIT:
            raise _Refused(line, "too-many", f"more than {NUMBERS_LIMIT} answers", "hand in one candidate's answers alone")
        inner.append((name[0], text))
    return None


# A class's table


def _csv(text: str, asides: Asides) -> _Found:
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    offset = 0
    if lines[:4].lower() == "sep=":  # a spreadsheet's way of naming its separator
        lines, offset = lines.partition("\n")[2], 1
    sheets: _Found = []
    columns: list[str] = []
    for line, cells in _rows(lines, offset, asides):
        if not columns:
            columns = _columns(cells, line, asides)
            if not columns:
                return []
        elif line > ROWS_LIMIT:
            asides.add(line, "too-many", f"more than {ROWS_LIMIT:,} rows", "cut the table into several files")
            break
        else:
            sheets.extend(_row(columns, cells, line, asides))
    if not columns and not asides.found:
        asides.add(1, "not-a-table", "no heading", "begin with the line `paper,candidate,1,2,3`")
    return sheets


def _rows(text: str, offset: int, asides: Asides) -> Iterator[tuple[int, list[str]]]:
    """The rows that hold anything, each with the line it begins on; one that cannot be read is set aside, and the next begins."""
    rows = csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True)
    while True:
        line = rows.line_num + offset + 1
        try:
            cells = [_cell(cell) for cell in next(rows)]
        except StopIteration:
            return
        except csv.Error as error:
            last = rows.line_num + offset
            where = f"line {line}" if last == line else f"lines {line} to {last}"
            asides.add(
                line, "not-a-table", f"{where} cannot be read ({error})", "close every quotation mark, and double it inside"
            )
            continue
        if any(cells):
            yield line, cells


def _delimiter(text: str) -> str:
    """What parts the cells: the commonest of the three in the first line that holds anything."""
    head = next((line for line in text.split("\n", 100) if line.strip(" ,;\t")), "")
    return max(",;\t", key=head.count)


_MARKED_AS_TEXT = frozenset("0123456789=+-@.")


def _cell(text: str) -> str:
    """A cell without what is put round a text that a spreadsheet should not take for a number: ``="5/32"``, ``'5/32``."""
    text = text.strip(" \u00a0")
    if text.startswith("'") and text[1:2] in _MARKED_AS_TEXT:
        return text[1:]
    return text[2:-1].replace('""', '"') if len(text) > 3 and text.startswith('="') and text.endswith('"') else text


def _columns(cells: list[str], line: int, asides: Asides) -> list[str]:
    """
    What each column holds: `paper`, `candidate`, a number, ``?`` where it is passed over; "" where it has no heading.

    No columns at all where it is no table of answers.
    """
    columns = [cell.lower() if cell.lower() in ("paper", "candidate", *_PASSED_OVER) else number_of(cell) for cell in cells]
    for wanted in ("paper", "candidate"):
        if wanted not in columns:
            asides.add(line, "not-a-table", f"no column `{wanted}`", "begin with the line `paper,candidate,1,2,3`")
            return []
    named = [column for column in columns if column and column not in _PASSED_OVER - {"sitting"}]
    if len(named) > NUMBERS_LIMIT:
        asides.add(line, "too-many", f"more than {NUMBERS_LIMIT} columns", "hand in the answers alone")
        return []
    for column in dict.fromkeys(named):
        if named.count(column) > 1:
            asides.add(line, "repeated-key", f"column `{column}` stands twice", "keep one of the two")
            return []
    unknown = [place for place, cell in enumerate(cells) if cell and not columns[place]]
    if unknown:
        first, *others = [f"`{cells[place][:40]}`" for place in unknown]
        also = f", and neither {'is' if len(others) == 1 else 'are'} {', '.join(others[:5])}" if others else ""
        mend = "its answers are not read; head it with the question's number if they should be"
        asides.add(line, "unknown-column", f"column {first} is no question{also}{' …' if len(others) > 5 else ''}", mend)
    for place in unknown:
        columns[place] = "?"
    return columns


def _row(columns: list[str], cells: list[str], line: int, asides: Asides) -> list[Sheet]:
    without = [cell for cell, column in zip_longest(cells, columns, fillvalue="") if cell and not column]
    if without:  # an answer with the separator in it moves all that follow: none of them may be marked
        headed = sum(column != "" for column in columns)
        mend = "put an answer that holds the separator in quotes"
        asides.add(line, "too-many-cells", f"{headed + len(without)} cells under {headed} headings", mend)
        return []
    by_column = dict(zip(columns, cells, strict=False))
    answers = [(c, cell) for c, cell in zip(columns, cells, strict=False) if c[:1].isdigit()]
    return _sheets(
        by_column.get("paper", ""), by_column.get("candidate", ""), answers, by_column.get("sitting", ""), line, asides
    )


# What all forms have in common


def _sheets(paper: str, candidate: str, answers: list[tuple[str, str]], sitting: str, line: int, asides: Asides) -> list[Sheet]:
    """The sheet, if it can be kept; what is wrong with it as asides."""
    if len(answers) > NUMBERS_LIMIT:
        asides.add(line, "too-many", f"more than {NUMBERS_LIMIT} answers", "hand in one candidate's answers alone")
        return []
    if _HALF.search("".join([paper, candidate, sitting, *(text for pair in answers for text in pair)])):
        asides.add(line, "not-a-sheet", "not an answer file: half a character in it", _SAVE)
        return []
    kept: dict[str, str] = {}
    for label, text in answers:
        number = number_of(label) or label[:40]
        if number in kept:
            asides.add(line, "repeated-key", f"number {number} is answered twice", "keep one of the two")
            return []
        if len(text) > ANSWER_LIMIT:
            mend = "write the answer alone"
            asides.add(line, "long-answer", f"the answer to {number} has {len(text):,} characters", mend)
            return []
        kept[number] = text
    for what, value in (("paper", paper), ("candidate", candidate)):
        if not value.strip():
            asides.add(line, "not-a-sheet", f"the {what} is empty", f"write the {what} as printed on the paper")
            return []
        if len(value) > 200:
            asides.add(line, "not-a-sheet", f"the {what} has {len(value):,} characters", "write it as printed on the paper")
            return []
    return [Sheet(paper.strip(), candidate.strip(), kept, asides.file, line, sitting.strip())]


_FORMS = {"json": _json, "yaml": _yaml, "csv": _csv}
