"""Options that several commands share."""

from __future__ import annotations

import contextlib
import getpass
import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from grader.base.errors import UseError

F = TypeVar("F", bound=Callable[..., Any])

REGISTER = "register.sqlite"


def in_folder(function: F) -> F:
    """`--in DIR`: the folder that holds `register.sqlite` and `sittings/`; here if left out."""
    return click.option(
        "--in",
        "folder",
        type=click.Path(path_type=Path, file_okay=False),
        default=Path(),
        metavar="DIR",
        help="The folder with register.sqlite and sittings/; here if left out.",
    )(function)


def by_person(function: F) -> F:
    """`--by NAME`: who does it, for the register; the name of this machine's user if left out."""
    return click.option(
        "--by", "person", default=user, metavar="NAME", help="Who does it, for the register; your user name if left out."
    )(function)


def as_json(function: F) -> F:
    """`--json`: what would be printed, as JSON."""
    return click.option("--json", "json_wanted", is_flag=True, help="Print it as JSON.")(function)


def sealed_with(function: F) -> F:
    """`--passphrase-file FILE`: what the issuer's key is sealed with. A file, so that it stands in no list of processes."""
    return click.option(
        "--passphrase-file",
        "passphrase_file",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="A file whose first line is the passphrase of the issuer's key; at the first certificate it seals the new key.",
    )(function)


def user() -> str:
    """The name of whoever runs the command."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):  # no such user on this machine, as in some containers
        return f"user {os.getuid()}" if hasattr(os, "getuid") else "unknown"


def tell_who(done: str, person: str) -> None:
    """Say to stderr who did it where --by was left out: a certificate should not be the first to tell that it was "root"."""
    context = click.get_current_context(silent=True)
    if context is not None and context.get_parameter_source("person") is ParameterSource.DEFAULT:
        tell(f"{done} by {person} (name yourself with --by)")


def counted(number: int, word: str) -> str:
    """
    A number with its word.

    >>> [counted(number, "paper") for number in (0, 1, 2)]
    ['0 papers', '1 paper', '2 papers']
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def passphrase(file: Path | None) -> str:
    """The first line of a passphrase file; "" where none is named."""
    from grader.base.files import read_capped

    if file is None:
        return ""
    try:
        lines = read_capped(file, 4096).decode().splitlines()
    except UnicodeDecodeError as error:
        raise UseError(f"{file}: not UTF-8; save the passphrase as UTF-8") from error
    if not lines or not lines[0]:
        raise UseError(f"{file}: the first line is empty; write the passphrase there")
    return lines[0]


def instant() -> str:
    """Now, in UTC, to the second: ``2031-05-14T08:00:00Z``. Commands read the clock here and hand it on."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def tell(line: str) -> None:
    """A line of progress to stderr. Nobody listening is no reason to stop half-way, as in `grader mark … 2>&1 | head -1`."""
    with contextlib.suppress(OSError):
        click.echo(line, err=True)
