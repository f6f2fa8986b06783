"""The Rasch model against published estimates, closed forms and simulations."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.stats.rasch import Scale, abilities, conditional_error, estimate, fit, marginal, symmetric
from tests.stats.test_classical import LSAT6


@pytest.fixture(scope="module")
def law_school() -> Scale:
    scale = estimate(LSAT6)
    assert scale is not None
    return scale


def test_the_law_school_test_has_the_published_difficulties(law_school: Scale) -> None:
    # R's eRm (RM, sum of difficulties 0) on the data of Bock & Lieberman 1970; psychotools gives the same with item 1 at 0
    assert law_school.difficulty == pytest.approx([-1.25613, 0.47491, 1.23598, 0.16841, -0.62317], abs=5e-5 / 5)
    assert law_school.error == pytest.approx([0.10441, 0.06992, 0.06878, 0.07262, 0.08592], abs=5e-5)
    assert law_school.log_likelihood == pytest.approx(-1091.56969, abs=1e-4)
    assert law_school.difficulty[1:] - law_school.difficulty[0] == pytest.approx([1.73103, 2.49211, 1.42454, 0.63296], abs=5e-5)
    assert (law_school.persons, law_school.without) == (699, ())


def test_persons_of_the_law_school_test_have_the_published_abilities(law_school: Scale) -> None:
    found = abilities(law_school.difficulty)  # eRm person.parameter
    assert found.ability[1:-1] == pytest.approx([-1.60154, -0.47433, 0.48086, 1.59995], abs=2e-4)
    assert found.error[1:-1] == pytest.approx([1.18107, 0.98980, 0.98736, 1.17676], abs=2e-4)
    assert np.isnan(found.ability[[0, -1]]).all()


def test_items_of_the_law_school_test_fit_as_published(law_school: Scale) -> None:
    found = fit(LSAT6, law_school)  # eRm itemfit, the 699 persons with neither none nor all right
    assert found.outfit == pytest.approx([0.8008, 0.9577, 0.9494, 0.9438, 0.8721], abs=1e-3)
    assert found.infit == pytest.approx([0.8277, 0.9680, 0.9728, 0.9541, 0.8953], abs=1e-3)


def test_two_items_have_their_closed_form() -> None:
    # derived: ln(30/10), error root of 1/30 + 1/10; joint estimation would give twice as much
    scale = estimate([[1, 0]] * 30 + [[0, 1]] * 10 + [[1, 1]] * 5)
    assert scale is not None
    assert scale.difficulty[1] - scale.difficulty[0] == pytest.approx(1.0986123, abs=5e-8)
    assert 2 * scale.error[0] == pytest.approx(0.3651484, abs=5e-8)


@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=7))
def test_symmetric_functions_are_sums_over_all_choices(ease: list[float]) -> None:
    by_hand = [sum(math.prod(choice) for choice in itertools.combinations(ease, size)) for size in range(len(ease) + 1)]
    assert symmetric(ease) == pytest.approx(by_hand, rel=1e-12)


def test_wrong_for_right_turns_the_scale_round_and_the_order_of_items_or_persons_does_not_matter(law_school: Scale) -> None:
    turned, shuffled = estimate(1 - LSAT6), estimate(LSAT6[::-1, ::-1])
    assert turned is not None
    assert shuffled is not None
    assert turned.difficulty == pytest.approx(-law_school.difficulty, abs=1e-6)
    assert turned.log_likelihood == pytest.approx(law_school.log_likelihood, abs=1e-6)
    assert shuffled.difficulty[::-1] == pytest.approx(law_school.difficulty, abs=1e-6)


def test_papers_with_different_items_come_on_one_scale() -> None:
    chance = np.random.default_rng(5)
    hard, able = np.linspace(-1.5, 1.5, 12), chance.normal(0, 1, 4000)
    marks = (chance.random((4000, 12)) < 1 / (1 + np.exp(-(able[:, None] - hard)))).astype(float)
    marks[:2000, 8:] = np.nan  # one paper has items 1 to 8, the other 5 to 12
    marks[2000:, :4] = np.nan
    scale = estimate(marks)
    assert scale is not None
    assert np.all(np.abs(scale.difficulty - hard) < 4 * scale.error)


def test_known_difficulties_come_back_and_intervals_hold_them_as_often_as_they_say() -> None:
    chance = np.random.default_rng(20310512)
    hard = np.linspace(-2, 2, 10)
    inside, off = [], []
    for _ in range(200):
        able = chance.normal(0.3, 1.2, 300)
        marks = (chance.random((300, 10)) < 1 / (1 + np.exp(-(able[:, None] - hard)))).astype(float)
        scale = estimate(marks)
        assert scale is not None
        off.append(scale.difficulty - hard)
        inside.append(np.abs(off[-1]) < 1.959964 * scale.error)
    assert 0.93 < np.mean(inside) < 0.97  # 2,000 intervals
    assert np.abs(np.mean(off, axis=0)).max() < 0.05  # no bias to speak of


def test_an_item_that_all_or_none_got_right_has_no_estimate_and_is_named() -> None:
    marks = np.column_stack(
        [np.ones(6), np.zeros(6), *np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [0, 1, 1], [1, 0, 1]]).T]
    )
    scale = estimate(marks)
    assert scale is not None
    assert scale.without == (0, 1)
    assert np.isnan(scale.difficulty[[0, 1]]).all()
    assert scale.difficulty[2:] == pytest.approx([0, 0, 0], abs=1e-9)


def test_two_sets_never_failed_together_are_not_put_on_one_scale() -> None:
    easy = [[1, 0, 0, 0, 0], [0, 1, 0, 0, 0], [0, 0, 1, 0, 0]]
    hard = [[1, 1, 1, 1, 0], [1, 1, 1, 0, 1]]
    scale = estimate(easy + hard)
    assert scale is not None
    assert scale.without == (3, 4)


@pytest.mark.parametrize("marks", [[[1, 1], [0, 0]], [[1], [0]], np.empty((0, 3)), [[1, 0], [1, 0]]])
def test_nothing_to_tell_apart_gives_no_scale(marks: object) -> None:
    assert estimate(marks) is None  # type: ignore[arg-type]


@pytest.mark.parametrize("marks", [[[2, 0]], [[0.5, 1]], [1, 0]])
def test_what_are_no_marks_is_refused(marks: object) -> None:
    with pytest.raises(ValueError, match=r"marks are|give a row"):
        estimate(marks)  # type: ignore[arg-type]


@settings(max_examples=30)
@given(st.lists(st.floats(-4, 4), min_size=2, max_size=20))
def test_the_expected_total_at_an_ability_is_the_total_it_came_from(hard: list[float]) -> None:
    found = abilities(hard)
    for total in range(1, len(hard)):
        expected = (1 / (1 + np.exp(np.array(hard) - found.ability[total]))).sum()
        assert expected == pytest.approx(total, abs=1e-9)
        assert found.error[total] == pytest.approx(1 / conditional_error(hard, found.ability[total]), rel=1e-9)


def test_difficulties_must_be_known() -> None:
    with pytest.raises(ValueError, match="all of them finite"):
        abilities([0.0, math.nan])
    assert np.isnan(abilities([0.0]).ability).all()


@pytest.mark.parametrize("nodes", [21, 61])
def test_the_law_school_test_has_the_published_marginal_estimates(nodes: int) -> None:
    # R's ltm, `rasch(LSAT)`, as a stored notebook prints it; girth 0.8.0 agrees: one discrimination 0.7551, difficulties over it
    found = marginal(LSAT6, nodes)
    assert found is not None
    assert found.spread == pytest.approx(0.7551, abs=1e-3)
    assert found.difficulty == pytest.approx([-2.7300, -0.9986, -0.2399, -1.3065, -2.0994], abs=1e-3)
    assert found.difficulty / found.spread == pytest.approx([-3.6153, -1.3224, -0.3176, -1.7301, -2.7802], abs=2e-3)
    assert found.log_likelihood == pytest.approx(-2466.938, abs=1e-3)


def test_marginal_and_conditional_estimates_differ_by_little_but_the_mean(law_school: Scale) -> None:
    found = marginal(LSAT6)
    assert found is not None
    assert found.difficulty - found.difficulty.mean() == pytest.approx(law_school.difficulty, abs=0.02)


def test_a_class_with_gaps_or_without_wrong_answers_has_no_marginal_estimate() -> None:
    with pytest.raises(ValueError, match="did not have an item"):
        marginal([[1.0, math.nan], [0.0, 1.0]])
    assert marginal([[1, 0], [1, 1], [1, 0]]) is None
