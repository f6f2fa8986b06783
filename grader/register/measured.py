"""
How hard items are taken to be: the author's estimate, corrected by what earlier sittings of the register measured.

The rule is ours. An item's facility in the earlier sittings is the mean share of its marks that candidates got; with n answers it
takes the place of the author's estimate as far as n goes,

    difficulty = (n · facility + 10 · estimate) / (n + 10)        from n = 10 answers on, the estimate alone below that

which is the mean of a beta distribution that begins as the estimate with the weight of ten answers (an author's estimate of a
half, off by 15 percentage points one time in three, is worth 0.25 / 0.15² − 1 = 10). It does not ask how able a class was: a
strong class makes an item look easier than a weak one does. Times are the authors' own: answer files do not tell how long a
question took.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from fractions import Fraction

from grader.items.model import Item
from grader.papers.weights import Weight
from grader.register.store import Register

ESTIMATE_COUNTS = 10
"""The author's estimate counts as much as so many answers."""
FEWEST = 10
"""With fewer answers an item keeps its author's estimate."""


def weights_of(items: Iterable[Item], register: Register) -> dict[str, Weight]:
    """
    What each item is taken to weigh, after every sitting of a register that was marked so far.

    A paper counts by the marking that counts; a question without an answer got none of its marks.
    """
    got = _shares(register)
    found = {}
    for item in items:
        shares = got[item.id] if len(got[item.id]) >= FEWEST else []
        found[item.id] = Weight(shrunk(item.difficulty, shares), item.minutes, len(shares))
    return found


def shrunk(estimate: float, shares: list[Fraction]) -> float:
    """
    An estimate corrected by what was measured: the share of the marks that each answer got.

    Rounded to six decimals, as it is kept.

    >>> shrunk(0.6, []), shrunk(0.6, [Fraction(0)] * 10), shrunk(0.6, [Fraction(1, 2)] * 90)
    (0.6, 0.3, 0.51)
    """
    return float(round((sum(shares) + ESTIMATE_COUNTS * Fraction(estimate)) / (len(shares) + ESTIMATE_COUNTS), 6))


def _shares(register: Register) -> defaultdict[str, list[Fraction]]:
    """By item, the share of its marks that each candidate of each sitting got; the parts of a case together."""
    found: defaultdict[str, list[Fraction]] = defaultdict(list)
    for name in register.sittings():
        for marking in register.marks(name).values():
            sums: dict[str, list[Fraction]] = {}
            for mark in marking.marks:
                both = sums.setdefault(mark.item, [Fraction(0), Fraction(0)])
                both[0] += Fraction(mark.mark)
                both[1] += Fraction(mark.out_of)
            for item, (mark_of_item, out_of) in sums.items():
                if out_of:
                    found[item].append(mark_of_item / out_of)
    return found
