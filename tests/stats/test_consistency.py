"""Decision consistency against closed forms and a simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from grader.stats.consistency import beta_binomial, kr21, normal_model, person_by_person, shrunk, twice_beta_binomial
from tests.stats.test_classical import LSAT6


@pytest.mark.parametrize(
    ("reliability", "alike"), [(0.1, 0.5319), (0.3, 0.5970), (0.5, 0.6667), (0.7, 0.7468), (0.8, 0.7952), (0.9, 0.8564)]
)
def test_at_the_mean_the_normal_model_has_its_closed_form(reliability: float, alike: float) -> None:
    found = normal_model(0, 1, reliability, 0)
    assert found.alike == pytest.approx(0.5 + math.asin(reliability) / math.pi, abs=1e-7)  # derived
    assert found.alike == pytest.approx(alike, abs=5e-5)
    assert found.kappa == pytest.approx(2 * found.alike - 1, abs=1e-7)


@pytest.mark.parametrize(
    ("reliability", "alike", "kappa"),
    [(0.5, 0.8077, 0.2798), (0.7, 0.8506, 0.4406), (0.8, 0.8780, 0.5429), (0.9, 0.9137, 0.6766)],
)
def test_one_spread_above_the_mean_agrees_with_the_bivariate_normal(reliability: float, alike: float, kappa: float) -> None:
    found = normal_model(60, 12, reliability, 72)
    assert (found.alike, found.kappa) == pytest.approx((alike, kappa), abs=1e-4)


def test_the_beta_binomial_agrees_with_the_worked_example() -> None:
    # formula of Huynh 1976 from memory, worked by two hands: KR21 .5277778, fails .22484
    found = beta_binomial(7, 4, 10, 6)
    assert found is not None
    assert (found.failing, found.alike, found.kappa) == pytest.approx((0.22484, 0.77435, 0.35264), abs=1e-5)


@pytest.mark.parametrize(("items", "alike", "kappa"), [(1, 2 / 3, 1 / 3), (2, 11 / 15, 2 / 5)])
def test_an_even_spread_of_true_shares_has_its_exact_values(items: int, alike: float, kappa: float) -> None:
    found = twice_beta_binomial(1, 1, items, 1)  # derived by integrals
    assert (found.alike, found.kappa) == pytest.approx((alike, kappa), abs=1e-12)


def test_the_law_school_test_is_decided_alike_as_computed_elsewhere() -> None:
    scores = LSAT6.sum(axis=1)
    assert kr21(scores, 5) == pytest.approx(0.1964412, abs=5e-8)
    found = beta_binomial(float(scores.mean()), float(scores.var()), 5, 4)
    assert found is not None
    assert (found.alike, found.kappa) == pytest.approx((0.61493, 0.14172), abs=1e-5)


def test_person_by_person_agrees_with_the_binomial_table() -> None:
    # scipy's binomial: passes .00636938 and .96720650; alike by hand from these, kappa as computed elsewhere
    weak, strong = 0.00636938, 0.96720650
    alike = (weak**2 + (1 - weak) ** 2 + strong**2 + (1 - strong) ** 2) / 2
    found = person_by_person([0.2, 0.8], 10, 6)
    assert (found.alike, found.kappa) == pytest.approx((alike, 0.9238530), abs=1e-7)


def test_a_simulated_class_is_decided_alike_as_often_as_the_model_says() -> None:
    chance = np.random.default_rng(20310512)
    true = chance.beta(6.263158, 2.684211, 200_000)
    first, second = chance.binomial(10, true) >= 6, chance.binomial(10, true) >= 6
    found = twice_beta_binomial(6.263158, 2.684211, 10, 6)
    assert found.alike == pytest.approx(float(np.mean(first == second)), abs=4 * math.sqrt(0.25 / 200_000))


def test_a_model_without_a_solution_has_none() -> None:
    assert beta_binomial(5, 0.5, 10, 6) is None  # KR21 below 0
    assert kr21([3, 3, 3], 5) is None
    all_pass = twice_beta_binomial(1, 1, 4, 0)
    assert (all_pass.alike, all_pass.kappa) == (1.0, None)


def test_true_shares_are_drawn_to_the_mean_and_keep_it() -> None:
    assert shrunk([2, 8, 5], 10, 0).tolist() == pytest.approx([0.5] * 3)
    assert shrunk([2, 8, 5], 10, 1).tolist() == pytest.approx([0.2, 0.8, 0.5])


def test_what_no_model_can_take_is_refused() -> None:
    for arguments in ((0, 0, 0.5, 0), (0, 1, 1, 0), (0, 1, -0.1, 0), (math.nan, 1, 0.5, 0)):
        with pytest.raises(ValueError, match="give a mean"):
            normal_model(*arguments)
    with pytest.raises(ValueError, match="two items"):
        beta_binomial(1, 1, 1, 1)
    with pytest.raises(ValueError, match="true share"):
        person_by_person([1.2], 10, 6)
