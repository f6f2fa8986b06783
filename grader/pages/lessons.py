"""
A lesson's Markdown, with what is ours in it taken out and set as HTML.

Ours are the blocks of `lesson_file.WORDS` between fences, whose first line may stand behind the word (`specimen T-1`), and
numbers in running text between double square brackets. Everything wrong is collected with its line; where something is wrong,
nothing is set.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from html import escape

from grader.base.errors import GraderError, UseError
from grader.base.findings import Finding
from grader.items.lesson_file import WORDS
from grader.items.model import Fence

_FENCE = re.compile(r"^(?P<indent>\s*)(?P<fence>`{3,}|~{3,})\s*(?P<word>[^\s`{]*)(?P<rest>[^`]*)$")
_INLINE = re.compile(r"(?P<code>`+)(?:.+?)(?P=code)|\[\[(?P<ours>[^\[\]]*)\]\]")


class Fault(UseError):
    """What is wrong in one of our blocks: the fault's name, what is wrong, how to mend it."""

    def __init__(self, code: str, message: str, mend: str) -> None:
        self.code, self.message, self.mend = code, message, mend
        super().__init__(f"{message}; {mend}")

    @classmethod
    def of(cls, code: str, error: GraderError, mend: str) -> Fault:
        """A fault from another room's error, whose message may say how to mend it after a semicolon."""
        what, _, cure = str(error).partition("; ")
        return cls(code, what, cure or mend)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading that a block brings with it, for the page's contents."""

    level: int
    words: str
    anchor: str


@dataclass(slots=True)
class Page:
    """One page while it is read: where it stands, what was found wrong, and the HTML of its blocks by their place marks."""

    file: str
    mark: str
    findings: list[Finding] = field(default_factory=list)
    blocks: dict[str, str] = field(default_factory=dict)
    packs: list[str] = field(default_factory=list)
    explored: list[str] = field(default_factory=list)
    benches: list[str] = field(default_factory=list)
    headings: list[Heading] = field(default_factory=list)

    def note(self, line: int, fault: Fault) -> None:
        """Collect a fault as a finding on its line of the file."""
        self.findings.append(Finding(self.file, line, fault.code, fault.message, fault.mend))


Setter = Callable[[Fence, Page], str]
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
            page.note(line, fault)
            continue
        name = f"courseblock{page.mark}n{len(page.blocks)}x"
        page.blocks[name] = html
        out += ["", indent + name, ""]
    return "\n".join(out)


def _pieces(lines: Sequence[str], first_line: int, page: Page) -> Iterator[tuple[int, str | tuple[str, Fence]]]:
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
            inside = tuple(
                line.strip() for line in ([opening["rest"]] if opening["rest"].strip() else []) + list(lines[place + 1 : end])
            )
            if end == len(lines):
                what = f"the `{opening['word']}` block is not closed"
                page.note(first_line + place, Fault("open-fence", what, "end it with a line of three backticks"))
            else:
                yield first_line + place, (opening["indent"], Fence(opening["word"], first_line + place, inside))
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
