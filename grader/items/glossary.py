"""
The glossary (`lessons/glossary.md`): the trade's terms, one definition each, in a page that an instructor edits as text.

    float
    foam float
    not: floats on
    :   The hollow or foam body that rises with the fuel in the bowl and shuts the needle.

The first line is the term; lines below it, if there are any, are other names of the same thing, and after `not:` words that look
like it and are something else. The line that starts with a colon is its definition, in plain text: it stands in the tooltips of
the lessons too.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from grader.base.findings import Finding
from grader.base.text import is_unseen
from grader.items.lesson_file import heading_anchor
from grader.items.model import Lesson
from grader.items.yamlfile import short

FILE = "lessons/glossary.md"
LONGEST = 240
"""Letters of a definition, past which it is no definition any more but a lesson, and fills a phone."""
LONGEST_NAME = 40
NOT = "not:"

_DEFINITION = re.compile(r" {0,3}:(?P<gap>[ \t]*)(?P<says>.*)")
_FENCE = re.compile(r"\s*(?P<marks>`{3,}|~{3,})")
_NO_TERM = re.compile(r"\s*(?:[#>|!*+<\[-]|\d+[.)]\s|\?\?\?|$)|\s{4,}")
_WORD = re.compile(r"(?<![\w-])\w+")
_MARKUP = re.compile(r"[`*_\[\]<>{}|\\]")


def _without_marks(text: str) -> str:
    return "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))


@dataclass(frozen=True, slots=True)
class Term:
    """
    A term of the trade: its names, the first of which it goes by, what it is, and the line of each name.

    `others` are words that look like the term and are not, `beside` the lines on which the page says so.

    >>> Term(("air-fuel ratio",), "Grams of air to one gram of fuel.", (7,)).anchor
    'term-air-fuel-ratio'
    """

    names: tuple[str, ...]
    says: str
    lines: tuple[int, ...]
    others: tuple[str, ...] = ()
    beside: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """What it goes by."""
        return self.names[0]

    @property
    def line(self) -> int:
        """Where it stands."""
        return self.lines[0]

    @property
    def anchor(self) -> str:
        """The anchor of its definition; letters of other alphabets stay, or `Ω` and `λ` would share one."""
        plain = _without_marks(self.name)
        words = heading_anchor(plain) if plain.isascii() else "-".join(re.findall(r"\w+", self.name.lower()))
        return f"term-{words}"


@dataclass(frozen=True, slots=True)
class Glossary:
    """What the glossary of a course says, and what is wrong in it."""

    terms: tuple[Term, ...] = ()
    findings: tuple[Finding, ...] = ()


def read_glossary(page: Lesson) -> Glossary:
    """
    The terms of a glossary's page, in its order; what is wrong is in `.findings`, and such a term is left out.

    >>> from types import SimpleNamespace as Page
    >>> found = read_glossary(Page(file="lessons/glossary.md", body="jet\\n:   A hole of known bore.\\n", body_line=5))
    >>> found.terms[0].name, found.terms[0].line, found.findings
    ('jet', 5, ())
    """
    found = _Reader(page.file)
    for block in _blocks(page.body.split("\n"), page.body_line):
        found.read(block)
    return Glossary(tuple(found.terms), tuple(found.findings))


Rows = list[tuple[int, str]]


def _blocks(rows: Sequence[str], first: int) -> Iterator[Rows]:
    """Rows between empty ones, with their lines; what stands in a fence is passed over."""
    block: Rows = []
    fence = ""
    for line, row in enumerate(rows, first):
        mark = _FENCE.match(row)
        if fence or mark:
            fence = "" if fence and mark and mark["marks"].startswith(fence) else fence or (mark["marks"] if mark else "")
        elif row.strip():
            block.append((line, row))
            continue
        if block:
            yield block
        block = []
    if block:
        yield block


class _Reader:
    """Reads block after block; no name stands twice, in whatever spelling."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.terms: list[Term] = []
        self.findings: list[Finding] = []
        self.seen: dict[str, tuple[str, int]] = {}

    def note(self, line: int, code: str, message: str, mend: str) -> None:
        self.findings.append(Finding(self.file, line, code, message, mend))

    def read(self, block: Rows) -> None:
        place = next((at for at, (_, row) in enumerate(block) if _DEFINITION.fullmatch(row)), len(block))
        names = [(line, row.strip()) for line, row in block[:place]]
        if place == len(block):
            if _looks_like_names(block):
                line, name = names[-1]
                what = f"`{short(name)}` stands without a definition"
                self.note(line, "no-definition", what, "write `:   What it is.` on the line below it")
            return
        if not names:
            self.note(
                block[0][0], "lone-definition", "a definition stands without its term", "write the term on the line above it"
            )
            return
        before = len(self.findings)
        says = self._definition(block[place:], names[0][1])
        kept = [(line, name) for line, name in names if self._name(line, name, first=line == names[0][0])]
        other = [(line, name.removeprefix(NOT).strip()) for line, name in kept if name.startswith(NOT)]
        kept = [(line, name) for line, name in kept if not name.startswith(NOT)]
        if kept and len(self.findings) == before:
            (lines, called), (beside, others) = (zip(*each, strict=True) if each else ((), ()) for each in (kept, other))
            self.terms.append(Term(tuple(called), says, tuple(lines), tuple(others), tuple(beside)))

    def _definition(self, rows: Rows, name: str) -> str:
        line, first = rows[0]
        found = _DEFINITION.fullmatch(first)
        gap, says = (found["gap"], found["says"].strip()) if found else ("", "")
        more = []
        for other, row in rows[1:]:
            if _DEFINITION.fullmatch(row):
                what = f"`{short(name)}` has a second definition"
                self.note(
                    other, "two-definitions", what, "keep one; a word that means two things is two terms: `seat (of a needle)`"
                )
                break
            more.append(row.strip())
        says = " ".join([says, *more]).strip()
        if says and not 1 <= len(gap.expandtabs(3)) <= 3:
            self.note(
                line, "bad-definition", f"the definition of `{short(name)}` is not set off", "write a colon and three spaces"
            )
        self._sentence(line, name, says)
        return says

    def _sentence(self, line: int, name: str, says: str) -> None:
        about = f"the definition of `{short(name)}`"
        marked = _MARKUP.search(says)
        if not says:
            self.note(line, "empty-definition", f"{about} is empty", "say what it is, in one sentence or two")
        elif marked:
            what = f"{about} holds `{marked[0]}`"
            self.note(line, "marked-definition", what, "write plain text; it stands in tooltips too")
        elif not says.endswith("."):
            self.note(line, "no-period", f"{about} does not end in a period", "end it with one")
        if len(says) > LONGEST:
            what = f"{about} has {len(says)} letters"
            self.note(line, "long-definition", what, f"say it in {LONGEST}; the rest belongs in a lesson")

    def _name(self, line: int, name: str, *, first: bool) -> bool:
        if name.startswith(NOT) and name != NOT and not first:
            return True
        strange = _MARKUP.search(name) or any(map(is_unseen, name))
        if strange or len(name) > LONGEST_NAME or name[-1] in ".:;," or name.startswith(NOT):
            mend = f"write the bare word, at most {LONGEST_NAME} letters, nothing behind it"
            self.note(line, "bad-term", f"`{short(name)}` is not a term", mend)
            return False
        key = spelling(name)
        if key not in self.seen:
            self.seen[key] = (name, line)
            return True
        other, at = self.seen[key]
        if other == name:
            self.note(line, "repeated-term", f"the term `{name}` stands already on line {at}", "keep one of the two")
        else:
            what = f"the term `{name}` is another spelling of `{other}` on line {at}"
            self.note(line, "repeated-term", what, "keep one of the two; plurals and capitals are found by themselves")
        return False


def _looks_like_names(block: Rows) -> bool:
    """Whether rows without a definition were meant as a term: short, bare lines that are no sentence, heading or list."""
    return all(
        len(row.strip()) <= LONGEST_NAME and row.rstrip()[-1] not in ".:!?;,)" and not _NO_TERM.match(row) for _, row in block
    )


# Two spellings of one word, British and American, brought to one.
_SPELT_ALIKE = (
    (re.compile(r"^carburet+[eo]r$|^carburator$"), "carburetor"),
    (re.compile(r"is(e|er|ed|ing|ation)$"), r"iz\1"),
    (re.compile(r"our(ed|ing)?$"), r"or\1"),
    (re.compile(r"([bt])re$"), r"\1er"),
    (re.compile(r"ll(ed|er|ing)$"), r"l\1"),
    (re.compile(r"^gage"), "gauge"),
)


@lru_cache(maxsize=1 << 16)
def _word_key(word: str) -> str:
    plain = _without_marks(word)
    plain = (plain if plain.isascii() else word).lower()  # another alphabet's letters are what tells its words apart
    if len(plain) > 3 and plain.endswith("s") and not plain.endswith(("ss", "us", "is")):
        plain = plain[:-1]
    for pattern, put in _SPELT_ALIKE:
        plain = pattern.sub(put, plain)
    return plain


@lru_cache(maxsize=1 << 16)
def spelling(name: str) -> str:
    """
    A name with all that does not make it another word taken out: case, spaces, hyphens, plural, the other side's spelling.

    >>> spelling("by-pass") == spelling("Bypass"), spelling("economiser") == spelling("Economizers")
    (True, True)
    >>> spelling("jet") == spelling("seat")
    False
    """
    return "".join(_word_key(word) for word in re.findall(r"[^\W_]+", name)) or name


def forms(name: str) -> tuple[str, ...]:
    """
    A name and its plural, and where it is written small also with a capital in front.

    >>> forms("idle bleed"), forms("inHg"), forms("assembly")[1]
    (('idle bleed', 'idle bleeds', 'Idle bleed', 'Idle bleeds'), ('inHg',), 'assemblies')
    """
    if name != name.lower():
        return (name,)
    if re.search(r"[^aeiou]y$", name):
        plural = f"{name[:-1]}ies"
    else:
        plural = name + ("es" if name.endswith(("s", "x", "z", "ch", "sh")) else "s")
    return name, plural, name[:1].upper() + name[1:], plural[:1].upper() + plural[1:]


class Finder:
    """
    Finds terms in running text, in the plural too, with a capital, and with a hyphen for a space (`vacuum-break gap`).

    Where two begin at one place, the longer wins, and so do words that a term says it is not.

    >>> rod = Term(("metering rod", "rod"), "It meters.", (1, 2))
    >>> jet, main = Term(("jet",), "A hole.", (4,)), Term(("main jet",), "The jet of the main circuit.", (6,))
    >>> finder = Finder([rod, jet, main])
    >>> [(text, term.name) for _, text, term in finder.found("Main jets and\\nmetering rods; a jet, jetted, by-jet.")]
    [('Main jets', 'main jet'), ('metering rods', 'metering rod'), ('jet', 'jet')]
    """

    def __init__(self, terms: Iterable[Term]) -> None:
        self.terms = tuple(terms)
        named = {form: term for term in self.terms for name in term.names for form in forms(name)}
        self._named = {_joined(form): term for form, term in named.items()}
        passed = {form for term in self.terms for other in term.others for form in forms(other)[::2]}
        starting: dict[str, list[str]] = {}
        for form in sorted(named.keys() | passed, key=lambda form: (-len(form), form)):
            first = _WORD.search(form)
            if first is not None:
                starting.setdefault(first[0], []).append(form)
        # By first words: to try some 700 forms at every letter of a course would take seconds.
        self._starting = starting
        self._patterns: dict[str, re.Pattern[str]] = {}  # of first words that were met: few texts hold all of them

    def found(self, text: str) -> Iterator[tuple[int, str, Term]]:
        """Each place in a text where a term stands: where, as it is written there, and which."""
        end = 0
        for word in _WORD.finditer(text):
            if word[0] not in self._starting or word.start() < end:
                continue
            match = self._pattern(word[0]).match(text, word.start())
            if match is not None:
                end = match.end()
                term = self._named.get(_joined(match[0]))
                if term is not None:
                    yield match.start(), match[0], term

    def _pattern(self, first: str) -> re.Pattern[str]:
        """What finds the forms that begin with a word."""
        if first not in self._patterns:
            self._patterns[first] = _either(self._starting[first])
        return self._patterns[first]


def _either(found: Sequence[str]) -> re.Pattern[str]:
    """Any of some forms, the first that fits; between their words any space, or a hyphen."""
    either = "|".join(r"(?:\s+|-)".join(map(re.escape, form.split(" "))) for form in found)
    return re.compile(rf"(?:{either})(?![\w-])")


def _joined(form: str) -> str:
    """A form with its words held together in one way: before a noun a hyphen stands where else there is a space."""
    return re.sub(r"[\s-]+", " ", form)
