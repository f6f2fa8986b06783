"""
The mixture curves as one picture: an SVG that a technician reads at a glance, on a desk or a phone, in light or dark.

Colour never speaks alone: each curve has its own mark and its own dashes, and its numbers stand under the points.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from grader.circuits.curves import Curve, Reading, vacuum_sign


@dataclass(frozen=True, slots=True)
class Layout:
    """Where a chart stands: its least width, the margins of the plot, its depth, the least width of a point."""

    width: float
    left: float
    right: float
    top: float
    deep: float
    column: float


SHEET = Layout(560, 62, 54, 104, 300, 74)
"""A picture of its own, with its title and its table."""
PAGE = Layout(417, 34, 42, 34, 250, 54)
"""Set into a page that has title and table beside it: as wide as the figures of a lesson, so that a phone shows it readable."""
BAND = 0.05
"""Half the width of the healthy band: less than this is hardly felt, and is a single sign in a signature."""
LOWEST, HIGHEST = 8.0, 22.0
"""No engine runs beyond; what lies there is drawn at the edge, with its number."""
MARKS = ("circle", "square", "triangle", "diamond", "cross", "wedge", "ring")
DASHES = ("", "9 4", "3 4", "12 4 3 4", "6 3 2 3 2 3")
COLOURS = 6
_KEY = 8

# Six hues that stay apart for all common kinds of colour blindness, each with a lighter one for a dark ground.
_LIGHT = """--ink: #16202b; --paper: #ffffff; --grid: #d5dbe2; --soft: #4c5865; --band: #dbe7f3; --rim: #7d9cbb;
  --c0: #b84c00; --c1: #0067a5; --c2: #00755a; --c3: #a8437f; --c4: #7a5c00; --c5: #5b4bb0;"""
_DARK = """--ink: #eef2f6; --paper: #161a20; --grid: #38414c; --soft: #b3bdc8; --band: #263a4f; --rim: #6f93b8;
  --c0: #ff9a57; --c1: #6cc0ff; --c2: #46d6ae; --c3: #f59bce; --c4: #e6c04d; --c5: #b7aaff;"""
_PRINT = """--ink: #000000; --paper: #ffffff; --grid: #cccccc; --soft: #333333; --band: #e6e6e6; --rim: #777777;
  --c0: #b84c00; --c1: #0067a5; --c2: #00755a; --c3: #a8437f; --c4: #7a5c00; --c5: #5b4bb0;"""
_RULES = """
text { fill: var(--ink); font-family: "Helvetica Neue", Arial, Roboto, "Noto Sans", sans-serif; font-size: 15px; }
.head { font-size: 19px; font-weight: 700; }
.soft { fill: var(--soft); font-size: 14px; }
.num { font-size: 14.5px; font-variant-numeric: tabular-nums; }
.name { font-weight: 700; }
.close { letter-spacing: -0.4px; font-size: 14px; }
.mid { text-anchor: middle; }
.end { text-anchor: end; }
.paper { fill: var(--paper); }
.band { fill: var(--band); stroke: var(--rim); stroke-width: 0.8; }
.grid { stroke: var(--grid); stroke-width: 1; }
.axis { stroke: var(--ink); stroke-width: 1.2; fill: none; }
.even { stroke: var(--soft); stroke-width: 1.2; stroke-dasharray: 2 4; }
.halo { paint-order: stroke; stroke: var(--paper); stroke-width: 4; stroke-linejoin: round; }
.line { fill: none; stroke-width: 2.4; stroke-linejoin: round; }
.well { stroke: var(--ink); }
.thin { stroke: var(--ink); stroke-linecap: round; }
.mark { stroke-width: 2; }
.dot { fill: var(--ink); }
""" + "".join(
    f".s{n} {{ stroke: var(--c{n}); }} .f{n} {{ fill: var(--c{n}); stroke: var(--c{n}); }} .t{n} {{ fill: var(--c{n}); }}\n"
    for n in range(COLOURS)
)
STYLE = f"""
svg {{ {_LIGHT} }}
@media (prefers-color-scheme: dark) {{ svg {{ {_DARK} }} }}
@media print {{ svg {{ {_PRINT} }} }}
{_RULES}"""


def page_style(inside: str, dark: str) -> str:
    """
    The look of charts set into a page: for those in elements that the selector `inside` finds, dark where `dark` does.

    >>> ".a text { fill: var(--ink);" in page_style(".a", ".night .a")
    True
    """
    rules = re.sub(r"([^{}]+)\{", lambda found: f"\n{inside} {found[1].strip()} {{", _RULES)
    return f"{inside} {{ {_LIGHT} }}\n{dark} {{ {_DARK} }}\n@media print {{ {inside}, {dark} {{ {_PRINT} }} }}{rules}\n"


def mixture_chart(name: str, said: str, found: Sequence[Curve], stoichiometric: float, sea_level: Curve | None = None) -> str:
    """
    The mixture at each operating point as an SVG: the healthy band, and a curve for each fault.

    Parameters
    ----------
    name, said : str
        The specimen, and what it works in, as printed.
    found : sequence of Curve
        The healthy one first, see `curves`.
    stoichiometric : float
        The fuel's.
    sea_level : Curve, optional
        The healthy carburetor at sea level, to compare with.
    """
    chart = _Chart(found, stoichiometric, sea_level)
    return chart.svg(name, said)


def page_chart(name: str, mark: str, found: Sequence[Curve], stoichiometric: float, sea_level: Curve | None = None) -> str:
    """
    The same picture to be set into a page, narrow, without style, title and table; see `page_style`.

    `mark` begins the ids inside, so that two on one page are told apart; the rest as for `mixture_chart`.
    """
    return _Chart(found, stoichiometric, sea_level, PAGE).for_page(name, mark)


class _Chart:
    def __init__(self, found: Sequence[Curve], stoichiometric: float, sea_level: Curve | None, layout: Layout = SHEET) -> None:
        self.layout = layout
        self.healthy, self.faults, self.even, self.sea_level = found[0], tuple(found[1:]), stoichiometric, sea_level
        numbers = [r.air_fuel for curve in found for r in curve.readings if math.isfinite(r.air_fuel)] or [14.0]
        normal = [r.air_fuel for r in found[0].readings if math.isfinite(r.air_fuel)] or [14.0]
        # A cold engine is given far more fuel than it burns; the scale goes by what is normal for it.
        lowest = min(LOWEST, math.floor(0.6 * min(normal)))
        inside = [min(max(n, lowest), HIGHEST) for n in (*numbers, min(normal) * (1 - BAND))]
        self.low = max(lowest, min(11.0, math.floor(min(inside) - 0.4)))
        self.high = min(HIGHEST, max(18.0 if max(normal) > stoichiometric else 15.0, math.ceil(max(inside) + 0.4)))
        self.count = len(self.healthy.readings)
        self.width = max(layout.width, layout.left + layout.right + layout.column * self.count)
        self.foot = layout.top + layout.deep
        self.parts: list[str] = []
        self.labels: list[tuple[float, float]] = []

    def x(self, place: int) -> float:
        step = (self.width - self.layout.left - self.layout.right) / self.count
        return self.layout.left + step * (place + 0.5)

    def y(self, mixture: float) -> float:
        inside = min(max(mixture, self.low), self.high)
        return self.layout.top + self.layout.deep * (self.high - inside) / (self.high - self.low)

    def put(self, text: str) -> None:
        self.parts.append(text)

    def words(self, x: float, y: float, text: str, classes: str = "") -> None:
        self.put(f'<text x="{x:.1f}" y="{y:.1f}"{f" class={chr(34)}{classes}{chr(34)}" if classes else ""}>{escape(text)}</text>')

    def svg(self, name: str, said: str) -> str:
        for line, text in enumerate(_broken(said, 72)):
            self.words(16, 49 + 16 * line, text, "soft")
        self._plot()
        height = self._table()
        head = f"{name}: mixture at its operating points"
        told = escape(self._told(said))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {self.width:g} {height:.0f}" '
            f'style="width:100%;max-width:56rem;height:auto" aria-labelledby="t d"><title id="t">{escape(head)}</title>'
            f'<desc id="d">{told}</desc><style>{STYLE}</style><rect class="paper" width="{self.width:g}" height="{height:.0f}"/>'
            f'<text class="head" x="16" y="30">{escape(head)}</text>' + "".join(self.parts) + "</svg>\n"
        )

    def for_page(self, name: str, mark: str) -> str:
        self._plot()
        height = self._key()
        ids = f"{mark}t", f"{mark}d"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {self.width:g} {height:.0f}" '
            f'aria-labelledby="{ids[0]} {ids[1]}"><title id="{ids[0]}">{escape(name)}: mixture at its operating points</title>'
            f'<desc id="{ids[1]}">The numbers stand in the table below the picture.</desc>' + "".join(self.parts) + "</svg>"
        )

    def _plot(self) -> None:
        self._frame()
        self._band()
        self._points()
        for place, curve in enumerate(self.faults):
            self._curve(curve, place)

    def _key(self) -> float:
        """What each line is, a row each; gives where the next would stand."""
        y = self.foot + 62.0
        self._sample(y, "line well", "")
        self.put(f'<circle class="dot" cx="{_KEY + 15}" cy="{y - 5:.1f}" r="3.4"/>')
        self.words(_KEY + 38, y, f"healthy, and {BAND:.0%} to either side".replace("%", " %"))
        if self.sea_level is not None:
            y += 22
            self._sample(y, "line thin", "1 4")
            self.words(_KEY + 38, y, "healthy at sea level")
        y += 22
        self._sample(y, "even", "")
        self.words(_KEY + 38, y, self._even_named())
        for place, curve in enumerate(self.faults):
            y += 22
            self._sample(y, f"line s{place % COLOURS}", DASHES[place % len(DASHES)])
            self.put(_mark(MARKS[place % len(MARKS)], _KEY + 15, y - 5, place % COLOURS))
            self.words(_KEY + 38, y, curve.name)
        return y + 12

    def _even_named(self) -> str:
        return f"stoichiometric, {self.even:g} (lambda 1)"

    def _sample(self, y: float, classes: str, dashes: str) -> None:
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.put(f'<line class="{classes}"{dash} x1="{_KEY}" x2="{_KEY + 30}" y1="{y - 5:.1f}" y2="{y - 5:.1f}"/>')

    def _told(self, said: str) -> str:
        sentences = [said]
        for curve in (self.healthy, *self.faults):
            numbers = ", ".join(f"{r.point} {_shown(r.air_fuel)}" for r in curve.readings)
            sentences.append(f"{curve.name or 'healthy'}: air-fuel ratio {numbers}")
        return ". ".join(sentences) + "."

    def _frame(self) -> None:
        left, right, top = self.layout.left, self.width - self.layout.right, self.layout.top
        step = 1 if self.high - self.low <= 10 else 2
        for mixture in range(math.ceil(self.low), math.floor(self.high) + 1, step):
            y = self.y(mixture)
            self.put(f'<line class="grid" x1="{left:g}" x2="{right:g}" y1="{y:.1f}" y2="{y:.1f}"/>')
            self.words(left - 8, y + 5, str(mixture), "num end")
        self._lambda(right)
        self.put(f'<path class="axis" d="M{left:g} {top:g}V{self.foot:g}H{right:g}V{top:g}"/>')
        self.words(min(16, left - 26), top - 14, "air-fuel ratio: ↑ leaner, ↓ richer")
        self.words(self.width - min(16, left - 30), top - 14, "lambda", "end")

    def _lambda(self, right: float) -> None:
        tenth = math.ceil(self.low / self.even * 10 - 1e-9)
        while tenth / 10 * self.even <= self.high:
            y = self.y(tenth / 10 * self.even)
            self.put(f'<line class="axis" x1="{right}" x2="{right + 5}" y1="{y:.1f}" y2="{y:.1f}"/>')
            self.words(right + 9, y + 5, f"{tenth / 10:.1f}", "num")
            tenth += 1

    def _band(self) -> None:
        solved = [(self.x(place), r.air_fuel) for place, r in enumerate(self.healthy.readings) if math.isfinite(r.air_fuel)]
        if solved:
            over = " ".join(f"{x:.1f},{self.y(mixture * (1 + BAND)):.1f}" for x, mixture in solved)
            under = " ".join(f"{x:.1f},{self.y(mixture * (1 - BAND)):.1f}" for x, mixture in reversed(solved))
            self.put(f'<polygon class="band" points="{over} {under}"/>')
        y = self.y(self.even)
        self.put(
            f'<line class="even" x1="{self.layout.left:g}" x2="{self.width - self.layout.right:g}" y1="{y:.1f}" y2="{y:.1f}"/>'
        )
        if self.sea_level is not None:
            self._line(self.sea_level, "line thin", "1 4")
        self._line(self.healthy, "line well", "")
        for x, mixture in solved:
            self.put(f'<circle class="dot" cx="{x:.1f}" cy="{self.y(mixture):.1f}" r="3.4"/>')

    def _line(self, curve: Curve, classes: str, dashes: str) -> None:
        runs: list[list[str]] = [[]]
        for place, r in enumerate(curve.readings):
            if math.isfinite(r.air_fuel):
                runs[-1].append(f"{self.x(place):.1f},{self.y(r.air_fuel):.1f}")
            else:
                runs.append([])
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        for run in runs:
            if len(run) > 1:
                self.put(f'<polyline class="{classes}"{dash} points="{" ".join(run)}"/>')

    def _curve(self, curve: Curve, place: int) -> None:
        hue = place % COLOURS
        self._line(curve, f"line s{hue}", DASHES[place % len(DASHES)])
        for column, r in enumerate(curve.readings):
            if not math.isfinite(r.air_fuel):
                continue
            x, y = self.x(column), self.y(r.air_fuel)
            self.put(_mark(MARKS[place % len(MARKS)], x, y, hue))
            if not self.low <= r.air_fuel <= self.high:
                self._beyond(x, y, r, hue)

    def _beyond(self, x: float, y: float, r: Reading, hue: int) -> None:
        """The number of a point that lies off the scale, clear of those written there before."""
        up = r.air_fuel > self.high
        at = y + (22 if up else -12)
        while any(abs(x - other) < 50 and abs(at - line) < 15 for other, line in self.labels):
            at += 16 if up else -16
        self.labels.append((x, at))
        self.words(x, at, f"{'↑' if up else '↓'} {_shown(r.air_fuel)}", f"num mid halo t{hue}")

    def _points(self) -> None:
        for place, r in enumerate(self.healthy.readings):
            first, _, second = r.point.partition(" ")
            classes = "mid" if self.layout is SHEET else "mid close"
            self.words(self.x(place), self.foot + 20, first, classes)
            if second:
                self.words(self.x(place), self.foot + 37, second, classes)

    def _table(self) -> float:
        y = self.foot + 62.0
        y = self._row(y, "speed, rev/min", [f"{r.rpm:.0f}" for r in self.healthy.readings])
        y = self._row(y, "vacuum, inHg, healthy", [_shown(r.vacuum_inHg) for r in self.healthy.readings])
        self.put(f'<line class="line well" x1="16" x2="46" y1="{y - 5:.1f}" y2="{y - 5:.1f}"/>')
        self.put(f'<circle class="dot" cx="31" cy="{y - 5:.1f}" r="3.4"/>')
        band = f"healthy; the band is {BAND:.0%} to either side".replace("%", " %")
        y = self._row(y, band, [_shown(r.air_fuel) for r in self.healthy.readings], indent=54, name=True)
        if self.sea_level is not None:
            self.put(f'<line class="line thin" stroke-dasharray="1 4" x1="16" x2="46" y1="{y - 5:.1f}" y2="{y - 5:.1f}"/>')
            cells = [_shown(r.air_fuel) for r in self.sea_level.readings]
            y = self._row(y, "healthy at sea level", cells, indent=54, name=True)
        self.put(f'<line class="even" x1="16" x2="46" y1="{y - 5:.1f}" y2="{y - 5:.1f}"/>')
        self.words(54, y, self._even_named(), "soft")
        y += 29
        for place, curve in enumerate(self.faults):
            hue = place % COLOURS
            dash = DASHES[place % len(DASHES)]
            dashed = f' stroke-dasharray="{dash}"' if dash else ""
            self.put(f'<line class="line s{hue}"{dashed} x1="16" x2="46" y1="{y - 5:.1f}" y2="{y - 5:.1f}"/>')
            self.put(_mark(MARKS[place % len(MARKS)], 31, y - 5, hue))
            y = self._row(y, curve.name, [_noted(r) for r in curve.readings], indent=54, name=True)
            if any(vacuum_sign(r.vacuum_change_inHg) != "0" for r in curve.readings):
                y = self._row(y, "vacuum, inHg, with it", [_shown(r.vacuum_inHg) for r in curve.readings], indent=54)
        readings = [r for curve in self.faults for r in curve.readings]
        notes = ["* starved: the inlet lets in less fuel than the circuits draw"] if any(r.starved for r in readings) else []
        notes += ["† the float does not shut the needle: the bowl floods"] if any(r.flooded for r in readings) else []
        for note in notes:
            self.words(16, y, note, "soft")
            y += 20
        return y - 8

    def _row(self, y: float, label: str, cells: Sequence[str], *, indent: float = 16, name: bool = False) -> float:
        for line in _broken(label, 58):
            self.words(indent, y, line, "name" if name else "soft")
            y += 18
        for place, cell in enumerate(cells):
            self.words(self.x(place), y + 1, cell, "num mid")
        return y + 27


def _broken(label: str, most: int) -> list[str]:
    """A label on lines of so many letters at most, broken at spaces."""
    lines = [""]
    for word in label.split(" "):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _noted(r: Reading) -> str:
    return _shown(r.air_fuel) + ("*" if r.starved else "") + ("†" if r.flooded else "")


def _shown(number: float) -> str:
    return f"{number:.1f}" if math.isfinite(number) else "–"


def _mark(kind: str, x: float, y: float, hue: int) -> str:
    r = 5.0
    if kind == "circle":
        return f'<circle class="mark f{hue}" cx="{x:.1f}" cy="{y:.1f}" r="{r}"/>'
    if kind == "ring":
        return f'<circle class="mark paper s{hue}" cx="{x:.1f}" cy="{y:.1f}" r="{r}"/>'
    shapes = {
        "square": f"M{-r} {-r}h{2 * r}v{2 * r}h{-2 * r}z",
        "triangle": f"M0 {-r - 1}L{r + 1} {r}H{-r - 1}z",
        "diamond": f"M0 {-r - 1.5}L{r + 1.5} 0L0 {r + 1.5}L{-r - 1.5} 0z",
        "wedge": f"M0 {r + 1}L{r + 1} {-r}H{-r - 1}z",
        "cross": f"M{-r} {-r}L{r} {r}M{r} {-r}L{-r} {r}",
    }
    return f'<path class="mark f{hue}" transform="translate({x:.1f} {y:.1f})" d="{shapes[kind]}"/>'
