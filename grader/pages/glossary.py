"""
Terms of the glossary on the site: the first use of each on every page leads to its definition, each definition back to its uses.

A link shows the definition where the pointer, the keyboard or a finger rests on it; the look is in `course.css`, no script is
needed. Never linked are headings, links, code, formulas, figures, drawn tables and practice.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass, field
from functools import lru_cache
from html import escape, unescape

from grader.items.glossary import Finder, Term
from grader.pages.kept import Kept, name_of

SHOWN = 2
"""So many sections that use a term stand in sight below its definition; more of them fold away, or the page would be endless."""

AT_THE_TOP = "at the top"

_TAG = re.compile(r"(<[^>]*>)")
# A formula counts as one tag: half of all tags of a page stand in formulas, and none of them matters here. So does a script, in
# which a formula may begin.
_WHOLE = "|".join(rf"<{name}(?:\s[^>]*[^/>])?>.*?</{name}>" for name in ("math", "script"))
_PART = re.compile(rf"({_WHOLE}|{_TAG.pattern[1:-1]})", re.DOTALL)
_OPENS = re.compile(r"<(?P<name>[a-zA-Z][\w-]*)(?P<rest>[^>]*)>")
_ID = re.compile(r'\bid="(?P<id>[^"]*)"')
_CLASS = re.compile(r'\bclass="(?P<names>[^"]*)"')
_VOID = frozenset({"area", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"})
_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
# What is no running text, or leads somewhere already; elements of our own (with a hyphen) are left alone too.
_CLOSED = _HEADINGS | {"a", "button", "code", "dt", "figure", "label", "math", "nav", "pre", "script", "style"}
_CLOSED |= {"summary", "svg", "th"}
# Blocks that the program draws, and the title over a caution.
_CLOSED_CLASSES = frozenset(
    {"course-relation", "course-worked", "course-table", "course-scroll", "course-name", "course-note", "admonition-title"}
)


@dataclass(frozen=True, slots=True)
class Place:
    """A section of a page that uses a term: where it is, relative to the site, and what it is called."""

    uri: str
    page: str
    heading: str


@dataclass(slots=True)
class Uses:
    """Where each term is used, by its name; a place for each section, in the order of the site."""

    places: dict[str, dict[Place, int]] = field(default_factory=dict)

    def note(self, term: Term, place: Place) -> None:
        """Count a use."""
        found = self.places.setdefault(term.name, {})
        found[place] = found.get(place, 0) + 1


def link_terms(html: str, finder: Finder, up: str, title: str, uri: str, uses: Uses) -> str:
    """
    A page with the first use of each term in running text linked to its definition.

    Parameters
    ----------
    html : str
        The page's content.
    finder : Finder
        The terms.
    up : str
        The way from the page to the top of the site: `../` for each folder.
    title, uri : str
        What the page is called and where it stands, for the way back.
    uses : Uses
        Takes every use, also those that are not linked.

    Examples
    --------
    >>> finder = Finder([Term(("jet",), "A hole.", (1,))])
    >>> print(link_terms('<h2 id="a">Jet</h2><p>Jets, a jet.</p>', finder, "", "Main", "main.html", Uses()))
    ... # doctest: +NORMALIZE_WHITESPACE
    <h2 id="a">Jet</h2><p><span class="course-term" tabindex="-1"><a href="glossary.html#term-jet"
    data-means="A hole.">Jets</a></span>, a jet.</p>
    """
    seen: set[str] = set()
    place = Place(uri, title, "")
    out: list[str] = []
    for text, heading in _pieces(html):
        if heading is not None:
            place = Place(f"{uri}#{heading[0]}", title, heading[1])
            out.append(text)
        elif text.startswith("<"):
            out.append(text)
        else:
            out.append(_linked(text, finder, up, seen, place, uses))
    return "".join(out)


def kept_links(html: str, finder: Finder, uri: str, title: str, uses: Uses, kept: Kept) -> str:
    """A page of the site with its links as `link_terms` sets them, as an earlier build did or now."""
    name = name_of("terms", html, uri, title, _said(finder.terms))

    def made() -> str:
        own = Uses()
        linked = link_terms(html, finder, "../" * uri.count("/"), title, uri, own)
        used = [(term, [(*astuple(place), count) for place, count in own.places[term].items()]) for term in own.places]
        return json.dumps({"html": linked, "uses": used})

    found = json.loads(kept.text(name, made, "terms"))
    for term, places in found["uses"]:
        for *place, count in places:
            noted = uses.places.setdefault(term, {})
            noted[Place(*place)] = noted.get(Place(*place), 0) + count
    return str(found["html"])


@lru_cache(maxsize=8)
def _said(terms: tuple[Term, ...]) -> str:
    return repr(terms)


def _linked(text: str, finder: Finder, up: str, seen: set[str], place: Place, uses: Uses) -> str:
    out, at = [], 0
    for start, written, term in _found(finder, text):
        uses.note(term, place)
        if term.name not in seen:
            seen.add(term.name)
            out += [text[at:start], term_link(term, written, up)]
            at = start + len(written)
    return "".join(out) + text[at:]


def _found(finder: Finder, html: str) -> Iterator[tuple[int, str, Term]]:
    """Each place where a term stands in text as HTML writes it: `&amp;` holds no ampere."""
    for start, written, term in finder.found(html):
        if not (html[start - 1 : start] in {"&", "#"} and html[start + len(written) :].startswith(";")):
            yield start, written, term


def term_link(term: Term, written: str, up: str) -> str:
    """A term as it stands in a page, leading to its definition."""
    return (
        f'<span class="course-term" tabindex="-1"><a href="{up}glossary.html#{term.anchor}" '
        f'data-means="{escape(term.says)}">{written}</a></span>'
    )


def _pieces(html: str) -> Iterator[tuple[str, tuple[str, str] | None]]:
    """
    The page in pieces: running text as it is; whatever else with its tags as one piece that starts with `<`.

    A heading that has an anchor comes with it and its words.
    """
    inside, depth, held = "", 0, list[str]()
    for bit in _PART.split(html):
        opens = _OPENS.fullmatch(bit) if _may_open(bit, inside) else None
        name = opens["name"].lower() if opens else ""
        if inside:
            held.append(bit)
            if name == inside and not bit.endswith("/>"):
                depth += 1
            elif bit == f"</{inside}>":
                depth -= 1
            if not depth:
                yield "".join(held), _heading(inside, held)
                inside, held = "", []
        elif opens and not bit.endswith("/>") and _is_closed(name, opens["rest"]):
            inside, depth, held = name, 1, [bit]
        elif bit:
            yield bit, None
    if held:  # an element that is never closed: as it stands
        yield "".join(held), None


def _may_open(bit: str, inside: str) -> bool:
    """Whether a bit can be a tag that opens: text and what closes cannot, and inside an element only its own kind matters."""
    return bit[:1] == "<" and bit[1:2] != "/" and bit[1 : len(inside) + 1].lower() == inside


def _is_closed(name: str, rest: str) -> bool:
    if name in _VOID:
        return False
    found = _CLASS.search(rest)
    return name in _CLOSED or "-" in name or (found is not None and not _CLOSED_CLASSES.isdisjoint(found["names"].split()))


def _heading(name: str, held: Sequence[str]) -> tuple[str, str] | None:
    anchor = _ID.search(held[0])
    if name not in _HEADINGS or anchor is None:
        return None
    words = "".join(_without_permalink(_TAG.split("".join(held[1:-1]))))
    return anchor["id"], " ".join(unescape(words).split())


def _without_permalink(bits: Iterable[str]) -> Iterator[str]:
    inside = False
    for bit in bits:
        if "headerlink" in bit:
            inside = True
        if not inside and not bit.startswith("<"):
            yield bit
        inside = inside and bit != "</a>"


def with_anchors(markdown: str, terms: Sequence[Term], first_line: int) -> str:
    """
    The glossary's Markdown with the anchor of each term on the line of its first name, and without what it is not.

    >>> with_anchors("jet\\n:   A hole.", [Term(("jet",), "A hole.", (5,))], 5)
    'jet {#term-jet}\\n:   A hole.'
    """
    rows = markdown.split("\n")
    for term in terms:
        place = term.line - first_line
        if 0 <= place < len(rows):
            rows[place] = f"{rows[place].rstrip()} {{#{term.anchor}}}"
    beside = {line - first_line for term in terms for line in term.beside}
    return "\n".join(row for place, row in enumerate(rows) if place not in beside)


_ENTRY = re.compile(r'(?P<term><dt id="(?P<anchor>term-[^"]*)">.*?)(?P<meaning><dd>)(?P<says>.*?)(?P<end></dd>)', re.DOTALL)


def set_glossary(html: str, finder: Finder, uses: Uses) -> str:
    """The glossary's page: terms within definitions linked, and below each definition where it is used."""
    by_anchor: Mapping[str, Term] = {term.anchor: term for term in finder.terms}

    def entry(found: re.Match[str]) -> str:
        term = by_anchor.get(found["anchor"])
        if term is None:
            return found[0]
        says = _linked_definition(found["says"], term, finder)
        return f"{found['term']}{found['meaning']}{says}{_used(uses.places.get(term.name, {}))}{found['end']}"

    return _ENTRY.sub(entry, html)


def _linked_definition(says: str, term: Term, finder: Finder) -> str:
    """Each other term of a definition leads to its own, without a tooltip: it stands on the same page."""
    out, at = [], 0
    seen = {term.name}
    if "<" in says.replace("<p>", "").replace("</p>", ""):
        return says
    for start, written, other in _found(finder, says):
        if other.name not in seen:
            seen.add(other.name)
            out += [says[at:start], f'<a class="course-also" href="#{other.anchor}">{written}</a>']
            at = start + len(written)
    return "".join(out) + says[at:]


def _used(places: Mapping[Place, int]) -> str:
    """The sections that use a term, page by page in the order of the site."""
    if not places:
        return ""
    if len(places) <= SHOWN:
        return f'<div class="course-uses" data-search-exclude>{_listed(places)}</div>'
    summary = f"<summary>Used in {len(places)} sections</summary>"
    return f'<details class="course-uses" data-search-exclude>{summary}{_listed(places)}</details>'


def _listed(places: Iterable[Place]) -> str:
    pages: dict[str, list[Place]] = {}
    for place in places:
        pages.setdefault(place.page, []).append(place)
    rows = (f"<li>{escape(name)}: {' '.join(map(_link, found))}</li>" for name, found in pages.items())
    return f"<ul>{''.join(rows)}</ul>"


def _link(place: Place) -> str:
    return f'<a href="{escape(place.uri)}">{escape(place.heading or AT_THE_TOP)}</a>'
