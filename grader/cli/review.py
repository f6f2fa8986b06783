"""`grader review`: which questions are bad, and on what evidence."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.cli.options import REGISTER, as_json, asked_passphrase, by_person, counted, in_folder, instant, opens_keys

if TYPE_CHECKING:
    from collections.abc import Sequence

    from grader.reports.review import Reviewed


@click.command()
@click.argument("sittings", nargs=-1, required=True, metavar="SITTING...")
@click.option(
    "--html", type=click.Path(path_type=Path), metavar="FILE", help="Write it as a page too: one file that prints well."
)
@in_folder
@opens_keys
@by_person
@as_json
def command(
    sittings: tuple[str, ...], html: Path | None, folder: Path, passphrase_file: Path | None, person: str, json_wanted: bool
) -> int:
    """
    Say which questions of one or more SITTINGs need their author, and on what evidence.

    Sittings that share items are put on one scale. Under thirty people no question is called bad. The keys are opened for this,
    and the register says by whom.

    \b
    grader review spring-2031
    grader review spring-2031 autumn-2031 --html review.html
    """
    from grader.base.files import write_atomic
    from grader.register.store import Register
    from grader.reports.evidence import gather
    from grader.reports.review import review, review_page
    from grader.reports.view import look_at

    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        views = [look_at(register, sitting, person, instant()) for sitting in dict.fromkeys(sittings)]
    reviewed = review(gather(views))
    if html is not None:
        write_atomic(html, review_page(views, reviewed))
        click.echo(f"written to {html}", err=True)
    click.echo(json.dumps([asdict(one) for one in reviewed], ensure_ascii=False, indent=1) if json_wanted else _printed(reviewed))
    return 1 if any(one.doubts for one in reviewed) else 0


def _printed(reviewed: Sequence[Reviewed]) -> str:
    from grader.reports.analysis import FEW
    from grader.reports.review import WORDS

    doubtful = [one for one in reviewed if one.doubts]
    lines = []
    for one in doubtful:
        lines.append(f"{one.evidence.item} ({one.evidence.objective}, {one.evidence.people} people)")
        lines += [f"    {WORDS[doubt.weight]}: {doubt.says}" for doubt in one.doubts]
    by_hand = [one for one in reviewed if one.by_hand]
    if by_hand:
        lines.append("Worth five minutes by hand, though too few sat them for a figure:")
    for one in by_hand:
        lines += [f"    {one.evidence.item} ({one.evidence.objective}): {says}" for says in one.by_hand]
    few = sum(one.evidence.people < FEW for one in reviewed)
    lines.append(f"{counted(len(reviewed), 'item')}, {len(doubtful)} to look at")
    if few:
        which = "all" if few == len(reviewed) else f"{few} of them"
        lines.append(f"{which} sat by fewer than {FEW} people, too few to call a question bad; --html FILE shows their figures")
    return "\n".join(lines)
