"""
`make bench`: each figure as a ratio to its floor, measured in the same run, into build/bench.json.

A ratio says what our code costs over the bare library call that it cannot do without. Each is the median of several rounds,
ours and the floor by turns, so that a busy machine disturbs both alike.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import msgspec
import numpy as np
import yaml

from grader.base.canon import digest
from grader.circuits.air import circle, venturi_depression
from grader.circuits.carburetor import columns_of, points_at, solve
from grader.circuits.catalog import relations
from grader.circuits.faults import FAULTS, with_faults
from grader.circuits.power import open_area
from grader.demo.simulated import Person, answers
from grader.items.checks import check_course, check_items
from grader.items.course import Course, load_course
from grader.items.item_file import read_items
from grader.items.specimen_file import load_specimen
from grader.items.variants import draw_question
from grader.marking.key import FORM, Key, read_key, unit_entries
from grader.marking.mark import Marker
from grader.marking.reading import read_file
from tests.bench_assembly import ASSEMBLY_MEASURES
from tests.bench_decisions import DECISION_MEASURES
from tests.bench_pages import PAGE_MEASURES
from tests.bench_papers import PAPER_MEASURES
from tests.bench_ratio import ratio
from tests.bench_register import REGISTER_MEASURES

ROOT = Path(__file__).parent.parent


def start_up(_course: Course) -> tuple[float, str, str]:
    """A command's start."""
    bare = "import click\n@click.group()\n@click.version_option('1')\ndef g(): pass\ng(['--version'])"
    run = lambda *arguments: subprocess.run([sys.executable, *arguments], capture_output=True, check=True, cwd=ROOT)  # noqa: E731
    found = ratio(lambda: run("-m", "grader", "--version"), lambda: run("-c", bare))
    return found, "grader --version, a fresh process", "a click group of four lines, a fresh process"


def relation_on_arrays(_course: Course) -> tuple[float, str, str]:
    """A relation on many variants at once."""
    bore, rod = np.linspace(0.002, 0.003, 1_000_000), np.linspace(0.001, 0.0019, 1_000_000)
    found = ratio(lambda: open_area(bore, rod), lambda: np.pi / 4 * (bore * bore - rod * rod), (10, 10))
    return found, "open_area on 1e6 variants, range check included", "the same formula by hand in NumPy, without a check"


def marking_a_file(course: Course) -> tuple[float, str, str]:
    """Marking a file of 30 answers, from its bytes: everybody has other numbers, and writes something else."""
    number = re.compile(r"[-+]?\d+\.?\d*")
    sat = [(Marker(key), _file(key, given)) for key, given in _papers(course)]
    verdicts = {m.verdict for marker, file in sat for m in marker.mark(read_file("a.json", file).sheets[0].answers).marks}
    assert {"right", "wrong", "slip", "followed", "unreadable", "blank"} <= verdicts, verdicts

    class File(msgspec.Struct):
        paper: str
        candidate: str
        answers: dict[str, str]

    def ours() -> None:
        for marker, file in sat:
            marker.mark(read_file("a.json", file).sheets[0].answers)

    def bare() -> None:
        for _, file in sat:
            for text in msgspec.json.decode(file, type=File).answers.values():
                found = number.search(text)
                if found:
                    float(found[0])

    return (
        ratio(ours, bare, (4, 40), time.process_time),  # microseconds: a busy machine would be all that a clock on the wall shows
        "reading and marking a file of 30 answers, slips and follow-through among them, its key made ready before",
        "strict decoding of the file, one pattern and one float() an answer",
    )


def reading_a_key(course: Course) -> tuple[float, str, str]:
    """Reading a key, making sure that it is the sealed one, and making it ready to mark with: once a candidate."""
    sealed = [key.encoded() for key, _ in _papers(course)]
    found = ratio(
        lambda: [(digest(key), Marker(read_key(key))) for key in sealed], lambda: [json.loads(key) for key in sealed], (2, 2)
    )
    return found, "a key read, every field checked, its digest computed, made ready to mark with", "json.loads of the same bytes"


def checking_the_course(course: Course) -> tuple[float, str, str]:
    """`grader check` on the whole course."""
    files = [path.read_text("utf-8") for path in (course.folder / "questions").rglob("*.yaml")]
    found = ratio(lambda: check_course(load_course(course.folder)), lambda: [yaml.load(text, yaml.CSafeLoader) for text in files])
    return found, f"every check of {len(course.items)} items and their variants", "bare YAML parsing of the same banks"


RING = b"""- id: power-bench-ring
  objective: power.1
  kind: numeric
  given:
    bore: {from: 0.0890 in, to: 0.1010 in, step: 0.0001 in}
    rod: {from: 0.0630 in, to: 0.0700 in, step: 0.0001 in}
  require: rod < 0.8 * bore
  stem: A rod of {rod} stands in a jet of {bore}. What area is left?
  answer: {value: "open_area(bore, rod)", unit: mm^2, within: 3 %, plausible: 1 mm^2 to 5 mm^2}
  slips:
    - {value: "disc_area(bore)", says: That is the whole jet.}
    - {value: "disc_area(bore - rod)", says: Subtract areas.}
"""


def checking_variants(_course: Course) -> tuple[float, str, str]:
    """Everything that is looked at in 8,591 variants of an item."""
    items = read_items("bench.yaml", "power", RING, relations(), []).items
    bores, rods = (grid.ravel() for grid in np.meshgrid(np.arange(0.0890, 0.10105, 0.0001), np.arange(0.0630, 0.07005, 0.0001)))

    def by_hand() -> object:
        bore, rod = bores * 0.0254, rods * 0.0254
        area, whole, narrow = (np.pi / 4 * x for x in (bore * bore - rod * rod, bore * bore, (bore - rod) * (bore - rod)))
        good = (rod < 0.8 * bore) & (area >= 1e-6) & (area <= 5e-6)
        return good & (abs(whole - area) > 0.03 * area) & (abs(narrow - area) > 0.03 * area)

    found = ratio(lambda: check_items(items, 10_000), by_hand, (1, 10))
    return found, f"every check of an item's {bores.size:,} variants", "its expressions and bounds by hand in NumPy, nothing told"


def drawing_variants(course: Course) -> tuple[float, str, str]:
    """Drawing practice variants, with bounds, slips and the typeset working."""
    item = next(item for item in course.practice if item.kind == "numeric" and item.objective == "power.1")
    area = relations()["open_area"]
    found = ratio(
        lambda: [draw_question(item, b"bench", f"p{n}", course.figures) for n in range(40)],
        lambda: [(area(0.0024, 0.0017), area(0.0024, 0.0016), area(0.0024, 0.0015)) for _ in range(40)],
    )
    return found, "40 variants of one item: draws, bounds, slips, typeset working", "its three numbers computed 40 times"


def whole_carburetor(course: Course) -> tuple[float, str, str]:
    """Whole operating points of a healthy carburetor."""
    specimen, count = load_specimen(course.folder, "T-1"), 100_000
    points = points_at(np.linspace(600, 4000, count) / 60, np.radians(np.linspace(1, 76, count)))
    found = ratio(lambda: solve(specimen, points), _bare_metering(count))
    return found, "1e5 whole operating points: two roots each, every circuit, checked", _BARE


def whole_carburetor_with_faults(course: Course) -> tuple[float, str, str]:
    """Whole operating points of many faults at once."""
    specimen = load_specimen(course.folder, "T-2")
    columns = with_faults(specimen, [fault for fault in FAULTS.values() if fault.fits(specimen)])
    count = 100_000 // columns_of(columns)
    points = points_at(np.linspace(600, 4000, count) / 60, np.radians(np.linspace(1, 76, count)))
    found = ratio(lambda: solve(columns, points), _bare_metering(count * columns_of(columns)))
    return found, f"1e5 whole states, {count} operating points by {columns_of(columns)} faults", _BARE


_BARE = "as many bare venturi (isentropic) and jet relations in NumPy"


def _bare_metering(count: int) -> Callable[[], object]:
    """The venturi's depression for an air flow, and a jet's flow under it: nothing else of a carburetor."""
    flow, throat = np.linspace(0.005, 0.090, count), circle(0.034)

    def bare() -> object:
        depression, _ = venturi_depression(flow, throat, 101325.0, 288.15)
        return 0.78 * 2.3e-6 * np.sqrt(2 * 736.3 * depression)

    return bare


def _papers(course: Course) -> list[tuple[Key, dict[str, str]]]:
    """Papers of 30 answers, one a candidate: six cases, eight numbers, and every other kind; with what the candidate answers."""
    several = [item for item in course.exam if item.kind in ("choices", "order", "match")]
    items = [
        *[item for item in course.exam if item.kind == "case"][:6],
        *[item for item in course.exam if item.kind in ("numeric", "reading")][:8],
        *[item for item in course.exam if item.kind == "choice"][:2],
        *several[:3],
    ]
    papers = []
    for person in range(12):
        code = f"BENCH{person:02}"
        questions = tuple(
            msgspec.structs.replace(draw_question(item, b"bench", code, course.figures), number=str(number))
            for number, item in enumerate(items, 1)
        )
        key = Key(
            form=FORM, sitting="bench", paper=code, candidate=f"x-{person}", blueprint="30", bank=course.bank_digest,
            nonce="0" * 64, units=unit_entries(), questions=questions,
        )  # fmt: skip
        papers.append((key, answers(Person(key.candidate, 0.2 + 0.05 * person), key)))
    return papers


def _file(key: Key, given: dict[str, str]) -> bytes:
    return json.dumps({"paper": key.paper, "candidate": key.candidate, "answers": given}, ensure_ascii=False).encode()


MEASURES = (
    start_up,
    relation_on_arrays,
    marking_a_file,
    reading_a_key,
    drawing_variants,
    checking_the_course,
    checking_variants,
    whole_carburetor,
    whole_carburetor_with_faults,
    *PAGE_MEASURES,
    *REGISTER_MEASURES,
    *PAPER_MEASURES,
    *ASSEMBLY_MEASURES,
    *DECISION_MEASURES,
)


def main() -> None:
    """Measure everything, print it, write it down."""
    course = load_course(ROOT)
    figures = {}
    for measure in MEASURES:
        found, what, over = measure(course)
        figures[measure.__name__] = {"ratio": round(found, 2), "of": what, "over": over, "better": "lower"}
        print(f"{found:9.2f}  {measure.__name__}: {what}\n{'':11}over {over}", flush=True)
    folder = ROOT / "build"
    folder.mkdir(exist_ok=True)
    (folder / "bench.json").write_text(json.dumps(figures, indent=1) + "\n")
    print("written to build/bench.json")


if __name__ == "__main__":
    main()
