"""A figure as a candidate may see it: at one scale, without its own words on what it shows; only the question's `alt` speaks."""

from __future__ import annotations

import re

from grader.base.errors import UseError
from grader.items.figures import for_page

WORDS = 14.0  # how high a figure's words are, in its own units

_SAID = re.compile(r"<(title|desc)\b[^>]*?(?:/>|>.*?</\1\s*>)|<!--.*?-->", re.DOTALL)
_BOX = re.compile(r"""\bviewBox\s*=\s*["']\s*[-\d.]+[\s,]+[-\d.]+[\s,]+([\d.]+)[\s,]+([\d.]+)\s*["']""")


def bare(svg: str) -> str:
    """
    An SVG without title, description and notes: those were written for the lesson and may give the answer away.

    >>> bare('<svg><title>Stuck check</title><desc>The ball sticks.</desc><g/></svg>')
    '<svg><g/></svg>'
    """
    return _SAID.sub("", svg)


def on_screen(svg: str, prefix: str) -> str:
    """
    A figure for an answer sheet, its ids its own, silent to a screen reader: the page says its `alt`.

    >>> on_screen('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>Jet</title></svg>', "q3")
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" aria-hidden="true" focusable="false" />'
    """
    return for_page(bare(svg), prefix).replace('role="img"', 'aria-hidden="true" focusable="false"', 1)


def figure_width(svg: str, letter: float, widest: float, highest: float | None = None) -> float:
    """
    How wide a figure is set so that its words stand `letter` high; narrower where it would not fit.

    Parameters
    ----------
    letter, widest, highest : float
        The height of words, the greatest width and the greatest height (the same, if left out), in the unit of the result.

    Examples
    --------
    >>> figure_width('<svg viewBox="0 0 400 200">', 0.28, 16), figure_width('<svg viewBox="0 0 400 1200">', 0.28, 16)
    (8.0, 5.333)
    """
    box = _BOX.search(svg)
    if box is None or float(box[1]) <= 0 or float(box[2]) <= 0:
        raise UseError("a figure has no viewBox; give one, so that its size on paper is known")
    width, height = float(box[1]), float(box[2])
    return round(min(width * letter / WORDS, widest, (highest or widest) * width / height), 3)
