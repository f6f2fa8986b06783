"""
The item report: which questions are bad, on what evidence, and what their author should look at. The worst first.

Every sentence names its figure and what to do. Under thirty people nothing is called bad; the figures stand there all the same,
and what costs five minutes to check by hand is named as that.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from grader.reports.analysis import FEW, SOME
from grader.reports.evidence import Evidence
from grader.reports.odds import one_in
from grader.reports.page import render
from grader.reports.view import View

SERIOUS, LOOK, NOTE = 3, 2, 1


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing to look at: how serious (3 the key may be wrong, 2 unfair to some, 1 of little use), and in words."""

    weight: int
    says: str


@dataclass(frozen=True, slots=True)
class Reviewed:
    """An item's evidence, the doubts that follow from it, and, where too few sat it for any, what a person may check by hand."""

    evidence: Evidence
    doubts: tuple[Doubt, ...]
    by_hand: tuple[str, ...] = ()

    @property
    def weight(self) -> int:
        """The gravest doubt; 0 where there is none."""
        return max((doubt.weight for doubt in self.doubts), default=0)


def review(items: Sequence[Evidence]) -> tuple[Reviewed, ...]:
    """Every item with its doubts: the gravest first, then those that most people had."""
    found = [Reviewed(item, _doubts(item), _by_hand(item)) for item in items]
    return tuple(sorted(found, key=_first))


def _first(one: Reviewed) -> tuple[int, int, int, int, str]:
    return -one.weight, -len(one.doubts), -len(one.by_hand), -one.evidence.people, one.evidence.item


def _doubts(item: Evidence) -> tuple[Doubt, ...]:
    if item.people < FEW:
        return ()
    found = [doubt for rule in RULES for doubt in rule(item)]
    return tuple(sorted(found, key=lambda doubt: -doubt.weight))


def _by_hand(item: Evidence) -> tuple[str, ...]:
    """What a few people show that no statistic is needed for: a reason to work the item once, never a fault."""
    if not SOME <= item.people < FEW:
        return ()
    found = []
    if item.wrong == item.people:
        found.append(
            f"none of the {item.people} who had it earned anything: work it once yourself, then ask whether it was taught"
        )
    key = max((option.taken for option in item.options if option.right), default=0)
    for option in item.options:
        if not option.right and option.taken >= SOME and option.taken > key:
            found.append(f"{option.taken} of {item.people} took “{option.text}”, {key} the key: could it be right too?")
    if item.slips and item.slips[0][1] >= SOME and 2 * item.slips[0][1] > item.people:
        says, times = item.slips[0]
        found.append(f"{times} of {item.people} made the same slip: teach it again. “{says}”")
    return tuple(found)


def _parting(item: Evidence) -> list[Doubt]:
    value = item.discrimination
    if value is None or value >= 0.1:
        return []
    if value < 0:
        return [Doubt(SERIOUS, f"the strong miss it more than the weak (discrimination {value:.2f}): work the key again by hand")]
    return [Doubt(NOTE, f"it hardly parts strong from weak (discrimination {value:.2f}): read it for a second meaning")]


def _distractors(item: Evidence) -> list[Doubt]:
    keys = [option.parting for option in item.options if option.right and option.parting is not None]
    best = max(keys, default=0.0)
    found = []
    for option in item.options:
        if option.right or option.parting is None:
            continue
        if option.parting > 0.1 and option.parting > best and option.taken >= 5:
            figures = f"{option.taken} took it, discrimination {option.parting:.2f}, the key's {best:.2f}"
            found.append(Doubt(SERIOUS, f"the strong prefer “{option.text}” to the key ({figures}): is it right too?"))
        elif option.taken < 0.05 * item.people:
            found.append(Doubt(NOTE, f"“{option.text}” draws nobody ({option.taken} of {item.people}): write a likelier one"))
    return found


def _facility(item: Evidence) -> list[Doubt]:
    if item.full.low > 0.9:
        return [Doubt(NOTE, f"nearly everybody has it (at least {100 * item.full.low:.0f} %): it tells little")]
    if item.full.high < 0.2:
        return [Doubt(LOOK, f"hardly anybody has it (at most {100 * item.full.high:.0f} %): is it taught, and is the key right?")]
    return []


def _slips(item: Evidence) -> list[Doubt]:
    if not item.slips:
        return []
    says, times = item.slips[0]
    if times >= 5 and 2 * times > item.wrong > 0:
        return [Doubt(NOTE, f"one slip explains most wrong answers ({times} of {item.wrong}): teach it. “{says}”")]
    return []


def _numbers(item: Evidence) -> list[Doubt]:
    if item.numbers is None or item.numbers.grade != "C":
        return []
    easier = "small" if item.numbers.ratio > 1 else "large"
    ratio = max(item.numbers.ratio, 1 / item.numbers.ratio)
    return [
        Doubt(
            LOOK,
            f"{easier} numbers are easier (the odds of having it, for equally strong people, are {ratio:.1f} times as "
            f"good; by luck alone {one_in(item.numbers.p)}): narrow the range drawn from",
        )
    ]


def _groups(item: Evidence) -> list[Doubt]:
    """Whom it works against; of two groups the other has the same figure turned round, and is not named as well."""
    unequal = [(group, favour) for group, favour in item.groups if favour.grade == "C"]
    against = [(group, favour) for group, favour in unequal if favour.ratio > 1]
    found = []
    for group, favour in against or unequal:
        side = "against" if favour.ratio > 1 else "for"
        ratio = max(favour.ratio, 1 / favour.ratio)
        figures = f"between equally strong people the odds differ {ratio:.1f} times; by luck alone {one_in(favour.p)}"
        found.append(Doubt(LOOK, f"it works {side} group {group} ({figures}): look for words or tools that only some know"))
    return found


def _surprise(item: Evidence) -> list[Doubt]:
    if item.infit is None or item.infit <= 1.3:
        return []
    return [Doubt(NOTE, f"answers surprise more than chance explains (infit {item.infit:.2f}): guessing, or another skill")]


def _exposure(item: Evidence) -> list[Doubt]:
    if item.people <= 0.5 * item.papers or item.papers < 2 * FEW:
        return []
    return [Doubt(NOTE, f"it stood on {item.people} of {item.papers} papers: it gets known; write sisters for it")]


RULES: tuple[Callable[[Evidence], list[Doubt]], ...] = (
    _parting,
    _distractors,
    _facility,
    _slips,
    _numbers,
    _groups,
    _surprise,
    _exposure,
)


WORDS = {SERIOUS: "The key may be wrong", LOOK: "Perhaps unfair", NOTE: "Could be better"}
"""What each weight means, in the author's words."""


def review_page(views: Sequence[View], reviewed: Sequence[Reviewed]) -> str:
    """The item report as one HTML file."""
    return render(
        "review.html",
        title="Item report",
        sittings=[view.sitting.name for view in views],
        papers=sum(len(view.candidates) for view in views),
        marked=sum(len(view.marked) for view in views),
        reviewed=reviewed,
        doubtful=[one for one in reviewed if one.weight >= LOOK],
        better=[one for one in reviewed if one.weight == NOTE],
        by_hand=[one for one in reviewed if one.by_hand],
        few=sum(one.evidence.people < FEW for one in reviewed),
        limit=FEW,
        words=WORDS,
    )
