"""`grader check`: everything that is wrong with a course, at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from grader.base.findings import Finding
from grader.items.bank_checks import check_bank
from grader.items.course import Course
from grader.items.course_checks import WAITS, check_whole, counted
from grader.items.glossary_checks import check_glossary
from grader.items.item_checks import check_item
from grader.items.lesson_checks import check_lesson
from grader.items.model import Item
from grader.items.shapes import nearest
from grader.items.soundness import check_variants
from grader.items.station_checks import at_bench, check_stations
from grader.items.wording import check_wording

VARIANTS = 2000


@dataclass(frozen=True, slots=True)
class Checked:
    """
    What a check found: what counts, what its authors have waived with a reason, and how much there is.

    `waiting` says how many further checks wait until a file can be read, by the file; what is wrong in such files comes first.
    """

    findings: tuple[Finding, ...]
    waived: tuple[tuple[Finding, str], ...]
    counts: dict[str, int]
    waiting: dict[str, int] = field(default_factory=dict)

    @property
    def sound(self) -> bool:
        """Whether there is no error; warnings may be left."""
        return self.counts["errors"] == 0


def check_course(course: Course, variants: int = VARIANTS) -> Checked:
    """
    Everything wrong with a course.

    Parameters
    ----------
    course : Course
        As `load_course` read it; its own findings are taken over.
    variants : int
        How many variants of each item are drawn and looked at, 1 to 100,000.
    """
    found = list(course.findings)
    found += check_whole(course)
    found += check_stations(course)
    for lesson in (*course.lessons, *course.pages):
        found += check_lesson(lesson, course)
    found += check_glossary(course)
    alone = [(item, list(_item(item, variants))) for item in course.items.values()]
    faulty = {item.id for item, told in alone if any(finding.level == "error" for finding in told)}
    together = [
        finding
        for bank in (course.practice, course.exam)
        for finding in check_bank([item for item in bank if item.id not in faulty])
    ]
    found += [finding for finding in together if not finding.path]
    kept, waived = _judged((item, [*told, *(each for each in together if each.path == item.id)]) for item, told in alone)
    found += kept
    waiting = Counter(finding.file for finding in found if finding.code == WAITS)
    shown = {finding for finding in found if finding.code != WAITS}
    in_order = sorted(shown, key=lambda finding: (finding.file not in course.unread, _order(finding)))
    return Checked(tuple(in_order), tuple(waived), _counts(course, in_order) | {"waiting": waiting.total()}, dict(waiting))


def check_items(items: Iterable[Item], variants: int = VARIANTS) -> tuple[list[Finding], list[tuple[Finding, str]]]:
    """What is wrong with items, each on its own; and what their authors have waived, with the reason."""
    return _judged((item, _item(item, variants)) for item in items)


def _judged(told: Iterable[tuple[Item, Iterable[Finding]]]) -> tuple[list[Finding], list[tuple[Finding, str]]]:
    kept: list[Finding] = []
    waived: list[tuple[Finding, str]] = []
    for item, found in told:
        counts, left_out = _waived(item, found)
        kept += counts
        waived += left_out
    return kept, waived


def _item(item: Item, variants: int) -> Iterator[Finding]:
    found = list(check_item(item))
    yield from found
    yield from check_wording(item)
    if all(finding.level == "warning" for finding in found):
        yield from check_variants(item, variants)


def _waived(item: Item, found: Iterable[Finding]) -> tuple[list[Finding], list[tuple[Finding, str]]]:
    """An author may waive a warning with a reason, never an error; a waiver that waives nothing is itself a warning."""
    kept: list[Finding] = []
    waived: list[tuple[Finding, str]] = []
    for finding in found:
        if finding.level == "warning" and finding.code in item.waive:
            waived.append((finding, item.waive[finding.code]))
        else:
            kept.append(finding)
    line = item.lines.get("waive", item.line)
    for code in item.waive.keys() - {finding.code for finding, _ in waived}:
        near = nearest(code, {finding.code for finding in kept if finding.level == "warning"})
        if any(finding.code == code for finding in kept):
            what, mend = f"`{code}` is an error", "mend it; only warnings can be waived"
        else:
            what, mend = f"`{code}` is waived and not found", f"did you mean `{near}`?" if near else "take it out"
        kept.append(Finding(item.file, line, "idle-waiver", f"{item.id}: {what}", mend, "warning", item.id))
    return kept, waived


def _order(finding: Finding) -> tuple[str, int, str, str]:
    return finding.file, finding.line, finding.code, finding.message


def _counts(course: Course, found: list[Finding]) -> dict[str, int]:
    """
    How much there is. A practical objective is practised and examined at the bench, by a station, and needs no items: it counts
    as both where it has one, and `bench` says how many such there are.
    """
    objectives = course.objectives.values()
    bench = at_bench(course)
    anchors = {anchor for lesson in course.lessons for anchor in lesson.anchors}
    return {
        "objectives": len(objectives),
        "taught": sum(1 for objective in objectives if objective.id in anchors),
        "practised": sum(1 for one in objectives if one.id in bench or counted(course, "practice", one.id) > 1),
        "examined": sum(1 for one in objectives if one.id in bench or counted(course, "exam", one.id) > 1),
        "bench": len(bench),
        "practice": len(course.practice),
        "exam": len(course.exam),
        "stations": len(course.stations),
        "blueprints": len(course.blueprints),
        "warnings": sum(1 for finding in found if finding.level == "warning"),
        "errors": sum(1 for finding in found if finding.level == "error"),
    }
