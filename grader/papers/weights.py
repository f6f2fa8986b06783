"""What an item is taken to weigh before anybody has sat the paper: how hard it is, and how long it takes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from grader.items.model import Item


@dataclass(frozen=True, slots=True)
class Weight:
    """
    What is predicted of an item.

    `difficulty` is the share of its marks that candidates are expected to get, 0 to 1 (so a larger one is easier, as facility
    is); `minutes` what it takes; `answers` how many answers of earlier sittings stand behind the difficulty, 0 where it is the
    author's estimate alone.
    """

    difficulty: float
    minutes: float
    answers: int = 0


def estimates(items: Iterable[Item]) -> dict[str, Weight]:
    """
    The authors' own estimates, by item: their fields `difficulty` and `minutes`.

    >>> from types import SimpleNamespace
    >>> estimates([SimpleNamespace(id="pump-shot", difficulty=0.6, minutes=2.0)])
    {'pump-shot': Weight(difficulty=0.6, minutes=2.0, answers=0)}
    """
    return {item.id: Weight(item.difficulty, item.minutes) for item in items}
