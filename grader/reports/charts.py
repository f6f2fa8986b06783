"""Charts as SVG for screen, screen reader, printer and colour-blind eyes; the report sets the table behind beside each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

WIDTH = 640
ROW = 26
LABEL = 170


def bars(title: str, shares: Mapping[str, float], *, cut: float | None = None) -> str:
    """
    Horizontal bars of percentages, the number beside each, and a line at the cut.

    Parameters
    ----------
    title : str
        What is shown, for a screen reader.
    shares : mapping
        Label to percent, 0 to 100.
    cut : float, optional
        A percentage to draw a line at.

    Examples
    --------
    >>> "62.5" in bars("Percent by circuit", {"power": 62.5})
    True
    """
    height = ROW * len(shares) + 30
    reach = WIDTH - LABEL - 70
    said = ", ".join(f"{name} {share:.1f} %" for name, share in shares.items())
    parts = [_open(title, said, height)]
    for row, (name, share) in enumerate(shares.items()):
        top = row * ROW
        parts.append(f'<text class="name" x="{LABEL - 10}" y="{top + 17}" text-anchor="end">{escape(name)}</text>')
        parts.append(f'<rect class="track" x="{LABEL}" y="{top + 5}" width="{reach}" height="{ROW - 10}" rx="2"/>')
        parts.append(
            f'<rect class="bar" x="{LABEL}" y="{top + 5}" width="{reach * share / 100:.1f}" height="{ROW - 10}" rx="2"/>'
        )
        parts.append(f'<text class="value" x="{LABEL + reach + 8}" y="{top + 17}">{share:.1f} %</text>')
    foot = ROW * len(shares)
    if cut is not None:
        x = LABEL + reach * cut / 100
        parts.append(f'<line class="cut" x1="{x:.1f}" x2="{x:.1f}" y1="0" y2="{foot + 6}"/>')
        parts.append(f'<text class="value" x="{x:.1f}" y="{foot + 22}" text-anchor="middle">cut {cut:g} %</text>')
    return "".join([*parts, "</svg>"])


def histogram(title: str, percents: Sequence[float], *, cut: float | None = None, step: int = 10) -> str:
    """
    How many candidates reached how many percent, in steps; the last step includes 100.

    >>> "2 candidates from 60 to 70" in histogram("Distribution", [61, 65.0, 100])
    True
    """
    counts = distribution(percents, step)
    tallest = max([*counts.values(), 1])
    height, base, left = 220, 170, 40
    width = (WIDTH - 2 * left) / len(counts)
    said = ", ".join(f"{n} candidate{'s' if n != 1 else ''} from {low} to {low + step}" for low, n in counts.items() if n)
    parts = [_open(title, said or "no candidate", height)]
    for place, (low, number) in enumerate(counts.items()):
        x, tall = left + place * width, 130 * number / tallest
        parts.append(f'<rect class="bar" x="{x + 2:.1f}" y="{base - tall:.1f}" width="{width - 4:.1f}" height="{tall:.1f}"/>')
        if number:
            parts.append(
                f'<text class="value" x="{x + width / 2:.1f}" y="{base - tall - 6:.1f}" text-anchor="middle">{number}</text>'
            )
        parts.append(f'<text class="tick" x="{x:.1f}" y="{base + 18}" text-anchor="middle">{low}</text>')
    parts.append(f'<text class="tick" x="{WIDTH - left}" y="{base + 18}" text-anchor="middle">100</text>')
    parts.append(f'<line class="axis" x1="{left}" x2="{WIDTH - left}" y1="{base}" y2="{base}"/>')
    parts.append(f'<text class="tick" x="{WIDTH / 2}" y="{base + 42}" text-anchor="middle">percent of the paper</text>')
    if cut is not None:
        x = left + (WIDTH - 2 * left) * cut / 100
        parts.append(f'<line class="cut" x1="{x:.1f}" x2="{x:.1f}" y1="15" y2="{base}"/>')
        parts.append(f'<text class="value" x="{x:.1f}" y="11" text-anchor="middle">cut {cut:g} %</text>')
    return "".join([*parts, "</svg>"])


def distribution(percents: Sequence[float], step: int = 10) -> dict[int, int]:
    """
    How many lie in each step of percent, by the step's lower end.

    >>> distribution([0, 9.9, 10, 100])[0], distribution([100])[90]
    (2, 1)
    """
    counts = dict.fromkeys(range(0, 100, step), 0)
    for percent in percents:
        counts[min(int(percent // step) * step, 100 - step)] += 1
    return counts


def _open(title: str, said: str, height: int) -> str:
    return (
        f'<svg class="chart" role="img" viewBox="0 0 {WIDTH} {height}" aria-label="{escape(title)}: {escape(said)}">'
        f"<title>{escape(title)}</title>"
    )
