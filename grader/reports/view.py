"""A sitting as its reports see it: every candidate with paper, key, marks and decision, taken from the register once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from grader.marking.key import FORM, Key, read_key
from grader.marking.mark import Mark, Marks
from grader.marking.strays import Comparison, Pair, Stray
from grader.register.asides import open_asides
from grader.register.corrections import in_force
from grader.register.records import Aside, Award, Correction, Decision, Marking, Paper, Sitting
from grader.register.remarking import Change, changes, resting
from grader.register.rule import Rule, Share, earned, rule_of
from grader.register.stations import Bench, benches
from grader.register.store import Register

NO_RULE = Rule(Fraction(0), Fraction(0))
"""Where the blueprint names none: everybody reaches it, and nobody is decided on."""


@dataclass(frozen=True, slots=True)
class Go:
    """One candidate's go at one question: its marks (parts of a case together), what they earned, it and the rest as shares."""

    marks: tuple[Mark, ...]
    own: Share
    share: float
    rest: float


@dataclass(frozen=True)  # no slots: what is worked out is kept
class Sat:
    """
    One candidate of the sitting; `marking` and `decision` are None where there is none yet.

    `key` is the key in force, without questions where the candidate's data were taken out; `notes` say by number what was
    corrected in it, `awards` what was decided by hand; `benches` are the stations, assessed or not.
    """

    paper: Paper
    key: Key
    marking: Marking | None
    decision: Decision | None
    rule: Rule = NO_RULE
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    awards: Mapping[str, Award] = field(default_factory=dict)
    benches: tuple[Bench, ...] = ()

    @property
    def named(self) -> bool:
        """Whether anybody can be given a page: not where the candidate's data were taken out."""
        return bool(self.paper.name)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """The marks that count, in the order of the paper; none where nothing was marked."""
        return self.marking.marks if self.marking else ()

    @cached_property
    def total(self) -> Share:
        """What the whole paper came to."""
        return earned(self.marks)

    @cached_property
    def goes(self) -> dict[str, Go]:
        """The candidate's go at every question, by the question's number, in the order of the paper."""
        questions: dict[str, list[Mark]] = {}
        for mark in self.marks:
            questions.setdefault(question_of(mark.number), []).append(mark)
        alike: dict[tuple[tuple[str, str], ...], tuple[Share, float, float]] = {}  # most questions come to one of a few marks
        found = {}
        for number, marks in questions.items():
            written = tuple((mark.mark, mark.out_of) for mark in marks)
            if written not in alike:
                alike[written] = self._own_and_rest(marks)
            found[number] = Go(tuple(marks), *alike[written])
        return found

    def _own_and_rest(self, marks: Iterable[Mark]) -> tuple[Share, float, float]:
        own = earned(marks)
        rest = Share(self.total.mark - own.mark, self.total.out_of - own.out_of)
        return own, share_of(own), share_of(rest)

    @property
    def percent(self) -> str:
        """The total as printed: never rounded up to the cut."""
        return self.total.shown(self.rule.cut)

    @property
    def decided(self) -> str:
        """The decision that counts, or an empty text."""
        return self.decision.decision if self.decision else ""


@dataclass(frozen=True)
class View:
    """
    A sitting with all its candidates in the order of the roster, what was set aside and is still open, and what is settled.

    `changes` are the papers that were marked again, `corrections` and `awards` what for; `resting` are the decisions that rest on
    an earlier mark.
    """

    sitting: Sitting
    rule: Rule | None
    candidates: tuple[Sat, ...]
    asides: tuple[Aside, ...]
    settled: tuple[Aside, ...] = ()
    changes: tuple[Change, ...] = ()
    corrections: tuple[Correction, ...] = ()
    awards: tuple[Award, ...] = ()
    resting: tuple[Decision, ...] = ()

    @property
    def benches(self) -> tuple[Bench, ...]:
        """Everybody at every station that somebody has assessed, by station."""
        found = [bench for sat in self.candidates for bench in sat.benches if bench.seen]
        return tuple(sorted(found, key=lambda bench: bench.station.station))

    @property
    def marked(self) -> tuple[Sat, ...]:
        """The candidates whose answers were marked."""
        return tuple(sat for sat in self.candidates if sat.marking)

    @cached_property
    def strays(self) -> tuple[Stray, ...]:
        """Wrong answers among the marks that count that fit another paper of the sitting."""
        return self._compared.strays()

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Whose strays fit whose paper, the least likely by accident first."""
        return self._compared.pairs()

    @cached_property
    def _compared(self) -> Comparison:
        counted = [Marks(sat.paper.code, sat.paper.candidate, sat.marks) for sat in self.marked]
        return Comparison({sat.paper.code: sat.key for sat in self.candidates}, counted)


def question_of(number: str) -> str:
    """
    The question that a part belongs to.

    >>> question_of("12b")
    '12'
    """
    return number.rstrip("abcdefghijklmnopqrstuvwxyz")


def share_of(part: Share) -> float:
    """A mark as a share from 0 to 1; 0 of nothing."""
    return float(part.mark / part.out_of) if part.out_of else 0.0


def look_at(register: Register, sitting: str, person: str, when: str) -> View:
    """
    The sitting as its reports see it. The keys are opened for it, and the register's log says by whom and when.

    Raises `UseError` where there is no such sitting.
    """
    held = register.sitting(sitting)
    keys = register.open_keys(sitting, person, when, "to report")
    markings, decisions = register.marks(sitting), register.decisions(sitting)
    rule = rule_of(held.blueprint) if "pass" in held.blueprint else None
    at, corrections = benches(register, sitting), register.corrections(sitting)

    def sat(paper: Paper) -> Sat:
        force = in_force(read_key(keys[paper.code]) if paper.code in keys else _without_questions(paper, held), corrections)
        awards = {award.number: award for award in register.awards(sitting, paper.candidate)}
        return Sat(
            paper,
            force.key,
            markings.get(paper.code),
            decisions.get(paper.candidate),
            rule or NO_RULE,
            force.notes,
            awards,
            at.get(paper.candidate, ()),
        )

    still = open_asides(register, sitting)
    return View(
        held,
        rule,
        tuple(map(sat, register.papers(sitting))),
        still,
        tuple(aside for aside in register.asides(sitting) if aside not in still),
        changes(register, sitting),
        corrections,
        register.awards(sitting),
        resting(register, sitting),
    )


def _without_questions(paper: Paper, held: Sitting) -> Key:
    """What stands for a key that was taken out with its candidate's data."""
    return Key(
        form=FORM,
        sitting=held.name,
        paper=paper.code,
        candidate=paper.candidate,
        blueprint="",
        bank=held.bank,
        nonce="",
        units={},
        questions=(),
    )
