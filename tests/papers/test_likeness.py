from __future__ import annotations

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from grader.papers.likeness import Spread, likeness, told
from grader.papers.weights import Weight

ITEMS: list[Any] = [SimpleNamespace(id=f"i{n}", points=Decimal(n + 1)) for n in range(4)]
WEIGHTS = {item.id: Weight(0.5 + n / 10, 2.0 + n, answers=12 if n == 0 else 0) for n, item in enumerate(ITEMS)}


def key(*items: str) -> Any:
    return SimpleNamespace(questions=[SimpleNamespace(item=item) for item in items])


def test_papers_are_compared_by_what_their_items_were_taken_to_weigh() -> None:
    found = likeness([key("i0", "i3"), key("i1", "i2"), key("i1", "i3")], ITEMS, WEIGHTS)
    assert found.marks == Spread(16 / 3, 5, 6)
    # By hand: (1 * .5 + 4 * .8) / 5, (2 * .6 + 3 * .7) / 5, (2 * .6 + 4 * .8) / 6.
    assert (found.difficulty.least, found.difficulty.most) == (0.66, 0.74)
    assert found.minutes == Spread(22 / 3, 7, 8)
    assert found.shared == Spread(0.5, 0, 1)
    assert found.exposure == Spread(1.5, 1, 2)
    assert (found.measured, found.pool, found.letters) == (1, 4, {})
    assert told(found) == [
        "predicted: 66 to 74 % of 5 to 6 marks on every paper, in 7 to 8 min; difficulty of 1 items of 4 as earlier sittings "
        "measured it",
        "neighbours: 1 items in common at most, 0.5 on average",
        "items: 4 in the pool, each on 1 to 2 of 3 papers",
    ]
