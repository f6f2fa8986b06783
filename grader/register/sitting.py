"""
Holding a sitting: keys into the register first, then papers and answer sheets into the sitting's folder.

The register takes sitting, roster and keys in one transaction; only then is anything printed, and always from the sealed keys.
So a run that was killed at any moment is finished by running it again: what stands in the folder is whole and stays, what is
missing is made. Candidates who come late are added; nobody else's paper changes. Any other change of the inputs is refused.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

from grader.base.canon import canonical
from grader.base.errors import FindingsError, UseError
from grader.base.files import contained, make_folder, plain_name, write_atomic
from grader.base.findings import Finding
from grader.base.tables import csv_text
from grader.items.course import Course
from grader.items.model import Blueprint, Candidate
from grader.items.variants import draw_question
from grader.marking.key import Key, read_key
from grader.papers.annex import annex
from grader.papers.assembly import assemble
from grader.papers.paper import Formula, asked_by, own_minutes
from grader.papers.paper import Paper as Printed
from grader.papers.pdf import set_paper, unprintable
from grader.papers.seal import codes, seal
from grader.papers.sheet import write_sheet
from grader.register.benches import check_stations_are_there, write_benches
from grader.register.records import Paper, Sitting
from grader.register.store import Register

Progress = Callable[[int, int], None]
"""Called with how many papers are done, and of how many."""

PRINTER = "paper: the printing of a sitting"  # whom the log names where keys are opened to print the rest of a sitting


@dataclass(frozen=True, slots=True)
class Held:
    """What holding a sitting came to: folder, papers, how many of them were sealed and printed just now, bench stations."""

    folder: Path
    papers: tuple[Paper, ...]
    sealed: int
    printed: int
    stations: tuple[str, ...] = ()


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

    Returns
    -------
    Held
        The folder holds ``papers/CODE.pdf``, ``sheets/CODE.html``, ``manifest.csv`` and, where the blueprint names bench
        stations, their assessors' sheets ``stations/NAME.pdf`` and ``stations/NAME.html``.

    Raises
    ------
    FindingsError
        The course's files are wrong, or a name cannot be printed.
    UseError
        The blueprint cannot be filled, the sitting was held with other inputs, or the folder cannot be written.
    """
    check_inputs(course, blueprint, roster, name)
    home = contained(folder, "sittings", name)
    sitting, keys = _sealed(register, course, blueprint, roster, name, date, secret)
    sealed = len(keys)
    papers = register.papers(name)
    make_folder(home.parent, private=True)  # papers before they are sat, names, marks: nobody else's on this machine
    _tidy(home)
    missing = [paper for paper in papers if not _whole(home, paper)]
    if any(paper.code not in keys for paper in missing):
        keys = keys | {code: read_key(data) for code, data in register.open_keys(name, PRINTER, date).items()}
    _print_all(missing, keys, sitting, course, home, progress, len(papers))
    stations = write_benches(home, sitting, papers, course)
    write_atomic(home / "manifest.csv", manifest(papers))
    return Held(home, papers, sealed, len(missing), stations)


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
    unfit = [
        Finding(
            person.file,
            person.line,
            "unprintable-name",
            f"no font has {missing!r} of {person.name!r}",
            "write the name in Latin letters",
        )
        for person in roster
        if (missing := unprintable(person.name + person.candidate))
    ]
    if unfit:
        raise FindingsError(unfit)
    check_stations_are_there(blueprint, course)
    assemble(blueprint, course, [roster[0].candidate], bytes(32))  # what one paper can be filled with, all can
    annex(blueprint.formulas, course.relations)


def _sealed(
    register: Register,
    course: Course,
    blueprint: Blueprint,
    roster: Sequence[Candidate],
    name: str,
    date: str,
    secret: bytes | None,
) -> tuple[Sitting, dict[str, Key]]:
    """The sitting as the register has it, with every candidate's key in it, and the keys that were sealed just now."""
    before: tuple[Paper, ...] = ()
    if name in register.sittings():
        sitting = register.sitting(name)
        before = register.papers(name)
        _same(sitting, before, course, blueprint, roster, secret)
    else:
        sitting = _new_sitting(course, blueprint, name, date, secrets.token_bytes(32) if secret is None else secret)
    known = {paper.candidate for paper in before}
    late = [person for person in roster if person.candidate not in known]
    if not late:
        return sitting, {}
    order = [*(paper.candidate for paper in before), *(person.candidate for person in late)]
    fresh = _drawn(sitting, course, blueprint, late, order)
    if before:
        register.seal_papers((paper, data) for paper, _, data in fresh)
    else:
        register.hold_sitting(sitting, ((paper, data) for paper, _, data in fresh))
    return sitting, {paper.code: key for paper, key, _ in fresh}


def _new_sitting(course: Course, blueprint: Blueprint, name: str, date: str, secret: bytes) -> Sitting:
    return Sitting(
        name=name,
        blueprint=blueprint_json(blueprint),
        bank=course.digest_for(blueprint),
        secret=secret,
        held=date,
        course=course.title,
        school={"name": course.school.name, "id": course.school.id, "place": course.school.place},
    )


def _drawn(
    sitting: Sitting, course: Course, blueprint: Blueprint, people: Sequence[Candidate], order: Sequence[str]
) -> list[tuple[Paper, Key, bytes]]:
    """Papers and keys of some candidates, drawn as if all had come at once: who came before keeps what he has."""
    chosen = assemble(blueprint, course, order, sitting.secret)
    code = codes(sitting.secret, sitting.name, order)
    fresh = []
    for person in people:
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


def _same(
    sitting: Sitting,
    papers: Sequence[Paper],
    course: Course,
    blueprint: Blueprint,
    roster: Sequence[Candidate],
    secret: bytes | None,
) -> None:
    """Refuse whatever would make the rest of a sitting unlike the part that stands."""
    again = "give back what it was held with, or give the new sitting another name"
    if canonical(dict(sitting.blueprint)) != canonical(blueprint_json(blueprint)):
        raise UseError(f"sitting {sitting.name!r} was held with another blueprint; {again}")
    if sitting.bank != course.digest_for(blueprint):
        raise UseError(f"sitting {sitting.name!r} was held with another bank: a file of `questions` has changed; {again}")
    if secret is not None and secret != sitting.secret:
        raise UseError(f"sitting {sitting.name!r} was held with another secret; {again}")
    people = {person.candidate: person for person in roster}
    for paper in papers:
        person = people.get(paper.candidate)
        if person is None:
            raise UseError(
                f"candidate {paper.candidate!r} has a paper in sitting {sitting.name!r} and is not in the roster; {again}"
            )
        if _paper(sitting.name, person, paper.code, paper.key_digest) != paper:
            raise UseError(
                f"candidate {paper.candidate!r} stands otherwise in the roster than in sitting {sitting.name!r}; {again}"
            )


def preview_paper(course: Course, blueprint: Blueprint, date: str) -> bytes:
    """
    One paper as PDF for nobody, with numbers that no sitting will have; nothing is kept.

    Raises as `hold_sitting`.
    """
    nobody = Candidate("preview", "Preview: no candidate")
    check_inputs(course, blueprint, [nobody], "preview")
    sitting = _new_sitting(course, blueprint, "preview", date, secrets.token_bytes(32))
    ((paper, key, _),) = _drawn(sitting, course, blueprint, [nobody], [nobody.candidate])
    return set_paper(printed_paper(paper, key, sitting, course, annex(blueprint.formulas, course.relations)))


# Printing.


def _files(home: Path, paper: Paper) -> tuple[Path, Path]:
    return home / "papers" / f"{paper.code}.pdf", home / "sheets" / f"{paper.code}.html"


def _whole(home: Path, paper: Paper) -> bool:
    return all(path.exists() for path in _files(home, paper))


def _tidy(home: Path) -> None:
    """The sitting's folders, without the neighbours that a killed run was writing."""
    for part in ("papers", "sheets", "answers"):
        for left in make_folder(home / part).glob(".*.part"):
            left.unlink(missing_ok=True)


def _print_all(
    papers: Sequence[Paper],
    keys: Mapping[str, Key],
    sitting: Sitting,
    course: Course,
    home: Path,
    progress: Progress | None,
    total: int,
) -> None:
    """Typst gives the other threads room while it sets a page; a forked process would hang once it has run here."""
    formulas = annex(sitting.blueprint.get("formulas", ()), course.relations)
    done = total - len(papers)
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        jobs: list[Future[None]] = []
        try:
            for paper in papers:
                printed = printed_paper(paper, keys[paper.code], sitting, course, formulas)
                jobs.append(pool.submit(_print, printed, keys[paper.code], *_files(home, paper)))
            for job in as_completed(jobs):
                job.result()
                done += 1
                if progress:
                    progress(done, total)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _print(paper: Printed, key: Key, pdf: Path, sheet: Path) -> None:
    """Write what is not there yet; a paper that was printed is never changed."""
    if not pdf.exists():
        write_atomic(pdf, set_paper(paper))
    if not sheet.exists():
        write_atomic(sheet, write_sheet(paper, key.units))


def printed_paper(paper: Paper, key: Key, sitting: Sitting, course: Course, formulas: tuple[Formula, ...]) -> Printed:
    """What is printed for a candidate, from the sealed key and the register alone but for the course's language and notice."""
    asked, sealed = asked_by(key)
    if sealed != paper.key_digest:
        raise UseError(f"the key of paper {paper.code} is not the one that was sealed; restore the register from a copy")
    plan = sitting.blueprint
    extra = Fraction(paper.extra_time.removesuffix("%").strip() or 0) / 100
    return Printed(
        school=str(sitting.school["name"]),
        place=str(sitting.school.get("place", "")),
        title=str(plan["title"]),
        language=course.about.language,
        sitting=sitting.name,
        date=sitting.held,
        candidate=paper.candidate,
        name=paper.name,
        code=paper.code,
        key_digest=paper.key_digest,
        minutes=own_minutes(Fraction(str(plan["minutes"])), extra),
        asked=asked,
        extra=paper.extra_time,
        large=paper.print == "large",
        aids=tuple(plan.get("aids", ())),
        cautions=tuple(plan.get("cautions", ())),
        notice=course.about.notice,
        called="Examination paper" if plan.get("bank", "exam") == "exam" else "Practice quiz, open items",
        formulas=formulas,
    )


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
