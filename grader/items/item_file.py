"""A bank file (`questions/practice/CIRCUIT.yaml`, `questions/exam/CIRCUIT.yaml`): text to items, and everything wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, cast

from grader.base.findings import Finding
from grader.base.quantities import UNITS, Quantity, Unit, read_quantity, unit
from grader.items import fields
from grader.items.grid import decimals_of, grid, rounding
from grader.items.instruments.catalog import INSTRUMENTS
from grader.items.model import (
    FigureUse,
    Formula,
    Given,
    InstrumentUse,
    Item,
    ItemKind,
    Let,
    NumericAnswer,
    OptionText,
    Part,
    RowText,
    SlipText,
)
from grader.items.readings import tolerance
from grader.items.shapes import Report, entries_of, fields_of, fitting, nearest, shaped, text_of, texts_of
from grader.items.sheet_givens import from_specimen
from grader.items.sheet_values import NO_SHEETS, Sheets
from grader.items.yamlfile import Fields, Listing, Node, Scalar, read_yaml, short
from grader.relations.language import ExpressionError, parse

Functions = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Bank:
    """
    The items of a file, and of those that could not be read whole the id and the objective, as far as they are known.

    `ids` gives for every entry its id and the id's line; `readable` is false where the file as such could not be understood.
    """

    items: tuple[Item, ...] = ()
    broken: tuple[tuple[str, str], ...] = ()
    ids: tuple[tuple[str, int], ...] = ()
    file: str = ""
    readable: bool = True


def read_items(
    file: str, circuit: str, data: bytes, functions: Functions, findings: list[Finding], sheets: Sheets = NO_SHEETS
) -> Bank:
    """
    The items of a bank file; every fault is added to `findings`.

    Parameters
    ----------
    file, circuit : str
        The file's name as findings print it; the circuit whose bank it is.
    data : bytes
        The file's bytes.
    functions : mapping
        The relations that expressions may call, by name.
    findings : list of Finding
        Where faults are noted.
    sheets : mapping
        The course's specimens, from which values may be taken.

    Examples
    --------
    >>> found = []
    >>> read_items("pump.yaml", "pump", b"- id: pump-1\\n  obective: pump.1", {}, found).broken
    (('pump-1', ''),)
    >>> print(found[0])
    pump.yaml:2: `obective` is not a field of an item; did you mean `objective`? [unknown-field]
    """
    root = read_yaml(file, data, findings)
    if root is None:
        return Bank(readable=False)
    report = Report(file, findings)
    if not isinstance(root, Listing):
        shaped(root, fields.ITEMS, report)
        return Bank(readable=False)
    most = fields.MOST_ITEMS
    if len(root.entries) > most:
        report.note(root.line, "wrong-count", f"the bank has {len(root.entries):,} items", f"write at most {most:,} into a file")
        return Bank(readable=False)
    items, broken = [], []
    for place, entry in enumerate(root.entries, 1):
        item = _item(entry, circuit, functions, Report(file, findings), place, sheets)
        if item is not None:
            items.append(item)
        elif isinstance(entry, Fields):
            broken.append((text_of(entry, "id"), text_of(entry, "objective")))
    ids = (
        (text_of(entry, "id"), entry.lines["id"]) for entry in root.entries if isinstance(entry, Fields) and "id" in entry.nodes
    )
    return Bank(tuple(items), tuple(broken), tuple(ids), file)


def _item(entry: Node, circuit: str, functions: Functions, report: Report, place: int, sheets: Sheets) -> Item | None:
    path = text_of(entry, "id", str(place)) if isinstance(entry, Fields) else str(place)
    node = fitting(entry, fields.ITEM, report, short(path))
    if node is None:
        return None
    given = _given(node, report, path, sheets)
    lets = _let(node, functions, report, path)
    require = [_formula(each, functions, report, f"{path}/require") for each in entries_of(node, "require")]
    kind = cast(ItemKind, text_of(node, "kind"))
    instrument = _instrument(node, functions, report, path)
    if kind == "case":
        parts = [_part(part, "", functions, report, f"{path}/parts/{n}") for n, part in enumerate(entries_of(node, "parts"), 1)]
    else:
        parts = [_part(node, kind, functions, report, path, instrument)]
    figure = fields_of(node, "figure")
    item = Item(
        id=text_of(node, "id"),
        file=report.file,
        line=node.line,
        circuit=circuit,
        objective=text_of(node, "objective"),
        kind=kind,
        stem=text_of(node, "stem"),
        parts=tuple(part for part in parts if part is not None),
        given=tuple(given),
        let=tuple(lets),
        require=tuple(formula for formula in require if formula is not None),
        hint=text_of(node, "hint"),
        figure=None if figure is None else FigureUse(text_of(figure, "name"), text_of(figure, "alt"), figure.line),
        instrument=instrument,
        minutes=fields.read_minutes(text_of(node, "minutes", "2")),
        difficulty=float(fields.read_share(text_of(node, "difficulty", "60 %"))),
        note=text_of(node, "note"),
        waive={name: cast(Scalar, reason).text for name, reason in _named(node, "waive").items()},
        lines=node.lines,
    )
    _names_apart(item, report, path)
    return item if report.sound else None


def _named(node: Fields, name: str) -> Mapping[str, Node]:
    below = fields_of(node, name)
    return {} if below is None else below.nodes


def _names_apart(item: Item, report: Report, path: str) -> None:
    """One name means one thing: given, let and parts may not share it, nor take a name of the expression language."""
    seen: dict[str, int] = {}
    names = [(given.name, given.line) for given in item.given] + [(let.name, let.line) for let in item.let]
    names += [(part.name, part.line) for part in item.parts if part.name]
    for name, line in names:
        if name in seen:
            report.note(line, "repeated-name", f"`{name}` is used already on line {seen[name]}", "give it another name", path)
        if name in fields.RESERVED_NAMES:
            report.note(
                line, "reserved-name", f"`{name}` means something else in expressions", "give it a full name of the trade", path
            )
        seen[name] = line


def _given(node: Fields, report: Report, path: str, sheets: Sheets) -> list[Given]:
    found = []
    lines = fields_of(node, "given")
    for name, below in _named(node, "given").items():
        line = lines.lines[name] if lines else below.line
        here = f"{path}/given/{name}"
        if isinstance(below, Scalar):
            only = read_quantity(below.text)
            found.append(Given(name, line, (only,), rounding([only])))
        elif isinstance(below, Fields) and "pick" in below.nodes:
            picked = _picked(name, below, line, report, here)
            found += [picked] if picked else []
        elif isinstance(below, Fields) and "specimen" in below.nodes:
            taken = from_specimen(name, below, line, report, here, sheets)
            found += [taken] if taken else []
        elif isinstance(below, Fields):
            ranged = _ranged(name, below, line, report, here)
            found += [ranged] if ranged else []
    return found


def _picked(name: str, below: Fields, line: int, report: Report, path: str) -> Given | None:
    texts = texts_of(below, "pick")
    values = [fields.read_size_or_drill(text) for text in texts]
    drills = [text.startswith("#") for text in texts]
    if len({value.unit.name for value in values}) > 1:
        names = dict.fromkeys(value.unit.name for value in values)
        units = " and ".join(
            (["values without a unit"] if "1" in names else []) + [f"values in `{n}`" for n in names if n != "1"]
        )
        report.note(
            below.lines["pick"],
            "mixed-units",
            f"`{name}` is picked from {units}",
            "write all of them in one unit",
            path,
        )
        return None
    if len({value.number for value in values}) < len(values):
        report.note(
            below.lines["pick"], "repeated-value", f"a value of `{name}` stands twice in its list", "keep one of the two", path
        )
        return None
    if any(drills):  # printed by its number; a drill's bore is what the list says, exactly
        words = tuple(text if drill else value.shown for text, value, drill in zip(texts, values, drills, strict=True))
        return Given(name, line, tuple(values), Fraction(0), words)
    return Given(name, line, tuple(values), rounding(values))


def _ranged(name: str, below: Fields, line: int, report: Report, path: str) -> Given | None:
    ends = [read_quantity(text_of(below, end)) for end in ("from", "to", "step")]
    values, complaint, mend = grid(*ends)
    if complaint:
        report.note(below.line, "bad-grid", f"`{name}` {complaint}", mend, path)
        return None
    return Given(name, line, values, rounding(values))


def _let(node: Fields, functions: Functions, report: Report, path: str) -> list[Let]:
    found = []
    lines = fields_of(node, "let")
    for name, below in _named(node, "let").items():
        value = below.nodes["value"] if isinstance(below, Fields) else below
        formula = _formula(value, functions, report, f"{path}/let/{name}")
        measure = unit(text_of(below, "unit")) if isinstance(below, Fields) and "unit" in below.nodes else None
        if formula is not None:
            found.append(Let(name, lines.lines[name] if lines else below.line, formula, measure))
    return found


def _formula(node: Node, functions: Functions, report: Report, path: str) -> Formula | None:
    if not isinstance(node, Scalar):
        return None
    try:
        return Formula(node.text, node.line, parse(node.text, functions))
    except ExpressionError as error:
        what, _, mend = str(error).partition("; ")
        if node.text.count("(") > node.text.count(")"):
            mend = "an expression with a comma inside { } needs quotes; without a comma, close the bracket"
        if "may be called" in what and "did you mean" not in mend:
            mend = "`grader compute` lists the relations; for times write *"
        report.note(node.line, "expression", f"`{short(node.text)}`: {what}", mend or "mend it there", path)
        return None


def _instrument(node: Fields, functions: Functions, report: Report, path: str) -> InstrumentUse | None:
    below = fields_of(node, "instrument")
    if below is None:
        return None
    instrument, name = INSTRUMENTS[text_of(below, "kind")], text_of(below, "scale")
    scale = instrument.scales.get(name)
    shows = _formula(below.nodes["shows"], functions, report, f"{path}/instrument")
    if scale is None:
        near = nearest(name, instrument.scales)
        mend = f"did you mean `{near}`?" if near else f"its scales are {', '.join(instrument.scales)}"
        what = f"`{short(name)}` is no scale of the instrument {instrument.kind}"
        report.note(below.lines["scale"], "unknown-scale", what, mend, f"{path}/instrument")
    return None if scale is None or shows is None else InstrumentUse(instrument, scale, shows, below.line)


def _part(
    node: Node, kind: str, functions: Functions, report: Report, path: str, instrument: InstrumentUse | None = None
) -> Part | None:
    """A part of a case, or an item that is no case read as its only part."""
    if not isinstance(node, Fields):
        return None
    kind = kind or text_of(node, "kind")
    points = fields.read_number(text_of(node, "points", "1"))
    if not 0 < points <= 100:
        report.note(node.lines["points"], "bad-number", f"worth {points} points", "write more than 0 and at most 100", path)
    options = [_option(entry, functions, report, f"{path}/options/{n}") for n, entry in enumerate(entries_of(node, "options"), 1)]
    _right_options(kind, node, options, report, path)
    return Part(
        name=text_of(node, "name"),
        kind=cast(ItemKind, kind),
        line=node.line,
        stem=text_of(node, "stem"),
        points=Decimal(points),
        answer=_answer(node, kind, functions, report, path, instrument),
        slips=_slips(node, functions, report, path),
        options=tuple(option for option in options if option is not None),
        keep_order=text_of(node, "keep_order") == "true",
        entries=texts_of(node, "entries"),
        rows=tuple(
            RowText(text_of(r, "text"), text_of(r, "match"), r.line) for r in entries_of(node, "rows") if isinstance(r, Fields)
        ),
        extra=texts_of(node, "extra"),
        hint=text_of(node, "hint"),
        working=text_of(node, "working"),
        lines=node.lines,
    )


def _answer(
    node: Fields, kind: str, functions: Functions, report: Report, path: str, instrument: InstrumentUse | None
) -> NumericAnswer | None:
    below = fields_of(node, "answer")
    if below is None:
        return None
    here = f"{path}/answer"
    formula = _formula(below.nodes["value"], functions, report, here)
    measure = unit(text_of(below, "unit"))
    if measure.name not in UNITS:
        alike = ", ".join(name for name, entry in UNITS.items() if entry.dimension == measure.dimension)
        mend = f"write one of {alike}" if alike else "ask for a number in a unit of the table"
        what = f"`{short(measure.name)}` is made of other units, and an answer in it cannot be read"
        report.note(below.lines["unit"], "unknown-unit", what, mend, here)
    within = _within(below, kind, measure, instrument, report, here)
    plausible = fields.read_range(text_of(below, "plausible")) if "plausible" in below.nodes else None
    if formula is None or within is None:
        return None
    return NumericAnswer(formula, measure, within, below.line, plausible, below.lines)


def _within(
    below: Fields, kind: str, measure: Unit, instrument: InstrumentUse | None, report: Report, path: str
) -> Quantity | None:
    """The tolerance as written; for a reading without one, the scale's own."""
    if "within" in below.nodes:
        within = read_quantity(text_of(below, "within"))
        complaint, mend = _tolerance(within, measure)
        if complaint:
            report.note(below.lines["within"], "bad-tolerance", complaint, mend, path)
        return within
    if kind != "reading":
        report.note(below.line, "missing-field", "`within` is missing from an answer", f"write it: {fields.WITHIN}", path)
    if instrument is None:
        return None
    within = tolerance(instrument.scale)
    if within.unit.kind == measure.kind and decimals_of(within.number * within.unit.factor / measure.factor) is None:
        what = f"`within` is left out, and the scale's {within.written} {within.unit.name} has no exact decimal in {measure.name}"
        mend = f"write `within` in {measure.name}, at least as much"
        report.note(below.lines["unit"], "bad-tolerance", what, mend, path)
    return within


def _tolerance(within: Quantity, measure: Unit) -> tuple[str, str]:
    """What is wrong with a tolerance, and how to mend it; nothing where it is sound."""
    written = f"`within` is {within.written} {within.unit.name}".removesuffix(" 1")
    share = within.unit.name == "%"
    if within.number <= 0 or (share and within.number > 50):
        return written, "write more than 0, and at most 50 %"
    if not share and (within.unit.name == "1") != (measure.name == "1"):
        return f"{written}, the answer is in {measure.name}", f"write a share (2 %) or an amount in {measure.name}"
    if not share and within.unit.dimension != measure.dimension:
        return "", ""  # `item_checks` says which of the two is wrong
    if decimals_of(within.number * within.unit.factor / (1 if share else measure.factor)) is None:
        return f"{written}, which has no exact decimal in {measure.name}", f"write it in {measure.name}"
    return "", ""


def _slips(node: Fields, functions: Functions, report: Report, path: str) -> tuple[SlipText, ...]:
    found = []
    for number, entry in enumerate(entries_of(node, "slips"), 1):
        if isinstance(entry, Fields):
            formula = _formula(entry.nodes["value"], functions, report, f"{path}/slips/{number}")
            if formula is not None:
                found.append(SlipText(formula, text_of(entry, "says"), entry.line))
    return tuple(found)


def _option(entry: Node, functions: Functions, report: Report, path: str) -> OptionText | None:
    if isinstance(entry, Scalar):
        return OptionText(entry.text.strip(), right=False, says="", line=entry.line)
    if not isinstance(entry, Fields):
        return None
    right, says = text_of(entry, "right") == "true", text_of(entry, "says")
    if "text" in entry.nodes:
        return OptionText(text_of(entry, "text"), right, says, entry.line)
    figures = fields.read_whole(text_of(entry, "figures", "3"))
    if not 1 <= figures <= 9:
        report.note(entry.line, "bad-number", f"{figures} significant figures", "write 1 to 9", path)
        return None
    formula = _formula(entry.nodes["value"], functions, report, path)
    if formula is None:
        return None
    return OptionText("", right, says, entry.line, formula, unit(text_of(entry, "unit")), figures)


def _right_options(kind: str, node: Fields, options: list[OptionText | None], report: Report, path: str) -> None:
    if "options" not in node.nodes or None in options:
        return
    right = sum(1 for option in options if option is not None and option.right)
    line = node.lines["options"]
    if kind == "choice" and right != 1:
        report.note(
            line,
            "right-options",
            f"{right} options are right",
            "mark exactly one with `right: true`, or make the kind `choices`",
            path,
        )
    if kind == "choices" and not 1 <= right < len(options):
        report.note(
            line,
            "right-options",
            f"{right} of {len(options)} options are right",
            "mark at least one, and leave at least one wrong",
            path,
        )
    if len({option is not None and option.value is None for option in options}) > 1:
        mend = "write all of them as texts, or all as values"
        report.note(line, "mixed-options", "some options are texts and some are computed", mend, path)
