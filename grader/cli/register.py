"""`grader register`: what the register itself has to say."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import REGISTER, as_json, asked_passphrase, by_person, counted, in_folder, instant, opens_keys, tell_who


@click.group("register")
def command() -> None:
    """
    The register itself: who opened keys, whether it is whole, a copy of it, and taking a candidate's data out.

    \b
    Example:
      grader register check
      grader register backup copy.sqlite
    """


@command.command(short_help="Who opened keys, when, what for.", epilog="Example: grader register openings spring-2031")
@click.argument("sitting")
@in_folder
@as_json
def openings(sitting: str, folder: Path, json_wanted: bool) -> int:
    """
    Who opened keys of SITTING, when, and what for; the oldest first.

    A key leaves the register only with such a line, locked or not. An empty purpose is one from before purposes were kept.
    """
    import json
    from dataclasses import asdict

    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        register.sitting(sitting)
        found = register.openings(sitting)
    if json_wanted:
        click.echo(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=1))
        return 0
    for one in found:
        what = f"paper {one.paper}" if one.paper else "all papers"
        click.echo("  ".join(filter(None, (one.when, one.who, what, one.purpose))))
    if not found:
        click.echo(f"nobody has opened keys of {sitting}", err=True)
    return 0


@command.command(short_help="Whether the register is whole.", epilog="Example: grader register check --marks")
@click.option("--marks", is_flag=True, help="Mark every paper anew, too; the keys are opened for it.")
@in_folder
@opens_keys
@by_person
@as_json
def check(marks: bool, folder: Path, passphrase_file: Path | None, person: str, json_wanted: bool) -> int:
    """
    Whether the register is whole: digests, references, and all that must hold between its rows.

    Every violation is named and nothing is mended: restore the register from a copy. With --marks every paper is marked anew from
    its key, its corrections and its awards, and its answers are looked up in the file that came in. Exit status 1 where
    something does not hold.
    """
    import json

    from grader.register.inspection import marked_again, violations
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True, passphrase=asked_passphrase(passphrase_file)) as register:
        found = (
            [*violations(register)]
            if register.sittings()
            else [f"{register.path}: no sitting is in it: a broken copy, or not your folder"]
        )
        if marks and not found:
            found += marked_again(register, person, instant())
    if json_wanted:
        click.echo(json.dumps(found, ensure_ascii=False, indent=1))
    for line in () if json_wanted else found:
        click.echo(line)
    click.echo("the register is whole" if not found else f"{counted(len(found), 'violation')}; restore it from a copy", err=True)
    return 1 if found else 0


@command.command(
    short_help="A copy, while other commands go on.",
    epilog="Example: grader register backup /mnt/safe/register-2031-05-14.sqlite",
)
@click.argument("file", type=click.Path(path_type=Path))
@in_folder
def backup(file: Path, folder: Path) -> int:
    """
    Copy the register to FILE, as it stands at one moment; other commands may go on meanwhile.

    The copy is one file, whole, and a register itself. It holds keys and names, as the register does.
    """
    from grader.base.errors import UseError
    from grader.register.store import Register

    if not file.absolute().parent.is_dir():
        raise UseError(f"{file}: there is no such folder; make it, or name another file")
    with Register(folder / REGISTER, existing=True) as register:
        register.backup(file)
    click.echo(f"{file}: {file.stat().st_size:,} bytes")
    return 0


@command.command(
    short_help="Take out a candidate's personal data.",
    epilog="Example: grader register erase c-07 --sitting spring --reason 'asked for it, letter of 3 June'",
)
@click.argument("candidate")
@click.option("--sitting", "sittings", multiple=True, metavar="NAME", help="Only in this sitting; may be given several times.")
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept, so name nobody in it.")
@in_folder
@by_person
@as_json
def erase(candidate: str, sittings: tuple[str, ...], reason: str, folder: Path, person: str, json_wanted: bool) -> int:
    """
    Take out CANDIDATE's personal data: name, e-mail, answers as typed, files. It cannot be undone.

    The marks stay for statistics under a name that means nobody. The erasure itself is kept: when, why, by whom. Reports, bench
    sheets and the list of papers name everybody, so they are taken away too: make them again with grader report, and with grader
    paper and a roster without the line.
    Copies of the register made before still hold everything.
    """
    import json
    from dataclasses import asdict

    from grader.register.retention import erase as erased
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        found = erased(register, candidate, reason, instant(), person, sittings)
    if json_wanted:
        click.echo(json.dumps(asdict(found), ensure_ascii=False, indent=1))
    else:
        held = ", ".join(found.sittings)
        click.echo(f"the marks stay under {found.pseudonym} in {held}; {counted(found.files, 'file')} taken away")
        for sitting in found.sittings:
            again = f"grader report {sitting}, and grader paper with a roster without {candidate}"
            click.echo(f"what names the others too, make again: {again}", err=True)
    tell_who("erased", person)
    return 0
