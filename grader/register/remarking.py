"""
Marking again what is marked: after a corrected key, or a mark that an examiner awards by hand.

Nothing is overwritten. The correction or the award is kept first, with who, why and when; then each paper whose marks come out
otherwise gets another marking, which counts from now on. Decisions stay as they are, and those that rest on an earlier marking
are named: `grader decide` looks at them again.

A mark awarded by hand stands through later corrections, as long as the answer to that number is the one it was awarded for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from grader.base.errors import UseError
from grader.marking.labels import number_of
from grader.marking.mark import Mark
from grader.marking.outcome import Verdict
from grader.marking.station import DONE, NOT_DONE
from grader.register.corrections import Entry, InForce, applied, opened, touches
from grader.register.decisions import undecided
from grader.register.records import Award, Correction, Decision, Event, Marking
from grader.register.rule import Share, decimal, earned
from grader.register.stations import benches
from grader.register.store import Register

_MARK = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,2})?")


@dataclass(frozen=True, slots=True)
class Difference:
    """One number of a paper as it was marked before and after."""

    before: Mark
    after: Mark


@dataclass(frozen=True, slots=True)
class Change:
    """A paper that was marked again: both markings, and each number that came out otherwise."""

    before: Marking
    after: Marking

    @property
    def differences(self) -> tuple[Difference, ...]:
        """The numbers that came out otherwise, in the paper's order."""
        then = {mark.number: mark for mark in self.before.marks}
        pairs = [Difference(then[mark.number], mark) for mark in self.after.marks if mark.number in then]
        return tuple(pair for pair in pairs if pair.before != pair.after)

    @property
    def totals(self) -> tuple[Share, Share]:
        """What the paper came to before, and after."""
        return earned(self.before.marks), earned(self.after.marks)


@dataclass(frozen=True, slots=True)
class MarkedAgain:
    """What came of marking again: papers looked at, those changed, and the decisions that rest on an earlier mark."""

    looked_at: int
    changes: tuple[Change, ...]
    resting: tuple[Decision, ...]


def changes(register: Register, sitting: str) -> tuple[Change, ...]:
    """Every time that a paper of a sitting was marked again, the oldest first."""
    last: dict[str, Marking] = {}
    found = []
    for marking in register.every_marking(sitting):
        if marking.paper in last:
            found.append(Change(last[marking.paper], marking))
        last[marking.paper] = marking
    return tuple(found)


def resting(register: Register, sitting: str) -> tuple[Decision, ...]:
    """The decisions of a sitting that rest on an earlier mark or assessment than the one that counts."""
    if "pass" not in register.sitting(sitting).blueprint:
        return ()
    decided = register.decisions(sitting)
    return tuple(decided[candidate] for candidate in undecided(register, sitting) if candidate in decided)


def correct(
    register: Register, sitting: str, entries: tuple[Entry, ...], reason: str, when: str, person: str, *, trial: bool = False
) -> MarkedAgain:
    """
    Correct a sitting's keys and mark every paper again that has one of the items.

    Parameters
    ----------
    register, sitting
        Whose keys.
    entries : tuple of mapping
        As `grader.register.correction_file.read_corrections` gives them.
    reason, person, when : str
        Kept with the correction and with every marking that comes of it.
    trial : bool
        Keep nothing; say what would come of it.

    Raises
    ------
    UseError
        No such sitting, no reason, or a correction does not fit. Nothing is kept.
    """
    if not reason.strip():
        raise UseError("a key is corrected for a reason; say it with --reason")
    keys = opened(register, sitting, person, when, "to correct them" if not trial else "to try a correction")
    found: list[Change] = []
    with register.act():
        awards = _by_candidate(register.awards(sitting))
        touched = {
            code: _corrected(force, entries) for code, force in keys.items() if any(touches(force.key, one) for one in entries)
        }
        if not trial:
            register.keep_correction(Correction(sitting, entries, reason, person, when))
        marked = {code: marking for code, marking in register.marks(sitting).items() if code in touched}
        for code, before in marked.items():
            after = _again(before, touched[code], awards.get(before.candidate, ()), when, reason, person)
            if after.marks != before.marks:
                found.append(Change(before, after))
                if not trial:
                    register.keep_marking(after)
        if not trial:
            items = ", ".join(dict.fromkeys(str(one["item"]) for one in entries))
            register.note(Event(person, when, f"corrected the keys of sitting {sitting} ({items}): {reason}"))
    return MarkedAgain(len(marked), tuple(found), () if trial else resting(register, sitting))


def _corrected(force: InForce, entries: Iterable[Entry]) -> InForce:
    for entry in entries:
        force = applied(force, entry)
    return force


def _by_candidate(awards: Iterable[Award]) -> dict[str, tuple[Award, ...]]:
    found: dict[str, tuple[Award, ...]] = {}
    for award in awards:
        found[award.candidate] = (*found.get(award.candidate, ()), award)
    return found


def _again(before: Marking, force: InForce, awards: Iterable[Award], when: str, reason: str, person: str) -> Marking:
    """The same answers marked by the key in force; what was awarded by hand stands."""
    found = force.mark({mark.number: mark.answer for mark in before.marks})
    return replace(
        before, marks=with_awards(found.marks, awards), when=when, reason=reason, person=person, cause="correction", id=0
    )


# Marks awarded by hand.


def with_awards(marks: tuple[Mark, ...], awards: Iterable[Award]) -> tuple[Mark, ...]:
    """
    Marks with those that were awarded by hand, where the answer is still the one they were awarded for.

    >>> mark = Mark("1", "i", "o", "c", "3 mm2.", "", "0", "2", "unreadable", "no unit")
    >>> award = Award("spring", "c-01", "1", "3 mm2.", "2", "a full stop", "T. Examiner", "2031-05-12T09:30:00Z")
    >>> with_awards((mark,), [award])[0].why, with_awards((mark,), [award])[0].verdict
    ('Decided by an examiner: a full stop', 'right')
    """
    last = {award.number: award for award in awards}
    return tuple(_awarded(mark, last[mark.number]) if mark.number in last else mark for mark in marks)


def _awarded(mark: Mark, award: Award) -> Mark:
    worth, full = Fraction(award.award), Fraction(mark.out_of)
    if award.answer.strip() != mark.answer.strip() or worth > full:  # other answers count now, or the question no longer does
        return mark
    verdict: Verdict = "right" if worth == full else "part" if worth else "wrong"
    return replace(mark, mark=award.award, verdict=verdict, why=f"Decided by an examiner: {award.reason}")


def award_mark(
    register: Register, sitting: str, candidate: str, number: str, mark: str, reason: str, when: str, person: str
) -> MarkedAgain:
    """
    Award a mark by hand for one number of a candidate's paper, as on an answer that could not be read, or an upheld appeal.

    Parameters
    ----------
    number : str
        As printed: ``4a``.
    mark : str
        What it is worth: a decimal of at most two places, 0 to the number's points.

    Raises
    ------
    UseError
        No such sitting, candidate or number; not marked yet; no such mark; no reason; or it has that mark already.
    """
    _reasoned(reason)
    register.sitting(sitting)
    with register.act():
        paper = register.paper_of(sitting, candidate)
        if paper is None:
            raise UseError(f"no candidate {candidate!r} in sitting {sitting!r}; check the number")
        before = register.marks(sitting).get(paper.code)
        if before is None:
            raise UseError(f"{candidate} is not marked yet; mark the answers first")
        found = next((one for one in before.marks if one.number == (number_of(number) or number)), None)
        if found is None:
            there = ", ".join(one.number for one in before.marks)
            raise UseError(f"no number {number!r} on paper {paper.code}; it has {there}")
        award = Award(sitting, candidate, found.number, found.answer, _worth(mark, found), reason, person, when)
        marks = with_awards(before.marks, [award])
        if [one.mark for one in marks] == [one.mark for one in before.marks]:
            raise UseError(f"{candidate} has {found.mark} of {found.out_of} for number {found.number} already; nothing to award")
        after = replace(before, marks=marks, when=when, reason=reason, person=person, cause="award", id=0)
        register.keep_award(award)
        register.keep_marking(after)
        what = f"awarded {award.award} of {found.out_of} for number {found.number} of paper {paper.code} of {candidate}"
        register.note(Event(person, when, f"{what}: {reason}"))
    return MarkedAgain(1, (Change(before, after),), resting(register, sitting))


def _worth(mark: str, found: Mark) -> str:
    if not _MARK.fullmatch(mark) or Fraction(mark) > Fraction(found.out_of):
        raise UseError(f"{mark[:20]!r} is no mark for number {found.number}; write 0 to {found.out_of}, as `1.5`")
    return decimal(Fraction(mark))


def award_step(
    register: Register, sitting: str, candidate: str, number: str, award: str, reason: str, when: str, person: str
) -> MarkedAgain:
    """
    Settle by hand a step of a station that assessors leave open; `number` is ``curb-idle/4``, `award` ``done`` or ``not done``.

    Raises `UseError` where there is no such candidate, station or step, nobody has assessed it, or no reason is given.
    """
    _reasoned(reason)
    name, _, step = number.rpartition("/")
    if award not in (DONE, NOT_DONE):
        raise UseError(f"{award[:20]!r} settles no step; write `{DONE}` or `{NOT_DONE}`")
    with register.act():
        at = {bench.station.station: bench for bench in benches(register, sitting).get(candidate, ())}
        if name not in at:
            there = f"it has {', '.join(at)}" if at else "check the candidate's number, and that the sitting has stations"
            raise UseError(f"no station {name!r} for candidate {candidate!r} in sitting {sitting!r}; {there}")
        bench = at[name]
        seen = next((one for one in bench.steps if one.step.number == step), None)
        if seen is None:
            raise UseError(f"no step {step!r} at {name}; it has {len(bench.steps)}")
        if not bench.seen:
            raise UseError(f"nobody has assessed {candidate} at {name}; mark an assessor's file first")
        said = "; ".join(f"{tick.assessor}: {tick.tick or 'no tick'} {tick.reading}".strip() for tick in seen.ticks)
        register.keep_award(Award(sitting, candidate, number, said, award, reason, person, when))
        register.note(Event(person, when, f"settled step {step} of {name} for {candidate} as {award}: {reason}"))
    return MarkedAgain(0, (), resting(register, sitting))


def _reasoned(reason: str) -> None:
    if not reason.strip():
        raise UseError("what is decided by hand has a reason; say it with --reason")
