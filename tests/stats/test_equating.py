"""Linking two scales, weighing two papers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.stats.equating import ability_for, expected_share, link

OLD = {"a": -1.2, "b": -0.3, "c": 0.4, "d": 1.1}
NEW = {"a": -0.9, "b": 0.1, "c": 0.7, "d": 1.3, "e": 2.0}


def test_four_anchors_have_their_mean_difference() -> None:
    found = link(OLD, NEW)  # derived by hand
    assert found is not None
    assert found.shift == pytest.approx(-0.3, abs=1e-12)
    assert list(found.left.values()) == pytest.approx([0, -0.1, 0, 0.1], abs=1e-12)
    assert found.error == pytest.approx(np.std([0, -0.1, 0, 0.1], ddof=1) / 2)
    assert found.moved == ()


def test_an_anchor_that_moved_is_named_unless_its_error_explains_it() -> None:
    new = NEW | {"c": 2.4}
    assert [found.moved for errors in (None, {"c": 0.3}, {"c": 1.0}) if (found := link(OLD, new, errors))] == [("c",), ("c",), ()]


def test_without_an_anchor_there_is_no_link() -> None:
    assert link({"a": 1.0}, {"b": 1.0}) is None
    assert link({"a": float("nan")}, {"a": 1.0}) is None
    only = link({"a": 1.0}, {"a": 0.5})
    assert only is not None
    assert (only.shift, only.error) == (0.5, None)


@given(st.lists(st.floats(-3, 3), min_size=2, max_size=20), st.floats(0.05, 0.95))
def test_the_ability_for_a_share_earns_that_share(hard: list[float], share: float) -> None:
    points = [1 + place % 3 for place in range(len(hard))]
    ability = ability_for(hard, points, share)
    assert ability is not None
    assert expected_share(hard, points, ability) == pytest.approx(share, abs=1e-7)


def test_none_or_all_of_a_paper_is_no_ability() -> None:
    assert ability_for([0.0], [1], 0.0) is None
    assert ability_for([0.0], [1], 1.0) is None
