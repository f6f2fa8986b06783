"""`make bench`: what printing a sitting costs over bare typst, and what a second core is worth."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path

import msgspec
import typst

from grader.base.canon import digest
from grader.items.course import Course
from grader.items.variants import draw_question
from grader.marking.key import FORM, Key, unit_entries
from grader.papers.annex import annex
from grader.papers.pdf import paper_source
from grader.register.printing import print_papers, printed_paper
from grader.register.records import Paper, Sitting
from grader.register.sitting import blueprint_json

ROUNDS, TOGETHER = 5, 6
TEMPLATE = Path(__file__).parent.parent / "grader" / "papers" / "paper.typ"


def printing_a_sitting(course: Course) -> tuple[float, str, str]:
    """Papers and answer sheets of the final examination, from sealed keys to files."""
    sitting, papers = _sitting(course), _papers(course)
    formulas = annex(sitting.blueprint["formulas"], course.relations)
    fonts = typst.Fonts(include_system_fonts=False)

    def bare() -> float:
        some = list(islice(papers, TOGETHER))
        sources = [paper_source(printed_paper(paper, key, sitting, course, formulas)) for paper, key in some]
        return _seconds(lambda: [_compile(source, fonts) for source in sources])

    found = _ratio(lambda: _printing(course, sitting, papers, 1), bare)
    return found, "papers and answer sheets of 30 questions, from sealed keys to synced files", "bare typst on the same sources"


def printing_with_two_workers(course: Course) -> tuple[float, str, str]:
    """The same with two papers at once; 0.5 is twice as many papers a second."""
    sitting, papers = _sitting(course), _papers(course)
    found = _ratio(lambda: _printing(course, sitting, papers, 2), lambda: _printing(course, sitting, papers, 1))
    return found, "printing with two workers, on as many cores as there are", "printing with one"


def _ratio(ours: Callable[[], float], floor: Callable[[], float]) -> float:
    """The median over rounds; no paper is set twice, because typst remembers what it has set."""
    ours(), floor()
    return statistics.median(ours() / floor() for _ in range(ROUNDS))


def _printing(course: Course, sitting: Sitting, papers: Iterator[tuple[Paper, Key]], workers: int) -> float:
    some = list(islice(papers, TOGETHER))
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        for part in ("papers", "sheets"):
            (home / part).mkdir()
        keys = {paper.code: key for paper, key in some}
        return _seconds(lambda: print_papers([paper for paper, _ in some], keys, sitting, course, home, workers=workers))


def _compile(source: str, fonts: typst.Fonts) -> bytes:
    return typst.compile(
        TEMPLATE, sys_inputs={"paper": source}, font_paths=fonts, ignore_system_fonts=True, pdf_standards="ua-1", timestamp=0
    )


def _seconds(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def _sitting(course: Course) -> Sitting:
    plan = blueprint_json(course.blueprints["final-examination"])
    return Sitting("bench", plan, course.bank_digest, bytes(32), "2031-05-12", course.title, {"name": course.school.name})


def _papers(course: Course) -> Iterator[tuple[Paper, Key]]:
    """Papers without end, each of 30 items and numbers of its own."""
    number = 0
    while True:
        code = f"BENCH{number:05}"
        items = [course.exam[(number * 7 + place * 5) % len(course.exam)] for place in range(30)]
        questions = tuple(
            msgspec.structs.replace(draw_question(item, b"bench", code, course.figures), number=str(place))
            for place, item in enumerate(items, 1)
        )
        key = Key(
            form=FORM, sitting="bench", paper=code, candidate=f"x-{number}", blueprint="final", bank=course.bank_digest,
            nonce="0" * 64, units=unit_entries(), questions=questions,
        )  # fmt: skip
        yield Paper(code, "bench", key.candidate, f"Candidate Number {number}", digest(key.encoded())), key
        number += 1


PAPER_MEASURES = (printing_a_sitting, printing_with_two_workers)
