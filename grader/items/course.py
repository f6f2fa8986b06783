"""A course: a folder with `lessons/` and `questions/`, read whole, with everything wrong in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

from grader.base.canon import canonical, digest
from grader.base.errors import UseError
from grader.base.files import contained, read_capped
from grader.base.findings import Finding
from grader.items.blueprint_file import read_blueprint, read_course
from grader.items.glossary import FILE as GLOSSARY
from grader.items.glossary import Glossary, read_glossary
from grader.items.item_file import Bank, read_items
from grader.items.lesson_file import read_lesson
from grader.items.model import Blueprint, CourseFile, DrawRule, Item, Lesson, Objective, School
from grader.items.yamlfile import SIZE_LIMIT

if TYPE_CHECKING:
    from grader.items.specimen_file import Sheet
    from grader.items.station_file import Station

Read = TypeVar("Read")

FILES_LIMIT = 1000
_NOWHERE = CourseFile("", "en-GB", School("", "about:blank"))


@dataclass(frozen=True)
class Course:
    """
    A course as read: what could be read is here, what could not is in `findings`.

    Parameters
    ----------
    folder : Path
        Where it stands.
    about : CourseFile
        Title, language, school, notice.
    lessons : tuple of Lesson
        Those that teach objectives, in the order they give themselves; `circuits` follows it.
    pages : tuple of Lesson
        The pages beside them that teach no objective: index, safety.
    practice, exam : tuple of Item
        The two banks; `exam` is empty where only practice was read.
    blueprints : mapping
        By id.
    figures : mapping
        The name of each figure to its SVG file.
    specimens : mapping
        By name, the sheets of the training carburetors that can be used.
    stations : mapping
        By id, the tasks at the bench; learners may see them.
    relations : mapping
        What expressions may call.
    findings : tuple of Finding
        What is wrong with the files as such; `grader.items.checks` finds what is wrong with the course as a whole.
    broken : tuple
        Bank, id and objective of items that could not be read whole.
    unread : tuple of str
        The files of which nothing could be read; what depends on them waits.
    ids : mapping
        Every place, bank file and line, where an id stands, by the id; also of items that could not be read whole.
    digests : mapping
        SHA-256 of each file that papers are drawn from: the exam banks, the blueprints, the specimens' sheets, the
        stations, the figures that exam items use.
    bank_digest : str
        SHA-256 over those.
    open_digests : mapping
        SHA-256 of each practice bank, for quizzes that draw from them, and of the figures that practice items use.
    """

    folder: Path
    about: CourseFile
    lessons: tuple[Lesson, ...]
    pages: tuple[Lesson, ...]
    practice: tuple[Item, ...]
    exam: tuple[Item, ...]
    blueprints: Mapping[str, Blueprint]
    figures: Mapping[str, Path]
    relations: Mapping[str, Any]
    findings: tuple[Finding, ...]
    bank_digest: str
    broken: tuple[tuple[str, str, str], ...] = field(default=())
    specimens: Mapping[str, Sheet] = field(default_factory=dict)
    stations: Mapping[str, Station] = field(default_factory=dict)
    unread: tuple[str, ...] = ()
    ids: Mapping[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    digests: Mapping[str, str] = field(default_factory=dict)
    open_digests: Mapping[str, str] = field(default_factory=dict)

    def waits(self, circuit: str, *folders: str) -> str:
        """The file of a circuit in one of these folders (`lessons`, `questions/exam`) that could not be read, or nothing."""
        names = {f"{folder}/{circuit}.{'md' if folder == 'lessons' else 'yaml'}" for folder in folders}
        return next((name for name in self.unread if name in names), "")

    @property
    def title(self) -> str:
        """What the course is called."""
        return self.about.title

    @property
    def school(self) -> School:
        """Who teaches and examines."""
        return self.about.school

    @property
    def circuits(self) -> tuple[str, ...]:
        """The circuits in the order of their lessons."""
        return tuple(lesson.circuit for lesson in self.lessons)

    @cached_property
    def objectives(self) -> Mapping[str, Objective]:
        """Every objective by its id, in the order of the lessons."""
        return MappingProxyType({objective.id: objective for lesson in self.lessons for objective in lesson.objectives})

    @cached_property
    def glossary(self) -> Glossary:
        """The trade's terms; none where the course has no page of them."""
        page = next((page for page in self.pages if page.file == GLOSSARY), None)
        return Glossary() if page is None else read_glossary(page)

    @cached_property
    def items(self) -> Mapping[str, Item]:
        """Every item of both banks by its id."""
        return MappingProxyType({item.id: item for item in (*self.practice, *self.exam)})

    def eligible(self, rule: DrawRule) -> tuple[Item, ...]:
        """The items of its bank that a draw of a blueprint may take, in the order of the bank."""
        return tuple(item for item in (self.practice if rule.bank == "practice" else self.exam) if self._fits(item, rule))

    def digest_for(self, blueprint: Blueprint) -> str:
        """SHA-256 over every file that papers by this blueprint are drawn from; a quiz is drawn from practice, not from exam."""
        if blueprint.bank == "exam":
            return self.bank_digest
        return digest(canonical(["grader-bank-2", self.files_for(blueprint)]))

    def files_for(self, blueprint: Blueprint) -> dict[str, str]:
        """The files that `digest_for` is taken over, each with its own digest."""
        if blueprint.bank == "exam":
            return dict(self.digests)
        shared = {name: value for name, value in self.digests.items() if not name.startswith("questions/exam/")}
        return shared | dict(self.open_digests)

    def _fits(self, item: Item, rule: DrawRule) -> bool:
        if rule.kinds and item.kind not in rule.kinds:
            return False
        if rule.objective:
            return item.objective == rule.objective
        objective = self.objectives.get(item.objective)
        level = objective.level if objective else ""
        return item.circuit == rule.circuit and rule.level in {"", level}


def load_course(folder: Path | str, relations: Mapping[str, Any] | None = None) -> Course:
    """
    A course with both its banks and its blueprints: for examiners.

    Raises `UseError` where the folder is no course. Everything else that is wrong is in `.findings`.

    Parameters
    ----------
    folder : path
        A folder with `lessons/` and `questions/`.
    relations : mapping of str to Relation, optional
        What expressions may call; by default every relation of the circuits.
    """
    return _Loader(folder, relations).course(("practice", "exam"), blueprints=True)


def load_practice(folder: Path | str, relations: Mapping[str, Any] | None = None) -> Course:
    """A course as learners may see it: neither exam items nor blueprints are opened. Raises as `load_course`."""
    return _Loader(folder, relations).course(("practice",), blueprints=False)


class _Loader:
    """Reads one course; collects findings and the digests of the files that questions come from."""

    def __init__(self, folder: Path | str, relations: Mapping[str, Any] | None) -> None:
        self.folder = Path(folder)
        self.relations = _all_relations() if relations is None else relations
        self.findings: list[Finding] = []
        self.digests: dict[str, str] = {}
        self.open_digests: dict[str, str] = {}
        self.sheets: dict[str, Sheet] = {}
        self.unread: list[str] = []
        if not (self.folder / "lessons").is_dir() or not (self.folder / "questions").is_dir():
            raise UseError(f"{self.folder} is not a course; name a folder that has `lessons` and `questions` in it")

    def course(self, banks: tuple[str, ...], *, blueprints: bool) -> Course:
        about = self._about()
        lessons = self._lessons()
        self.sheets = self._specimens()
        stations = self._stations()
        read = {bank: self._bank(bank) for bank in banks}
        plans = self._blueprints() if blueprints else {}
        figures = {Path(name).stem: path for name, path in self._files("lessons/figures", ".svg") if self._inside(name)}
        items = {bank: tuple(item for each in read[bank] for item in each.items) for bank in banks}
        broken = tuple((bank, *pair) for bank in banks for each in read[bank] for pair in each.broken)
        ids: dict[str, tuple[tuple[str, int], ...]] = {}
        for each in (one for bank in banks for one in read[bank]):
            for name, line in each.ids:
                ids[name] = (*ids.get(name, ()), (each.file, line))
        for bank, kept in (("exam", self.digests), ("practice", self.open_digests)):
            used = sorted({item.figure.name for item in items.get(bank, ()) if item.figure is not None} & figures.keys())
            for name in (f"lessons/figures/{name}.svg" for name in used):
                data = self._read(name)
                kept |= {name: digest(data)} if data is not None else {}
        return Course(
            folder=self.folder,
            about=about,
            lessons=tuple(lesson for lesson in lessons if lesson.objectives),
            pages=tuple(lesson for lesson in lessons if not lesson.objectives),
            practice=items["practice"],
            exam=items.get("exam", ()),
            blueprints=MappingProxyType(plans),
            figures=MappingProxyType(figures),
            relations=self.relations,
            findings=tuple(self.findings),
            bank_digest=digest(canonical(["grader-bank-2", self.digests])),
            broken=broken,
            specimens=MappingProxyType(self.sheets),
            stations=MappingProxyType(stations),
            unread=tuple(self.unread),
            ids=MappingProxyType(ids),
            digests=MappingProxyType(dict(self.digests)),
            open_digests=MappingProxyType(dict(self.open_digests)),
        )

    def _about(self) -> CourseFile:
        name = "questions/course.yaml"
        if not (self.folder / name).exists():
            self.findings.append(
                Finding(name, 0, "missing-file", "the file is missing", "write it: title, language and school of the course")
            )
            return _NOWHERE
        data = self._read(name)
        return (None if data is None else read_course(name, data, self.findings)) or _NOWHERE

    def _lessons(self) -> tuple[Lesson, ...]:
        found = []
        for name, _ in self._files("lessons", ".md"):
            data = self._read(name)
            lesson = None if data is None else read_lesson(name, data, self.findings)
            if lesson is None:
                self.unread.append(name)
            else:
                found.append(lesson)
        return tuple(sorted(found, key=lambda lesson: (lesson.order, lesson.circuit)))

    def _specimens(self) -> dict[str, Sheet]:
        from grader.items.specimen_file import SPECIMENS, read_sheet  # only here: it brings the whole carburetor with it

        each = self._each(SPECIMENS, lambda name, data: read_sheet(name, data, self.findings))
        return {sheet.specimen.id: sheet for _, sheet in each if sheet is not None}

    def _stations(self) -> dict[str, Station]:
        from grader.items.station_file import STATIONS, read_station  # only here: as above

        found: dict[str, Station] = {}
        for name, station in self._each(STATIONS, lambda name, data: read_station(name, data, self.findings, self.sheets)):
            if station is None:
                self.unread.append(name)
            else:
                found[station.id] = station
        return found

    def _bank(self, bank: str) -> list[Bank]:
        def read(name: str, data: bytes) -> Bank:
            return read_items(name, Path(name).stem, data, self.relations, self.findings, self.sheets)

        found = []
        kept = self.digests if bank == "exam" else self.open_digests
        for name, one in self._each(f"questions/{bank}", read, kept):
            found.append(one)
            if not one.readable:
                self.unread.append(name)
        return found

    def _blueprints(self) -> dict[str, Blueprint]:
        found: dict[str, Blueprint] = {}
        for name, plan in self._each("questions/blueprints", lambda name, data: read_blueprint(name, data, self.findings)):
            if plan is None:
                continue
            if plan.id != Path(name).stem:
                what = f"the blueprint calls itself `{plan.id}`, its file `{Path(name).stem}`"
                self.findings.append(Finding(name, plan.lines.get("id", 1), "wrong-id", what, "give both one name"))
            found[plan.id] = plan
        return found

    def _each(
        self, under: str, read: Callable[[str, bytes], Read], kept: dict[str, str] | None = None
    ) -> Iterator[tuple[str, Read]]:
        """Each file of a folder as read; its digest is kept, with those of the exam where nothing else is said."""
        digests = self.digests if kept is None else kept
        for name, _ in self._files(under, ".yaml"):
            data = self._read(name)
            if data is None:
                self.unread.append(name)
                continue
            digests[name] = digest(data)
            yield name, read(name, data)

    def _files(self, under: str, ending: str) -> list[tuple[str, Path]]:
        """The files of one folder with one ending, in the order of their names; what lies below it is not looked at."""
        try:
            paths = sorted(contained(self.folder, under).iterdir()) if (self.folder / under).is_dir() else []
        except OSError as error:
            raise UseError(f"{self.folder / under}: cannot be read ({error.strerror}); check its permissions") from error
        if len(paths) > FILES_LIMIT:
            raise UseError(f"{self.folder / under} holds more than {FILES_LIMIT} files; name the folder of a course")
        for path in paths:
            if path.suffix == ".yml" and ending == ".yaml":
                name = f"{under}/{path.name}"
                self.findings.append(
                    Finding(name, 0, "wrong-ending", "the file ends in .yml and is not read", f"call it {path.stem}.yaml")
                )
        kept = [path for path in paths if path.suffix == ending and not path.name.startswith(".")]
        return [(f"{under}/{path.name}", path) for path in kept if self._named(under, path.name)]

    def _named(self, under: str, name: str) -> bool:
        """Whether a file's name is text at all: some systems let half a letter stand in one."""
        try:
            name.encode()
        except UnicodeEncodeError:
            shown = name.encode("utf-8", "backslashreplace").decode()
            what = "the file's name is not Unicode text"
            self.findings.append(Finding(f"{under}/{shown}", 0, "unreadable-name", what, "rename it after its circuit"))
            return False
        return True

    def _inside(self, name: str) -> bool:
        try:
            contained(self.folder, name)
        except UseError as error:
            _, _, mend = str(error).partition("; ")
            self.findings.append(Finding(name, 0, "unreadable-file", "leads out of the course", mend))
            return False
        return True

    def _read(self, name: str) -> bytes | None:
        try:
            return read_capped(contained(self.folder, name), SIZE_LIMIT)
        except UseError as error:
            what, _, mend = str(error).removeprefix(f"{self.folder}/").removeprefix(f"{name}: ").partition("; ")
            what = "leads out of the course" if "leads out of" in what else what
            self.findings.append(Finding(name, 0, "unreadable-file", what, mend))
            return None


def _all_relations() -> Mapping[str, Any]:
    from grader.circuits.catalog import relations  # only here: a course of another subject brings its own

    return relations()
