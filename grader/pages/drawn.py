"""
The practice items of a course as they stand in its packs: kept from an earlier build, or drawn.

Where many have to be drawn, a second process draws from the end of the course while this one sets the pages and then draws from
the beginning. What passes between the two is what is kept; if the other fails, nothing is lost but time.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import grader
from grader.base.errors import FindingsError, GraderError
from grader.base.findings import Finding
from grader.items.course import Course, load_practice
from grader.items.model import Item
from grader.pages.kept import Kept
from grader.pages.names import unbroken_text
from grader.pages.origins import Origins
from grader.pages.packs import FORM, SECRET, draw_variants, pack_entry

MANY = 40
"""Items to be drawn from which on a second process is worth its start."""


class Draws:
    """
    The items of a course, drawn.

    Parameters
    ----------
    course : Course
        Its practice items.
    kept : Kept
        Where entries are looked for and kept.
    count : int
        How many variants of each item.

    Attributes
    ----------
    entries : dict of str to str
        What stands in the pack for each item, by its id, once `finish` is done.
    findings : list of Finding
        Items of which no variant can be drawn.
    """

    def __init__(self, course: Course, kept: Kept, count: int) -> None:
        self.course, self.kept, self.count = course, kept, count
        self.origins = Origins(course)
        self.entries: dict[str, str] = {}
        self.findings: list[Finding] = []
        self._helper: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Take what is kept; where much is missing, set a second process to drawing it."""
        for item in self.course.practice:
            self._take(item)
        if len(self.course.practice) - len(self.entries) >= MANY and _processors() > 1:
            self._helper = _helper(self.course.folder, self.count, self.kept.folder)

    def finish(self) -> None:
        """Draw whatever is missing still."""
        for item in self.course.practice:
            if item.id not in self.entries and not self._take(item):
                self._draw(item)
        self.stop()

    def stop(self) -> None:
        """End the second process: what it has in hand is not needed any more."""
        if self._helper is not None:
            self._helper.kill()
            self._helper.wait()
            self._helper = None

    def draw_from(self, items: Iterable[Item]) -> None:
        """Draw those of the items that nobody has drawn yet, one by one."""
        for item in items:
            if not self._take(item):
                self._draw(item)

    def _name(self, item: Item) -> str | None:
        return self.origins.item(item, "entry", FORM, SECRET, str(self.count))

    def _take(self, item: Item) -> bool:
        """Whether the item's entry is kept; then it is taken."""
        name = self._name(item)
        found = None if name is None else self.kept.find(name)
        if found is not None:
            self.entries[item.id] = found
        return found is not None

    def _draw(self, item: Item) -> None:
        name = self._name(item)
        try:
            entry = pack_entry(draw_variants(item, self.count, self.course.figures))
        except FindingsError as error:
            self.findings += error.findings
            return
        except GraderError as error:
            what, _, mend = str(error).partition("; ")
            what = f"{item.id}: {what}"
            self.findings.append(Finding(item.file, item.line, "no-variant", what, mend or "widen what is given"))
            return
        self.entries[item.id] = unbroken_text(entry, self.course.specimens)
        if name is not None and self._name(item) == name:  # a figure may have been written meanwhile
            self.kept.keep(name, self.entries[item.id], "item")


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _helper(course: Path, count: int, folder: Path) -> subprocess.Popen[bytes]:
    """This module run by a process of its own: a fork would take the parent's threads and locks with it."""
    root = str(Path(grader.__file__).resolve().parents[1])
    paths = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
    command = [sys.executable, "-P", "-m", "grader.pages.drawn", str(course), str(count), str(folder)]
    quiet = subprocess.DEVNULL
    environment = os.environ | {"PYTHONPATH": paths}
    return subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet, env=environment)  # noqa: S603 - our own


def main(course: str, count: str, folder: str) -> None:
    """Draw the items of a course from its end, as far as nobody else has, into the folder of what is kept."""
    read = load_practice(Path(course))
    Draws(read, Kept(Path(folder)), int(count)).draw_from(reversed(read.practice))


if __name__ == "__main__":
    main(*sys.argv[1:])
