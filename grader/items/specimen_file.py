"""Specification sheets of training carburetors (`questions/specimens/NAME.yaml`): text to `Specimen`."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from grader.base.errors import FindingsError, UseError
from grader.base.files import contained, read_capped
from grader.base.findings import Finding
from grader.base.quantities import read_quantity
from grader.circuits.drills import drill_bore
from grader.circuits.sheet import Entry
from grader.circuits.sound import faults_of
from grader.circuits.specimens import WELLS, OperatingPoint, Specimen, entries
from grader.items.fields import TEXT, YES_NO
from grader.items.settings import SETTINGS, Setting, read_settings, written_settings
from grader.items.shapes import (
    Field,
    Listed,
    OneOf,
    Record,
    Report,
    Shape,
    Word,
    entries_of,
    fields_of,
    shaped,
    text_of,
)
from grader.items.yamlfile import SIZE_LIMIT, Fields, Node, read_yaml, short

SPECIMENS = "questions/specimens"
_ID = re.compile(r"[A-Z][A-Za-z0-9]{0,7}-[1-9][0-9]{0,3}")
_POINT = (
    Entry("speed", "points", entries()["best_filling_speed"].unit, "engine speed", 100, 12_000),
    Entry("throttle", "points", entries()["choke_travel"].unit, "throttle angle, from closed", 0, 90),
)
_DRILLED = "in"


def _id(text: str) -> str:
    if not _ID.fullmatch(text):
        raise UseError(f"`{short(text)}` is not written as specimens are called; write it like `T-3`")
    return text


def si_of(text: str, entry: Entry) -> float:
    """
    A value of the sheet as SI: a number with its unit, any unit of the kind, or a numbered drill for a bore.

    Raises `UseError` for another kind of unit, a missing unit, or a value outside its range.

    >>> round(si_of("#54", entries()["main_bleed"]) * 1000, 3), round(si_of("1.4 mm", entries()["main_bleed"]) * 1000, 3)
    (1.397, 1.4)
    """
    value = drill_bore(text) if text.startswith("#") and entry.unit.name == _DRILLED else _measured(text, entry)
    fault = entry.fault_of(value)
    if fault:
        raise UseError(f"{fault.partition('; ')[0]}; give it from {entry.range()}")
    return value


def _measured(text: str, entry: Entry) -> float:
    found = read_quantity(text)
    wanted = entry.unit
    kinds = {wanted.kind, "temperature"} if wanted.kind == "temperature difference" else {wanted.kind}
    if found.unit.kind in kinds and found.unit.dimension == wanted.dimension:
        if wanted.kind == "temperature difference":  # 30 K, or 54 °F, of rise: no zero point
            return float(found.number * found.unit.factor)
        return found.si
    if wanted.kind == "made of others" and found.unit.dimension == wanted.dimension:
        return found.si
    given = f"in {found.unit.name}" if found.unit.name != "1" else "without a unit"
    like = "give it as a plain number" if wanted.name == "1" else f"write it with its unit, {_sign(wanted.name)}"
    raise UseError(f"{entry.name} ({entry.says}) is given {given}: `{short(text)}`; {like}")


def _sign(name: str) -> str:
    return {"dK": "K", "deg/dK": "deg/K"}.get(name, name)


def _word(entry: Entry) -> Word:
    drill = ", or a drill in quotes: '#54'" if entry.unit.name == _DRILLED else ""
    called = f"{entry.says} in {_sign(entry.unit.name)}{drill}" if entry.unit.name != "1" else f"{entry.says}, a plain number"
    kinds = ("string", "number") if entry.unit.name in {"1", "%"} else ("string",)
    return Word(called, "bad-value", lambda text: si_of(text, entry), kinds)


def _steps(entry: Entry) -> Listed:
    parts = {part.name: Field(_word(part), f"{part.says}, in {part.unit.name}", needed=True) for part in entry.pair}
    return Listed(Record(f"a step of {entry.name}", parts), 0, 24)


def _field(entry: Entry) -> Field:
    if entry.pair:
        return Field(_steps(entry), entry.says)
    default = (
        f"; {entry.default}{'' if entry.unit.name == '1' else ' ' + _sign(entry.unit.name)} if left out" if entry.default else ""
    )
    measure = "" if entry.unit.name == "1" else f", in {_sign(entry.unit.name)}"
    drill = " or as a drill ('#54')" if entry.unit.name == _DRILLED else ""
    ends = f", {entry.least:g} to {entry.greatest:g}"
    return Field(_word(entry), f"{entry.says}{measure}{drill}{ends}{default}", needed=not entry.default)


def _groups() -> dict[str, dict[str, Field]]:
    found: dict[str, dict[str, Field]] = {}
    for entry in entries().values():
        found.setdefault(entry.group, {})[entry.name] = _field(entry)
    found["main"] = {"well": Field(OneOf(WELLS), "how the main well is bled", needed=True), **found["main"]}
    return found


def _point() -> Record:
    parts = {entry.name: Field(_word(entry), f"{entry.says}, in {entry.unit.name}", needed=True) for entry in _POINT}
    return Record(
        "an operating point",
        {
            "name": Field(TEXT, "what the trade calls it: curb idle, cruise", needed=True),
            **parts,
            "on_stop": Field(YES_NO, "true where the throttle rests on its stop, as at curb idle"),
        },
    )


SPECIMEN: Shape = Record(
    "a specification sheet",
    {
        "id": Field(Word("the specimen's name, like `T-3`", "bad-name", _id), "its name, the same as its file's", needed=True),
        "title": Field(TEXT, "what it is, in a line", needed=True),
        "note": Field(TEXT, "for authors: sources, what is invented"),
        **{
            name.replace(" ", "_"): Field(Record(f"the sheet's {name}", parts), f"values of the {name}", needed=True)
            for name, parts in _groups().items()
        },
        "points": Field(Listed(_point(), 1, 40), "operating points at which it is looked at", needed=True),
        "settings": Field(SETTINGS, "what is set and measured at the bench, and how far it may be off"),
    },
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """
    A specification sheet as read: the specimen, each value as the sheet writes it, and what is set at the bench.

    `written` is by the value's name; of a list by its place too: `rod_steps 3 diameter`; of a setting also `float_level within`,
    `float_level least`, `float_level greatest`.
    """

    specimen: Specimen
    written: Mapping[str, str]
    settings: Mapping[str, Setting] = field(default_factory=dict)


def read_sheet(file: str, data: bytes, findings: list[Finding]) -> Sheet | None:
    """
    A sheet from its bytes, or None where it cannot be used; every fault is added to `findings`.

    >>> findings = []
    >>> read_sheet("T-9.yaml", b"id: T-9", findings) is None, len(findings) > 5
    (True, True)
    """
    root = read_yaml(file, data, findings)
    report = Report(file, findings)
    before = len(findings)
    node = None if root is None else shaped(root, SPECIMEN, report)
    _mend_drills(findings, before, data)
    if not isinstance(node, Fields) or not report.sound:
        return None
    found = _specimen(node)
    for name, fault in faults_of(found).items():
        what, _, mend = fault.partition("; ")
        report.note(_line(node, name), "contradiction", what, mend, name)
    place = Path(file)
    if found.id != place.stem and place.parent.name == "specimens":
        what = f"the specimen calls itself `{found.id}`, its file `{place.stem}`"
        report.note(node.lines["id"], "wrong-id", what, "give both one name")
    written = _written(node)
    below = fields_of(node, "settings")
    settings = read_settings(below, found, written, report) if below is not None else {}
    written |= {name: text for name, text in written_settings(settings).items() if name not in written}
    return Sheet(found, MappingProxyType(written), MappingProxyType(settings)) if report.sound else None


def _written(node: Fields) -> dict[str, str]:
    """Every value as it stands on the sheet; what the sheet leaves out, as it is filled in."""
    found: dict[str, str] = {}
    for entry in entries().values():
        group = fields_of(node, entry.group.replace(" ", "_"))
        for place, below in enumerate(entries_of(group, entry.name) if group is not None and entry.pair else (), 1):
            if isinstance(below, Fields):
                found |= {f"{entry.name} {place} {part.name}": text_of(below, part.name) for part in entry.pair}
        if group is not None and not entry.pair:
            default = f"{entry.default} {entry.unit.name}".removesuffix(" 1")
            found[entry.name] = text_of(group, entry.name, default)
    return found


def _mend_drills(findings: list[Finding], since: int, data: bytes) -> None:
    """`idle_jet: #54` is nothing to YAML: what follows the sign is a comment. Say so where a value is missing for it."""
    lines = data.decode("utf-8", "replace").split("\n")
    for place in range(since, len(findings)):
        f = findings[place]
        drill = re.search(r":\s+(#\d+)\s*$", lines[f.line - 1]) if 0 < f.line <= len(lines) else None
        if f.code in {"empty", "wrong-shape"} and drill:
            mend = f"put the drill in quotes: '{drill[1]}'"
            findings[place] = Finding(
                f.file, f.line, "cut-by-comment", f"`{drill[1]}` is a comment to YAML", mend, f.level, f.path
            )


def _specimen(node: Fields) -> Specimen:
    values: dict[str, Any] = {}
    for entry in entries().values():
        group = fields_of(node, entry.group.replace(" ", "_"))
        if group is None:
            continue
        if entry.pair:
            values[entry.name] = tuple(_step(below, entry) for below in entries_of(group, entry.name))
        elif entry.name in group.nodes:
            values[entry.name] = si_of(text_of(group, entry.name), entry)
    main = fields_of(node, "main")
    well = next(word for word in WELLS if main is not None and word == text_of(main, "well"))
    points = tuple(_point_of(below) for below in entries_of(node, "points") if isinstance(below, Fields))
    return Specimen(id=text_of(node, "id"), title=text_of(node, "title"), well=well, points=points, **values)


def _step(node: Node, entry: Entry) -> tuple[float, float]:
    below = node if isinstance(node, Fields) else Fields({}, {}, 0)
    first, second = (si_of(text_of(below, part.name), part) for part in entry.pair)
    return first, second


def _point_of(node: Fields) -> OperatingPoint:
    speed, throttle = (si_of(text_of(node, entry.name), entry) for entry in _POINT)
    return OperatingPoint(name=text_of(node, "name"), speed=speed, throttle=throttle, on_stop=text_of(node, "on_stop") == "true")


def _line(node: Fields, name: str) -> int:
    """The line of a value, wherever on the sheet it stands."""
    name = name.partition(".")[0]
    for below in node.nodes.values():
        if isinstance(below, Fields) and name in below.lines:
            return below.lines[name]
    return node.lines.get(name, node.line)


def specimen_names(folder: Path) -> tuple[str, ...]:
    """The specimens that a course has, by their files."""
    place = folder / SPECIMENS
    return tuple(sorted(path.stem for path in place.glob("*.yaml"))) if place.is_dir() else ()


def load_specimen(folder: Path, name: str) -> Specimen:
    """
    A specimen of a course by its name, or a sheet by its path (`sheets/mine.yaml`).

    Raises `UseError` for an unknown name, with the nearest; `FindingsError` with everything wrong on its sheet.
    """
    path = Path(name) if name.endswith((".yaml", ".yml")) else None
    if path is None:
        names = specimen_names(folder)
        found = {each.lower(): each for each in names}.get(name.lower())
        if found is None:
            raise UseError(f"`{short(name, 40)}` is not a specimen of this course; {_meant(name, names)}")
        path = contained(folder, SPECIMENS, f"{found}.yaml")
    findings: list[Finding] = []
    shown = str(path.relative_to(folder)) if path.is_relative_to(folder) else str(path)
    sheet = read_sheet(shown, read_capped(path, SIZE_LIMIT), findings)
    if findings or sheet is None:
        raise FindingsError(findings)
    return sheet.specimen


def _meant(name: str, names: Sequence[str]) -> str:
    if not names:
        return f"it has none in {SPECIMENS}; name a course's folder with --in, or a sheet's file"
    near = difflib.get_close_matches(name.upper(), names, 1, 0.5)
    return f"did you mean `{near[0]}`?" if near else f"they are {', '.join(names)}"
