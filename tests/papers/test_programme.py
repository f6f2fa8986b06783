from __future__ import annotations

import sys
from fractions import Fraction
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.papers.programme import FINEST, Band, Content, Programme, even_use


def papers(content: Content) -> list[set[int]]:
    """Every paper there is, by trying all choices of every draw."""
    each = [list(combinations(pool, wanted)) for wanted, pool in zip(content.wanted, content.pools, strict=True)]
    return [set().union(*taken) for taken in product(*each) if len(set().union(*taken)) == sum(content.wanted)]


def cost(paper: set[int], costs: list[int], bands: list[Band]) -> int:
    found = sum(costs[item] for item in paper)
    for band in bands:
        total = sum(band.amounts[item] for item in paper)
        found += (band.price or 0) * max(band.low - total, total - band.high, 0)
    return found


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_the_cheapest_paper_is_found_wherever_pools_overlap(data: st.DataObject) -> None:
    # Against trying every paper there is.
    size = data.draw(st.integers(3, 7))
    pools = tuple(tuple(sorted(data.draw(st.sets(st.integers(0, size - 1), min_size=1)))) for _ in range(2))
    content = Content((1, data.draw(st.integers(1, 2))), pools, size)
    whole = st.lists(st.integers(0, 50), min_size=size, max_size=size)
    amounts, costs = tuple(data.draw(whole)), [drawn * FINEST for drawn in data.draw(whole)]
    low = data.draw(st.integers(0, 80))
    bands = [Band(amounts, low, low + data.draw(st.integers(0, 10)), price=data.draw(st.integers(1, 40)) * FINEST)]
    possible = papers(content)
    if not possible:
        with pytest.raises(ValueError, match="no paper is possible"):
            Programme(content, bands).chosen(costs)
        return
    chosen = set(Programme(content, bands).chosen(costs))
    assert chosen in possible
    assert cost(chosen, costs, bands) == min(cost(paper, costs, bands) for paper in possible)


def test_a_band_without_a_price_holds_whatever_it_costs() -> None:
    content = Content((2,), ((0, 1, 2, 3),), 4)
    assert Programme(content, [Band((1, 2, 3, 4), 7, 7)]).chosen([0, 0, 9, 9]) == [2, 3]
    with pytest.raises(ValueError, match="no paper is possible"):
        Programme(content, [Band((1, 2, 3, 4), 8, 8)]).chosen([0, 0, 0, 0])


def test_nothing_is_printed_while_the_solver_runs(capfd: pytest.CaptureFixture[str]) -> None:
    sys.stdout.write("before ")
    Programme(Content((2,), ((0, 1, 2),), 3), []).chosen([1, 2, 3])
    sys.stdout.write("after")
    assert capfd.readouterr() == ("before after", "")


def test_items_of_one_draw_are_used_alike_and_those_of_two_bear_no_more_than_they_must() -> None:
    # By hand: one of 0, 1 and one of 1, 2, 3. Without item 1 the second draw has two, so 1/2 each; item 0 takes the first alone
    # up to 1/2: all four at 1/2.
    assert even_use(Content((1, 1), ((0, 1), (1, 2, 3)), 4)) == [Fraction(1, 2)] * 4
    # One of 0 and two of 0 to 4: item 0 stands on every paper, the others share the second draw.
    assert even_use(Content((1, 2), ((0,), (0, 1, 2, 3, 4)), 5)) == [Fraction(1), *[Fraction(1, 2)] * 4]


def test_use_is_as_even_as_equal_marks_allow() -> None:
    # Two of three items worth 1, 1 and 2, 3 marks in all: item 2 stands on every paper, the others by turns.
    content = Content((2,), ((0, 1, 2),), 3)
    base = even_use(content)
    assert even_use(content, [Band((1, 1, 2), 3, 3)], base) == [Fraction(1, 2), Fraction(1, 2), Fraction(1)]
