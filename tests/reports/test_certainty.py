"""How far decisions can be trusted, held against a class that sits twice."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import msgspec
import numpy as np
import pytest

from grader.register.rule import Rule
from grader.reports.analysis import precision
from grader.reports.certainty import Certainty, certainty
from grader.reports.view import View
from tests.reports.simulated import follows, sitting

ITEMS = {f"item-{n}": follows(difficulty) for n, difficulty in enumerate(np.linspace(-1.5, 1.5, 12))}


@pytest.fixture(scope="module")
def view() -> View:
    return replace(sitting("spring", 200, ITEMS, 21), rule=Rule(Fraction(1, 2), Fraction(0)))


@pytest.fixture(scope="module")
def sure(view: View) -> Certainty:
    return certainty(view, precision(view))


def test_the_share_decided_alike_is_what_a_second_sitting_shows(sure: Certainty) -> None:
    # derived: 20,000 people of the same kind, each sitting twice by the same rule
    chance = np.random.default_rng(22)
    able, hard = chance.normal(0, 1, 20_000), np.linspace(-1.5, 1.5, 12)
    right = 1 / (1 + np.exp(hard - able[:, None]))
    first, second = ((chance.random(right.shape) < right).mean(axis=1) >= 0.5 for _ in range(2))
    assert sure.again is not None
    assert sure.again.alike == pytest.approx(np.mean(first == second), abs=0.04)


def test_a_mark_at_the_cut_is_as_sure_as_the_model_says(sure: Certainty) -> None:
    chance = 1 / (1 + np.exp(np.linspace(-1.5, 1.5, 12)))  # derived: at a cut of one half the ability is 0
    assert sure.at_the_cut == pytest.approx(100 * np.sqrt((chance * (1 - chance)).sum()) / 12, abs=0.5)


def test_papers_of_the_same_items_weigh_the_same(sure: Certainty) -> None:
    assert sure.papers == pytest.approx((50, 50), abs=1e-6)
    assert sure.unjudged == 0


def test_a_small_class_is_told_no_more_than_it_can_say(view: View) -> None:
    small = replace(view, candidates=view.candidates[:12])
    found = certainty(small, precision(small))
    assert found.again is not None
    assert (found.at_the_cut, found.papers) == (None, None)
    lone = replace(view, candidates=view.candidates[:1])
    assert certainty(lone, precision(lone)) == Certainty(None)
    assert certainty(replace(view, rule=None), precision(view)) == Certainty(None)


def test_a_cut_that_no_ability_stands_for_is_no_crash(view: View) -> None:
    everything = replace(view, rule=Rule(Fraction(1), Fraction(0)))
    assert certainty(everything, precision(everything)).papers is None


def test_a_paper_whose_key_was_taken_out_is_left_out(view: View) -> None:
    first, *others = view.candidates
    erased = replace(first, key=msgspec.structs.replace(first.key, questions=()))
    found = certainty(replace(view, candidates=(erased, *others)), precision(view))
    assert found.papers == pytest.approx((50, 50), abs=1e-6)
    assert found.unjudged == 1
