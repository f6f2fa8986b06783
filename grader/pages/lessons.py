"""
A lesson's Markdown, with what is ours in it taken out and set as HTML.

Ours are four blocks (`relation`, `worked`, `figure`, `practice`) between fences, and numbers in running text between double square
brackets. Everything wrong is collected with its line; where something is wrong, nothing is set.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from html import escape

from grader.base.errors import UseError
from grader.base.findings import Finding

WORDS = ("relation", "worked", "figure", "practice")

_FENCE = re.compile(r"^(?P<indent>\s*)(?P<fence>`{3,}|~{3,})\s*(?P<word>[^\s`{]*)(?P<rest>[^`]*)$")
_INLINE = re.compile(r"(?P<code>`+)(?:.+?)(?P=code)|\[\[(?P<ours>[^\[\]]*)\]\]")
_FIELD = re.compile(r"^\s*([A-Za-z_][A-Za-z0-9_]*)\s*:\s*(.*?)\s*$")


class Fault(UseError):
    """What is wrong in one of our blocks: the fault's name, what is wrong, how to mend it, and on which line of the block."""

    def __init__(self, code: str, message: str, mend: str, line: int = 0) -> None:
        self.code, self.message, self.mend, self.line = code, message, mend, line
        super().__init__(f"{message}; {mend}")


@dataclass(frozen=True, slots=True)
class Block:
    """One of our fences: its word and its lines, numbered from 1 (the fence itself is line 0)."""

    word: str
    lines: tuple[str, ...]

    def name(self) -> str:
        """The only word of a block that holds nothing else."""
        words = [line.strip() for line in self.lines if line.strip()]
        if len(words) != 1:
            raise Fault("wrong-block", f"a `{self.word}` block holds one name, this one {len(words)} lines", "write the name alone")
        return words[0]

    def fields(self) -> dict[str, tuple[str, int]]:
        """The block's `NAME: value` lines, each with its number; a name that stands twice is a fault."""
        found: dict[str, tuple[str, int]] = {}
        for number, line in enumerate(self.lines, 1):
            if not line.strip():
                continue
            parts = _FIELD.match(line)
            if parts is None:
                raise Fault("wrong-block", f"`{line.strip()[:60]}` is not `NAME: value`", "write a name, a colon and a value", number)
            if parts[1] in found:
                raise Fault("repeated-field", f"`{parts[1]}` stands twice in the block", "keep one of the two", number)
            found[parts[1]] = (parts[2], number)
        return found


@dataclass(slots=True)
class Page:
    """One page while it is read: where it stands, what was found wrong, and the HTML of its blocks by their place marks."""

    file: str
    mark: str
    findings: list[Finding] = field(default_factory=list)
    blocks: dict[str, str] = field(default_factory=dict)
    packs: list[str] = field(default_factory=list)

    def note(self, line: int, fault: Fault) -> None:
        """Collect a fault as a finding on its line of the file."""
        self.findings.append(Finding(self.file, line, fault.code, fault.message, fault.mend))


Setter = Callable[[Block, Page], str]
Number = Callable[[str], str]


def set_page(markdown: str, first_line: int, page: Page, set_block: Setter, set_number: Number) -> str:
    """
    The Markdown with a place mark for each of our blocks and the number for each of our inline computations.

    Parameters
    ----------
    markdown : str
        The page without its front matter; `first_line` is the line of the file on which it begins.
    page : Page
        Takes the findings and the blocks' HTML.
    set_block, set_number
        What sets a block as HTML, and what computes an inline number; both raise `Fault`.

    Examples
    --------
    >>> page = Page("lessons/power.md", "power")
    >>> set_page("An area of [[two]].", 5, page, lambda block, page: "", lambda text: "2 mm²")
    'An area of 2 mm².'
    """
    out: list[str] = []
    for line, piece in _pieces(markdown.split("\n"), first_line, page):
        if isinstance(piece, str):
            out.append(_numbered(piece, line, page, set_number))
            continue
        indent, block = piece
        try:
            html = set_block(block, page)
        except Fault as fault:
            page.note(line + fault.line, fault)
            continue
        name = f"courseblock{page.mark}n{len(page.blocks)}x"
        page.blocks[name] = html
        out += ["", indent + name, ""]
    return "\n".join(out)


def _pieces(lines: Sequence[str], first_line: int, page: Page) -> Iterator[tuple[int, str | tuple[str, Block]]]:
    """The page's lines one by one, our blocks whole; lines inside other fences pass as they are, their inline marks untouched."""
    place = 0
    while place < len(lines):
        opening = _FENCE.match(lines[place])
        if opening is None:
            yield first_line + place, lines[place]
            place += 1
            continue
        end = _closing(lines, place, opening["fence"])
        if opening["word"] in WORDS:
            inside = tuple(lines[place + 1 : end])
            if end == len(lines):
                page.note(first_line + place, Fault("open-fence", f"the `{opening['word']}` block is not closed", "end it with a line of three backticks"))
            else:
                yield first_line + place, (opening["indent"], Block(opening["word"], inside))
        else:
            for other in range(place, min(end + 1, len(lines))):
                yield 0, lines[other]  # line 0: nothing of ours is looked for in it
        place = end + 1


def _closing(lines: Sequence[str], start: int, fence: str) -> int:
    for place in range(start + 1, len(lines)):
        if lines[place].strip().startswith(fence) and not lines[place].strip().strip(fence[0]):
            return place
    return len(lines)


def _numbered(text: str, line: int, page: Page, set_number: Number) -> str:
    if line == 0 or "[[" not in text:
        return text

    def put(found: re.Match[str]) -> str:
        if found["ours"] is None:
            return found[0]
        try:
            return escape(set_number(found["ours"]), quote=False)
        except Fault as fault:
            page.note(line, fault)
            return ""

    return _INLINE.sub(put, text)


def put_blocks(html: str, page: Page) -> str:
    """
    The converted page with every place mark replaced by its block.

    >>> page = Page("a.md", "a", blocks={"courseblockan0x": "<hr>"})
    >>> put_blocks("<p>courseblockan0x</p>", page)
    '<hr>'
    """
    for name, block in page.blocks.items():
        html = html.replace(f"<p>{name}</p>", block)
    return html
