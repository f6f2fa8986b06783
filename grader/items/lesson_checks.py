"""What must hold of a lesson's text: relations that exist, numbers that can be computed, figures and practice that are there."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import PurePosixPath
from typing import Any

from grader.base.errors import GraderError, UseError
from grader.base.findings import Finding
from grader.circuits.catalog import by_circuit
from grader.items.course import Course
from grader.items.course_checks import WAITS, waiting
from grader.items.exploring import check_exploration, read_bench, read_exploration
from grader.items.formula_numbers import check_formulas, formula_numbers
from grader.items.glossary import FILE as GLOSSARY
from grader.items.lesson_file import Computation, read_curves, read_inline, read_pairs, read_worked
from grader.items.model import Fence, Lesson
from grader.items.reference_tables import table_asked
from grader.items.shapes import nearest
from grader.items.sheet_values import NotThere, names_specimen, reference_printed, sheet_named
from grader.items.yamlfile import short

# Pages that the site adds by itself.
GENERATED = frozenset(f"lessons/{name}.md" for name in ("practice", "study", "quiz", "verify"))
_ESCAPES = re.compile(r"(?:%[0-9A-Fa-f]{2})+")
_ELSEWHERE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:|//")


def check_lesson(lesson: Lesson, course: Course) -> Iterator[Finding]:
    """Everything wrong with what a lesson computes and refers to, in the order of the file."""
    checks: dict[str, Callable[[Fence, Course], object]] = {
        "relation": _relation,
        "worked": _worked,
        "figure": _figure,
        "practice": _practice,
        "formulas": _formulas,
        "curves": _curves,
        "explorer": _explorer,
        "bench": _bench,
        "table": _table,
        "specimen": _specimen,
        "station": _station,
    }
    found = []
    for fence in lesson.fences:
        found += _noted(lesson, fence.line, checks[fence.word], fence, course)
    for inline in lesson.inlines:
        found += _noted(lesson, inline.line, _inline, inline.text, course)
    yield from sorted([*found, *_links(lesson, course)])


def _links(lesson: Lesson, course: Course) -> Iterator[Finding]:
    """Links and pictures that lead to nothing in the folder of lessons; what is elsewhere in the world is not looked at."""
    for link in lesson.links:
        name, _, anchor = link.target.partition("#")
        if _ELSEWHERE.match(link.target):
            continue
        place = posixpath.join(posixpath.dirname(lesson.file), _unescaped(name))  # a space in a link is written %20
        file = posixpath.normpath(place) if name else lesson.file
        what = f"the {'picture' if link.picture else 'link'} `{short(link.target)}` leads nowhere"
        if file in course.unread:
            yield waiting(file)
        elif link.picture and file.startswith("lessons/figures/") and file.endswith(".svg"):
            mend = f"write a block `figure` with `name: {PurePosixPath(file).stem}`"
            yield Finding(lesson.file, link.line, "broken-link", f"`{short(link.target)}` is a figure of the course", mend)
        elif file not in GENERATED and not _inside(course, file):
            yield Finding(lesson.file, link.line, "broken-link", what, "name a page or a file that stands in lessons")
        elif anchor and not _anchored(file, anchor, lesson, course):
            near = nearest(anchor, _anchors(file, lesson, course))
            mend = f"did you mean `#{near}`?" if near else f"name an anchor that {file} has"
            yield Finding(lesson.file, link.line, "broken-link", what, mend)


def _unescaped(address: str) -> str:
    """An address as a file's name: `two%20jets.png` is `two jets.png`; by hand, for nothing here may reach for a network."""
    return _ESCAPES.sub(lambda found: bytes.fromhex(found[0].replace("%", "")).decode("utf-8", "replace"), address)


def _inside(course: Course, file: str) -> bool:
    return file.startswith("lessons/") and (course.folder / file).is_file()


def _anchors(file: str, lesson: Lesson, course: Course) -> set[str]:
    pages = [lesson] if file == lesson.file else [page for page in (*course.lessons, *course.pages) if page.file == file]
    terms = {term.anchor for term in course.glossary.terms} if file == GLOSSARY else set[str]()
    return terms | {name for page in pages for name in (*page.anchors, *page.headings)}


def _anchored(file: str, anchor: str, lesson: Lesson, course: Course) -> bool:
    if not file.endswith(".md") or file in GENERATED or anchor in _anchors(file, lesson, course):
        return True
    sheets = any(fence.word == "formulas" for page in course.pages if page.file == file for fence in page.fences)
    return sheets and anchor.removeprefix("formula-").replace("-", "_") in course.relations


class _Fault(UseError):
    """Something wrong in a lesson, under a name of its own."""

    def __init__(self, code: str, message: str) -> None:
        self.code = code
        super().__init__(message)


def _noted(lesson: Lesson, line: int, check: Callable[[Any, Course], object], what: Any, course: Course) -> list[Finding]:
    try:
        check(what, course)
    except GraderError as error:
        message, _, mend = str(error).partition("; ")
        code = error.code if isinstance(error, _Fault | NotThere) else "bad-block"
        if code == WAITS:
            return [waiting(message)]
        return [Finding(lesson.file, line, code, message, mend or "write it as the README shows")]
    return []


def _known(code: str, what: str, name: str, names: Mapping[str, object]) -> None:
    if name not in names:
        near = nearest(name, names)
        raise _Fault(code, f"there is no {what} `{short(name)}`; " + (f"did you mean `{near}`?" if near else "check its name"))


def computed(wanted: Computation, relations: Mapping[str, Any]) -> float:
    """
    The SI value of a number computed in a lesson.

    Raises `UseError` for a relation, a symbol or a unit that does not fit, `RangeError` outside the relation's range.
    """
    _known("unknown-relation", "relation", wanted.relation, relations)
    relation = relations[wanted.relation]
    symbols = {symbol.name: symbol for symbol in relation.arguments}
    for name, quantity in wanted.values.items():
        if name not in symbols:
            raise _Fault("unknown-symbol", f"{relation.name} has no symbol `{name}`; its symbols are {', '.join(symbols)}")
        if quantity.unit.dimension != symbols[name].unit.dimension:
            what = f"`{name}` of {relation.name} is {quantity.written} {quantity.unit.name}".removesuffix(" 1")
            raise _Fault("dimension", f"{what}; give it in {symbols[name].unit.name} or the like")
    missing = [name for name, symbol in symbols.items() if name not in wanted.values and symbol.default is None]
    if missing:
        raise _Fault("missing-symbol", f"{relation.name} needs {', '.join(missing)}; give a quantity for each")
    if wanted.unit.dimension != relation.result.unit.dimension:
        mend = f"print it in {relation.result.unit.name} or the like"
        raise _Fault("dimension", f"{relation.name} does not come in {wanted.unit.name}; {mend}")
    values = {name: symbol.default for name, symbol in symbols.items()}
    values |= {name: quantity.si for name, quantity in wanted.values.items()}
    try:
        return float(relation.run(values))
    except GraderError as error:
        raise _Fault("no-value", str(error)) from error


def _inline(text: str, course: Course) -> None:
    if names_specimen(text):
        reference_printed(text, course.specimens)
    else:
        computed(read_inline(text, course.specimens), course.relations)


def _curves(fence: Fence, course: Course) -> None:
    read_curves(fence, course.specimens)


def _bench(fence: Fence, course: Course) -> None:
    read_bench(fence, course.specimens)


def _explorer(fence: Fence, course: Course) -> None:
    check_exploration(read_exploration(fence, course.specimens), course.relations)


def _table(fence: Fence, _course: Course) -> None:
    table_asked(read_pairs(fence))


def _specimen(fence: Fence, course: Course) -> None:
    sheet_named(" ".join(line for line in fence.lines if line).strip(), course.specimens)


def _relation(fence: Fence, course: Course) -> None:
    names = [name for name in fence.lines if name]
    if not names:
        raise _Fault("bad-block", "the block names no relation; write its name on a line of its own")
    for name in names:
        _known("unknown-relation", "relation", name, course.relations)


def _worked(fence: Fence, course: Course) -> None:
    computed(read_worked(fence, course.specimens), course.relations)


def _figure(fence: Fence, course: Course) -> None:
    pairs = read_pairs(fence)
    for name in pairs.keys() - {"name", "caption"}:
        raise _Fault("unknown-field", f"`{short(name)}` is not a field of a figure block; write `name: …` and `caption: …`")
    _known("unknown-figure", "figure", pairs.get("name", ""), course.figures)


def _station(fence: Fence, course: Course) -> None:
    pairs = read_pairs(fence)
    for name in pairs.keys() - {"name"}:
        raise _Fault("unknown-field", f"`{short(name)}` is not a field of a station block; write `name: …`")
    unread = f"questions/stations/{pairs.get('name', '')}.yaml"
    if unread in course.unread:
        raise _Fault(WAITS, unread)
    _known("unknown-station", "station", pairs.get("name", ""), course.stations)


def _practice(fence: Fence, course: Course) -> None:
    pairs = read_pairs(fence)
    practised = {item.id: item for item in course.practice}
    known: dict[str, Mapping[str, object]] = {
        "circuit": dict.fromkeys(course.circuits),
        "objective": course.objectives,
        "item": practised,
    }
    if len(pairs) != 1 or not pairs.keys() <= known.keys():
        raise _Fault("bad-block", "a practice block has one line; write `circuit: …`, `objective: …` or `item: …`")
    (word, name), *_ = pairs.items()
    circuit = name.rpartition(".")[0] or name.partition("-")[0] if word != "circuit" else name
    unread = course.waits(circuit, "questions/practice", *([] if word == "item" else ["lessons"]))
    if unread:
        raise _Fault(WAITS, unread)
    known_broken = any(bank == "practice" and name in {one, objective} for bank, one, objective in course.broken)
    if word == "item" and known_broken:
        return
    _known(f"unknown-{word}", word, name, known[word])
    if word != "item" and not any(name in {item.circuit, item.objective} for item in course.practice) and not known_broken:
        raise _Fault("nothing-to-practise", f"no practice item belongs to {name}; write one, or take the block out")


def _formulas(fence: Fence, course: Course) -> None:
    pairs = read_pairs(fence)
    groups = by_circuit()
    if "circuit" in pairs:
        _known("unknown-circuit", "circuit with formulas", pairs["circuit"], groups)
    pages = [page.fences for page in (*course.lessons, *course.pages) if fence in page.fences] or [(fence,)]
    every = formula_numbers([other for fences in pages for other in fences], course.relations, course.specimens)
    chosen = groups[pairs["circuit"]] if "circuit" in pairs else [one for group in groups.values() for one in group]
    check_formulas(fence, every, [relation.name for relation in chosen])
