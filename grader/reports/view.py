"""A sitting as its reports see it: every candidate with paper, key, marks and decision, taken from the register once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from grader.base.quantities import NO_BREAK
from grader.marking.key import Key, read_key
from grader.register.asides import open_asides
from grader.register.records import Aside, Decision, Mark, Marking, Paper, Sitting
from grader.register.store import Register


@dataclass(frozen=True, slots=True)
class Score:
    """Marks reached and marks to be had."""

    mark: Decimal
    out_of: Decimal

    @property
    def percent(self) -> Decimal | None:
        """The share in percent, unrounded; None where nothing was to be had."""
        return 100 * self.mark / self.out_of if self.out_of else None

    @property
    def shown(self) -> str:
        """As printed: ``62.5 %`` on one line, or a dash."""
        return "–" if self.percent is None else f"{self.percent:.1f}{NO_BREAK}%"


def score(marks: tuple[Mark, ...] | list[Mark]) -> Score:
    """
    The sum of some marks.

    >>> score([Mark("1", "i", "o", "c", "b", "b", "1.5", "2", "part")]).percent
    Decimal('75.0')
    """
    return Score(sum((Decimal(m.mark) for m in marks), Decimal(0)), sum((Decimal(m.out_of) for m in marks), Decimal(0)))


def by(marks: tuple[Mark, ...], field: str) -> dict[str, Score]:
    """The scores by `objective` or `circuit`, in the order in which they first stand on the paper."""
    groups: dict[str, list[Mark]] = {}
    for mark in marks:
        groups.setdefault(getattr(mark, field), []).append(mark)
    return {name: score(group) for name, group in groups.items()}


@dataclass(frozen=True, slots=True)
class Sat:
    """One candidate of the sitting; `marking` and `decision` are None where there is none yet."""

    paper: Paper
    key: Key
    marking: Marking | None
    decision: Decision | None

    @property
    def marks(self) -> tuple[Mark, ...]:
        """The marks that count, in the order of the paper; none where nothing was marked."""
        return self.marking.marks if self.marking else ()

    @property
    def total(self) -> Score:
        """The whole paper's score."""
        return score(self.marks)

    @property
    def decided(self) -> str:
        """The decision that counts, or an empty text."""
        return self.decision.decision if self.decision else ""


@dataclass(frozen=True, slots=True)
class View:
    """A sitting with all its candidates in the order of the roster, what was set aside and is still open, and what is settled."""

    sitting: Sitting
    candidates: tuple[Sat, ...]
    asides: tuple[Aside, ...]
    settled: tuple[Aside, ...] = ()

    @property
    def marked(self) -> tuple[Sat, ...]:
        """The candidates whose answers were marked."""
        return tuple(sat for sat in self.candidates if sat.marking)

    @property
    def rule(self) -> Mapping[str, Any]:
        """The blueprint's pass rule."""
        rule: Mapping[str, Any] = self.sitting.blueprint.get("pass", {})
        return rule


def look_at(register: Register, sitting: str, person: str, when: str) -> View:
    """
    The sitting as its reports see it. The keys are opened for it, and the register's log says by whom and when.

    Raises `UseError` where there is no such sitting.
    """
    held = register.sitting(sitting)
    keys = register.open_keys(sitting, person, when)
    markings, decisions = register.marks(sitting), register.decisions(sitting)
    candidates = tuple(
        Sat(paper, read_key(keys[paper.code]), markings.get(paper.code), decisions.get(paper.candidate))
        for paper in register.papers(sitting)
    )
    still = open_asides(register, sitting)
    return View(held, candidates, still, tuple(aside for aside in register.asides(sitting) if aside not in still))
