"""`grader issuer`: the school's keys."""

from __future__ import annotations

from pathlib import Path

import click

from grader.base.errors import UseError
from grader.cli.options import REGISTER, by_person, counted, in_folder, instant, passphrase, sealed_with, tell_who


@click.group("issuer")
def command() -> None:
    """
    The keys that sign certificates: which there are, and a new one.

    issuer-key/ holds the secret: keep a copy of the whole folder where nobody else comes. issuer/ is to be published; nothing in
    it is secret.

    \b
    Example:
      grader issuer show
      grader issuer renew --reason "yearly" --by "T. Examiner"
    """


@command.command(short_help="The key that signs now, and the retired ones.", epilog="Example: grader issuer show")
@sealed_with
@in_folder
def show(passphrase_file: Path | None, folder: Path) -> int:
    """
    The key that signs now and those that are retired, by their fingerprints.

    Read the first out to whoever wants to be sure, on the telephone, that issuer/issuer.json is the school's.
    """
    from grader.certificates.issuer import fingerprint
    from grader.certificates.multibase import read_multikey
    from grader.certificates.renewal import retired_keys
    from grader.register.decisions import Office

    office = Office(folder, passphrase(passphrase_file))
    if not office.secrets.exists() and not office.public.exists():
        raise UseError(f"no key in {office.secrets}: the first certificate makes it; or name its folder with --in")
    click.echo(f"signs now:  {fingerprint(office.key().public)}")
    for one in retired_keys(office.secrets):
        holds = "what it signed stays good" if one.trusted else "stolen: what it signed no longer holds"
        click.echo(f"retired {one.when}:  {fingerprint(read_multikey(one.publicKeyMultibase))}\n    {holds}; {one.reason}")
    return 0


@command.command(
    short_help="A new key signs from now on.", epilog='Example: grader issuer renew --reason "yearly" --by "T. Examiner"'
)
@click.option("--reason", required=True, help="Why, for the record.")
@click.option("--stolen", is_flag=True, help="The secret may be in other hands: nothing that it signed holds any longer.")
@sealed_with
@in_folder
@by_person
def renew(reason: str, stolen: bool, passphrase_file: Path | None, folder: Path, person: str) -> int:
    """
    A new key; the status list is signed with it, and issuer/ is written anew: publish it again.

    What the old key signed stays good. With --stolen it does not: those certificates are listed, to be revoked and issued again.
    """
    from grader.register.decisions import Office, renew_issuer_key
    from grader.register.store import Register

    if not reason.strip():
        raise UseError("no reason is given; say why the key is renewed")
    office = Office(folder, passphrase(passphrase_file))
    with Register(folder / REGISTER, existing=True) as register:
        before = office.key().public if office.secrets.exists() else b""
        try:
            fallen = renew_issuer_key(register, office, reason, person, instant(), stolen=stolen)
        except UseError as error:
            if before and office.key().public != before:  # not twice: every run makes another
                raise UseError(
                    f"{error}; the new key signs already, so do not renew again: grader certify publishes it"
                ) from error
            raise
    click.echo(f"a new key signs; to be published: {office.public}")
    click.echo("keep a copy of issuer-key/ where nobody else comes", err=True)
    tell_who("renewed", person)
    for one in fallen:
        mend = f'grader revoke {one.id} --reason "the key was stolen", then grader certify {one.sitting} --again {one.candidate}'
        click.echo(f"{one.candidate}: certificate {one.id} no longer holds; {mend}", err=True)
    if fallen:
        click.echo(f"{counted(len(fallen), 'certificate')} to issue again", err=True)
    return 1 if fallen else 0
