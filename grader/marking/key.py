"""
The key of a paper: all that marking needs, in plain canonical JSON, readable in ten years.

A key is self-contained: it carries the units with their exact factors and spellings, every bound as a decimal, every slip with
what to say, the stem as printed and the working. A practice pack holds the same questions.

Numbers that are compared (`value`, `low`, `high`, `plausible`) are decimals in text, in the answer's own unit; a number on
a bound is inside. Numbers that are computed with (`Follow.values`) are SI floats.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

import msgspec

from grader.base.canon import canonical
from grader.base.errors import UseError
from grader.base.quantities import UNITS

FORM = "grader-key-1"


class Struct(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """A part of a key: plain data, never changed once made."""


class UnitEntry(Struct, frozen=True, kw_only=True):
    """A unit as the marker reads it: `factor` and `offset` are exact fractions to SI (``"1/1000000"``), `spelt` is folded."""

    kind: str
    factor: str
    shown: str
    offset: str = "0"
    spelt: tuple[str, ...] = ()


class Step(Struct, frozen=True, kw_only=True):
    """One line of a worked answer: what it does in words, and its mathematics as plain text, MathML and Typst math."""

    says: str = ""
    text: str = ""
    mathml: str = ""
    typst: str = ""


class Figure(Struct, frozen=True, kw_only=True):
    """A picture for a question: SVG without scripts or outside references, and a text that does not give the answer away."""

    svg: str
    alt: str


class Answer(Struct, frozen=True, kw_only=True):
    """The number wanted: `value`, `low`, `high` are decimals in `unit`; `shown` is how the worked answer prints it."""

    value: str
    low: str
    high: str
    unit: str
    shown: str
    within: str


class Slip(Struct, frozen=True, kw_only=True):
    """
    A known wrong way to a number, and what to tell whoever took it.

    `tree` is there where the slip starts from an earlier part: marked on the candidate's own value like `Follow.tree`.
    """

    value: str
    low: str
    high: str
    says: str
    tree: list[Any] | None = None


class Follow(Struct, frozen=True, kw_only=True):
    """
    How a part's number comes from earlier parts, so that it can be marked on the candidate's own.

    Parameters
    ----------
    tree : list
        The expression as nested lists, see `grader.relations.tree`: ``["*", ["name", "area"], 2]``. No call is left.
    values : dict
        What is given, in SI.
    takes : dict
        Name in the tree to the letter of the earlier part that supplies it, in SI: ``{"area": "a"}``.
    within : str
        The tolerance as the author wrote it: ``2 %`` or ``0.1 mm``.
    """

    tree: list[Any]
    values: dict[str, float]
    takes: dict[str, str]
    within: str


class Option(Struct, frozen=True, kw_only=True):
    """One option of a question: its letter on this paper, its text, and what to say to whoever took it."""

    letter: str
    text: str
    says: str = ""


class Row(Struct, frozen=True, kw_only=True):
    """One row to be matched: its number on this paper and its text."""

    number: str
    text: str


class Question(Struct, tag_field="kind", frozen=True, kw_only=True):
    """What every kind of question carries. `points` is a decimal in text."""

    item: str
    objective: str
    circuit: str
    points: str
    stem: str
    number: str = ""
    figure: Figure | None = None
    hint: str = ""
    working: tuple[Step, ...] = ()


class Numeric(Question, tag="numeric", frozen=True, kw_only=True):
    """A number with a unit. `plausible` holds the least and the greatest value such a part can have, in its unit."""

    answer: Answer
    slips: tuple[Slip, ...] = ()
    plausible: tuple[str, str] | None = None


class Reading(Question, tag="reading", frozen=True, kw_only=True):
    """
    An instrument drawn for the variant (`figure`), to be read within its resolution; marked like a number.

    `rule` says in words how fine it is to be read and how far off is still right; it stands beside the answer line.
    """

    answer: Answer
    rule: str = ""
    slips: tuple[Slip, ...] = ()
    plausible: tuple[str, str] | None = None


class Choice(Question, tag="choice", frozen=True, kw_only=True):
    """One option is right."""

    options: tuple[Option, ...]
    right: str


class Choices(Question, tag="choices", frozen=True, kw_only=True):
    """Several options are right; the marking rule is in `grader.marking.choices`."""

    options: tuple[Option, ...]
    right: tuple[str, ...]


class Order(Question, tag="order", frozen=True, kw_only=True):
    """Entries to be put in order; `right` lists their letters in the right order."""

    entries: tuple[Option, ...]
    right: tuple[str, ...]


class Match(Question, tag="match", frozen=True, kw_only=True):
    """Rows to be matched with options; `right` gives each row's number its letter. Options may be left over."""

    rows: tuple[Row, ...]
    options: tuple[Option, ...]
    right: dict[str, str]


class NumericPart(Struct, tag_field="kind", tag="numeric", frozen=True, kw_only=True):
    """A part of a case that asks for a number; `follow` is there where it starts from earlier parts."""

    part: str
    points: str
    stem: str
    answer: Answer
    slips: tuple[Slip, ...] = ()
    plausible: tuple[str, str] | None = None
    follow: Follow | None = None
    hint: str = ""
    working: tuple[Step, ...] = ()


class ChoicePart(Struct, tag_field="kind", tag="choice", frozen=True, kw_only=True):
    """A part of a case that asks for one option."""

    part: str
    points: str
    stem: str
    options: tuple[Option, ...]
    right: str
    hint: str = ""
    working: tuple[Step, ...] = ()


class Case(Question, tag="case", frozen=True, kw_only=True):
    """A situation (`stem`), then parts a, b, c … that may build on each other. `points` is the parts' sum."""

    parts: tuple[NumericPart | ChoicePart, ...]


AnyQuestion = Numeric | Reading | Choice | Choices | Order | Match | Case
Kind = Literal["numeric", "reading", "choice", "choices", "order", "match", "case"]


class Key(Struct, frozen=True, kw_only=True):
    """
    The key of one candidate's paper.

    `bank` is the digest of the bank it was drawn from; `nonce` is 32 random bytes in hexadecimal, so that nobody can try answers
    against the digest that is printed on the paper.
    """

    form: str
    sitting: str
    paper: str
    candidate: str
    blueprint: str
    bank: str
    nonce: str
    units: dict[str, UnitEntry]
    questions: tuple[AnyQuestion, ...]

    def encoded(self) -> bytes:
        """The key's canonical bytes; `grader.base.canon.digest` of them is what the paper prints."""
        return canonical(msgspec.to_builtins(self))


def read_key(data: bytes) -> Key:
    """
    A key from its bytes, every field checked.

    Raises `UseError` where it is not a key of this form.

    >>> read_key(b"{}")
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: not a key: Object missing required field `form`
    """
    try:
        key = msgspec.json.decode(data, type=Key)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise UseError(f"not a key: {error}") from error
    if key.form != FORM:
        raise UseError(f"a key of the form {key.form!r}; this program reads {FORM!r}")
    return key


def unit_entries(names: Iterable[str] = UNITS) -> dict[str, UnitEntry]:
    """
    The units a key carries: by default all of them, so that an answer in any known unit is told from one in none.

    >>> unit_entries(["mm^2"])["mm^2"].factor
    '1/1000000'
    """
    return {
        name: UnitEntry(
            kind=UNITS[name].kind,
            factor=str(UNITS[name].factor),
            shown=UNITS[name].shown,
            offset=str(UNITS[name].offset),
            spelt=UNITS[name].spelt,
        )
        for name in names
    }
