"""
A lesson (`lessons/CIRCUIT.md`): its head and its Markdown, with what in it is computed or refers to something else.

What is ours in the Markdown: anchors on headings (`## The ring {#power.1}`), blocks fenced as `relation`, `worked`, `figure`,
`practice`, `formulas`, `curves`, `station`, `table` and `specimen`, and numbers in running text:
computed, `[[open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures]]`,
or taken from a specimen, `[[T-1 main_jet]]`, `[[T-1 cruise air_fuel with rod-stuck-up]]`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import cast

from grader.base.errors import UseError
from grader.base.findings import Finding
from grader.base.quantities import Quantity, Unit, unit
from grader.items import fields
from grader.items.model import Fence, Inline, Lesson, Level, Link, Objective
from grader.items.shapes import Report, fields_of, nearest, shaped, text_of
from grader.items.sheet_values import (
    NO_SHEETS,
    AskedCurves,
    Sheets,
    asked_curves,
    names_specimen,
    reference_quantity,
)
from grader.items.yamlfile import Fields, decoded, read_yaml, short

WORDS = ("relation", "worked", "figure", "practice", "formulas", "curves", "explorer", "bench", "station", "table", "specimen")
# Control characters and those that turn the writing direction; a soft hyphen, a joiner and a no-break space may be meant.
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2028\u2029\u2066-\u2069\ufeff]")
_FENCE = re.compile(r"(?P<marks>`{3,}|~{3,})\s*(?P<word>[\w-]*)\s*(?P<rest>.*)")
_HEADING = re.compile(r"#{1,6}\s.*\{[^}]*#(?P<anchor>[\w.-]+)[^}]*\}\s*#*\s*")
_INLINE = re.compile(r"\[\[(?P<text>.+?)\]\]")
_CODE = re.compile(r"(`+)(?:.*?)\1")
# The words of a link may begin on the line before.
_LINK = re.compile(r"(?P<picture>!\[[^\[\]]*)?\]\(\s*<?(?P<target>[^)\s>]*)>?(?:\s+[\"'][^)]*)?\)")
_ID = re.compile(r"""\bid=["']?([\w.-]+)""")
_SYMBOL = re.compile(r"[A-Za-z][A-Za-z0-9_]*")


@dataclass(frozen=True, slots=True)
class Computation:
    """A relation to compute: its name, a quantity for each symbol, the unit to print the result in, and to how many figures."""

    relation: str
    values: dict[str, Quantity]
    unit: Unit
    figures: int = 3


def read_lesson(file: str, data: bytes, findings: list[Finding]) -> Lesson | None:
    """
    A lesson from its bytes, or None where its head cannot be read; every fault is added to `findings`.

    >>> head = b"---\\ntitle: Rods\\ncircuit: power\\norder: 3\\nobjectives:\\n  power.1: {level: C, says: Open area}\\n---\\n"
    >>> lesson = read_lesson("lessons/power.md", head + b"# Rods\\n\\n## The ring {#power.1}\\n", [])
    >>> lesson.objectives[0].level, dict(lesson.anchors)
    ('C', {'power.1': 10})
    """
    text = decoded(file, data, findings)
    if text is None:
        return None
    rows = text.replace("\r\n", "\n").split("\n")
    end = next((place for place, row in enumerate(rows[1:], 1) if row.rstrip() == "---"), 0)
    if rows[0].rstrip() != "---" or not end:
        mend = "start the file with a line `---`, the lesson's fields, and another line `---`"
        findings.append(Finding(file, 1, "no-head", "the lesson has no head", mend))
        return None
    root = read_yaml(file, "\n".join(rows[1:end]).encode(), findings, first_line=2)
    report = Report(file, findings)
    node = None if root is None else shaped(root, fields.FRONT_MATTER, report)
    if not isinstance(node, Fields):
        return None
    scanned = _scan(rows[end + 1 :], end + 2, report)
    circuit = text_of(node, "circuit")
    if bool(circuit) != ("objectives" in node.nodes):
        what = "names a circuit and no objectives" if circuit else "names objectives and no circuit"
        report.note(node.line, "missing-field", f"the lesson {what}", "write both, or neither on a page that teaches none")
    return Lesson(
        file=file,
        title=text_of(node, "title"),
        circuit=circuit,
        order=fields.read_whole(text_of(node, "order")),
        objectives=_objectives(node, circuit),
        anchors=scanned.anchors,
        fences=tuple(scanned.fences),
        inlines=tuple(scanned.inlines),
        links=tuple(scanned.links),
        headings=frozenset(scanned.headings),
        body="\n".join(rows[end + 1 :]),
        body_line=end + 2,
    )


def _objectives(node: Fields, circuit: str) -> tuple[Objective, ...]:
    below = fields_of(node, "objectives")
    if below is None:
        return ()
    each = ((name, entry) for name, entry in below.nodes.items() if isinstance(entry, Fields))
    return tuple(
        Objective(name, cast(Level, text_of(e, "level")), text_of(e, "says"), circuit, below.lines[name]) for name, e in each
    )


@dataclass(slots=True)
class _Scanned:
    """What of a lesson's Markdown is to be checked; `headings` are the anchors that headings get by their own words."""

    anchors: dict[str, int] = field(default_factory=dict)
    fences: list[Fence] = field(default_factory=list)
    inlines: list[Inline] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    headings: set[str] = field(default_factory=set)


def _scan(rows: list[str], first: int, report: Report) -> _Scanned:
    found = _Scanned()
    marks, word, opened, held = "", "", 0, list[str]()
    for line, row in enumerate(rows, first):
        unseen = _UNSEEN.search(row)
        if unseen:
            what = f"the letter U+{ord(unseen[0]):04X}, which cannot be seen, stands in the line"
            report.note(line, "unseen-letter", what, "take it out")
        fence = _FENCE.fullmatch(row.strip())
        if marks:
            if fence and not fence["word"] and fence["marks"].startswith(marks):
                if word in WORDS:
                    found.fences.append(Fence(word, opened, tuple(held)))
                marks = ""
            else:
                held.append(row.strip())
        elif fence:
            marks, word, opened, held = fence["marks"], fence["word"], line, [fence["rest"]] if fence["rest"] else []
            near = "" if word in WORDS else nearest(word, WORDS)
            if near:
                report.note(line, "unknown-block", f"`{word}` is no block of a lesson", f"did you mean `{near}`?")
        else:
            _note_anchor(row, line, found.anchors, report)
            _scan_row(_CODE.sub("", row), line, found, report)
    if marks:
        report.note(opened, "open-fence", f"the block `{word or marks}` is not closed", f"write a line {marks} at its end")
    return found


def _scan_row(row: str, line: int, found: _Scanned, report: Report) -> None:
    """Numbers to compute, links and anchors of one line, code in it taken out; most lines have none, which is seen at once."""
    if "[[" in row:
        found.inlines += [Inline(inline["text"].strip(), line) for inline in _INLINE.finditer(row)]
        if "[[" in _INLINE.sub("", row):
            report.note(line, "open-inline", "`[[` is never closed on this line", "write `]]` behind the number, all on one line")
    if "](" in row:
        found.links += [Link(link["target"], line, bool(link["picture"])) for link in _LINK.finditer(row)]
    if "id=" in row:
        found.headings |= set(_ID.findall(row))
    if row.startswith("#") and not _HEADING.fullmatch(row):
        found.headings.add(heading_anchor(row.strip("# ")))


def heading_anchor(words: str) -> str:
    """
    The anchor that a heading without one of its own gets from its words.

    >>> heading_anchor("The ring: what is left?")
    'the-ring-what-is-left'
    """
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode()
    return re.sub(r"[-\s]+", "-", re.sub(r"[^\w\s-]", "", plain).strip().lower())


def _note_anchor(row: str, line: int, anchors: dict[str, int], report: Report) -> None:
    heading = _HEADING.fullmatch(row)
    if heading is None:
        return
    name = heading["anchor"]
    if name in anchors:
        report.note(
            line, "repeated-anchor", f"the anchor {name} stands already on line {anchors[name]}", "give the heading another"
        )
    anchors.setdefault(name, line)


def read_inline(text: str, sheets: Sheets = NO_SHEETS) -> Computation:
    """
    What stands between double brackets: relation, values, `as` unit, and how many figures if not 3. A value may be a
    specimen's, `D=T-1 main_jet`.

    Raises `UseError` saying what is wrong.

    >>> found = read_inline("open_area D=0.095 in, d=0.067 in as mm^2 to 4 figures")
    >>> found.relation, found.values["d"].shown.replace("\\u202f", " "), found.unit.name, found.figures
    ('open_area', '0.067 in', 'mm^2', 4)
    """
    found = re.fullmatch(r"(?P<name>\w+)\s+(?P<values>.+?)\s+as\s+(?P<unit>\S+)(?:\s+to\s+(?P<figures>[1-9])\s+figures?)?", text)
    if found is None:
        example = "[[open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures]]"
        raise UseError(f"`{short(text)}` is not a number to compute; write it as {example}")
    pairs = (pair.partition("=") for pair in found["values"].split(","))
    values = _values(((name.strip(), value.strip()) for name, _, value in pairs), sheets)
    return Computation(found["name"], values, unit(found["unit"]), int(found["figures"] or 3))


def read_worked(fence: Fence, sheets: Sheets = NO_SHEETS) -> Computation:
    """
    A `worked` block: `relation: NAME`, a line `SYMBOL: quantity` for each symbol, `unit: UNIT`, and if wanted `figures: 4`.
    A quantity may be a specimen's, `D: T-1 main_jet`.

    Raises `UseError` saying what is wrong.

    >>> lines = ("relation: open_area", "D: 0.095 in", "d: 0.067 in", "unit: mm^2")
    >>> read_worked(Fence("worked", 1, lines)).values["D"].written
    '0.095'
    """
    pairs = read_pairs(fence)
    for name in ("relation", "unit"):
        if name not in pairs:
            raise UseError(f"`{name}` is missing from the worked example; write a line `{name}: …`")
    figures = fields.read_whole(pairs.pop("figures", "4"))
    if not 1 <= figures <= 9:
        raise UseError(f"{figures} significant figures; write 1 to 9")
    relation, measure = pairs.pop("relation"), unit(pairs.pop("unit"))
    return Computation(relation, _values(pairs.items(), sheets), measure, figures)


def read_curves(fence: Fence, sheets: Sheets) -> AskedCurves:
    """A `curves` block: `specimen: T-1`, `faults: …, …`, if wanted `altitude: 4000 ft`, `caption: …`. Raises `UseError`."""
    return asked_curves(fence, read_pairs(fence), sheets)


def read_pairs(fence: Fence) -> dict[str, str]:
    """
    The lines `name: value` of a block. Raises `UseError` for a line of another form and for a name that stands twice.

    >>> read_pairs(Fence("figure", 1, ("name: rod-in-jet", "caption: Where the rod stands.")))["name"]
    'rod-in-jet'
    """
    pairs: dict[str, str] = {}
    for row in filter(None, fence.lines):
        name, colon, value = (part.strip() for part in row.partition(":"))
        if not colon or not name or not value:
            raise UseError(f"`{short(row)}` is not a line of a {fence.word} block; write it as `name: value`")
        if name in pairs:
            raise UseError(f"`{short(name)}` stands twice in the {fence.word} block; keep one of the two")
        pairs[name] = value
    return pairs


def _values(pairs: Iterable[tuple[str, str]], sheets: Sheets) -> dict[str, Quantity]:
    values: dict[str, Quantity] = {}
    for name, value in pairs:
        if not _SYMBOL.fullmatch(name):
            raise UseError(f"`{short(name)}` is not a symbol; write `D=0.095 in`, parted by commas")
        if name in values:
            raise UseError(f"`{name}` is given twice; keep one of the two")
        following = re.search(r"\s([A-Za-z]\w*)\s*=", value)
        if following:
            raise UseError(f"a comma is missing before `{following[1]}=`; part the quantities by commas")
        values[name] = reference_quantity(value, sheets) if names_specimen(value) else fields.read_size(value)
    return values
