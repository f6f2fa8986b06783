"""Figures as they stand in a page: inline, so that they take the page's light or dark look, with ids that no other figure has."""

from __future__ import annotations

import re
from html import escape

_ID = re.compile(r'\bid="([^"]+)"')
_PROLOG = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<!--.*?-->", re.DOTALL)
_HREF = re.compile(r'\b((?:xlink:)?href)="#([^"]+)"')
_URL = re.compile(r"url\(#([^)]+)\)")
_IDS = re.compile(r'\b(aria-labelledby|aria-describedby)="([^"]+)"')


def inline_svg(svg: str, mark: str) -> str:
    """
    An SVG without its prolog, every id and every reference to one marked, so that two figures of a page never share an id.

    >>> inline_svg('<?xml version="1.0"?><svg><g id="rod"/><use href="#rod" fill="url(#rod)"/></svg>', "f1")
    '<svg><g id="f1-rod"/><use href="#f1-rod" fill="url(#f1-rod)"/></svg>'
    """
    plain = _PROLOG.sub("", svg).strip()
    plain = _HREF.sub(rf'\1="#{mark}-\2"', plain)
    plain = _URL.sub(rf"url(#{mark}-\1)", plain)
    plain = _IDS.sub(lambda m: f'{m[1]}="{" ".join(f"{mark}-{name}" for name in m[2].split())}"', plain)
    return _ID.sub(rf'id="{mark}-\1"', plain)


def figure_html(svg: str, mark: str, caption: str = "") -> str:
    """
    A figure of a lesson with its caption below.

    >>> figure_html("<svg/>", "f1", "A jet & a rod")
    '<figure class="course-figure"><svg/><figcaption>A jet &amp; a rod</figcaption></figure>'
    """
    below = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    return f'<figure class="course-figure">{inline_svg(svg, mark)}{below}</figure>'
