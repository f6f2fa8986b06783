"""What an instrument is: its scales, how far each can be read, and how it is drawn with a reading."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from grader.base.errors import UseError

NOISE = 1e-9
"""Part of the scale's length by which a reading may miss it or its grid: readings come through SI and back as floats."""


@dataclass(frozen=True)
class Scale:
    """
    One scale of an instrument; all numbers in its unit.

    Parameters
    ----------
    name : str
        What a bank calls it.
    unit : str
        A name of `base.quantities`.
    least, greatest : Fraction
        The ends of what may be read on it.
    division : Fraction
        From one line to the next.
    resolution : Fraction
        The step of what a technician reads from it.
    within : Fraction
        How far an answer may be from the reading and count; on the bound counts.
    says : str
        The marking rule in words, a clause that begins with a small letter.
    readings : tuple of Fraction
        Every reading there is, rising, where they do not lie evenly; else empty.
    """

    name: str
    unit: str
    least: Fraction
    greatest: Fraction
    division: Fraction
    resolution: Fraction
    within: Fraction
    says: str
    readings: tuple[Fraction, ...] = ()

    def holds(self, reading: float) -> bool:
        """Whether a reading lies on the scale, its ends among it; what is not a number, or endless, does not."""
        slack = NOISE * float(self.greatest - self.least)
        return float(self.least) - slack <= reading <= float(self.greatest) + slack

    def nearest(self, reading: float) -> Fraction:
        """The reading of the scale's grid that is nearest: a whole number of steps of `resolution`, or one of `readings`."""
        exact = Fraction(reading)
        if self.readings:
            return min(self.readings, key=lambda one: abs(one - exact))
        return round(exact / self.resolution) * self.resolution

    def readable(self, reading: float) -> bool:
        """
        Whether a reading lies on the scale and on its grid, so that it can be read off without guessing.

        >>> inches = Scale("inch", "in", *map(Fraction, ("0", "1", "1/64", "1/64", "1/128")), "read to the nearest line")
        >>> inches.readable(29 / 64), inches.readable(0.45), inches.readable(65 / 64)
        (True, False, False)
        """
        if not self.holds(reading):
            return False
        return abs(float(self.nearest(reading)) - reading) <= NOISE * float(self.greatest - self.least)


@dataclass(frozen=True)
class Instrument:
    """
    An instrument: its `kind` as a bank calls it, what it `says` it is for, its `scales` by name, and its drawing.

    `draw(scale, reading)` takes the reading in the scale's unit and gives the text of a figure that `items.figures.check_figure`
    passes as `file_of(kind)`; the same reading gives the same bytes. Its title and description say how the scale is divided,
    never the reading. Raises `UseError` for a reading that the scale does not hold.
    """

    kind: str
    says: str
    scales: Mapping[str, Scale]
    draw: Callable[[Scale, float], str]


def name_of(kind: str) -> str:
    """
    What the ids of an instrument's drawing begin with.

    >>> name_of("vacuum gauge")
    'instrument-vacuum-gauge'
    """
    return "instrument-" + kind.replace(" ", "-")


def file_of(kind: str) -> str:
    """
    What an instrument's drawing would be called as a figure of the course.

    >>> file_of("vacuum gauge")
    'figures/instrument-vacuum-gauge.svg'
    """
    return f"figures/{name_of(kind)}.svg"


def on_scale(kind: str, scale: Scale, reading: float) -> float:
    """
    The reading, brought on to the scale where it misses an end by the noise of a float.

    Raises `UseError` naming instrument, scale, value and range where the scale does not hold it.

    >>> inches = Scale("inch", "in", *map(Fraction, ("0", "1", "1/64", "1/64", "1/128")), "read to the nearest line")
    >>> on_scale("steel rule", inches, 1.25)
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: steel rule, scale `inch`: 1.25 in is not on it; it goes from 0 to 1 in
    """
    if not scale.holds(reading):
        ends = f"{float(scale.least):g} to {float(scale.greatest):g} {scale.unit}"
        raise UseError(f"{kind}, scale `{scale.name}`: {reading:.9g} {scale.unit} is not on it; it goes from {ends}")
    return min(max(float(reading), float(scale.least)), float(scale.greatest))
