"""`grader revoke`: a certificate that is no longer good."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import REGISTER, by_person, in_folder, instant, passphrase, sealed_with, tell_who


@click.command(
    epilog="Example: grader revoke 7M2KQ8D4XT --reason 'issued to the wrong person' --by 'T. Examiner'",
)
@click.argument("number", metavar="ID")
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept in the register, not published.")
@sealed_with
@in_folder
@by_person
def command(number: str, reason: str, passphrase_file: Path | None, folder: Path, person: str) -> int:
    """
    Revoke certificate ID and sign a new status list that says so.

    The list is issuer/status.json: publish it again, or nobody learns of it. The certificate itself stays in the register.
    """
    from grader.base.codes import read_code
    from grader.base.errors import UseError
    from grader.register.decisions import Office, revoke_certificate
    from grader.register.store import Register

    office = Office(folder, passphrase(passphrase_file))
    with Register(folder / REGISTER, existing=True) as register:
        before = register.certificate(read_code(number)).revoked
        try:
            revoked = revoke_certificate(register, read_code(number), reason, person, instant(), office)
        except UseError as error:
            if before is None and register.certificate(read_code(number)).revoked is not None:
                raise UseError(f"{error}; it is revoked in the register, and nobody can see it: run this again") from error
            raise
    click.echo(f"{revoked.id} of candidate {revoked.candidate} is revoked; publish {office.public / 'status.json'} again")
    tell_who("revoked", person)
    return 0
