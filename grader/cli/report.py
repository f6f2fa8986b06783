"""`grader report`: what people read after a sitting."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from grader.cli.options import REGISTER, as_json, asked_passphrase, by_person, counted, in_folder, instant, opens_keys, tell


@click.command(epilog="Example: grader report spring")
@click.argument("sitting")
@click.option("--course", type=click.Path(path_type=Path), help="The course's folder, for its words; here if left out.")
@click.option("--pdf", is_flag=True, help="Set everybody's feedback as PDF too, to print: about a fifth of a second each.")
@in_folder
@opens_keys
@by_person
@as_json
def command(
    sitting: str, course: Path | None, pdf: bool, folder: Path, passphrase_file: Path | None, person: str, json_wanted: bool
) -> int:
    """
    Write the reports of SITTING into sittings/SITTING/results.

    report.html is the examiner's first look; results.csv and marks.csv are tables; feedback/ has one page a candidate, to hand
    out (with --pdf also as CODE.pdf, to print). The keys are opened for this, and the register says by whom.
    """
    import json

    from grader.register.store import Register
    from grader.reports.view import look_at
    from grader.reports.write import write_reports

    objectives, lessons = _words(course)
    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        view = look_at(register, sitting, person, instant())
    written = write_reports(
        view,
        folder / "sittings" / sitting / "results",
        objectives=objectives,
        lessons=lessons,
        pdf=pdf,
        progress=tell,
    )
    report, *tables = written[:3]
    feedback = written[3:]
    if json_wanted:
        names = {"report": report, "results": tables[0], "marks": tables[1]}
        click.echo(json.dumps({**{k: str(v) for k, v in names.items()}, "feedback": [str(page) for page in feedback]}, indent=1))
    else:
        click.echo(f"look first: {report}")
        click.echo(f"tables: {tables[0]} and {tables[1].name}")
        click.echo(
            f"feedback: {counted(len(feedback), 'page')} in {report.parent / 'feedback'}{', each as PDF too' if pdf else ''}"
        )
    return 0


def _words(named: Path | None) -> tuple[Mapping[str, str], Mapping[str, str]]:
    """The objectives' and the lessons' words. Where none is named and here is no course, a report shows their ids instead."""
    from grader.base.errors import UseError
    from grader.items.course import load_practice

    try:
        course = load_practice(named or Path())
    except UseError as error:
        if named is not None:
            raise
        click.echo(f"{error}; the reports show the objectives' ids instead of their words", err=True)
        return {}, {}
    return {name: one.says for name, one in course.objectives.items()}, {one.circuit: one.title for one in course.lessons}
