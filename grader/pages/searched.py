"""
The theme's search made quick: what it finds on a page is kept, and what it passes over is out of its way.

It reads each page tag by tag in plain Python, also what it then leaves out: the practice, the formulas, the explorers; and of
what it finds words in, every tag of a formula or a table and every stroke of a drawing. Of the theme's own only this is used: its
plugin has a `search_index` with a list of `entries`. Where that is not so, it works as ever.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.pages import Page as SitePage
from mkdocs.structure.toc import AnchorLink

from grader.pages.kept import Kept, name_of

EVENT = "page_context"

_EXCLUDED = re.compile(r"<(?P<tag>[a-z][a-z-]*)\b[^>]*\sdata-search-exclude(?:=\"\")?(?=[\s>])[^>]*>.*?</(?P=tag)>", re.DOTALL)
_TOUCHING = re.compile(
    r"</(?:t[hdr]|thead|tbody|caption|summary|d[td])>(?=<[a-z])|</(?:table|figcaption)>(?=<)|</svg>(?=<figcaption\b)"
)
_FORMULA = re.compile(r"<math\b[^>]*>(?P<inside>.*?)</math>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_STROKES = re.compile(r"(?<=>)(?:\s*<(?:path|circle|ellipse|rect|line|polyline|polygon|use)\b[^>]*/>)+")

_PASSED = r"</?(?:b|em|span|strong|table|tbody|t[dhr]|thead|wbr)(?=[\s/>])[^>]*>"
# Tags that the search passes over, with the space that stands alone beside or between them.
_RUN = re.compile(rf"(?:(?<=>)\s+)?{_PASSED}(?:\s*{_PASSED})*(?:\s+(?=<|\Z))?")
_SPACE = re.compile(r"(?:^|>)\s+(?:<|$)")
_APART = "<!---->"
# Where this stands the tags count: they may be what is left out, stand where space counts, or end the section of a heading.
_TAGS_COUNT = re.compile(r"data-search-exclude|linenodiv|<pre\b|<(?:span|t[dh])\b[^>]*>\s*<h[1-6]\b")


def quicken(config: MkDocsConfig, kept: Kept) -> None:
    """Put the kept entries between the pages and the search."""
    acts = config.plugins.events[EVENT]
    for place, act in enumerate(acts):
        if isinstance(_entries(act), list):
            acts[place] = _quick(act, kept)


def _entries(act: Callable[..., Any]) -> Any:
    index = getattr(getattr(act, "__self__", None), "search_index", None)
    return getattr(index, "entries", None)


def _quick(act: Callable[..., Any], kept: Kept) -> Callable[..., Any]:
    def quick(context: Any, *, page: SitePage, **rest: Any) -> Any:
        entries, whole = _entries(act), page.content or ""
        name = name_of("search", whole, page.url, str(page.title), repr(page.meta), repr(_anchors(page.toc.items)))
        found = kept.find(name)
        if found is not None:
            entries += json.loads(found)
            return context
        before = len(entries)
        page.content = flattened(without_excluded(whole))
        context = act(context, page=page, **rest)
        page.content = whole
        kept.keep(name, json.dumps(entries[before:]), "search")
        return context

    return quick


def _anchors(links: list[AnchorLink]) -> list[Any]:
    """What the search takes from a page's contents."""
    return [(link.id, link.url, _anchors(link.children)) for link in links]


def without_excluded(html: str) -> str:
    """
    A page without what the search passes over; an element with another of its kind inside stays.

    >>> without_excluded('<p>Jet.</p><div data-search-exclude>9</div><p>Rod.</p>')
    '<p>Jet.</p><p>Rod.</p>'
    """
    return _EXCLUDED.sub(lambda found: found[0] if f"<{found['tag']}" in found[0][1:] else "", html)


def flattened(html: str) -> str:
    """
    A page with the words of its formulas, drawings and tables only: to the search their tags say nothing.

    >>> flattened('<p>So <math><mi>A</mi><mo>=</mo><mn>2</mn></math>.</p><svg> <path d="M0 0"/> <text>jet</text></svg>')
    '<p>So A=2.</p><svg>\\n <text>jet</text></svg>'
    >>> flattened("<div><table>\\n<tr>\\n<th>jet</th>\\n<td><b>0.095</b> in</td></tr></table></div>")
    '<div> <!---->jet 0.095 in</div>'
    """
    words = _FORMULA.sub(lambda found: _TAG.sub("", found["inside"]), html)
    words = _STROKES.sub(lambda found: "\n" if found[0][0].isspace() else "", words)
    return words if _TAGS_COUNT.search(words) else _RUN.sub(_space_of, words)


def _space_of(run: re.Match[str]) -> str:
    """The space that a run of tags comes to; held apart from text that only begins or ends there, as the tags held it."""
    if _SPACE.search(run[0]) is None:
        return ""
    text_before = run.string[max(run.start() - 1, 0) : run.start()] not in {"", ">"}
    text_after = run.string[run.end() : run.end() + 1] not in {"", "<"}
    if text_before == text_after:
        return " "
    return f"{_APART} " if text_before else f" {_APART}"


def apart(html: str) -> str:
    """
    A page with a line end after cells, rows, captions and summaries that touch the next, or the search would run them together.

    >>> apart("<tr><th>Symbol</th><th>Unit</th></tr>")
    '<tr><th>Symbol</th>\\n<th>Unit</th></tr>'
    """
    return _TOUCHING.sub(r"\g<0>\n", html)
