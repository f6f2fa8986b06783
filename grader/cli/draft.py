"""`grader draft`: a bank draft from questions that stand elsewhere."""

from __future__ import annotations

from pathlib import Path

import click

from grader.base.errors import UseError
from grader.cli.options import counted, tell


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--objective", required=True, help="The objective they are filed under, such as pump.3; sort them afterwards.")
@click.option(
    "--output", required=True, type=click.Path(path_type=Path), metavar="FILE.yaml", help="The draft to write; never over a file."
)
def command(source: Path, objective: str, output: Path) -> int:
    """
    Make a bank draft of the questions in SOURCE: a CSV, an item or package of QTI 3.0, or a folder of such items.

    Taken over are questions with one right option, and those that ask for a number. What could not be taken over is said. A
    person then moves them to the end of their circuit's file, such as questions/practice/pump.yaml, and gives slips and working;
    `grader check` says what is missing.

    \b
    grader draft questions.csv --objective pump.3 --output draft.yaml
    grader draft package.zip --objective pump.3 --output other.yaml

    A CSV has the columns id, points, stem, right, wrong 1, wrong 2 …, value, unit, within, working; only stem is needed, with
    right and wrong ones or with value and within.
    """
    from grader.base.files import write_atomic
    from grader.exchange.bank_table import read_bank_table
    from grader.exchange.draft import bank_draft
    from grader.exchange.qti_read import read_qti

    circuit, dot, number = objective.partition(".")
    if not (circuit.isidentifier() and dot and number.isdigit()):
        raise UseError(f"{objective[:40]!r} is no objective; write one such as pump.3")
    if output.exists():
        raise UseError(f"{output} is there already, and nothing is written over; name another file")
    drafts, refused = (read_bank_table(source), []) if source.suffix.lower() == ".csv" else read_qti(source)
    for line in refused:
        tell(f"not taken over: {line}")
    for drafted in drafts:
        for left in drafted.left:
            tell(f"not carried over: {drafted.name}: {left}")
    if not drafts:
        raise UseError(f"{source}: no question could be taken over, so nothing was written")
    write_atomic(output, bank_draft(drafts, circuit, objective))
    click.echo(f"{output}: {counted(len(drafts), 'question')} to finish in questions/practice/{circuit}.yaml; then grader check")
    return 1 if refused or any(drafted.left for drafted in drafts) else 0
