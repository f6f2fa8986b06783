"""
Printing a sitting: for every candidate a paper and an answer sheet, from the sealed key, whole or not there.

Papers are set side by side, as many at once as the machine has cores. Threads do it: typst leaves the interpreter to the others
while it sets a page (of 300 ms a paper some 15 are ours) and takes no more of the processor's time than in processes, which would
have to be told every paper and open the fonts anew; a forked one would hang once typst has run here.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from fractions import Fraction
from functools import partial
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import make_folder, write_atomic
from grader.items.course import Course
from grader.marking.key import Key
from grader.papers.annex import annex
from grader.papers.paper import Formula, asked_by, own_minutes
from grader.papers.paper import Paper as Printed
from grader.papers.pdf import set_paper
from grader.papers.sheet import write_sheet
from grader.register.records import Paper, Sitting

Progress = Callable[[int, int], None]
"""Called with how many papers are done, and of how many."""


def whole(home: Path, paper: Paper) -> bool:
    """Whether a candidate's paper and answer sheet stand in the sitting's folder."""
    return all(path.exists() for path in _files(home, paper))


def tidied(home: Path) -> None:
    """Make the sitting's folders, without the neighbours that a killed run was writing."""
    for folder in (home, *(make_folder(home / part) for part in ("papers", "sheets", "answers"))):
        for left in folder.glob(".*.part"):
            left.unlink(missing_ok=True)


def print_papers(
    papers: Sequence[Paper],
    keys: Mapping[str, Key],
    sitting: Sitting,
    course: Course,
    home: Path,
    progress: Progress | None = None,
    total: int | None = None,
    workers: int | None = None,
) -> None:
    """
    Write ``papers/CODE.pdf`` and ``sheets/CODE.html`` for some of a sitting's candidates, where they are not there yet.

    Parameters
    ----------
    keys : mapping
        Paper code to key, for all of `papers`.
    home : Path
        The sitting's folder, with `papers` and `sheets` in it.
    progress, total : callable and int, optional
        Told after each paper, of how many in all: the ones that stand already count as done.
    workers : int, optional
        How many papers are set at once; by default as many as there are cores.

    Raises
    ------
    UseError
        A paper cannot be set or written, or a key is not the sealed one. What was written before is whole and stays.
    """
    formulas = annex(sitting.blueprint.get("formulas", ()), course.relations)
    whole_total = len(papers) if total is None else total
    before = whole_total - len(papers)

    def printed(paper: Paper) -> None:
        key = keys[paper.code]
        _print(printed_paper(paper, key, sitting, course, formulas), key, *_files(home, paper))

    def told(done: int) -> None:
        if progress:
            progress(before + done, whole_total)

    side_by_side((partial(printed, paper) for paper in papers), told, workers)


def side_by_side(
    jobs: Iterable[Callable[[], None]], done: Callable[[int], None] = lambda _: None, workers: int | None = None
) -> None:
    """
    Do jobs at once, as many as there are cores; `done` is told after each how many are. The first that fails ends the rest.

    >>> found: list[int] = []
    >>> side_by_side([lambda: found.append(1), lambda: found.append(2)])
    >>> sorted(found)
    [1, 2]
    """
    with ThreadPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        try:
            for count, job in enumerate(as_completed([pool.submit(job) for job in jobs]), 1):
                job.result()
                done(count)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _files(home: Path, paper: Paper) -> tuple[Path, Path]:
    return home / "papers" / f"{paper.code}.pdf", home / "sheets" / f"{paper.code}.html"


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
