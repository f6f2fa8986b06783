"""`grader award`: a mark, or a step of a station, decided by an examiner's hand."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.again import shown, tell_resting
from grader.cli.options import REGISTER, as_json, by_person, in_folder, instant, tell_who


@click.command()
@click.argument("sitting")
@click.argument("candidate")
@click.argument("number")
@click.argument("award")
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept, and shown to the candidate.")
@in_folder
@by_person
@as_json
def command(
    sitting: str, candidate: str, number: str, award: str, reason: str, folder: Path, person: str, json_wanted: bool
) -> int:
    """
    Award CANDIDATE of SITTING a mark by hand for one NUMBER of the paper, or settle a step of a station.

    For an answer that could not be read, an upheld appeal, a step that two assessors ticked differently. NUMBER is as printed,
    4a, and AWARD a mark up to its points; or NUMBER is a station and a step, curb-idle/4, and AWARD "done" or "not done". The
    earlier mark is kept. It stands through later corrections of the key, as long as the answer stays the same. Exit status 1
    where a decision rests on the earlier mark.

    \b
    Examples:
      grader award spring-1 c-07 4a 1.5 --reason "reads 3.5 mm2, the photo shows it" --by "T. Examiner"
      grader award spring-1 c-07 curb-idle/4 done --reason "both assessors were heard"
    """
    from grader.register.remarking import award_mark, award_step
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        settle = award_step if "/" in number else award_mark
        found = settle(register, sitting, candidate, number, award, reason, instant(), person)
    if found.changes or json_wanted:
        shown(found, json_wanted=json_wanted)
    else:
        click.echo(f"{candidate}  {number}  {award}")
    tell_who("awarded", person)
    return tell_resting(found, sitting)
