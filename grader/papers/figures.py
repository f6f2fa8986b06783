"""
Figures on paper: an SVG with the classes' rules put into it, in the light look, and its size on the page.

On screen the rules stand in the page. Typst's SVG reader knows plain rules with plain colours only, so the custom properties are
worked out first and what depends on the screen (`@media`) is left out.
"""

from __future__ import annotations

import re
from functools import cache

from grader.base.errors import UseError

FACE = "Libertinus Serif"

_MEDIA = re.compile(r"@[\w-]+[^{;]*\{(?:[^{}]|\{[^{}]*\})*\}|@[\w-]+[^{;]*;")
_NOTE = re.compile(r"/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_CUSTOM = re.compile(r"(--[\w-]+)\s*:\s*([^;]+)")
_USE = re.compile(r"var\(\s*(--[\w-]+)\s*(?:,\s*([^()]*))?\)")
_OPEN = re.compile(r"<svg\b[^>]*>")
_WORDS = re.compile(r"<(title|desc)\b[^>]*?(?:/>|>.*?</\1\s*>)|<!--.*?-->", re.DOTALL)
_ID = re.compile(r"""(\bid=["']|url\(["']?#|href=["']#)([\w.:-]+)""")
_FACE = re.compile(r"font-family\s*:[^;}]*")
_BOX = re.compile(r"""\bviewBox\s*=\s*["']\s*([-\d.eE]+)[\s,]+([-\d.eE]+)[\s,]+([-\d.eE]+)[\s,]+([-\d.eE]+)\s*["']""")


@cache
def plain_rules(style: str) -> str:
    """
    The rules of a style sheet with custom properties worked out, in the light look.

    >>> plain_rules(":root { --ink: #123; } @media (prefers-color-scheme: dark) { :root { --ink: #fff; } } .fig-line { stroke: var(--ink); }")
    '.fig-line { stroke: #123; }'
    """
    plain = _MEDIA.sub("", _NOTE.sub("", style))
    rules = [(selector.strip(), body.strip()) for selector, body in _RULE.findall(plain)]
    custom: dict[str, str] = {}
    for _, body in rules:
        for name, value in _CUSTOM.findall(body):
            custom.setdefault(name, value.strip())  # the first is the light look; a theme's dark one comes later

    def worked(match: re.Match[str]) -> str:
        return custom.get(match[1], (match[2] or "").strip())

    lines = []
    for selector, body in rules:
        kept = [part.strip() for part in body.split(";") if part.strip() and not part.strip().startswith("--")]
        for _ in range(4):  # a property may lean on another
            kept = [_USE.sub(worked, part) for part in kept]
        if kept:
            lines.append(f"{selector} {{ {'; '.join(kept)}; }}")
    return "\n".join(lines)


def styled(svg: str, style: str) -> str:
    """
    An SVG that carries its own look.

    >>> styled('<svg viewBox="0 0 4 2"><path class="fig-line"/></svg>', ".fig-line { stroke: #123; }")
    '<svg viewBox="0 0 4 2"><style>.fig-line { stroke: #123; }</style><path class="fig-line"/></svg>'
    """
    opening = _OPEN.search(svg)
    if opening is None:
        raise UseError("a figure is no SVG; it must begin with <svg")
    rules = _FACE.sub(f'font-family: "{FACE}"', plain_rules(style))  # the one face that a paper is set in
    return f"{svg[: opening.end()]}<style>{rules}</style>{svg[opening.end() :]}" if rules else svg


def bare(svg: str) -> str:
    """
    An SVG without its own words on what it shows: on a paper only the question's `alt` may speak, which gives nothing away.

    >>> bare('<svg><title>Stuck check</title><desc>The ball sticks.</desc><g/></svg>')
    '<svg><g/></svg>'
    """
    return _WORDS.sub("", svg)


def own_ids(svg: str, mark: str) -> str:
    """
    An SVG whose ids bear a mark, so that the same figure can stand in a page twice.

    >>> own_ids('<svg><g id="a"/><path fill="url(#a)"/><use href="#a"/></svg>', "q3")
    '<svg><g id="q3-a"/><path fill="url(#q3-a)"/><use href="#q3-a"/></svg>'
    """
    return _ID.sub(lambda match: f"{match[1]}{mark}-{match[2]}", svg)


def figure_width(svg: str, widest: float, highest: float) -> float:
    """
    How wide a figure is set so that it fits into a width and a height, in the same unit.

    >>> figure_width('<svg viewBox="0 0 400 200">', 12, 6.5), figure_width('<svg viewBox="0 0 100 200">', 12, 6.5)
    (12.0, 3.25)
    """
    box = _BOX.search(svg)
    if box is None or float(box[3]) <= 0 or float(box[4]) <= 0:
        raise UseError("a figure has no viewBox; give one, so that its size on paper is known")
    return round(min(widest, highest * float(box[3]) / float(box[4])), 3)
