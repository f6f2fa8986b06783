"""What must hold between the glossary and the rest of a course: every term is used, and is spelt in one way."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from grader.base.findings import Finding
from grader.items.course import Course
from grader.items.glossary import FILE, Finder, Term, forms, spelling
from grader.items.model import Blueprint, Item, Lesson

_FENCE = re.compile(r"\s*(?P<marks>`{3,}|~{3,})")
# Code, computed numbers, where links and pictures lead, marks of attributes and of HTML: none of it is running text.
_NO_TEXT = re.compile(r"(`+).*?\1|\[\[.*?\]\]|\]\([^)]*\)|\{[^{}]*\}|<[^<>]*>")
_EMPHASIS = re.compile(r"[*_]{1,3}(?=\w)|(?<=\w)[*_]{1,3}|&shy;")
_WORDS = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")
LONGEST_RUN = 4


def check_glossary(course: Course) -> Iterator[Finding]:
    """What is wrong in the glossary itself, terms that nothing uses, words of lessons that are spelt otherwise than the term."""
    glossary = course.glossary
    yield from glossary.findings
    if not glossary.terms:
        return
    yield from _unused(course)
    other = _OtherSpellings(glossary.terms)
    for page in (*course.lessons, *course.pages):
        if page.file != FILE:
            yield from other.findings(page)


def _unused(course: Course) -> Iterator[Finding]:
    """Terms that no lesson, no item, no blueprint and no other definition uses."""
    finder = Finder(course.glossary.terms)
    texts = [text for page in (*course.lessons, *course.pages) if page.file != FILE for _, text in prose(page)]
    texts += [text for item in course.items.values() for text in _of_item(item)]
    texts += [text for plan in course.blueprints.values() for text in _of_blueprint(plan)]
    used = {term.name for text in texts for _, _, term in finder.found(text)}
    for term in course.glossary.terms:
        used |= {other.name for _, _, other in finder.found(term.says) if other != term}
    for term in course.glossary.terms:
        if term.name not in used:
            what = f"no lesson, item or other definition uses the term `{term.name}`"
            mend = "use it where it belongs, write how the lessons call it on a line below it, or take it out"
            yield Finding(FILE, term.line, "unused-term", what, mend, "warning")


def prose(page: Lesson) -> Iterator[tuple[int, str]]:
    """
    The running text of a page, row by row with its line: without blocks, code, computed numbers and where links lead.

    >>> from types import SimpleNamespace as Page
    >>> body = "A **jet** of [[T-1 main_jet]],\\n```relation\\nopen_area\\n```\\nsee [rods](power.md)."
    >>> list(prose(Page(body=body, body_line=5)))
    [(5, 'A jet of  ,'), (9, 'see [rods .')]
    """
    fence = ""
    for line, row in enumerate(page.body.split("\n"), page.body_line):
        mark = _FENCE.match(row)
        if fence or mark:
            fence = "" if fence and mark and mark["marks"].startswith(fence) else fence or (mark["marks"] if mark else "")
        elif row.strip():
            yield line, _EMPHASIS.sub("", _NO_TEXT.sub(" ", row))


def _of_item(item: Item) -> Iterator[str]:
    yield from (item.stem, item.hint)
    for part in item.parts:
        yield from (part.stem, part.hint, part.working, *part.entries, *part.extra)
        yield from (text for option in part.options for text in (option.text, option.says))
        yield from (slip.says for slip in part.slips)
        yield from (text for row in part.rows for text in (row.text, row.match))


def _of_blueprint(plan: Blueprint) -> Iterator[str]:
    yield from (plan.title, *plan.aids, *plan.cautions)
    if plan.certificate:
        yield from (plan.certificate.name, plan.certificate.description, plan.certificate.criteria)


class _OtherSpellings:
    """Finds words that are a term's but for a hyphen, a space or the other side's spelling."""

    def __init__(self, terms: Iterable[Term]) -> None:
        self.names = {spelling(name): name for term in terms for name in term.names}
        self.right = {form.lower() for name in self.names.values() for form in forms(name)}

    def findings(self, page: Lesson) -> Iterator[Finding]:
        """A warning for each such word of a page, once for each way it is written."""
        told: set[str] = set()
        for line, text in prose(page):
            for written, name in self._runs(text):
                if written.lower() in told | self.right or self._another_word(written, name):
                    continue
                told.add(written.lower())
                mend = f"write `{name}`, or put the other spelling right in the glossary"
                what = f"`{written}` is spelt `{name}` in the glossary"
                yield Finding(page.file, line, "other-spelling", what, mend, "warning")

    def _runs(self, text: str) -> Iterator[tuple[str, str]]:
        """Up to so many words that follow each other with a space between and are a term's name but for the way of writing."""
        words = list(_WORDS.finditer(text))
        for first, start in enumerate(words):
            key = ""
            for last, word in enumerate(words[first : first + LONGEST_RUN], first):
                if last > first and text[words[last - 1].end() : word.start()] != " ":
                    break
                key += spelling(word[0])  # of several words it is that of each, one after the other
                if key in self.names:
                    yield text[start.start() : word.end()], self.names[key]

    @staticmethod
    def _another_word(written: str, name: str) -> bool:
        """
        Whether it may be meant so: `an engine that runs on` is no `run-on`; before a noun, `vacuum-break` is a `vacuum break`.
        """
        two_words = written.count(" ") == 1 and " " not in name
        return two_words or written.lower().replace("-", " ") in forms(name)
