"""`grader certify`: certificates for those who passed."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import REGISTER, as_json, by_person, in_folder, instant, passphrase, sealed_with, tell_who


@click.command(epilog="Example: grader certify spring --by 'T. Examiner'")
@click.argument("sitting")
@click.option("--again", multiple=True, metavar="CANDIDATE", help="Issue anew to this candidate, whose certificate was revoked.")
@sealed_with
@in_folder
@by_person
@as_json
def command(
    sitting: str, again: tuple[str, ...], passphrase_file: Path | None, folder: Path, person: str, json_wanted: bool
) -> int:
    """
    Issue certificates to all who passed SITTING and have none yet.

    Each is a signed file and a page to hang up, in sittings/SITTING/certificates. issuer/ beside sittings/ is what others need
    to check them: publish it. issuer-key/ holds the secret key, made the first time: keep a copy where nobody else comes.
    """
    import json

    from grader.register.decisions import Office, certify_sitting
    from grader.register.store import Register

    office = Office(folder, passphrase(passphrase_file))
    first = not office.secrets.exists()
    with Register(folder / REGISTER, existing=True) as register:
        done = certify_sitting(register, sitting, office, person, instant(), again=again)
    stands = {one.candidate: one.id for one in done.standing if one.id not in {new.id for new in done.new}}
    troubles = [
        *(f"{name}: certificate {stands[name]} stands; revoke it before there is a new one" for name in again if name in stands),
        *done.troubles,
    ]
    where = office.certificates(sitting)
    if json_wanted:
        rows = [{"id": c.id, "candidate": c.candidate, "file": str(where / f"{c.id}.json")} for c in done.new]
        click.echo(json.dumps({"new": rows, "troubles": troubles}, ensure_ascii=False, indent=2))
    else:
        for certificate in done.new:
            click.echo(f"{certificate.candidate}  {where / certificate.id}.pdf")
    for trouble in troubles:
        click.echo(trouble, err=True)
    click.echo(f"{len(done.new)} new, {len(done.standing)} in all; to be published: {office.public}", err=True)
    if first and office.secrets.exists():
        sealed = "sealed with your passphrase" if office.passphrase else "not sealed: grader certify --help says how to"
        click.echo(f"made the secret key, {office.secrets} ({sealed}); keep a copy where nobody else comes", err=True)
    if done.new:
        tell_who("issued", person)
    return 1 if troubles else 0
