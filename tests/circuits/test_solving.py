"""Roots held between two ends: the fast method against plain halving and against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from grader.circuits.solving import Array, Method, Plain, halved, roots


def test_the_root_of_a_known_equation() -> None:
    # The book's cubic x^3 - 2x - 5 (Wallis, 1685), turned round to fall: 2.0945514815 (from memory).
    for method in ("fast", "reference"):
        found = roots(Plain(lambda x: -(x**3 - 2 * x - 5)), np.array([0.0]), np.array([3.0]), method)
        assert found[0] == pytest.approx(2.0945514815423265, abs=1e-12)


@settings(max_examples=80)
@given(
    at=st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=30),
    power=st.sampled_from([0.2, 0.5, 1.0, 3.0]),
    below=st.floats(0.1, 1e5),
    above=st.floats(0.1, 1e5),
)
def test_both_methods_find_roots_of_steep_and_flat_equations(at: list[float], power: float, below: float, above: float) -> None:
    root = np.array(at)

    class Falling:
        """A root at `root` with a slope there of nothing or without end."""

        def __init__(self, where: Array) -> None:
            self.where = where

        def __call__(self, x: Array) -> Array:
            return np.asarray(-np.sign(x - self.where) * np.abs(x - self.where) ** power)

        def take(self, places: Array) -> Falling:
            return Falling(self.where[places])

    methods: tuple[Method, ...] = ("fast", "reference")
    for method in methods:
        found = roots(Falling(root), root - below, root + above, method)
        assert np.all(np.abs(found - root) <= 3e-12 * (np.abs(root) + 1))


@given(shift=st.floats(-0.9, 0.9))
def test_the_fast_method_agrees_with_scipy(shift: float) -> None:
    found = roots(Plain(lambda x: np.cos(x) - x - shift), np.array([-3.0]), np.array([3.0]))[0]
    assert found == pytest.approx(brentq(lambda x: np.cos(x) - x - shift, -3, 3, xtol=1e-14), abs=1e-11)


def test_what_the_ends_do_not_hold_is_not_a_number() -> None:
    below, above = np.array([0.0, 2.0, np.nan]), np.array([1.0, 3.0, 1.0])
    for method in ("fast", "reference"):
        assert np.all(np.isnan(roots(Plain(lambda x: 1.5 - x), below, above, method)))


def test_an_equation_that_is_level_gives_a_place_where_it_is_nothing() -> None:
    found = roots(Plain(lambda x: np.where(x < 1, 1 - x, np.where(x > 2, 2 - x, 0.0))), np.array([-5.0]), np.array([9.0]))
    assert 1 - 1e-9 <= found[0] <= 2 + 1e-9


def test_a_jump_is_found_like_a_root() -> None:
    found = roots(Plain(lambda x: np.where(x < 0.7, 1.0, -1.0)), np.array([0.0]), np.array([1.0]))
    assert found[0] == pytest.approx(0.7, abs=1e-11)


def test_halving_keeps_the_ends_as_they_were() -> None:
    low, high = np.array([0.0]), np.array([4.0])
    halved(Plain(lambda x: 1 - x), low, high)
    assert (low[0], high[0]) == (0.0, 4.0)
