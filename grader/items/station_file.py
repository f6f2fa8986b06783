"""
Bench stations (`questions/stations/NAME.yaml`): text to `Station`.

What a step measures is judged by the specimen's sheet: the value and how far it may be off are taken from there, never typed
here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from grader.base.errors import UseError
from grader.base.findings import Finding
from grader.base.quantities import Quantity, Unit, unit
from grader.items import fields
from grader.items.fields import FILE_ID, MINUTES, NAME, NUMBER, OBJECTIVE_ID, SPECIMEN_ID, TEXT, TEXTS, YES_NO
from grader.items.settings import SettingFault, shown_range, tolerated
from grader.items.shapes import (
    Field,
    Listed,
    Record,
    Report,
    Shape,
    Word,
    entries_of,
    fields_of,
    nearest,
    shaped,
    text_of,
    texts_of,
)
from grader.items.sheet_values import NotThere, Sheets, sheet_named
from grader.items.yamlfile import Fields, read_yaml, short

if TYPE_CHECKING:
    from collections.abc import Mapping

    from grader.items.specimen_file import Sheet

STATIONS = "questions/stations"
MOST_STEPS = 40
_STEP_NAMED = re.compile(r"\bsteps?\s+(\d{1,3})(?:\s*(?:to|and|,)\s*(\d{1,3}))?", re.IGNORECASE)


def _setting(text: str) -> str:
    if not NAME.fullmatch(text):
        raise UseError(f"`{short(text)}` is not written as a value of a sheet is; write it like `float_level`")
    return text


MEASURE = Record(
    "a measurement",
    {
        "value": Field(
            Word("a value of the sheet, like `float_level`", "bad-name", _setting),
            "the setting of the specimen's sheet that it is held against: float_level",
            needed=True,
        ),
        "unit": Field(fields.UNIT, "the unit in which it is read; the sheet's own if left out"),
        "within": Field(
            fields.QUANTITY,
            "how far it may be off, only where the sheet has the value and no tolerance: an amount (1/32 in) or a share (10 %)",
        ),
    },
)
STEP = Record(
    "a step",
    {
        "text": Field(TEXT, "what the candidate does", needed=True),
        "sees": Field(TEXT, "what the assessor must see to call it done; not needed where it is measured"),
        "critical": Field(YES_NO, "true where failing it fails the station"),
        "reason": Field(TEXT, "why it is critical"),
        "measure": Field(MEASURE, "what is measured, against the specimen's sheet"),
        "points": Field(NUMBER, "what it is worth; 1 if left out"),
    },
)
STATION: Shape = Record(
    "a station",
    {
        "id": Field(FILE_ID, "the station's name, the same as its file's", needed=True),
        "title": Field(TEXT, "what is done there, in a line", needed=True),
        "objective": Field(OBJECTIVE_ID, "the objective it shows, one of level P", needed=True),
        "specimen": Field(SPECIMEN_ID, "the training carburetor that lies there; needed where something is measured"),
        "minutes": Field(MINUTES, "how long a candidate has", needed=True),
        "tools": Field(TEXTS, "what the candidate works with", needed=True),
        "supplied": Field(TEXTS, "what lies or stands ready, and how the assessor has prepared it", needed=True),
        "cautions": Field(
            TEXTS, "what must be minded: fire, exhaust, moving parts, eyes, law; local codes and licensed practice"
        ),
        "steps": Field(Listed(STEP, 1, MOST_STEPS), "the steps, in the order in which they are done", needed=True),
        "done": Field(TEXTS, "what counts as done, over the whole station", needed=True),
        "note": Field(TEXT, "for authors: sources, reasons; printed nowhere"),
    },
)


@dataclass(frozen=True, slots=True)
class Measure:
    """
    What a step is held against: the sheet's value, and the two ends between which a reading counts, both inside.

    `within` is as the sheet writes it. All are in `unit`, in which the reading is taken.
    """

    name: str
    says: str
    value: Quantity
    least: Quantity
    greatest: Quantity
    within: str
    unit: Unit
    line: int

    @property
    def shown(self) -> str:
        """Value and ends as printed: `1/4 in ± 1/32 in: 7/32 to 9/32 in`."""
        return f"{self.wanted}: {self.range}"

    @property
    def wanted(self) -> str:
        """The sheet's value and tolerance as printed: `1/4 in ± 1/32 in`."""
        return f"{self.value.shown} ± {self.within}"

    @property
    def range(self) -> str:
        """The two ends as printed: `7/32 to 9/32 in`."""
        return shown_range(self.least, self.greatest)


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a station, by its `number` from 1; `critical` where failing it fails the station, for the `reason` given."""

    number: int
    text: str
    line: int
    sees: str = ""
    critical: bool = False
    reason: str = ""
    points: Decimal = Decimal(1)
    measure: Measure | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """A task at the bench that an assessor watches and signs. `minutes` is a candidate's time, without extra time."""

    id: str
    file: str
    line: int
    title: str
    objective: str
    minutes: float
    tools: tuple[str, ...]
    supplied: tuple[str, ...]
    steps: tuple[Step, ...]
    done: tuple[str, ...]
    specimen: str = ""
    cautions: tuple[str, ...] = ()
    note: str = ""
    lines: Mapping[str, int] = field(default_factory=dict)

    @property
    def points(self) -> Decimal:
        """What all steps are worth together."""
        return sum((step.points for step in self.steps), Decimal(0))

    @property
    def circuit(self) -> str:
        """The circuit of its objective."""
        return self.objective.rpartition(".")[0]

    @property
    def critical(self) -> tuple[Step, ...]:
        """The steps that fail the station where they are failed."""
        return tuple(step for step in self.steps if step.critical)


def read_station(file: str, data: bytes, findings: list[Finding], sheets: Sheets) -> Station | None:
    """
    A station from its bytes, or None where it cannot be used; every fault is added to `findings`.

    >>> text = b"{id: a, title: A, objective: tank.2, minutes: 5, tools: [rule], supplied: [a tank], done: [Put away.],"
    >>> found = read_station("a.yaml", text + b" steps: [{text: Measure it., sees: The rule stands upright.}]}", [], {})
    >>> found.minutes, found.points, found.steps[0].number
    (5.0, Decimal('1'), 1)
    """
    root = read_yaml(file, data, findings)
    report = Report(file, findings)
    node = None if root is None else shaped(root, STATION, report)
    if not isinstance(node, Fields):
        return None
    name = text_of(node, "specimen")
    sheet = _sheet(name, node, report, sheets)
    steps = _steps(node, sheet, report)
    found = Station(
        id=text_of(node, "id"),
        file=file,
        line=node.line,
        title=text_of(node, "title"),
        objective=text_of(node, "objective"),
        specimen=name,
        minutes=fields.read_minutes(text_of(node, "minutes")),
        tools=texts_of(node, "tools"),
        supplied=texts_of(node, "supplied"),
        cautions=texts_of(node, "cautions"),
        steps=tuple(steps),
        done=texts_of(node, "done"),
        note=text_of(node, "note"),
        lines=node.lines,
    )
    place = Path(file)
    if found.id != place.stem and place.parent.name == "stations":
        what = f"the station calls itself `{found.id}`, its file `{place.stem}`"
        report.note(node.lines["id"], "wrong-id", what, "give both one name")
    _named_steps(found, node, report)
    return found if report.sound else None


def _sheet(name: str, node: Fields, report: Report, sheets: Sheets) -> Sheet | None:
    if not name:
        return None
    try:
        return sheet_named(name, sheets)
    except NotThere as error:
        what, _, mend = str(error).partition("; ")
        report.note(node.lines["specimen"], error.code, what, mend, "specimen")
        return None


def _steps(node: Fields, sheet: Sheet | None, report: Report) -> list[Step]:
    found = []
    for number, below in enumerate(entries_of(node, "steps"), 1):
        if not isinstance(below, Fields):
            continue
        path = f"steps/{number}"
        measure = _measure(below, node, sheet, report, path)
        step = Step(
            number=number,
            text=text_of(below, "text"),
            line=below.line,
            sees=text_of(below, "sees"),
            critical=text_of(below, "critical") == "true",
            reason=text_of(below, "reason"),
            points=fields.read_number(text_of(below, "points", "1")),
            measure=measure,
        )
        _step_faults(step, below, report, path)
        found.append(step)
    return found


def _step_faults(step: Step, below: Fields, report: Report, path: str) -> None:
    if step.critical and not step.reason:
        what = f"step {step.number} is critical and nothing says why"
        report.note(below.lines["critical"], "missing-reason", what, "write `reason`: what happens where it is left out", path)
    misread = "critical" in below.lines and "critical" not in below.nodes
    if step.reason and not step.critical and not misread:
        what = f"step {step.number} has a reason and is not critical"
        report.note(below.lines["reason"], "idle-reason", what, "write `critical: true`, or take the reason out", path)
    if not step.sees and "measure" not in below.nodes:
        what = f"step {step.number} says neither what the assessor must see nor what is measured"
        report.note(step.line, "nothing-to-see", what, "write `sees` or `measure`", path)
    if step.points <= 0 and not step.critical:
        what = f"step {step.number} is worth nothing and is not critical"
        report.note(below.lines["points"], "bad-number", what, "write 1 or more, or `critical: true` with a reason", path)


def _measure(below: Fields, node: Fields, sheet: Sheet | None, report: Report, path: str) -> Measure | None:
    group = fields_of(below, "measure")
    if group is None:
        return None
    if "specimen" not in node.nodes:
        what = f"`{text_of(group, 'value')}` is measured and no specimen is named"
        report.note(group.line, "missing-field", what, "write `specimen: T-1` or the like", path)
    if sheet is None:
        return None
    try:
        return _held_against(group, sheet)
    except (NotThere, SettingFault) as error:
        what, _, mend = str(error).partition("; ")
        report.note(group.lines.get(error.field, group.line), error.code, what, mend, f"{path}/measure")
        return None


def _held_against(group: Fields, sheet: Sheet) -> Measure:
    name, within = text_of(group, "value"), text_of(group, "within")
    setting = sheet.settings.get(name)
    if setting is None and name not in sheet.written:
        near = nearest(name, (*sheet.settings, *sheet.written))
        mend = f"did you mean `{near}`?" if near else "name a setting of the sheet, or write it there"
        raise NotThere("unknown-value", "value", f"`{name}` is not on the sheet of {sheet.specimen.id}; {mend}")
    if setting is not None and within:
        what = f"the sheet of {sheet.specimen.id} says how far `{name}` may be off, {setting.within.shown}"
        raise NotThere("typed-tolerance", "within", f"{what}; take `within` out, or change the sheet")
    if setting is None and not within:
        what = f"the sheet of {sheet.specimen.id} does not say how far `{name}` may be off"
        mend = f"write it into the sheet's settings, `{name}: {{says: …, within: …}}`"
        raise NotThere("no-tolerance", "value", f"{what}; {mend}")
    setting = setting or tolerated(name, sheet.written[name], within)
    measure = unit(text_of(group, "unit")) if "unit" in group.nodes else setting.value.unit
    try:
        least, greatest = setting.range_in(measure)
    except UseError as error:
        raise NotThere("dimension", "unit", str(error)) from error
    value = setting.value_in(measure)
    return Measure(name, setting.says, value, least, greatest, setting.within.shown, measure, group.line)


def _named_steps(station: Station, node: Fields, report: Report) -> None:
    """A text that names a step must name one that there is, and none its own or, in a step, one still to come."""
    count = len(entries_of(node, "steps"))
    for step in station.steps:
        for text in (step.text, step.sees, step.reason):
            for number in _numbers(text):
                what = f"step {step.number} names step {number}, "
                if not 1 <= number <= count:
                    what += f"and the station has {count}"
                elif number == step.number:
                    what += "which is itself"
                elif number > step.number and text == step.text:
                    what += "which comes after it"
                else:
                    continue
                report.note(step.line, "wrong-step", what, "name one that comes before it", f"steps/{step.number}")
    for text in station.done:
        for number in _numbers(text):
            if not 1 <= number <= count:
                what = f"`done` names step {number}, and the station has {count}"
                report.note(node.lines["done"], "wrong-step", what, "name one that there is", "done")


def _numbers(text: str) -> list[int]:
    return [int(number) for found in _STEP_NAMED.finditer(text) for number in found.groups() if number]
