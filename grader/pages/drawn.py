"""
The practice items of a course as they stand in its packs: kept from an earlier build, or drawn.

Where many have to be drawn, a second process draws from the end of the course while this one sets the pages and then draws from
the beginning. It is a copy of this one, so that the course is read once. What passes between the two is what is kept; if the
other fails, nothing is lost but time. Where a copy could hang (beside other threads, or on a system whose libraries do not bear
it), there is none.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import warnings
from collections.abc import Callable
from contextlib import suppress

from grader.base.errors import FindingsError, GraderError
from grader.base.findings import Finding
from grader.items.course import Course
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
        self._copy: int | None = None  # the second process

    def start(self) -> None:
        """Take what is kept; where much is missing, set a second process to drawing it."""
        for item in self.course.practice:
            self._take(item)
        if len(self.course.practice) - len(self.entries) >= MANY and _processors() > 1 and _may_fork():
            self._copy = _copy(self._draw_from_the_end)

    def finish(self) -> None:
        """Draw whatever is missing still."""
        for item in self.course.practice:
            if item.id not in self.entries and not self._take(item):
                self._draw(item)
        self.stop()

    def stop(self) -> None:
        """End the second process: what it has in hand is not needed any more."""
        if self._copy is not None:
            with suppress(ProcessLookupError, ChildProcessError):  # where whoever started us has the system forget our children
                os.kill(self._copy, signal.SIGKILL)
                os.waitpid(self._copy, 0)
            self._copy = None

    def _draw_from_the_end(self) -> None:
        """What the second process does: draw whatever nobody has drawn yet, where the first one finds it."""
        self.kept.share()
        for item in reversed(self.course.practice):
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


def _may_fork() -> bool:
    """Whether a copy of this process is safe: another thread may hold a lock that nobody in the copy would ever let go."""
    return sys.platform == "linux" and threading.active_count() == 1


def _copy(act: Callable[[], None]) -> int:
    """A copy of this process that does one thing and is gone, whatever comes of it; its number."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # NumPy's own threads, which wait for work that the copy never gives
        process = os.fork()
    if process == 0:
        try:
            act()
        finally:
            os._exit(0)
    return process
