"""
Roots of many equations at once, each held between two ends: a plain halving to check by, and a fast method.

Neither gives a number that has not settled. Where the ends do not hold a root, the answer is NaN.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Method = Literal["fast", "reference"]

HALVINGS = 60
STEPS = 40
TOLERANCE = 4e-15
"""Width of a settled bracket over abs(x) + 1. So fine because a flow that has just begun goes with the root of its pressure."""


class Equation(Protocol):
    """Many equations f(x) = 0, one an element, each falling or level; `take` gives those at some places, as a flat array."""

    def __call__(self, x: Array) -> Array:
        """The left sides at x."""

    def take(self, places: NDArray[Any]) -> Equation:
        """The equations at these places, flat."""


def roots(equation: Equation, low: Array, high: Array, method: Method = "fast") -> Array:
    """
    The root of each equation between its ends, NaN where f is not >= 0 at the lower end and <= 0 at the upper.

    Parameters
    ----------
    equation : Equation
        Falling or level in x.
    low, high : arrays of one shape
        The ends.
    method : {"fast", "reference"}
        Chandrupatla's bracketed inverse-quadratic method, or 60 halvings.

    Examples
    --------
    >>> from grader.circuits.solving import Plain
    >>> root = roots(Plain(lambda x: 2 - x * x), np.array([0.0, 2.0]), np.array([2.0, 3.0]))
    >>> [round(float(r), 12) for r in root]
    [1.414213562373, nan]
    """
    with np.errstate(all="ignore"):  # a point that overflows is NaN, and refused as such
        at_low, at_high = equation(low), equation(high)
        held = (at_low >= 0) & (at_high <= 0)
        reference = method == "reference"
        found = halved(equation, low, high) if reference else chandrupatla(equation, low, high, at_low, at_high)
        return np.where(held, found, np.nan)


def halved(equation: Equation, low: Array, high: Array, halvings: int = HALVINGS) -> Array:
    """
    The root by halving alone: slow, and hard to get wrong.

    >>> round(float(halved(Plain(lambda x: 2 - x * x), np.array([0.0]), np.array([2.0]))[0]), 12)
    1.414213562373
    """
    low, high = np.array(low), np.array(high)
    for _ in range(halvings):
        middle = (low + high) / 2
        above = equation(middle) > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return (low + high) / 2


class Plain:
    """A function of x alone as an equation."""

    def __init__(self, function: Callable[[Array], Array]) -> None:
        self.function = function

    def __call__(self, x: Array) -> Array:
        """The function at x."""
        return np.asarray(self.function(x))

    def take(self, _places: NDArray[Any]) -> Plain:
        """Itself: it is the same everywhere."""
        return self


def chandrupatla(equation: Equation, low: Array, high: Array, at_low: Array, at_high: Array) -> Array:
    """
    The root by inverse quadratic interpolation where that is safe, halving where it is not, until the bracket is below
    `TOLERANCE` (abs(x) + 1).

    What has not settled after 40 steps (a kink just at the root) is halved to the end, so that no number is ever half-found.

    Source: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145, from memory; tests hold it to the halving.
    """
    shape = low.shape
    work = _Brackets(equation.take(np.ones(shape, dtype=bool)), low.ravel(), high.ravel(), at_low.ravel(), at_high.ravel())
    for _ in range(STEPS):
        work.step()
        if work.finished():
            break
    return work.answer().reshape(shape)


class _Brackets:
    """The brackets of many roots; those that have settled are put aside once they are the greater part."""

    def __init__(self, equation: Equation, low: Array, high: Array, at_low: Array, at_high: Array) -> None:
        self.equation = equation
        self.a, self.b, self.fa, self.fb = high, low, at_high, at_low
        self.t = np.full(low.shape, 0.5)
        self.found = np.full(low.shape, np.nan)
        self.places = np.arange(low.size)
        self.open = np.isfinite(at_low) & np.isfinite(at_high) & (at_low >= 0) & (at_high <= 0)
        self._put_aside()

    def step(self) -> None:
        """One new x in each bracket, and what it says about the next."""
        a, b, fa, fb = self.a, self.b, self.fa, self.fb
        x = a + self.t * (b - a)
        f = self.equation(x)
        same = (f > 0) == (fa > 0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        width = np.abs(b - x)
        best = np.where(np.abs(f) < np.abs(fb), x, b)
        tolerance = TOLERANCE * (np.abs(best) + 1)
        self.a, self.b, self.fa, self.fb = x, b, f, fb
        self.open = (width > tolerance) & (f != 0) & (fb != 0)
        self.t = _next(x, b, c, f, fb, fc, np.minimum(0.5, 0.5 * tolerance / np.maximum(width, 1e-300)))
        self.best = best

    def finished(self) -> bool:
        """Whether all have settled; puts aside those that have, now and then."""
        left = int(np.count_nonzero(self.open))
        if left == 0 or left < 0.7 * self.open.size:
            self._put_aside()
        return left == 0

    def _put_aside(self) -> None:
        done, kept = ~self.open, self.open
        if done.any():
            best = np.where(np.abs(self.fa) < np.abs(self.fb), self.a, self.b)
            self.found[self.places[done]] = best[done]
            self.equation = self.equation.take(kept)
            self.places, self.t = self.places[kept], self.t[kept]
            self.a, self.b, self.fa, self.fb = self.a[kept], self.b[kept], self.fa[kept], self.fb[kept]
            self.open = self.open[kept]

    def answer(self) -> Array:
        """Every root."""
        if self.places.size:
            low, high = np.where(self.fa > 0, self.a, self.b), np.where(self.fa > 0, self.b, self.a)
            self.found[self.places] = halved(self.equation, low, high)
        return self.found


def _next(a: Array, b: Array, c: Array, fa: Array, fb: Array, fc: Array, least: Array) -> Array:
    """Where in the bracket, as a share of it, the next x lies."""
    with np.errstate(all="ignore"):
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        safe = (phi * phi < xi) & ((1 - phi) * (1 - phi) < 1 - xi)
        curve = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        t = np.where(safe, curve, 0.5)
    return np.minimum(np.maximum(t, least), 1 - least)
