"""
YAML, read strictly: every scalar kept as the text that was written, every node with its line.

Plain YAML turns `12:1` into 721, `no` into false, drops the first of two equal names and follows references without end.
None of that may happen to a bank. So anchors, aliases, tags, repeated names, tabs and second documents are findings, and
nothing is converted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from grader.base.findings import Finding

SIZE_LIMIT = 2 * 1024 * 1024
DEPTH_LIMIT = 12
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text as written, and the line where it starts."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Listing:
    """The entries of a list."""

    entries: tuple[Node, ...]
    line: int


@dataclass(frozen=True, slots=True)
class Fields:
    """Names and what stands under them; `lines` gives the line of each name."""

    nodes: Mapping[str, Node]
    lines: Mapping[str, int]
    line: int


Node = Scalar | Listing | Fields


@dataclass(slots=True)
class _Open:
    """A list or a mapping that is still being read."""

    line: int
    mapped: bool
    entries: list[Node] = field(default_factory=list)
    nodes: dict[str, Node] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    key: Scalar | None = None
    repeated: bool = False


class _Stop(Exception):
    """Nothing after this place can be understood."""


def read_yaml(file: str, data: bytes, findings: list[Finding], first_line: int = 1) -> Node | None:
    """
    The nodes of a YAML text, or None where it cannot be understood; every fault is added to `findings`.

    Parameters
    ----------
    file : str
        The name to print in findings.
    data : bytes
        UTF-8, with or without a byte order mark, at most 2 MiB.
    findings : list of Finding
        Where faults are noted.
    first_line : int
        The number of the text's first line, where it stands inside another file.

    Examples
    --------
    >>> found = []
    >>> read_yaml("pump.yaml", b"bore: 12:1\\nbore: no", found).nodes["bore"]
    Scalar(text='12:1', line=1)
    >>> print(found[0])
    pump.yaml:2: `bore` stands already on line 1; keep one of the two [repeated-field]
    """
    text = decoded(file, data, findings, first_line)
    if text is None or _faulty_letters(file, text, findings, first_line):
        return None
    builder = _Builder(file, text, findings, first_line)
    try:
        for event in _events(text):
            builder.take(event)
    except _Stop:
        return None
    except yaml.YAMLError as error:
        findings.append(_syntax(file, text, error, first_line))
        return None
    if builder.root is None:
        findings.append(Finding(file, first_line, "empty-file", "nothing is written here", "write it, or take the file out"))
    return builder.root


def decoded(file: str, data: bytes, findings: list[Finding], first_line: int = 1) -> str | None:
    """
    The text of a UTF-8 file, its byte order mark taken off; None, with a finding, where it is too large or not UTF-8.

    >>> decoded("a.yaml", b"\\xef\\xbb\\xbftitle: x", [])
    'title: x'
    """
    if len(data) > SIZE_LIMIT:
        findings.append(Finding(file, 0, "too-large", f"larger than {SIZE_LIMIT:,} bytes", "part it into several files"))
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = first_line + data[: error.start].count(b"\n")
        findings.append(Finding(file, line, "not-utf-8", "the text is not UTF-8", "save the file as UTF-8"))
        return None


# What YAML takes for the end of a line and an editor does not, so that line numbers would be wrong.
_FAULTY = re.compile("[\t\x85\u2028\u2029]|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")


def _faulty_letters(file: str, text: str, findings: list[Finding], first_line: int) -> bool:
    seen = False
    for number, line in enumerate(text.split("\n"), first_line):
        found = _FAULTY.search(line)
        if found is None:
            continue
        seen = True
        if found[0] == "\t":
            findings.append(Finding(file, number, "tab", "a tab stands in the line", "use spaces"))
        else:
            what = f"the letter U+{ord(found[0]):04X}, which cannot be seen, stands in the line"
            findings.append(Finding(file, number, "unseen-letter", what, "take it out"))
    return seen


_COMMENT = re.compile(r"\s+#(\w\S*)")


def _row(mark: Any) -> int:
    return int(mark.line) if mark else 0


def _events(text: str) -> Iterator[yaml.Event]:
    yield from yaml.parse(text, Loader=_LOADER)


class _Builder:
    """Puts events together; kept without recursion, so that depth cannot exhaust the stack."""

    def __init__(self, file: str, text: str, findings: list[Finding], first_line: int) -> None:
        self.file, self.findings, self.first_line = file, findings, first_line
        self.source = text.splitlines()
        self.open: list[_Open] = []
        self.root: Node | None = None
        self.documents = 0

    def note(self, line: int, code: str, message: str, mend: str) -> None:
        self.findings.append(Finding(self.file, line, code, message, mend))

    def take(self, event: yaml.Event) -> None:
        line = _row(event.start_mark) + self.first_line
        if isinstance(event, yaml.DocumentStartEvent):
            self._document(line)
        elif isinstance(event, yaml.AliasEvent):
            self.note(line, "alias", f"`*{event.anchor}` refers to another place", "write the value out")
            self._put(Scalar(f"*{event.anchor}", line))
        elif isinstance(event, yaml.NodeEvent):
            self._node(event, line)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._close()

    def _document(self, line: int) -> None:
        self.documents += 1
        if self.documents > 1:
            self.note(
                line, "second-document", "a second document starts here", "take the `---` out, or put it into a file of its own"
            )
            raise _Stop

    def _node(self, event: yaml.NodeEvent, line: int) -> None:
        if event.anchor is not None:
            self.note(
                line, "anchor", f"`&{event.anchor}` marks a place to refer to", "take it out and write the value where it is used"
            )
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.note(
                line, "tag", f"`{tag[:40]}` tells YAML how to read the value", "take it out; the field decides how it is read"
            )
        if isinstance(event, yaml.ScalarEvent):
            self._cut_by_comment(event, line)
            self._put(Scalar(event.value, line))
            return
        if len(self.open) >= DEPTH_LIMIT:
            self.note(
                line,
                "too-deep",
                f"nested more than {DEPTH_LIMIT} deep",
                "nothing in a course is nested so deep; check the indentation",
            )
            raise _Stop
        self.open.append(_Open(line, isinstance(event, yaml.MappingStartEvent)))

    def _cut_by_comment(self, event: yaml.ScalarEvent, line: int) -> None:
        """`jet: no. #60` is read as `no.`: what looks like a number sign in a plain text starts a comment."""
        if event.style:
            return
        row = _row(event.end_mark)
        after = self.source[row][event.end_mark.column :] if event.end_mark and row < len(self.source) else ""
        found = _COMMENT.match(after) if "#" in after else None
        if found and event.value:
            self.note(
                line, "cut-by-comment", f"everything from `#{found[1]}` on is a comment to YAML", "put the whole text in quotes"
            )

    def _close(self) -> None:
        done = self.open.pop()
        self._put(Fields(done.nodes, done.lines, done.line) if done.mapped else Listing(tuple(done.entries), done.line))

    def _put(self, node: Node) -> None:
        if not self.open:
            self.root = node
            return
        holder = self.open[-1]
        if not holder.mapped:
            holder.entries.append(node)
        elif holder.key is None:
            self._key(holder, node)
        else:
            if not holder.repeated:
                holder.nodes[holder.key.text] = node
                holder.lines[holder.key.text] = holder.key.line
            holder.key = None

    def _key(self, holder: _Open, node: Node) -> None:
        if not isinstance(node, Scalar):
            self.note(
                node.line,
                "name-expected",
                "a name is expected here",
                "write `name: value`; text that starts with { or [ needs quotes",
            )
            node = Scalar(f"?{len(holder.nodes)}", node.line)
        holder.key = node
        holder.repeated = node.text in holder.nodes
        if holder.repeated:
            self.note(
                node.line,
                "repeated-field",
                f"`{short(node.text)}` stands already on line {holder.lines[node.text]}",
                "keep one of the two",
            )


_MENDS = (
    ("mapping values are not allowed", "text that holds a colon and a space needs quotes"),
    ("could not find expected ':'", "write `name: value`, and put longer text in quotes"),
    (
        "did not find expected key",
        "check the indentation, and put text that starts with a quote or a bracket in quotes as a whole",
    ),
    ("did not find expected '-'", "entries of one list start in the same column with `- `"),
    ("did not find expected ','", "inside { } and [ ] entries are parted by commas, and text with { or [ needs quotes"),
    ("end of stream", "close the quote or the bracket that was opened"),
    ("maximum nesting depth", "close the brackets: nothing in a course is nested so deep"),
    ("escape", "use single quotes, in which a backslash is only a backslash"),
    ("cannot start any token", "put the value in quotes"),
    ("block scalar", "after | or > the text starts on the next line, indented"),
)


# What stands before the colon of a field; before the colon of a text stand several words.
_BEGINNING = re.compile(r"\s*(?:- )?\w+\s*")


def _syntax(file: str, text: str, error: yaml.YAMLError, first_line: int) -> Finding:
    problem = str(getattr(error, "problem", None) or getattr(error, "reason", None) or "not YAML")
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    if mark is None or (opened and "end of stream" in problem):
        mark = opened  # a quote or bracket left open is mended where it was opened
    line = min(mark.line, max(text.count("\n"), 0)) if mark else 0
    mend = next((mend for part, mend in _MENDS if part in problem), "check this line and the one before it")
    if mark is not None and "mapping values" in problem and _BEGINNING.fullmatch(text.split("\n")[line][: mark.column]):
        mend = f"{mend}; or this line is indented further than the one above: an item begins with `- ` at the margin"
    return Finding(file, line + first_line, "not-yaml", f"not YAML: {problem}", mend)


def short(text: str, length: int = 60) -> str:
    """
    A text as it is quoted in a finding: on one line and not too long.

    >>> short("two\\nlines"), len(short("x" * 500))
    ('two lines', 60)
    """
    line = " ".join(text.split())
    return line if len(line) <= length else f"{line[: length - 1]}…"
