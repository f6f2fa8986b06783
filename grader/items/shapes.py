"""
The shape of a course file, stated once: what fields a thing has, of what kind, and what each is for.

From one statement come the loader's checks (`shaped`) and the JSON Schema that editors use (`schema`), so the two cannot part.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from grader.base.errors import UseError
from grader.base.findings import Finding
from grader.items.yamlfile import Fields, Listing, Node, Scalar, short


@dataclass(frozen=True, slots=True)
class Word:
    """A value on one place: how it is `called` in findings, and `read`, which raises `UseError` where it is not one."""

    called: str
    code: str
    read: Callable[[str], object] = str
    json: tuple[str, ...] = ("string",)
    pattern: str = ""


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of a few words."""

    words: tuple[str, ...]
    json: tuple[str, ...] = ("string",)


@dataclass(frozen=True, slots=True)
class Listed:
    """A list of so many things of one shape."""

    entry: Shape
    least: int = 0
    most: int = 200


@dataclass(frozen=True, slots=True)
class Named:
    """Things of one shape under names that the author chooses; `says` describes the names."""

    entry: Shape
    name: re.Pattern[str]
    says: str


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its shape, what it is for, whether it must be there."""

    shape: Shape
    says: str
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Record:
    """
    A thing with fixed fields. `called` names it in findings: "an item".

    `by` names a field whose word decides what else belongs: `cases` gives for each word the fields needed and the fields allowed
    besides those of every case.
    """

    called: str
    fields: Mapping[str, Field]
    by: str = ""
    cases: Mapping[str, tuple[frozenset[str], frozenset[str]]] = field(default_factory=dict)

    def special(self) -> frozenset[str]:
        """The fields that belong to some cases only."""
        return frozenset[str]().union(*(needed | allowed for needed, allowed in self.cases.values()))


@dataclass(frozen=True, slots=True)
class Either:
    """A value on one place, or a list, or the record whose fields fit best."""

    word: Word | None = None
    listed: Listed | None = None
    records: tuple[Record, ...] = ()


Shape = Word | OneOf | Listed | Named | Record | Either


@dataclass(slots=True)
class Report:
    """Collects findings of one file; `sound` turns false at the first fault that makes the thing unusable."""

    file: str
    findings: list[Finding]
    sound: bool = True

    def note(
        self, line: int, code: str, message: str, mend: str, path: str = "", *, level: str = "error", fatal: bool = True
    ) -> None:
        """Add a finding; an error makes the report unsound unless it is not `fatal`."""
        self.findings.append(Finding(self.file, line, code, message, mend, "warning" if level == "warning" else "error", path))
        self.sound = self.sound and (level == "warning" or not fatal)


def shaped(node: Node, shape: Shape, report: Report, path: str = "") -> Node | None:
    """
    The node without the fields that do not belong, or None where it does not have the shape; every fault is reported.

    >>> report = Report("pump.yaml", [])
    >>> bore = Record("a bore", {"from": Field(Word("a size", "bad-size"), "the least", needed=True)})
    >>> shaped(Fields({"fall": Scalar("1 in", 2)}, {"fall": 2}, 2), bore, report)
    >>> for finding in report.findings: print(finding)
    pump.yaml:2: `fall` is not a field of a bore; the fields are from [unknown-field]
    pump.yaml:2: `from` is missing from a bore; write it: the least [missing-field]
    """
    if isinstance(shape, Word):
        return _word(node, shape, report, path)
    if isinstance(shape, OneOf):
        return _one_of(node, shape, report, path)
    if isinstance(shape, Listed):
        return _listed(node, shape, report, path)
    if isinstance(shape, Named):
        return _named(node, shape, report, path)
    if isinstance(shape, Record):
        return _record(node, shape, report, path)
    return _either(node, shape, report, path)


def _wrong(node: Node, wanted: str, mend: str, report: Report, path: str) -> None:
    stands = {Scalar: "text", Listing: "a list", Fields: "a group of fields"}[type(node)]
    if isinstance(node, Scalar):
        stands = f"`{short(node.text)}`" if node.text else "nothing"
    report.note(node.line, "wrong-shape", f"{stands} stands where {wanted} is expected", mend, path)


def _word(node: Node, shape: Word, report: Report, path: str) -> Node | None:
    if not isinstance(node, Scalar):
        mend = "text that starts with { or [ needs quotes" if isinstance(node, Fields | Listing) else ""
        _wrong(node, shape.called, mend, report, path)
        return None
    if not node.text.strip():
        report.note(
            node.line, "empty", f"nothing stands where {shape.called} is expected", "write it, or take the field out", path
        )
        return None
    try:
        shape.read(node.text)
    except UseError as error:
        what, _, mend = str(error).partition("; ")
        report.note(node.line, shape.code, what, mend or f"write {shape.called}", path)
        return None
    return node


def _one_of(node: Node, shape: OneOf, report: Report, path: str) -> Node | None:
    if isinstance(node, Scalar) and node.text in shape.words:
        return node
    words = ", ".join(shape.words)
    if not isinstance(node, Scalar):
        _wrong(node, f"one of {words}", "write the word after the name", report, path)
        return None
    near = nearest(node.text, shape.words)
    mend = f"did you mean `{near}`?" if near else f"write one of {words}"
    report.note(node.line, "unknown-word", f"`{short(node.text)}` is not one of {words}", mend, path)
    return Scalar(near, node.line) if near else None  # what was probably meant, so that the rest can be judged


def _listed(node: Node, shape: Listed, report: Report, path: str) -> Node | None:
    if not isinstance(node, Listing):
        _wrong(node, "a list", "write each entry on a line of its own after `- `", report, path)
        return None
    count = len(node.entries)
    if not shape.least <= count <= shape.most:
        report.note(node.line, "wrong-count", f"the list has {count} entries", f"write {shape.least} to {shape.most}", path)
        return None
    found = [shaped(entry, shape.entry, report, f"{path}/{place}".lstrip("/")) for place, entry in enumerate(node.entries, 1)]
    kept = tuple(entry for entry in found if entry is not None)
    return Listing(kept, node.line)


def _named(node: Node, shape: Named, report: Report, path: str) -> Node | None:
    if not isinstance(node, Fields):
        _wrong(node, f"a group of {shape.says}", "write each as `name: value` on a line of its own", report, path)
        return None
    kept: dict[str, Node] = {}
    for name, below in node.nodes.items():
        if not shape.name.fullmatch(name):
            report.note(node.lines[name], "bad-name", f"`{short(name)}` is not a name", f"write {shape.says}", path)
            continue
        value = shaped(below, shape.entry, report, f"{path}/{name}".lstrip("/"))
        if value is not None:
            kept[name] = value
    return Fields(kept, node.lines, node.line)


def _record(node: Node, shape: Record, report: Report, path: str) -> Node | None:
    found = fitting(node, shape, report, path)
    whole = found is not None and all(name in found.nodes for name in _belonging(node, shape)[0])
    return found if whole else None


def fitting(node: Node, shape: Record, report: Report, path: str) -> Fields | None:
    """Those fields of a record that have their shapes, also where others are missing; every fault is reported as by `shaped`."""
    if not isinstance(node, Fields):
        _wrong(node, shape.called, f"write its fields: {', '.join(shape.fields)}", report, path)
        return None
    needed, allowed = _belonging(node, shape)
    kept: dict[str, Node] = {}
    mistaken = []
    for written, below in node.nodes.items():
        name = written
        if written not in allowed:
            name = _unknown(written, node, shape, allowed, report, path)
            if not name or name in mistaken:
                continue
            mistaken.append(name)  # read as the field that was probably meant, so that the rest can be judged
        value = shaped(below, shape.fields[name].shape, report, f"{path}/{name}".lstrip("/"))
        if value is not None:
            kept[name] = value
    for name in needed:
        if name not in node.nodes and name not in mistaken:
            message = f"`{name}` is missing from {shape.called}"
            report.note(node.line, "missing-field", message, f"write it: {shape.fields[name].says}", path)
    return Fields(kept, {name: below.line for name, below in kept.items()} | dict(node.lines), node.line)


def _belonging(node: Node, shape: Record) -> tuple[list[str], list[str]]:
    """The names of the fields needed and allowed here, in the record's own order."""
    needed = [name for name, entry in shape.fields.items() if entry.needed]
    decides = node.nodes.get(shape.by) if isinstance(node, Fields) else None
    word = decides.text if isinstance(decides, Scalar) else ""
    case = word if word in shape.cases or not word else nearest(word, shape.cases)
    if not case:
        return needed, list(shape.fields)
    more, besides = shape.cases[case]
    out = shape.special() - more - besides
    return needed + [name for name in shape.fields if name in more], [name for name in shape.fields if name not in out]


def _unknown(name: str, node: Fields, shape: Record, allowed: list[str], report: Report, path: str) -> str:
    """Reports a field that does not belong; gives the field that was probably meant."""
    line = node.lines[name]
    called = shape.called
    if name in shape.fields:
        decides = node.nodes[shape.by]
        word = decides.text if isinstance(decides, Scalar) else ""
        owners = ", ".join(case for case, (needed, besides) in shape.cases.items() if name in needed | besides)
        mend = f"take it out, or change the {shape.by} to {owners}"
        report.note(line, "foreign-field", f"`{name}` does not belong to {called} of the {shape.by} {word}", mend, path)
        return ""
    near = nearest(name, [other for other in allowed if other not in node.nodes])
    home = _home(name, shape, allowed)
    below = node.nodes[name]
    if " " in name and isinstance(below, Scalar) and not below.text:
        near, mend = "", "inside { } text that holds a comma needs quotes"
    elif ")" in name and isinstance(below, Scalar) and not below.text:
        near, mend = "", "an expression with a comma inside { } needs quotes"
    elif near:
        mend = f"did you mean `{near}`?"
    elif home:
        mend = f"it belongs in `{home}`"
    else:
        mend = f"the fields are {', '.join(allowed)}"
    report.note(line, "unknown-field", f"`{short(name)}` is not a field of {called}", mend, path, fatal=False)
    return near


def _home(name: str, shape: Record, allowed: list[str]) -> str:
    """The field one level down that has a field of this name."""
    return next((other for other in allowed if name in _inner(shape.fields[other].shape)), "")


def _inner(shape: Shape) -> set[str]:
    if isinstance(shape, Record):
        return set(shape.fields)
    if isinstance(shape, Listed):
        return _inner(shape.entry)
    if isinstance(shape, Either):
        return {name for record in shape.records for name in record.fields}
    return set()


def _either(node: Node, shape: Either, report: Report, path: str) -> Node | None:
    if isinstance(node, Scalar) and shape.word is not None:
        return shaped(node, shape.word, report, path)
    if isinstance(node, Listing) and shape.listed is not None:
        return shaped(node, shape.listed, report, path)
    if isinstance(node, Fields) and shape.records:
        names = set(node.nodes)
        best = max(shape.records, key=lambda record: len(names & set(record.fields)))
        return shaped(node, best, report, path)
    ways = [shape.word.called] if shape.word else []
    ways += ["a list"] if shape.listed else []
    ways += [record.called for record in shape.records]
    _wrong(node, " or ".join(ways), "write it in one of these ways", report, path)
    return None


def nearest(name: str, names: Iterable[str]) -> str:
    """
    The name that was probably meant, or nothing.

    >>> nearest("obective", ["id", "objective"]), nearest("colour", ["id", "objective"])
    ('objective', '')
    """
    found = difflib.get_close_matches(name[:60].lower().replace("-", "_"), list(names), n=1, cutoff=0.7)
    return found[0] if found else ""


def schema(shape: Shape) -> dict[str, Any]:
    """
    A shape as a JSON Schema (draft 2020-12) that an editor can complete and check by.

    >>> schema(Listed(OneOf(("C", "D")), least=1))
    {'type': 'array', 'items': {'type': 'string', 'enum': ['C', 'D']}, 'minItems': 1}
    """
    if isinstance(shape, Word):
        kinds: dict[str, Any] = {"type": shape.json[0] if len(shape.json) == 1 else list(shape.json)}
        return kinds | ({"pattern": shape.pattern} if shape.pattern else {})
    if isinstance(shape, OneOf):
        if shape.json == ("boolean",):
            return {"type": "boolean"}
        return {"type": "string", "enum": list(shape.words)}
    if isinstance(shape, Listed):
        return {"type": "array", "items": schema(shape.entry)} | ({"minItems": shape.least} if shape.least else {})
    if isinstance(shape, Named):
        names = {"pattern": f"^(?:{shape.name.pattern})$"}
        return {"type": "object", "propertyNames": names, "additionalProperties": schema(shape.entry)}
    if isinstance(shape, Record):
        return _record_schema(shape)
    ways: list[Shape] = [way for way in (shape.word, shape.listed, *shape.records) if way is not None]
    return {"anyOf": [schema(way) for way in ways]}


def _record_schema(shape: Record) -> dict[str, Any]:
    found: dict[str, Any] = {
        "type": "object",
        "properties": {name: schema(entry.shape) | {"description": entry.says} for name, entry in shape.fields.items()},
        "required": [name for name, entry in shape.fields.items() if entry.needed],
        "additionalProperties": False,
    }
    cases = []
    for word, (needed, allowed) in shape.cases.items():
        out = sorted(shape.special() - needed - allowed)
        then: dict[str, Any] = {"required": sorted(needed), "properties": dict.fromkeys(out, False)}
        cases.append({"if": {"properties": {shape.by: {"const": word}}, "required": [shape.by]}, "then": then})
    return found | ({"allOf": cases} if cases else {})


def text_of(node: Fields, name: str, default: str = "") -> str:
    """The text under a name of a shaped node, blanks at its ends taken off; the default where it was left out."""
    below = node.nodes.get(name)
    return below.text.strip() if isinstance(below, Scalar) else default


def texts_of(node: Fields, name: str) -> tuple[str, ...]:
    """The texts of a list under a name."""
    return tuple(entry.text.strip() for entry in entries_of(node, name) if isinstance(entry, Scalar))


def entries_of(node: Fields, name: str) -> tuple[Node, ...]:
    """The entries of a list under a name; none where it was left out; a single value counts as a list of one."""
    below = node.nodes.get(name)
    if isinstance(below, Listing):
        return below.entries
    return () if below is None else (below,)


def fields_of(node: Fields, name: str) -> Fields | None:
    """The group of fields under a name."""
    below = node.nodes.get(name)
    return below if isinstance(below, Fields) else None
