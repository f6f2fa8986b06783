from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.circuits.main import venturi_depression
from grader.circuits.passages import isentropic_flow
from grader.circuits.power import open_area
from grader.circuits.principles import jet_velocity
from grader.relations import arrays
from grader.relations.language import parse
from grader.relations.relation import Relation


def test_arrays_get_what_floats_get_on_formulas_of_all_kinds(draw_formulas: Callable) -> None:
    compared = 0
    for text, values in draw_formulas(500):
        expression = parse(text)
        run = arrays.compiled(expression.expanded().node)
        found = arrays.run(run, None, {n: np.full(3, v) for n, v in values.items()})
        try:
            ours = expression.evaluate(values)
        except RangeError:
            continue  # an array may look at a branch that a float does not, or divide by an infinity
        assert found == pytest.approx(np.full(3, ours), rel=1e-8, abs=1e-10), text
        compared += 1
    assert compared > 300


@settings(max_examples=60, deadline=None)
@given(D=st.lists(st.floats(1e-4, 1e-2), min_size=1, max_size=20), share=st.floats(0, 2))
def test_outside_the_range_an_array_holds_nan_where_a_float_is_refused(D: list[float], share: float) -> None:
    found = open_area(np.array(D), np.array(D) * share)
    for one, bore in zip(found, D, strict=True):
        try:
            assert one == open_area(bore, bore * share)
        except RangeError:
            assert np.isnan(one)


def test_an_array_keeps_its_shape_and_broadcasts() -> None:
    bores = np.linspace(0.002, 0.003, 6).reshape(2, 3)
    assert open_area(bores, 0.001).shape == (2, 3)
    assert open_area(bores[:, :1], np.full(4, 0.001)).shape == (2, 4)
    assert open_area(np.array(0.002), 0.001).shape == ()
    assert open_area(np.empty((0, 3)), 0.001).shape == (0, 3)
    assert open_area(D=bores, d=[[0.001], [0.0011]]).shape == (2, 3)


def test_blocks_and_one_piece_agree_to_the_last_bit() -> None:
    rng = np.random.default_rng(1)
    D = rng.uniform(1e-3, 3e-3, 50_001)
    d = rng.uniform(0, 3e-3, 50_001)
    whole = open_area(D, d)
    pieces = np.concatenate([open_area(D[i : i + 1000], d[i : i + 1000]) for i in range(0, D.size, 1000)])
    np.testing.assert_array_equal(whole, pieces)
    np.testing.assert_array_equal(whole.reshape(3, -1), open_area(D.reshape(3, -1), d.reshape(3, -1)))
    np.testing.assert_array_equal(whole[::2], open_area(D[::2], d[::2]))


def test_both_cases_of_a_condition_are_there_and_nothing_warns() -> None:
    # Warnings are errors in this suite: the side not taken may divide by 0 without a word.
    p = np.linspace(0, 101325, 200)
    flow = isentropic_flow(1.0, 1e-4, 101325.0, 288.15, p)
    assert np.isfinite(flow).all()
    assert (np.diff(flow) <= 1e-15).all()
    assert flow[:100] == pytest.approx(np.full(100, flow[0]))
    expression = parse("1 / x if x != 0 else 7")
    assert arrays.run(arrays.compiled(expression.node), None, {"x": np.array([0.0, 2.0])}).tolist() == [7.0, 0.5]


def test_nan_and_infinity_going_in_come_out_as_nan() -> None:
    assert np.isnan(open_area(np.array([np.nan, np.inf, 0.002]), 0.001)).tolist() == [True, True, False]
    assert np.isnan(open_area(np.array([0.002, 0.003]), np.nan)).all()
    # An infinite density would give the finite velocity 0: refused like every number that is not finite.
    assert np.isnan(jet_velocity(1000.0, np.array([np.inf, 740.0]))).tolist() == [True, False]
    with pytest.raises(RangeError, match="rho is inf; give a finite number"):
        jet_velocity(1000.0, np.inf)


def test_whole_numbers_are_taken_as_floats() -> None:
    assert open_area(np.array([2, 3]), 1).dtype == np.float64
    assert open_area(2, 1) == open_area(2.0, 1.0)


def by_hand_area(D: np.ndarray, d: np.ndarray) -> np.ndarray:
    return np.pi / 4 * (D**2 - d**2)


def by_hand_depression(m: np.ndarray, C_d: float, A: np.ndarray, rho: float) -> np.ndarray:
    return (m / (C_d * A)) ** 2 / (2 * rho)


def by_hand_flow(C_d: float, A: np.ndarray, p_u: float, T: float, p_d: np.ndarray) -> np.ndarray:
    r = p_d / p_u
    below = np.sqrt(7 * (1 - r ** (0.4 / 1.4))) * r ** (1 / 1.4)
    return C_d * A * p_u / np.sqrt(287.05287 * T) * np.where(r > 0.528282, below, 0.6847315)


@pytest.mark.parametrize(
    ("relation", "by_hand", "values"),
    [
        (open_area, by_hand_area, ((2e-3, 3e-3), (1e-3, 1.9e-3))),
        (venturi_depression, by_hand_depression, ((1e-3, 0.1), 0.9, (5e-4, 1e-3), 1.2)),
        (isentropic_flow, by_hand_flow, (0.8, (1e-5, 1e-4), 101325.0, 288.0, (2e4, 1e5))),
    ],
    ids=["area", "depression", "isentropic"],
)
def test_on_arrays_a_relation_gives_what_numpy_by_hand_gives(relation: Relation, by_hand: Callable, values: tuple) -> None:
    rng = np.random.default_rng(2)
    put_in = [rng.uniform(v[0], v[1], 10_000) if isinstance(v, tuple) else v for v in values]
    np.testing.assert_allclose(relation(*put_in), by_hand(*put_in), rtol=1e-6)
