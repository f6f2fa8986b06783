"""Choice and number questions as a CSV that any spreadsheet opens, and the same columns read back as drafts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from grader.base.errors import FindingsError, UseError
from grader.base.files import read_capped
from grader.base.findings import Finding
from grader.base.quantities import read_quantity, unit
from grader.base.tables import csv_rows, csv_text
from grader.exchange.draft import Drafted
from grader.items.yamlfile import decoded, short
from grader.marking.key import AnyQuestion, Choice, Numeric

WRONG = tuple(f"wrong {number}" for number in range(1, 8))
COLUMNS = ("id", "objective", "points", "stem", "right", *WRONG, "value", "unit", "within", "working")
NEEDED = "stem"
NO_ROW = "all of it, as the table holds choices and numbers only"
SIZE_LIMIT = 16_000_000
Note = Callable[[str, str, str], None]
"""Takes a fault's name, what is wrong, and how to mend it."""


def bank_csv(questions: Sequence[AnyQuestion]) -> tuple[str, list[str]]:
    """
    The table of all choice and number questions, and a line for each question that it cannot hold.

    >>> bank_csv([])[0].split(",")[:4]
    ['id', 'objective', 'points', 'stem']
    """
    rows, lost = [], []
    for question in questions:
        row = _row(question)
        if row is None:
            lost.append(f"{question.item}: {NO_ROW}")
        else:
            rows.append([row.get(column, "") for column in COLUMNS])
            if question.figure is not None:
                lost.append(f"{question.item}: its picture")
    return csv_text(COLUMNS, rows), lost


def _row(question: AnyQuestion) -> dict[str, str] | None:
    row = {"id": question.item, "objective": question.objective, "points": question.points, "stem": question.stem}
    row["working"] = " ".join(part for step in question.working for part in (step.says, step.text) if part)
    match question:
        case Choice():
            texts = {option.letter: option.text for option in question.options}
            right = texts.pop(question.right)
            return row | {"right": right} | dict(zip(WRONG, texts.values(), strict=False))
        case Numeric():
            return row | {"value": question.answer.value, "unit": question.answer.unit, "within": question.answer.within}
        case _:
            return None


def read_bank_table(path: Path) -> list[Drafted]:
    """
    The drafts in a CSV with the columns of `bank_csv`; of these only `stem` is needed, with `right` and wrong ones or `value`.

    Raises
    ------
    FindingsError
        Every row that is neither, or that says what no bank can hold.
    """
    return drafts_of(str(path), read_capped(path, SIZE_LIMIT))


def drafts_of(file: str, data: bytes) -> list[Drafted]:
    """
    The drafts in a CSV's bytes; raises as `read_bank_table`.

    >>> drafts_of("q.csv", b"stem,right,wrong 1\\nWhich way?,up,down\\n")[0].options
    ('up', 'down')
    """
    findings: list[Finding] = []
    text = decoded(file, data, findings)
    rows = [] if text is None else csv_rows(file, text, findings)
    if not findings:
        columns = [name.casefold() for name in rows[0][1]] if rows else []
        _check_columns(file, columns, findings)
    if findings:
        raise FindingsError(findings)
    drafts = []
    for line, cells in rows[1:]:
        drafted = _draft(file, line, dict(zip(columns, cells, strict=False)), findings)
        if drafted:
            drafts.append(drafted)
    if findings:
        raise FindingsError(findings)
    return drafts


def _check_columns(file: str, columns: Sequence[str], findings: list[Finding]) -> None:
    if NEEDED not in columns:
        findings.append(Finding(file, 1, "missing-column", f"no column `{NEEDED}`", f"name the columns: {', '.join(COLUMNS)}"))
    for name in columns:
        if name not in COLUMNS:
            mend = f"the columns are {', '.join(COLUMNS)}"
            findings.append(Finding(file, 1, "unknown-column", f"`{short(name)}` is not a column of questions", mend))


def _draft(file: str, line: int, row: Mapping[str, str], findings: list[Finding]) -> Drafted | None:
    before = len(findings)

    def note(code: str, message: str, mend: str) -> None:
        findings.append(Finding(file, line, code, message, mend))

    stem, right, value = (row.get(name, "") for name in ("stem", "right", "value"))
    options = (right, *(row[name] for name in WRONG if row.get(name)))
    if not stem:
        note("empty-stem", "nothing is asked", "write the question in `stem`")
    if bool(right) == bool(value):
        note(
            "no-answer", "one of `right` and `value` is wanted", "fill `right` and wrong options, or `value`, `unit` and `within`"
        )
    elif right and (len(options) < 2 or len({option.casefold() for option in options}) < len(options)):
        note("options-alike", "a choice wants two options or more that differ", "write them in `wrong 1`, `wrong 2`")
    elif value:
        _check_number(row, note)
    if len(findings) > before:
        return None
    name = row.get("id") or " ".join(stem.split()[:6])
    points, working = row.get("points", ""), row.get("working", "")
    if right:
        return Drafted(name, stem, points, options=options, working=working)
    asked = row.get("unit") or "1"
    return Drafted(name, stem, points, value=value, unit=asked, within=_bare(row["within"], asked), working=working)


def _bare(within: str, asked: str) -> str:
    """A tolerance without the unit asked for, where that stands behind it."""
    amount, _, behind = within.partition(" ")
    return amount if behind and unit(behind).name == asked and asked != "%" else within


def _check_number(row: Mapping[str, str], note: Note) -> None:
    for field, read in (("value", read_quantity), ("within", read_quantity), ("unit", unit)):
        text = row.get(field, "") or ("1" if field == "unit" else "")
        try:
            read(text)
        except UseError as error:
            note("not-read", f"`{field}` is `{short(text)}`: {error}", "correct it")
            return
    asked, within = row.get("unit") or "1", read_quantity(row["within"]).unit.name
    if within not in ("1", "%", asked):
        note("other-unit", f"`within` is in {within}, the answer in {asked}", "write both in one unit, or a share such as 2 %")
