"""Chances as people say them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.reports.odds import anywhere, one_in


@given(chance=st.floats(0, 0.99), compared=st.integers(1, 100_000))
def test_somewhere_among_many_is_the_complement_of_nowhere(chance: float, compared: int) -> None:
    # derived: independent pairs all miss with (1 - chance)^compared
    assert anywhere(chance, compared) == pytest.approx(1 - (1 - chance) ** compared, abs=1e-11)
    assert anywhere(chance, compared) >= chance * (1 - 1e-12)


def test_a_small_chance_is_not_lost_and_a_large_one_is_said_in_words() -> None:
    assert anywhere(1e-18, 1000) == pytest.approx(1e-15)
    assert one_in(1e-15) == "1 in 1,000,000,000,000,000"
    assert one_in(0.9) == "nearly always"
