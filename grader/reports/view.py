"""A sitting as its reports see it: every candidate with paper, key, marks and decision, taken from the register once."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from grader.marking.key import Key, read_key
from grader.marking.mark import Mark, Marks
from grader.marking.strays import Stray, strays
from grader.register.asides import open_asides
from grader.register.records import Aside, Decision, Marking, Paper, Sitting
from grader.register.rule import Rule, Share, earned, rule_of
from grader.register.store import Register

NO_RULE = Rule(Fraction(0), Fraction(0))
"""Where the blueprint names none: everybody reaches it, and nobody is decided on."""


@dataclass(frozen=True, slots=True)
class Sat:
    """One candidate of the sitting; `marking` and `decision` are None where there is none yet."""

    paper: Paper
    key: Key
    marking: Marking | None
    decision: Decision | None
    rule: Rule = NO_RULE

    @property
    def marks(self) -> tuple[Mark, ...]:
        """The marks that count, in the order of the paper; none where nothing was marked."""
        return self.marking.marks if self.marking else ()

    @property
    def total(self) -> Share:
        """What the whole paper came to."""
        return earned(self.marks)

    @property
    def percent(self) -> str:
        """The total as printed: never rounded up to the cut."""
        return self.total.shown(self.rule.cut)

    @property
    def decided(self) -> str:
        """The decision that counts, or an empty text."""
        return self.decision.decision if self.decision else ""


@dataclass(frozen=True, slots=True)
class View:
    """A sitting with all its candidates in the order of the roster, what was set aside and is still open, and what is settled."""

    sitting: Sitting
    rule: Rule | None
    candidates: tuple[Sat, ...]
    asides: tuple[Aside, ...]
    settled: tuple[Aside, ...] = ()

    @property
    def marked(self) -> tuple[Sat, ...]:
        """The candidates whose answers were marked."""
        return tuple(sat for sat in self.candidates if sat.marking)

    @property
    def strays(self) -> tuple[Stray, ...]:
        """Wrong answers among the marks that count that fit another paper of the sitting."""
        counted = [Marks(sat.paper.code, sat.paper.candidate, sat.marks) for sat in self.marked]
        return strays({sat.paper.code: sat.key for sat in self.candidates}, counted)


def look_at(register: Register, sitting: str, person: str, when: str) -> View:
    """
    The sitting as its reports see it. The keys are opened for it, and the register's log says by whom and when.

    Raises `UseError` where there is no such sitting.
    """
    held = register.sitting(sitting)
    keys = register.open_keys(sitting, person, when)
    markings, decisions = register.marks(sitting), register.decisions(sitting)
    rule = rule_of(held.blueprint) if "pass" in held.blueprint else None
    candidates = tuple(
        Sat(paper, read_key(keys[paper.code]), markings.get(paper.code), decisions.get(paper.candidate), rule or NO_RULE)
        for paper in register.papers(sitting)
    )
    still = open_asides(register, sitting)
    return View(held, rule, candidates, still, tuple(aside for aside in register.asides(sitting) if aside not in still))
