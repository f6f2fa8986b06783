"""
The tables of fields in the authoring guide (`questions/AUTHORING.md`), made from the statement that the loader checks by.

Between ``<!-- fields: an item -->`` and ``<!-- end -->`` stands the table of that thing. After a change to the fields:
``python -c "from grader.items.guide import write; write('questions/AUTHORING.md')"``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import read_capped, write_atomic
from grader.items import fields, specimen_file, station_file
from grader.items.shapes import Either, Field, Listed, Named, OneOf, Record, Shape

LIMIT = 512 * 1024
_TABLE = re.compile(r"(?P<head><!-- fields: (?P<name>[^>]+?) -->\n).*?(?P<foot><!-- end -->)", re.DOTALL)


def records() -> Mapping[str, Record]:
    """
    Everything with fields that an author writes, by what findings call it.

    >>> list(records())[:3]
    ['an item', 'a range of a given value', 'a choice of given values']
    """
    roots: tuple[Shape, ...] = (
        fields.ITEMS,
        fields.BLUEPRINT,
        fields.COURSE,
        fields.FRONT_MATTER,
        station_file.STATION,
        specimen_file.SPECIMEN,
    )
    return {record.called: record for root in roots for record in _records(root)}


def _records(shape: Shape) -> Iterator[Record]:
    below: tuple[Shape, ...] = ()
    if isinstance(shape, Record):
        yield shape
        below = tuple(entry.shape for entry in shape.fields.values())
    elif isinstance(shape, Listed | Named):
        below = (shape.entry,)
    elif isinstance(shape, Either):
        below = (*((shape.listed,) if shape.listed else ()), *shape.records)
    for each in below:
        yield from _records(each)


def table(record: Record) -> str:
    """
    The fields of one thing as a Markdown table: the name, whether it must be there, what it is for.

    >>> print(table(Record("a bore", {"from": Field(OneOf(("x", "y")), "the least", needed=True)})))
    | field | needed | what it is |
    |---|---|---|
    | `from` | yes | the least. One of: `x`, `y` |
    """
    rows = [f"| `{name}` | {_must(name, entry, record)} | {_says(entry)} |" for name, entry in record.fields.items()]
    return "\n".join(("| field | needed | what it is |", "|---|---|---|", *rows))


def _must(name: str, entry: Field, record: Record) -> str:
    if entry.needed:
        return "yes"
    if name not in record.special():
        return ""
    needed = [case for case, (must, _) in record.cases.items() if name in must]
    allowed = [case for case, (_, may) in record.cases.items() if name in may]
    words = [f"in {', '.join(needed)}"] if needed else []
    return "; ".join([*words, *([f"if wanted, in {', '.join(allowed)}"] if allowed else [])])


def _says(entry: Field) -> str:
    shape = entry.shape
    words = ""
    if isinstance(shape, OneOf) and shape.json != ("boolean",):
        words = ". One of: " + ", ".join(f"`{word}`" for word in shape.words)
    return f"{entry.says}{words}".replace("|", "\\|")


def filled(text: str) -> str:
    """
    The guide with every table made anew. Raises `UseError` for a table of something that has no fields.

    >>> "`pick`" in filled("<!-- fields: a choice of given values -->\\n<!-- end -->")
    True
    """
    known = records()

    def put(found: re.Match[str]) -> str:
        if found["name"] not in known:
            raise UseError(f"the guide has a table for `{found['name']}`; there are {', '.join(known)}")
        called = found["name"]
        return f"{found['head']}\n**{called[0].upper()}{called[1:]}**\n\n{table(known[called])}\n\n{found['foot']}"

    return _TABLE.sub(put, text)


def write(path: Path | str) -> None:
    """Make every table of the guide anew."""
    write_atomic(Path(path), filled(read_capped(Path(path), LIMIT).decode()))
