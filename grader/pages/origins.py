"""
What each computed part of a site comes from, as a name under which it is kept (`kept.name_of`): its own text, and what else it
reads.

Where it cannot be said for certain what a part comes from (a file was written while the course was read), there is no name, and
the part is made anew.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.items.course import Course
from grader.items.model import Fence, Item
from grader.items.variants import FIGURE_LIMIT
from grader.items.yamlfile import SIZE_LIMIT
from grader.pages.kept import Source, name_of
from grader.pages.lessons import Page
from grader.relations.relation import Relation

_ONLY_ITS_TEXT = frozenset({"table"})
"""Blocks that read nothing of the course."""


class Origins:
    """What the parts of one course, as it was read, come from."""

    def __init__(self, course: Course) -> None:
        self.course = course

    def item(self, item: Item, *more: Source) -> str | None:
        """
        The name of what is made of an item: its own lines in the bank, the values that it takes from sheets, its figure, the
        relations.

        `more` is what else it depends on: how many variants, and for what.
        """
        text = self._texts.get(item.id)
        drawing = self.figure(item.figure.name) if item.figure is not None else ""
        if text is None or drawing is None:
            return None
        taken = _taken(item) if b"specimen" in text else ""
        return name_of("item", item.id, item.circuit, text, taken, drawing, self._relations, self._names, *more)

    def block(self, fence: Fence, page: Page) -> str | None:
        """The name of a block of ours where it stands on its page: what its ids come from counts too."""
        own = (fence.word, "\n".join(fence.lines), page.mark, str(len(page.blocks)), repr((page.explored, page.benches)))
        if fence.word in _ONLY_ITS_TEXT:
            return name_of("block", *own)
        if fence.word == "figure":
            drawing = self.figure(next((line.partition(":")[2].strip() for line in fence.lines if line.startswith("name:")), ""))
            return None if drawing is None else name_of("block", *own, drawing)
        beside = [one.lines for one in self._fences.get(page.file, ()) if one.word == "formulas"]
        return name_of("block", *own, self._relations, self._sheets, repr(beside) if fence.word == "formulas" else "")

    def figure(self, name: str) -> str | None:
        """The digest of a figure's file as it is now."""
        try:
            return digest(read_capped(self.course.figures[name], FIGURE_LIMIT))
        except (KeyError, UseError):
            return None

    @cached_property
    def _names(self) -> str:
        """The specimens by name: a line is not broken in any of them."""
        return json.dumps(list(self.course.specimens))

    @cached_property
    def _sheets(self) -> str:
        """The specimens' sheets and the stations, by their files."""
        return digest(json.dumps(sorted(self.course.digests.items())).encode())

    @cached_property
    def _relations(self) -> str:
        return digest("\n".join(_stated(relation) for relation in self.course.relations.values()).encode())

    @cached_property
    def _fences(self) -> Mapping[str, tuple[Fence, ...]]:
        return {one.file: one.fences for one in (*self.course.lessons, *self.course.pages)}

    @cached_property
    def _texts(self) -> Mapping[str, bytes]:
        """The lines of each practice item in its bank, of banks that are still as they were read."""
        found: dict[str, bytes] = {}
        for file, known in self.course.open_digests.items():
            starts = sorted(item.line for item in self.course.practice if item.file == file)
            try:
                data = read_capped(Path(self.course.folder, file), SIZE_LIMIT)
            except UseError:
                continue
            if digest(data) == known:
                rows = data.splitlines(keepends=True)
                ends = dict(pairwise([*starts, len(rows) + 1]))
                own = (item for item in self.course.practice if item.file == file)
                found |= {item.id: b"".join(rows[item.line - 1 : ends[item.line] - 1]) for item in own}
        return found


def _taken(item: Item) -> str:
    """The values that an item takes from specimens' sheets, as they were read."""
    return repr([(given.name, given.draws, given.values, given.words, given.step) for given in item.given])


def _stated(relation: Relation) -> str:
    """Everything that is computed with or shown of a relation."""
    condition = None if relation.condition is None else relation.condition.node
    symbols: list[Any] = [(one.name, one.says, one.unit, one.default) for one in relation.symbols.values()]
    node = relation.expression.expanded().node
    return repr((relation.name, relation.says, relation.formula, relation.valid, relation.source, symbols, node, condition))
