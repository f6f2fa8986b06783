"""
A file of corrections (YAML): read with line numbers, and held against every sealed key of the sitting before anything is kept.

    - {item: pump-why, accept: the large one}
    - {item: idle-case, part: b, within: 5 %}
    - {item: main-odd, withdraw: full marks}

What an entry may say is in `grader.register.corrections`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path

from grader.base.errors import FindingsError, UseError
from grader.base.files import read_capped
from grader.base.findings import Finding
from grader.base.quantities import read_quantity
from grader.items.yamlfile import SIZE_LIMIT, Fields, Listing, Node, Scalar, read_yaml
from grader.register.corrections import FULL, NOT_COUNTED, DoesNotFit, Entry, InForce, applied, touches

WAYS = ("accept", "right", "within", "withdraw")
ENTRIES_LIMIT = 200
Note = Callable[[int, str, str, str], None]


def read_corrections(path: Path, keys: Iterable[InForce]) -> tuple[Entry, ...]:
    """
    The corrections of a file, each of which fits every key of the sitting that has its item.

    Parameters
    ----------
    path : Path
    keys : iterable of InForce
        The sitting's keys as they are in force now.

    Raises
    ------
    FindingsError
        Everything wrong with the file, at once.
    UseError
        It cannot be read.
    """
    findings: list[Finding] = []
    root = read_yaml(str(path), read_capped(path, SIZE_LIMIT), findings)
    entries = _entries(root, str(path), findings) if root is not None else []
    now = list(keys)
    for line, entry in entries:
        now = _fitted(entry, now, str(path), line, findings)
    if findings:
        raise FindingsError(findings)
    return tuple(entry for _, entry in entries)


def _entries(root: Node, file: str, findings: list[Finding]) -> list[tuple[int, Entry]]:
    listed = root.entries if isinstance(root, Listing) else (root,)
    if not 1 <= len(listed) <= ENTRIES_LIMIT:
        findings.append(Finding(file, 1, "no-entries", f"{len(listed)} entries", f"write 1 to {ENTRIES_LIMIT}"))
        return []
    found = [(node.line, _entry(node, file, findings)) for node in listed]
    return [(line, entry) for line, entry in found if entry is not None]


def _entry(node: Node, file: str, findings: list[Finding]) -> Entry | None:
    def note(line: int, code: str, message: str, mend: str) -> None:
        findings.append(Finding(file, line, code, message, mend))

    before = len(findings)
    if not isinstance(node, Fields):
        note(node.line, "wrong-form", "an entry is no group of fields", "write `- {item: …, accept: …}` or the like")
        return None
    for name in node.nodes:
        if name not in ("item", "part", *WAYS):
            mend = f"write item, part, and one of {', '.join(WAYS)}"
            note(node.lines[name], "unknown-field", f"`{name}` is not a field of a correction", mend)
    ways = [way for way in WAYS if way in node.nodes]
    if len(ways) != 1:
        what = f"both {' and '.join(ways)}" if ways else "nothing to be corrected"
        note(node.line, "wrong-form", f"an entry says {what}", f"write one of {', '.join(WAYS)} an entry")
    if "item" not in node.nodes:
        note(node.line, "missing-field", "an entry names no item", "write `item: …`, as it stands in the bank")
    entry: dict[str, str | list[str]] = {}
    for name, value in node.nodes.items():
        texts = _texts(value)
        if texts is None or not all(texts) or (name not in ("accept", "right") and not isinstance(value, Scalar)):
            note(
                node.lines[name],
                "wrong-form",
                f"`{name}` is not written as it must be",
                "write a text, or a list of option texts",
            )
        else:
            entry[name] = list(texts) if name in ("accept", "right") else texts[0]
    if len(findings) == before:
        _plausible(entry, node, note)
    return entry if len(findings) == before else None


def _plausible(entry: Entry, node: Fields, note: Note) -> None:
    if "withdraw" in entry and entry["withdraw"] not in (FULL, NOT_COUNTED):
        what = f"withdraw is `{entry['withdraw']}`"
        note(node.lines["withdraw"], "bad-word", what, f"write `{FULL}` or `{NOT_COUNTED}`")
    if "part" in entry and not re.fullmatch("[a-z]", str(entry["part"])):
        note(node.lines["part"], "bad-word", f"part is `{entry['part']}`", "write its letter: a, b, c")
    if "within" in entry:
        try:
            read = read_quantity(str(entry["within"]))
            if read.number <= 0:
                raise UseError("a range is wider than nothing; write it as `5 %` or `0.2 mm`")
        except UseError as error:
            what, _, mend = str(error).partition("; ")
            note(node.lines["within"], "bad-quantity", what, mend or "write it as `5 %` or `0.2 mm`")


def _texts(node: Node) -> tuple[str, ...] | None:
    if isinstance(node, Scalar):
        return (node.text.strip(),)
    if isinstance(node, Listing) and node.entries and all(isinstance(one, Scalar) for one in node.entries):
        return tuple(one.text.strip() for one in node.entries if isinstance(one, Scalar))
    return None


def _fitted(entry: Entry, keys: list[InForce], file: str, line: int, findings: list[Finding]) -> list[InForce]:
    """The keys with the entry applied; what does not fit is told once."""
    if not any(touches(force.key, entry) for force in keys):
        what = f"no paper of the sitting has the item `{entry['item']}`"
        findings.append(Finding(file, line, "unknown-item", what, "write it as marks.csv does"))
        return keys
    try:
        return [applied(force, entry) for force in keys]
    except DoesNotFit as error:
        what, _, mend = str(error).partition("; ")
    findings.append(Finding(file, line, "does-not-fit", what, mend))
    return keys
