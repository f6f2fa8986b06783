"""`grader correct`: correct a sitting's keys, and mark again what was marked by them."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.again import shown, tell_resting
from grader.cli.options import REGISTER, as_json, asked_passphrase, by_person, in_folder, instant, opens_keys, tell_who


@click.command()
@click.argument("sitting")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--reason", required=True, metavar="TEXT", help="Why the key is corrected; kept with every mark that changes.")
@click.option("--trial", is_flag=True, help="Say what would change, and keep nothing.")
@in_folder
@opens_keys
@by_person
@as_json
def command(
    sitting: str,
    file: Path,
    reason: str,
    trial: bool,
    folder: Path,
    passphrase_file: Path | None,
    person: str,
    json_wanted: bool,
) -> int:
    """
    Correct the keys of SITTING by FILE, and mark every paper again that has one of its items.

    FILE is YAML, a list of corrections. Options are named by their text, for their letters differ from paper to paper:

    \b
      - {item: pump-why, accept: the large one}        another answer counts too
      - {item: pump-why, right: the large one}         this is right instead
      - {item: idle-case, part: b, within: 5 %}        the range is wider
      - {item: main-odd, withdraw: full marks}         or: not counted

    The sealed keys stay as they are; the correction stands beside them, and papers marked later heed it too. Both marks are kept,
    with who, why and when, and what changes is listed. Decisions are not changed: those that rest on an earlier mark are named,
    and the exit status is 1.

    \b
    Example:
      grader correct spring-1 corrections.yaml --reason "a second option is right too" --by "T. Examiner" --trial
    """
    from grader.register.correction_file import read_corrections
    from grader.register.corrections import opened
    from grader.register.remarking import correct
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        keys = opened(register, sitting, person, instant(), "to hold corrections against them")
        entries = read_corrections(file, keys.values())
        found = correct(register, sitting, entries, reason, instant(), person, trial=trial)
    shown(found, json_wanted=json_wanted, trial=trial)
    if not trial:
        tell_who("corrected", person)
    return tell_resting(found, sitting)
