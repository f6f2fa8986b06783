"""
Holding a sitting: keys into the register first, then papers and answer sheets into the sitting's folder.

The register takes sitting, roster and keys in one transaction; only then is anything printed, and always from the sealed keys.
So a run that was killed at any moment is finished by running it again: what stands in the folder is whole and stays, what is
missing is made. Candidates who come late are added; nobody else's paper changes. Any other change of the inputs is refused, and
what differs is named (`grader.register.again`).
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

from grader.base.canon import canonical, read_json
from grader.base.errors import FindingsError, UseError
from grader.base.files import contained, make_folder, plain_name, write_atomic
from grader.base.findings import Finding
from grader.base.tables import csv_text
from grader.items.course import Course
from grader.items.model import Blueprint, Candidate
from grader.items.variants import draw_question
from grader.marking.key import Key, read_key
from grader.papers.annex import annex
from grader.papers.assembly import assemble, drawable, pools_of
from grader.papers.likeness import Likeness, likeness
from grader.papers.names import ids_unprintable, names_in_part
from grader.papers.pdf import set_paper
from grader.papers.seal import codes, seal
from grader.papers.weights import Weight, estimates
from grader.register.again import changed_files, differences, roster_differences, told, what_counts
from grader.register.benches import check_stations_are_there, write_benches
from grader.register.measured import weights_of
from grader.register.printing import Progress, print_papers, printed_paper, tidied, whole
from grader.register.records import Event, Paper, Sitting
from grader.register.stations import seal_stations
from grader.register.store import Register

NewPassphrase = Callable[[], str]
"""Asked for the passphrase that shall lock the keys of a new sitting."""


@dataclass(frozen=True, slots=True)
class Held:
    """
    What holding a sitting came to: folder, papers, how many of them were sealed and printed just now, bench stations.

    `locked` says whether a passphrase locks the keys; `changed` names files of the course that have changed since the sitting was
    held, and that nothing made now depends on. `findings` are warnings: names that are printed only in part. `likeness` compares
    the papers' weights and items; None where keys lie sealed that nothing had to open.
    """

    folder: Path
    papers: tuple[Paper, ...]
    sealed: int
    printed: int
    stations: tuple[str, ...] = ()
    locked: bool = False
    changed: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    likeness: Likeness | None = None


def hold_sitting(
    register: Register,
    course: Course,
    blueprint: Blueprint,
    roster: Sequence[Candidate],
    name: str,
    folder: Path,
    date: str,
    secret: bytes | None = None,
    progress: Progress | None = None,
    person: str = "",
    when: str = "",
    lock: NewPassphrase | None = None,
) -> Held:
    """
    Seal and print a paper and an answer sheet for every candidate of a roster.

    Parameters
    ----------
    name : str
        The sitting's name; it names its folder.
    folder : Path
        Where `sittings/` stands or shall stand.
    date : str
        The day it is held, ``2031-05-12``. A sitting that is held already keeps its own.
    secret : bytes, optional
        32 bytes that all draws are keyed with; by default random ones.
    progress : callable, optional
        Told after each paper.
    person, when : str
        Who does it, and the instant, for the register's log.
    lock : callable, optional
        Gives the passphrase that shall lock the keys of a new sitting. One whose keys are locked already asks for theirs through
        the register.

    Returns
    -------
    Held
        The folder holds ``papers/CODE.pdf``, ``sheets/CODE.html``, ``manifest.csv`` and, where the blueprint names bench
        stations, their assessors' sheets ``stations/NAME.pdf`` and ``stations/NAME.html``.

    Raises
    ------
    FindingsError
        The course's files are wrong, or an id cannot be printed.
    UseError
        The blueprint cannot be filled, the sitting was held with other inputs, its keys are locked and the passphrase is missing
        or wrong, or the folder cannot be written.
    """
    check_inputs(course, blueprint, roster, name)
    home = contained(folder, "sittings", name)
    known = name in register.sittings()
    now = _Fresh(course, blueprint, roster, person, when or date)
    if known:
        sitting = register.sitting(name)
        if lock is not None and not sitting.locked:
            raise UseError(f"sitting {name!r} was held without a lock; leave --lock out, or give the new sitting another name")
        fresh, standing, changed = _sealed_late(register, sitting, now, secret)
    else:
        weights = weights_of(drawable(blueprint, course), register)
        sitting = _new_sitting(course, blueprint, name, date, secrets.token_bytes(32) if secret is None else secret, weights)
        fresh, standing, changed = _sealed_new(register, sitting, now, lock() if lock is not None else ""), {}, ()
    seal_stations(register, sitting, course)
    papers, keys = _of_people(register, name), standing | fresh
    make_folder(home.parent, private=True)  # papers before they are sat, names, marks: nobody else's on this machine
    tidied(home)
    missing = [paper for paper in papers if not whole(home, paper)]
    if any(paper.code not in keys for paper in missing):
        opened = register.open_keys(name, person, when or date, "to print the rest")
        keys = keys | {code: read_key(data) for code, data in opened.items()}
    print_papers(missing, keys, sitting, course, home, progress, len(papers))
    stations = write_benches(home, sitting, papers, course)
    write_atomic(home / "manifest.csv", manifest(register.papers(name)))
    locked = register.sitting(name).locked
    alike = _compared(keys, sitting, now) if len(keys) == len(papers) else None
    return Held(home, papers, len(fresh), len(missing), stations, locked, changed, names_in_part(roster), alike)


def manifest(papers: Sequence[Paper]) -> str:
    """
    The sitting's list: who has which paper, and the digest that seals its key.

    >>> print(manifest([Paper("7M2KQ8D4XT", "spring", "c-01", "Ada Weir", "ab" * 32)]).splitlines()[1])
    c-01,Ada Weir,7M2KQ8D4XT,abababababababababababababababababababababababababababababababab
    """
    rows = [(paper.candidate, paper.name, paper.code, paper.key_digest) for paper in papers]
    return csv_text(("candidate", "name", "paper", "digest"), rows)


def check_inputs(course: Course, blueprint: Blueprint, roster: Sequence[Candidate], name: str) -> None:
    """
    Refuse what no sitting can be held with, before a register is opened or a folder made.

    Raises as `hold_sitting`.
    """
    if not plain_name(name):
        raise UseError(
            f"{name[:80]!r} cannot name a sitting; use letters, digits, `-`, `_`, at most 80, starting with a letter or digit"
        )
    if not roster:
        raise UseError("the roster names no candidate; write a line for each")
    errors = [finding for finding in course.findings if finding.level == "error"]
    if errors:
        raise FindingsError(errors)
    if unfit := ids_unprintable(roster):
        raise FindingsError(unfit)
    check_stations_are_there(blueprint, course)
    pools_of(blueprint, course)  # what one paper can be filled with, all can
    annex(blueprint.formulas, course.relations)


@dataclass(frozen=True, slots=True)
class _Fresh:
    """What a sitting is held with now, by whom, when."""

    course: Course
    blueprint: Blueprint
    roster: Sequence[Candidate]
    person: str
    when: str


def _sealed_new(register: Register, sitting: Sitting, now: _Fresh, passphrase: str) -> dict[str, Key]:
    """Keep a new sitting with a key for everybody on the roster; the keys by paper code."""
    fresh = _drawn(sitting, now.course, now.blueprint, now.roster)
    with register.act():
        register.hold_sitting(sitting, ((paper, data) for paper, _, data in fresh), passphrase)
        register.note(Event(now.person, now.when, f"sealed {len(fresh)} papers of sitting {sitting.name}, now held"))
    return {paper.code: key for paper, key, _ in fresh}


def _sealed_late(
    register: Register, sitting: Sitting, now: _Fresh, secret: bytes | None
) -> tuple[dict[str, Key], dict[str, Key], tuple[str, ...]]:
    """
    Keys for those of the roster who have no paper yet, the keys that stand where they had to be opened, and the course's files
    that have changed without touching them.
    """
    before = _of_people(register, sitting.name)
    known = {paper.candidate for paper in before}
    late = [person for person in now.roster if person.candidate not in known]
    changed = _same(sitting, before, now, late=bool(late))
    mine = register.open_secret(sitting.name, now.person, now.when, "to draw late papers") if late else sitting.secret
    if secret is not None and mine and secret != mine:
        raise UseError(f"sitting {sitting.name!r} was held with another secret; {AGAIN}")
    if not late:
        return {}, {}, changed
    _refuse_erased(late, register.papers(sitting.name), sitting.name, mine)
    opened = register.open_keys(sitting.name, now.person, now.when, "to see what is used already")
    standing = {code: read_key(data) for code, data in opened.items()}
    fresh = _drawn(replace(sitting, secret=mine), now.course, now.blueprint, now.roster, [*standing.values()])
    with register.act():
        register.seal_papers((paper, data) for paper, _, data in fresh)
        register.note(Event(now.person, now.when, f"sealed {len(fresh)} more papers of sitting {sitting.name}"))
    return {paper.code: key for paper, key, _ in fresh}, standing, changed


def _of_people(register: Register, sitting: str) -> tuple[Paper, ...]:
    """The papers of a sitting, without those whose candidate's data were taken out: they are on no roster, and not printed."""
    return tuple(paper for paper in register.papers(sitting) if paper.name)


def _refuse_erased(late: Sequence[Candidate], papers: Sequence[Paper], sitting: str, secret: bytes) -> None:
    """An old roster brings back nobody whose data were taken out: the code that they would get is their paper's already."""
    taken = {paper.code for paper in papers if not paper.name}
    back = [person.candidate for person in late if taken & {*codes(secret, sitting, [person.candidate]).values()}]
    if back:
        raise UseError(f"the data of {', '.join(back)} were taken out of sitting {sitting!r}; leave them out of the roster")


def _compared(keys: Mapping[str, Key], sitting: Sitting, now: _Fresh) -> Likeness:
    """The papers of a sitting beside each other, in the order of the roster."""
    seat = {person.candidate: place for place, person in enumerate(now.roster)}
    pool = drawable(now.blueprint, now.course)
    return likeness(sorted(keys.values(), key=lambda key: seat[key.candidate]), pool, {**estimates(pool), **sitting.weights})


def _new_sitting(
    course: Course, blueprint: Blueprint, name: str, date: str, secret: bytes, weights: Mapping[str, Weight]
) -> Sitting:
    return Sitting(
        name=name,
        blueprint=blueprint_json(blueprint),
        bank=course.digest_for(blueprint),
        secret=secret,
        held=date,
        course=course.title,
        school={"name": course.school.name, "id": course.school.id, "place": course.school.place},
        files=course.files_for(blueprint),
        weights=weights,
    )


def _drawn(
    sitting: Sitting, course: Course, blueprint: Blueprint, roster: Sequence[Candidate], standing: Sequence[Key] = ()
) -> list[tuple[Paper, Key, bytes]]:
    """Papers and keys for those of the roster who have none; the keys that stand say what is used already, and by whom."""
    held = {key.candidate: [question.item for question in key.questions] for key in standing}
    weights = {**estimates(drawable(blueprint, course)), **sitting.weights}
    chosen = assemble(blueprint, course, [person.candidate for person in roster], sitting.secret, weights, held)
    late = [person for person in roster if person.candidate not in held]
    code = codes(sitting.secret, sitting.name, [*held, *(person.candidate for person in late)])
    fresh = []
    for person in late:
        sealed = seal(
            chosen[person.candidate],
            sitting=sitting.name,
            candidate=person.candidate,
            code=code[person.candidate],
            blueprint=blueprint.id,
            bank=sitting.bank,
            secret=sitting.secret,
            draw=partial(draw_question, figures=course.figures),
        )
        fresh.append((_paper(sitting.name, person, code[person.candidate], sealed.digest), sealed.key, sealed.data))
    return fresh


def _paper(sitting: str, person: Candidate, code: str, key_digest: str) -> Paper:
    return Paper(
        code=code,
        sitting=sitting,
        candidate=person.candidate,
        name=person.name,
        key_digest=key_digest,
        group=person.group,
        email=person.email,
        extra_time=share_text(person.extra_time) if person.extra_time else "",
        print=person.print,
    )


AGAIN = "give back what it was held with, or give the new sitting another name"


def _same(sitting: Sitting, papers: Sequence[Paper], now: _Fresh, *, late: bool) -> tuple[str, ...]:
    """Refuse whatever would make the rest of a sitting unlike the part that stands; the changed files that do not."""
    held = f"sitting {sitting.name!r} was held with another"
    plans = canonical(dict(sitting.blueprint)), canonical(blueprint_json(now.blueprint))
    if plans[0] != plans[1]:
        raise UseError(f"{held} blueprint: {told([*differences(*map(read_json, plans))])}; {AGAIN}")
    rows = {person.candidate: person for person in now.roster}
    people = {
        paper.candidate: _paper(sitting.name, rows[paper.candidate], paper.code, paper.key_digest)
        for paper in papers
        if paper.candidate in rows
    }
    differing = [*roster_differences(papers, people)]
    if differing:
        raise UseError(f"{held} roster: {told(differing)}; {AGAIN}")
    if sitting.bank == now.course.digest_for(now.blueprint):
        return ()
    changed = changed_files(sitting.files, now.course.files_for(now.blueprint))
    counting = what_counts(changed, now.course, now.blueprint, late=late)
    if not sitting.files and (late or now.blueprint.stations):
        raise UseError(f"{held} bank: a file of `questions` has changed, and the register of then did not keep which; {AGAIN}")
    if sitting.files and counting:
        raise UseError(f"{held} bank: {told([f'{name} {changed[name]}' for name in counting])}; {AGAIN}")
    return tuple(changed) if sitting.files else ()


def preview_paper(course: Course, blueprint: Blueprint, date: str) -> bytes:
    """
    One paper as PDF for nobody, with numbers that no sitting will have; nothing is kept.

    Raises as `hold_sitting`.
    """
    nobody = Candidate("preview", "Preview: no candidate")
    check_inputs(course, blueprint, [nobody], "preview")
    sitting = _new_sitting(course, blueprint, "preview", date, secrets.token_bytes(32), {})
    ((paper, key, _),) = _drawn(sitting, course, blueprint, [nobody])
    return set_paper(printed_paper(paper, key, sitting, course, annex(blueprint.formulas, course.relations)))


_DRAWN_FROM = ("objective", "circuit", "level", "kinds")


def blueprint_json(blueprint: Blueprint) -> dict[str, Any]:
    """
    A blueprint as the register keeps it; decisions and certificates read of it.

    >>> from grader.items.model import DrawRule, PassRule
    >>> plan = Blueprint("trial", "trial.yaml", 1, "Trial", 60.0, (DrawRule(2, 5, circuit="pump"),), PassRule(Fraction(3, 5)))
    >>> blueprint_json(plan)["pass"], blueprint_json(plan)["draw"]
    ({'cut': '60 %', 'each_circuit': '0 %'}, [{'items': 2, 'circuit': 'pump'}])
    """
    draw = [
        {"items": rule.items} | {field: value for field in _DRAWN_FROM if (value := getattr(rule, field))}
        for rule in blueprint.draw
    ]
    kept: dict[str, Any] = {
        "id": blueprint.id,
        "title": blueprint.title,
        "minutes": f"{blueprint.minutes:g}",
        "aids": list(blueprint.aids),
        "formulas": list(blueprint.formulas),
        "cautions": list(blueprint.cautions),
        "draw": draw,
        "pass": {"cut": share_text(blueprint.pass_rule.cut), "each_circuit": share_text(blueprint.pass_rule.each_circuit)},
    }
    if blueprint.pass_rule.each_station is not None:
        kept["pass"]["each_station"] = share_text(blueprint.pass_rule.each_station)
    if blueprint.pass_rule.set_by:
        kept["pass"]["set_by"] = blueprint.pass_rule.set_by
    if blueprint.bank != "exam":
        kept["bank"] = blueprint.bank
    if blueprint.stations:
        kept["stations"] = list(blueprint.stations)
    if blueprint.certificate:
        text = blueprint.certificate
        kept["certificate"] = {"name": text.name, "description": text.description, "criteria": text.criteria}
        if text.years:
            kept["certificate"]["valid"] = f"{text.years:g} years"
    return kept


def share_text(share: Fraction | float) -> str:
    """
    A share as people write it.

    >>> share_text(Fraction(3, 5)), share_text(0.25), share_text(Fraction(1, 3)), share_text(0.125)
    ('60 %', '25 %', '1/3', '12.5 %')
    """
    text = f"{float(share) * 100:.6g}"
    exact = not isinstance(share, Fraction) or Fraction(text) == share * 100
    return f"{text} %" if exact else str(share)
