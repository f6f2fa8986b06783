"""Formulas drawn at random, for whatever must hold for any formula."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

Drawn = tuple[str, dict[str, float]]

NAMES = ("a", "b", "C_d", "rho", "delta_p", "rod_diameter")
ONE = ("sqrt", "exp", "log", "sin", "cos", "tan", "asin", "acos", "atan", "abs")


def number(rng: random.Random) -> str:
    return rng.choice([str(rng.randint(1, 9)), f"{rng.uniform(0.1, 5):.2f}", "pi", "1e-1", "0.5"])


def value(rng: random.Random, depth: int, functions: tuple[str, ...]) -> str:
    if depth == 0 or rng.random() < 0.1:
        return rng.choice(NAMES) if rng.random() < 0.7 else number(rng)

    def inner() -> str:
        return value(rng, depth - 1, functions)

    kind = rng.randrange(10)
    if kind < 5:
        return f"({inner()}) {rng.choice('+-*/')} ({inner()})"
    if kind == 5:
        return f"({inner()})**{rng.choice(['2', '3', '-1', '-2', '0.5', '4', '1', '0'])}"
    if kind == 6:
        return f"-({inner()})"
    if kind == 7:
        return f"{rng.choice(['min', 'max'])}({inner()}, {inner()})"
    if kind == 8:
        return f"({inner()} if {condition(rng, 1, functions)} else {inner()})"
    return f"{rng.choice(functions)}({inner()})"


def condition(rng: random.Random, depth: int, functions: tuple[str, ...]) -> str:
    kind = rng.randrange(4) if depth else 0
    if kind == 0:
        signs = [rng.choice(["<", "<=", ">", ">=", "==", "!="]) for _ in range(rng.randint(1, 2))]
        return value(rng, 1, functions) + "".join(f" {sign} {value(rng, 1, functions)}" for sign in signs)
    if kind == 1:
        return f"not ({condition(rng, depth - 1, functions)})"
    return f"({condition(rng, depth - 1, functions)}) {rng.choice(['and', 'or'])} ({condition(rng, depth - 1, functions)})"


@pytest.fixture(scope="session")
def draw_formulas() -> Callable[..., list[Drawn]]:
    """`draw_formulas(count, functions)`: formulas with a value for each name, the same ones every time."""

    def drawn(count: int, functions: tuple[str, ...] = ONE, depth: int = 4) -> list[Drawn]:
        rng = random.Random(20)  # noqa: S311 - test data, no secret
        return [(value(rng, depth, functions), {n: round(rng.uniform(0.2, 4), 3) for n in NAMES}) for _ in range(count)]

    return drawn
