"""What a course is made of, once read: plain frozen values, nothing that computes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from grader.base.quantities import Quantity, Unit
from grader.items.instruments.instrument import Instrument, Scale
from grader.relations.language import Expression

ItemKind = Literal["numeric", "choice", "choices", "order", "match", "case", "reading"]
Level = Literal["R", "E", "C", "D", "P"]
Bank = Literal["exam", "practice"]


@dataclass(frozen=True, slots=True)
class Formula:
    """An expression as its author wrote it, the line where it stands, and the same parsed."""

    text: str
    line: int
    expression: Expression


@dataclass(frozen=True, slots=True)
class Given:
    """
    A value that the stem states: every value it may take, as it would be printed.

    `step` is what the last decimal printed is worth, in its unit; 0 for whole numbers and fractions, which are taken as exact.
    `words` is how each value is printed, where that is not its number and unit (a numbered drill); a given that has words and no
    values only prints (the name of a specimen). Givens of one `draws` are drawn together: the same place in each.
    """

    name: str
    line: int
    values: tuple[Quantity, ...]
    step: Fraction
    words: tuple[str, ...] = ()
    draws: str = ""

    @property
    def size(self) -> int:
        """How many values there are to draw from."""
        return len(self.values or self.words)

    @property
    def unit(self) -> Unit:
        """The unit of its values."""
        return self.values[0].unit


@dataclass(frozen=True, slots=True)
class Let:
    """A value in between: computed from what is given, for use in expressions and, if wanted, printed in the stem."""

    name: str
    line: int
    value: Formula
    unit: Unit | None = None


@dataclass(frozen=True, slots=True)
class NumericAnswer:
    """The number wanted. `within` is a share (in %) or an amount; `plausible` the least and the greatest."""

    value: Formula
    unit: Unit
    within: Quantity
    line: int
    plausible: tuple[Quantity, Quantity] | None = None
    lines: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SlipText:
    """A known wrong way to a number, and what to tell whoever took it."""

    value: Formula
    says: str
    line: int


@dataclass(frozen=True, slots=True)
class OptionText:
    """An option: its text, or the number to compute, its unit and the figures to print."""

    text: str
    right: bool
    says: str
    line: int
    value: Formula | None = None
    unit: Unit | None = None
    figures: int = 3


@dataclass(frozen=True, slots=True)
class RowText:
    """A row to be matched and what matches it."""

    text: str
    match: str
    line: int


@dataclass(frozen=True, slots=True)
class FigureUse:
    """A figure of the course, by its name, and a text that says what it shows without giving the answer away."""

    name: str
    alt: str
    line: int


@dataclass(frozen=True, slots=True)
class InstrumentUse:
    """The instrument that a reading is taken from, the scale it is read on, and what it `shows` (SI)."""

    instrument: Instrument
    scale: Scale
    shows: Formula
    line: int


@dataclass(frozen=True, slots=True)
class Part:
    """One thing asked. An item that is no case has exactly one, without a name."""

    name: str
    kind: ItemKind
    line: int
    stem: str
    points: Decimal
    answer: NumericAnswer | None = None
    slips: tuple[SlipText, ...] = ()
    options: tuple[OptionText, ...] = ()
    keep_order: bool = False
    entries: tuple[str, ...] = ()
    rows: tuple[RowText, ...] = ()
    extra: tuple[str, ...] = ()
    hint: str = ""
    working: str = ""
    lines: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Item:
    """
    A question as its author wrote it. `circuit` is the name of the file it stands in; `lines` gives the line of every field.

    `minutes` is the time it should take; `difficulty` the share of candidates expected to get it right, 0 to 1.
    """

    id: str
    file: str
    line: int
    circuit: str
    objective: str
    kind: ItemKind
    stem: str
    parts: tuple[Part, ...]
    given: tuple[Given, ...] = ()
    let: tuple[Let, ...] = ()
    require: tuple[Formula, ...] = ()
    hint: str = ""
    figure: FigureUse | None = None
    instrument: InstrumentUse | None = None
    minutes: float = 2.0
    difficulty: float = 0.6
    note: str = ""
    waive: Mapping[str, str] = field(default_factory=dict)
    lines: Mapping[str, int] = field(default_factory=dict)

    @property
    def points(self) -> Decimal:
        """What the whole item is worth."""
        return sum((part.points for part in self.parts), Decimal(0))


@dataclass(frozen=True, slots=True)
class Objective:
    """What a learner shall be able to do: `level` R recall, E explain, C compute, D diagnose, P practical."""

    id: str
    level: Level
    says: str
    circuit: str
    line: int


@dataclass(frozen=True, slots=True)
class Fence:
    """A block of ours in a lesson: its `word` (relation, worked, figure, practice), its lines, and the line where it opens."""

    word: str
    line: int
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Inline:
    """A number computed in running text: what stood between the double brackets."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Link:
    """Where a link or a picture of a lesson leads, as written, and its line."""

    target: str
    line: int
    picture: bool


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson, or a page beside the lessons (without a circuit): its head, its Markdown, and what of it is ours to check."""

    file: str
    title: str
    circuit: str
    order: int
    objectives: tuple[Objective, ...]
    anchors: Mapping[str, int]
    fences: tuple[Fence, ...]
    inlines: tuple[Inline, ...]
    links: tuple[Link, ...]
    headings: frozenset[str]
    body: str
    body_line: int


@dataclass(frozen=True, slots=True)
class DrawRule:
    """
    How many items a paper takes, from an objective, or from a circuit at a level (any level where it is empty), of some `kinds`
    (any where there are none).

    `bank` is the folder they come from: exam items, or for a quiz the open practice items.
    """

    items: int
    line: int
    objective: str = ""
    circuit: str = ""
    level: str = ""
    bank: Bank = "exam"
    kinds: tuple[str, ...] = ()

    def __str__(self) -> str:
        """The rule in words, as findings and reports print it."""
        level = f" at level {self.level}" if self.level else ""
        kinds = f", {' or '.join(self.kinds)}" if self.kinds else ""
        return (f"objective {self.objective}" if self.objective else f"circuit {self.circuit}{level}") + kinds


@dataclass(frozen=True, slots=True)
class PassRule:
    """
    The cut over the whole paper, the least share in each circuit, and at each bench station, 0 to 1.

    `each_station` is None where the stations do not count towards a pass; `set_by` says how the cut was set.
    """

    cut: Fraction
    each_circuit: Fraction = Fraction(0)
    each_station: Fraction | None = None
    set_by: str = ""


@dataclass(frozen=True, slots=True)
class CertificateText:
    """What a certificate says, and for how many years it is good (0: without end)."""

    name: str
    description: str
    criteria: str
    years: float = 0.0


@dataclass(frozen=True, slots=True)
class Blueprint:
    """The plan of a paper: what it draws, how long it takes, who passes. `minutes` is the working time."""

    id: str
    file: str
    line: int
    title: str
    minutes: float
    draw: tuple[DrawRule, ...]
    pass_rule: PassRule
    aids: tuple[str, ...] = ()
    formulas: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    certificate: CertificateText | None = None
    stations: tuple[str, ...] = ()
    lines: Mapping[str, int] = field(default_factory=dict)

    @property
    def bank(self) -> Bank:
        """The bank that all its draws take from."""
        return self.draw[0].bank if self.draw else "exam"


@dataclass(frozen=True, slots=True)
class School:
    """Who teaches and examines; `id` is a URI."""

    name: str
    id: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class CourseFile:
    """What `questions/course.yaml` says."""

    title: str
    language: str
    school: School
    notice: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One line of a roster. `extra_time` is a share of the working time: 0.25 for a quarter more."""

    candidate: str
    name: str
    group: str = ""
    email: str = ""
    extra_time: float = 0.0
    print: Literal["", "large"] = ""
    line: int = 0
    file: str = field(default="roster", compare=False)
