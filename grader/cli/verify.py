"""`grader verify`: whether a certificate is good."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import as_json, in_folder


@click.command(epilog="Example: grader verify 7M2KQ8D4XT.json --issuer issuer.json")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--issuer",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The issuer's document, from the school itself; status.json is looked for beside it.",
)
@click.option("--status", type=click.Path(path_type=Path), metavar="FILE", help="The issuer's status list, if it lies elsewhere.")
@in_folder
@as_json
def command(file: Path, issuer: Path | None, status: Path | None, folder: Path, json_wanted: bool) -> int:
    """
    Say whether the certificate FILE is good: good, expired, revoked, altered, unknown issuer …, and why. Needs no network.

    Without --issuer, issuer/ is looked for here and above the folder of FILE. What the certificate says is believed only if a
    key in that document signed it: so have the document from the school, not from whoever shows the certificate.
    """
    import json
    from datetime import UTC, datetime

    from grader.base.errors import UseError
    from grader.base.files import read_capped
    from grader.certificates.issuer import read_issuer
    from grader.certificates.verify import LIMIT, printable, verify

    if file.is_dir():
        raise UseError(f"{file}: it is a folder; name the certificate's .json")
    data = read_capped(file, 64 * LIMIT)  # whatever is shown is to be judged, not refused
    document = _issuer_file(issuer, file, folder)
    try:
        trusted = read_issuer(read_capped(document, LIMIT))
    except UseError as error:
        text = str(error)
        told = text if text.startswith(str(document)) else f"{document}: {text}"
        raise UseError(told if "; " in told else f"{told}; name the issuer.json that the school publishes") from error
    beside = document.with_name("status.json")
    listed = status or (beside if beside.exists() else None)
    verdict = verify(data, [trusted], read_capped(listed, LIMIT) if listed else None, datetime.now(UTC))
    if json_wanted:
        found = {"file": str(file), "issuer": str(document), **verdict.as_json()}
        click.echo(json.dumps(found, ensure_ascii=False, indent=2))
    else:
        click.echo(f"{verdict.state}: {file}")
        for reason in verdict.reasons:
            click.echo(f"  {reason}")
        click.echo(f"  checked with {document}")
        if verdict.certified:
            said = verdict.certified
            until = f" to {said.valid_until[:10]}" if said.valid_until else ""
            click.echo(printable(f"  {said.holder}: {said.achievement}; {said.id}; {said.valid_from[:10]}{until}"))
    return 0 if verdict.is_good else 1


def _issuer_file(named: Path | None, file: Path, folder: Path) -> Path:
    """The issuer's document: the one that was named, or issuer/issuer.json here or above the certificate's sitting."""
    from grader.base.errors import UseError

    if named is not None:
        return named / "issuer.json" if named.is_dir() else named
    above = file.resolve().parents
    places = [folder, *above[3:4]]  # FOLDER/sittings/NAME/certificates/ID.json
    for place in places:
        if (place / "issuer" / "issuer.json").is_file():
            return place / "issuer" / "issuer.json"
    looked = " or ".join(str(place / "issuer") for place in places)
    raise UseError(f"no issuer's document in {looked}; have issuer.json from the school and name it with --issuer FILE")
