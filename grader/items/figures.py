"""
The course's figures: hand-written SVG that carries classes only. Checked here, made fit for a page or for a paper.

A figure names what things are (`fig-fuel`, `fig-cut`); `figures.css` says how that looks on a page, `figures-print.css` on paper.
So a figure cannot carry a script, a colour, a style or a reference to anything outside itself: whatever is not on the short lists
below is a finding.
"""

from __future__ import annotations

import re
from functools import cache
from importlib import resources
from pathlib import PurePosixPath
from xml.etree import ElementTree
from xml.parsers import expat

from grader.base.errors import UseError
from grader.base.findings import Finding

SVG = "http://www.w3.org/2000/svg"
SIZE_LIMIT = 256 * 1024
DEPTH_LIMIT = 40

PHONE_WIDTH = 328
"""Width left for a figure in a practice card on a phone 390 px wide, px; in the running text it is 358."""

LEAST_TEXT = 11
"""Smallest height of text on that phone, px."""

TEXT_SIZES = {"fig-label": 14.0, "fig-letter": 14.0, "fig-symbol": 15.0, "fig-sub": 13.0}
"""Height of text by class, in units of the viewBox; the style sheets say the same (tested)."""

_NAMES = """
figure-drawing fig-metal fig-brass fig-hatch fig-cut fig-solid fig-body fig-soft fig-plate
fig-line fig-thin fig-axis fig-hidden fig-fill fig-leader fig-dot fig-head-dim
fig-fuel fig-fuel-mark fig-bubble fig-mixture fig-mixture-mark fig-liquid fig-liquid-mark fig-air fig-level
fig-flow-fuel fig-head-fuel fig-flow-air fig-head-air fig-flow-mixture fig-head-mixture fig-move fig-head-move
fig-rim fig-face fig-part fig-scale fig-scale-long fig-needle fig-surface
fig-label fig-letter fig-letter-ring fig-symbol fig-sub fig-middle fig-end fig-halo fig-on-fuel fig-on-mixture fig-on-metal
"""
CLASSES = frozenset(_NAMES.split())
"""Every class a figure may carry; described at the top of `figures.css`."""

_SHARED = frozenset({"class"})
_SHAPE = _SHARED | {"fill", "fill-rule"}
ELEMENTS: dict[str, frozenset[str]] = {
    "svg": frozenset({"xmlns", "class", "viewBox"}),
    "title": frozenset(),
    "desc": frozenset(),
    "defs": frozenset(),
    "g": _SHARED,
    "pattern": frozenset({"id", "width", "height", "patternUnits", "patternTransform"}),
    "path": _SHAPE | {"d"},
    "rect": _SHAPE | {"x", "y", "width", "height", "rx", "ry"},
    "circle": _SHAPE | {"cx", "cy", "r"},
    "ellipse": _SHAPE | {"cx", "cy", "rx", "ry"},
    "line": _SHARED | {"x1", "y1", "x2", "y2"},
    "polyline": _SHAPE | {"points"},
    "polygon": _SHAPE | {"points"},
    "text": _SHARED | {"x", "y"},
    "tspan": frozenset({"class", "x", "y", "dx", "dy"}),
}
"""The elements a figure may hold, each with the attributes it may have."""

_REFERENCE = re.compile(r"url\(#([^)]*)\)")
_OWN_REFERENCE = re.compile(r"url\(#[a-z][a-z0-9-]*\)")
_VIEW_BOX = re.compile(r"(-?\d+(?:\.\d+)?) (-?\d+(?:\.\d+)?) (\d+(?:\.\d+)?) (\d+(?:\.\d+)?)")
_PREFIX = re.compile(r"[a-z][a-z0-9-]*")


def for_page(svg: str, prefix: str) -> str:
    """
    The figure as it goes into a page: its ids made unique by `prefix`, its title and description tied to it for a screen reader.

    Parameters
    ----------
    svg : str
        A figure without findings.
    prefix : str
        Small letters, digits and hyphens, a letter first; no two figures of one page share it.

    Raises `UseError` where the text is no SVG or the prefix cannot stand in an id.

    Examples
    --------
    >>> drawing = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Jet</title><desc>A hole.</desc></svg>'
    >>> print(for_page(drawing, "q3"))
    <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" role="img" aria-labelledby="q3-title" \
aria-describedby="q3-desc"><title id="q3-title">Jet</title><desc id="q3-desc">A hole.</desc></svg>
    """
    if not _PREFIX.fullmatch(prefix):
        raise UseError(f"{prefix!r} cannot stand before an id; use small letters, digits and hyphens, a letter first")
    root = _tree(svg)
    for element in root.iter():
        for name, value in element.attrib.items():
            if name == "id":
                element.set(name, f"{prefix}-{value}")
            elif "url(#" in value:
                element.set(name, _REFERENCE.sub(rf"url(#{prefix}-\1)", value))
    root.set("role", "img")
    for tag, relation in (("title", "aria-labelledby"), ("desc", "aria-describedby")):
        said = root.find(f"{{{SVG}}}{tag}")
        if said is not None:
            said.set("id", f"{prefix}-{tag}")
            root.set(relation, f"{prefix}-{tag}")
    return _written(root)


def for_paper(svg: str) -> str:
    """
    The figure as it goes to the typesetter: the look for paper put into the SVG itself.

    Raises `UseError` where the text is no SVG.

    >>> drawing = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path class="fig-line" d="M0 0 H9"/></svg>'
    >>> ".fig-line" in for_paper(drawing), "var(" in for_paper(drawing)
    (True, False)
    """
    root = _tree(svg)
    style = ElementTree.Element(f"{{{SVG}}}style")
    style.text = _print_look()
    root.insert(0, style)
    return _written(root)


def described(svg: str) -> str:
    """
    What the figure shows, in words: its title and its description.

    >>> described('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Jet</title><desc>A hole.</desc></svg>')
    'Jet. A hole.'
    """
    root = _tree(svg)
    said = (root.findtext(f"{{{SVG}}}{tag}", "").strip() for tag in ("title", "desc"))
    return " ".join(part if part.endswith((".", "?", "!")) else f"{part}." for part in said if part)


def check_figure(file: str, svg: str) -> list[Finding]:
    """
    Everything wrong with a figure, at once; an empty list for a good one.

    Parameters
    ----------
    file : str
        Where it stands, as a person would type it; the ids of its patterns begin with the name.
    svg : str
        Its text.

    Examples
    --------
    >>> bad = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Jet</title><desc>A hole.</desc><script/></svg>'
    >>> for finding in check_figure("figures/jet.svg", bad): print(finding)
    figures/jet.svg:1: `script` is not an element of a figure; draw with path, rect, circle, text and their like [unknown-element]
    """
    if len(svg.encode("utf-8", "replace")) > SIZE_LIMIT:
        return [Finding(file, 0, "too-large", f"larger than {SIZE_LIMIT // 1024} KB", "draw it with fewer points")]
    return _Inspection(file).of(svg)


class _Inspection:
    """One walk through a figure's text; expat gives the lines."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.name = PurePosixPath(file.replace("\\", "/")).stem
        self.findings: list[Finding] = []
        self.open: list[str] = []
        self.sizes: list[float] = []
        self.ids: dict[str, int] = {}
        self.wanted: list[tuple[int, str]] = []
        self.words: dict[str, str] = {}
        self.width = 0.0
        self.parser = expat.ParserCreate("utf-8", " ")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.ProcessingInstructionHandler = self._instruction

    def of(self, svg: str) -> list[Finding]:
        try:
            self.parser.Parse(svg.encode("utf-8"), True)
        except expat.ExpatError as error:
            self._find(
                "not-xml",
                f"not well-formed: {expat.ErrorString(error.code)}",
                "close every element and quote every attribute",
                error.lineno,
            )
        except UnicodeEncodeError:
            self._find("not-text", "holds half a character", "save the file as UTF-8", 0)
        except UseError:
            pass  # what stopped the walk is a finding already
        else:
            self._whole()
        return sorted(self.findings)

    def _find(self, code: str, message: str, mend: str, line: int | None = None) -> None:
        self.findings.append(Finding(self.file, self.parser.CurrentLineNumber if line is None else line, code, message, mend))

    def _start(self, full: str, attributes: dict[str, str]) -> None:
        space, _, tag = full.rpartition(" ")
        if len(self.open) >= DEPTH_LIMIT:
            self._find("too-deep", f"elements nested more than {DEPTH_LIMIT} deep", "draw it flat")
            raise UseError("too deep")
        self.open.append(tag)
        self.sizes.append(self.sizes[-1] if self.sizes else 0.0)
        if space != SVG or tag not in ELEMENTS or (tag == "svg" and len(self.open) > 1):
            self._find(
                "unknown-element",
                f"`{tag[:60]}` is not an element of a figure",
                "draw with path, rect, circle, text and their like",
            )
            return
        if len(self.open) == 1:
            self._root(tag, attributes)
        for name, value in attributes.items():
            self._attribute(tag, name, value)
        if tag in {"text", "tspan"}:
            self._size(attributes.get("class", "").split())

    def _root(self, tag: str, attributes: dict[str, str]) -> None:
        box = _VIEW_BOX.fullmatch(attributes.get("viewBox", ""))
        if tag != "svg":
            self._find("not-svg", f"the outermost element is `{tag}`", "begin with svg")
        elif box is None or float(box[3]) <= 0 or float(box[4]) <= 0:
            self._find("no-viewbox", "no viewBox of four numbers", 'give svg a viewBox="0 0 WIDTH HEIGHT", about 380 wide')
        else:
            self.width = float(box[3])

    def _attribute(self, tag: str, name: str, value: str) -> None:
        if name not in ELEMENTS[tag]:
            shown = name.rpartition(" ")[2][:60]
            self._find(
                "unknown-attribute", f"`{shown}` is not an attribute of `{tag}` in a figure", "say by a class what the thing is"
            )
        elif name == "class":
            for word in value.split():
                if word not in CLASSES:
                    self._find(
                        "unknown-class",
                        f"`{word[:60]}` is not a class of a figure",
                        "use one that stands at the top of figures.css",
                    )
        elif name == "id":
            self._id(value)
        elif name == "fill":
            if not _OWN_REFERENCE.fullmatch(value):
                self._find(
                    "outside-reference",
                    f'fill="{value[:60]}"',
                    f"fill with a pattern of its own, url(#{self.name}-…), or by a class",
                )
            else:
                self.wanted.append((self.parser.CurrentLineNumber, value[5:-1]))

    def _id(self, value: str) -> None:
        if value in self.ids:
            self._find("repeated-id", f"the id `{value[:60]}` stands twice", "give one of the two another name")
        if not value.startswith(f"{self.name}-"):
            self._find("foreign-id", f"the id `{value[:60]}` does not begin with the figure's name", f"write {self.name}-…")
        self.ids.setdefault(value, self.parser.CurrentLineNumber)

    def _size(self, classes: list[str]) -> None:
        own = [TEXT_SIZES[word] for word in classes if word in TEXT_SIZES]
        if own:
            self.sizes[-1] = own[-1]
        size = self.sizes[-1]
        if not size:
            self._find("unsized-text", "text without a class that gives its size", "use fig-label, fig-letter or fig-symbol")
        elif self.width and size * min(1.0, PHONE_WIDTH / self.width) < LEAST_TEXT:
            widest = size * PHONE_WIDTH / LEAST_TEXT
            self._find(
                "small-text", f"text of {size:g} units in a drawing {self.width:g} wide", f"draw at most {widest:.0f} units wide"
            )

    def _end(self, full: str) -> None:  # noqa: ARG002 (expat hands the name over)
        self.open.pop()
        self.sizes.pop()

    def _text(self, data: str) -> None:
        if len(self.open) == 2 and self.open[-1] in {"title", "desc"}:
            self.words[self.open[-1]] = self.words.get(self.open[-1], "") + data
        elif data.strip() and self.open[-1] in ELEMENTS and not {"text", "title", "desc"} & set(self.open):
            self._find("loose-text", f"the words {data.strip()[:40]!r} stand outside a text", "put them into text, title or desc")

    def _doctype(self, *_: object) -> None:
        self._find("doctype", "a document type or an entity is declared", "take the DOCTYPE out")
        raise UseError("doctype")

    def _instruction(self, target: str, _data: str) -> None:
        self._find("instruction", f"a processing instruction, `{target[:60]}`", "take it out; the look comes from figures.css")

    def _whole(self) -> None:
        for tag, what in (("title", "a name of a few words"), ("desc", "what is to be seen, for someone who cannot see it")):
            if not self.words.get(tag, "").strip():
                self._find(f"no-{tag}", f"no `{tag}`", f"write a `{tag}` right under svg: {what}", 1)
        for line, name in self.wanted:
            if name not in self.ids:
                self._find("lost-reference", f"nothing here is called `{name[:60]}`", "name a pattern of this figure", line)


def _tree(svg: str) -> ElementTree.Element:
    if len(svg) > SIZE_LIMIT or "<!DOCTYPE" in svg or "<!ENTITY" in svg:
        raise UseError("this is no figure of the course: too large, or with a document type")
    try:
        root = ElementTree.fromstring(svg)  # noqa: S314 (no document type, so no entity to expand)
    except (ElementTree.ParseError, ValueError) as error:
        raise UseError(f"not an SVG: {error}") from error
    if root.tag != f"{{{SVG}}}svg":
        raise UseError("not an SVG: the outermost element is another")
    return root


def _written(root: ElementTree.Element) -> str:
    # `default_namespace` refuses attributes without a namespace in some releases; so the tags lose theirs and svg says it once.
    for element in root.iter():
        element.tag = element.tag.removeprefix(f"{{{SVG}}}")
    attributes = dict(root.attrib)
    root.attrib.clear()
    root.set("xmlns", SVG)
    root.attrib.update(attributes)
    return ElementTree.tostring(root, encoding="unicode").strip()


@cache
def _print_look() -> str:
    sheet = resources.files("grader.items").joinpath("figures-print.css").read_text(encoding="utf-8")
    return re.sub(r"/\*.*?\*/", "", sheet, flags=re.DOTALL).strip()
