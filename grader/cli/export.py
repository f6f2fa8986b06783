"""`grader export`: questions, marks and certificates in open forms."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.base.errors import FindingsError, UseError
from grader.cli.options import REGISTER, asked_passphrase, by_person, counted, in_folder, instant, opens_keys, tell

if TYPE_CHECKING:
    from grader.items.course import Course
    from grader.marking.key import AnyQuestion

FEW = 3
"""Up to so many questions are named where something of them was lost."""
FORMS = {"bank": ("qti3", "csv"), "sitting": ("csv", "parquet"), "certificates": ("ob3",)}


@click.command()
@click.argument("what", type=click.Choice(list(FORMS)))
@click.argument("names", nargs=-1, metavar="[NAME...]")
@click.option("--to", "form", required=True, type=click.Choice(["qti3", "csv", "parquet", "ob3"]), help="The open form wanted.")
@click.option("--output", required=True, type=click.Path(path_type=Path), metavar="PATH", help="The file or folder to write.")
@click.option("--exam", is_flag=True, help="Of a bank, the examination's items instead of the open ones. They hold their keys.")
@click.option("--variants", type=click.IntRange(1, 1000), default=1, show_default=True, help="Of a bank, how many of each item.")
@click.option(
    "--course", type=click.Path(path_type=Path), default=Path(), help="The course: a folder with `lessons/` and `questions/`."
)
@in_folder
@opens_keys
@by_person
def command(
    what: str, names: tuple[str, ...], form: str, output: Path, exam: bool, variants: int, course: Path, folder: Path,
    passphrase_file: Path | None, person: str,
) -> int:  # fmt: skip
    """
    Write questions, marks or certificates in an open form; what could not be carried over is said.

    \b
    grader export bank --to qti3 --output bank.zip              all open items, one variant of each
    grader export bank pump power --to csv --output bank.csv    two circuits
    grader export sitting spring-2031 --to csv --output marks.csv
    grader export certificates spring-2031 --to ob3 --output certificates/

    QTI 3.0 is written after the standard's published examples; no schema of it can be had here, so none was checked against. An
    exported item holds its key: keep examination items away from any site.
    """
    if form not in FORMS[what]:
        raise UseError(f"{what} goes to {' or '.join(FORMS[what])}, not to {form}; choose one of these")
    if what == "bank":
        return _bank(course, names, form, output, exam, variants)
    if not names:
        raise UseError(
            f"which sitting's {'marks' if what == 'sitting' else 'certificates'}? Name it: grader export {what} SITTING …"
        )
    if what == "certificates":
        return _certificates(folder, names, output)
    return _marks(folder, names, form, output, passphrase_file, person)


def _bank(folder: Path, circuits: tuple[str, ...], form: str, output: Path, exam: bool, variants: int) -> int:
    from grader.base.files import write_atomic
    from grader.exchange.bank_table import NO_ROW, bank_csv
    from grader.exchange.package import package, write_package
    from grader.exchange.qti import name_of, qti_item
    from grader.items.course import load_course

    loaded = load_course(folder)
    if errors := [finding for finding in loaded.findings if finding.level == "error"]:
        raise FindingsError(errors)
    questions = _drawn(loaded, circuits, exam, variants)
    if form == "csv":
        text, lost = bank_csv([question for _, question in questions])
        write_atomic(output, text)
        held = len(questions) - sum(line.endswith(NO_ROW) for line in lost)
    else:
        items = [qti_item(question, name_of(name), loaded.about.language) for name, question in questions]
        write_package(package(items, loaded.about.title, loaded.about.language), output)
        lost = [f"{item.identifier}: {left}" for item in items for left in item.lost]
        held = len(items)
    click.echo(f"{output}: {counted(held, 'question')}{'' if held == len(questions) else f' of {len(questions)}'}")
    for line in _told(lost):
        tell(f"not carried over: {line}")
    return 0


def _told(lost: Sequence[str]) -> list[str]:
    """
    What was lost, each kind once, with its questions where they are few, else with their number.

    >>> _told(["a: slips", "b: slips", "b: its picture", "c: slips", "d: slips"])
    ['4 questions: slips', 'b: its picture']
    """
    questions: dict[str, list[str]] = {}
    for line in dict.fromkeys(lost):
        question, _, what = line.partition(": ")
        questions.setdefault(what, []).append(question)
    return [
        f"{', '.join(named) if len(named) <= FEW else counted(len(named), 'question')}: {what}"
        for what, named in questions.items()
    ]


def _drawn(course: Course, circuits: tuple[str, ...], exam: bool, variants: int) -> list[tuple[str, AnyQuestion]]:
    """Variants of the items of some circuits, each with a name of its own; drawn with a public secret, so always the same."""
    from grader.items.variants import draw_question

    bank = course.exam if exam else course.practice
    known = list(dict.fromkeys(item.circuit for item in bank))
    if strange := [name for name in circuits if name not in known]:
        raise UseError(f"no circuit {strange[0][:40]!r} in the bank; there is: {', '.join(known)}")
    return [
        (item.id if variants == 1 else f"{item.id}-{number}", draw_question(item, b"export", str(number), course.figures))
        for item in bank
        if not circuits or item.circuit in circuits
        for number in range(1, variants + 1)
    ]


def _marks(folder: Path, names: tuple[str, ...], form: str, output: Path, passphrase_file: Path | None, person: str) -> int:
    from grader.base.files import write_atomic
    from grader.exchange.marks_table import marks_csv, marks_parquet, marks_rows
    from grader.register.store import Register
    from grader.reports.view import look_at

    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        rows = marks_rows([look_at(register, name, person, instant()) for name in dict.fromkeys(names)])
    write_atomic(output, marks_csv(rows) if form == "csv" else marks_parquet(rows))
    click.echo(f"{output}: {counted(len(rows), 'mark')}")
    return 0


def _certificates(folder: Path, names: tuple[str, ...], output: Path) -> int:
    """Certificates are Open Badges 3.0 as they stand: they are copied, byte for byte, or their proofs would not hold."""
    from grader.base.files import contained, make_folder, write_atomic

    folders = {name: contained(folder, "sittings", name, "certificates") for name in names}
    if without := [name for name, home in folders.items() if not any(home.glob("*.json"))]:
        raise UseError(f"no certificate of {', '.join(without)} here; check the name, or issue them with grader certify")
    found = [file for home in folders.values() for file in sorted(home.glob("*.json"))]
    for file in found:
        write_atomic(make_folder(output) / file.name, file.read_bytes())
    click.echo(f"{output}: {counted(len(found), 'certificate')}")
    return 0
