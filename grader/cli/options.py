"""Options that several commands share."""

from __future__ import annotations

import contextlib
import getpass
import io
import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from grader.base.errors import UseError

F = TypeVar("F", bound=Callable[..., Any])

REGISTER = "register.sqlite"
KEYS_FILE = "GRADER_KEYS_PASSPHRASE_FILE"
PASSPHRASE_LIMIT = 4096  # bytes


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


def opens_keys(function: F) -> F:
    """`--passphrase-file FILE`: what locks the keys of a sitting, for commands that open them; asked for where left out."""
    return click.option(
        "--passphrase-file",
        "passphrase_file",
        type=click.Path(path_type=Path, allow_dash=True),
        envvar=KEYS_FILE,
        metavar="FILE",
        help="Where keys are locked: a file whose first line is their passphrase; /dev/fd/3 for what is open as 3, - for standard"
        f" input. {KEYS_FILE} may name the file instead. Left out, the passphrase is asked for and not shown.",
    )(function)


def asked_passphrase(file: Path | None) -> Callable[[str], str]:
    """Gives the passphrase of a sitting's keys: from the file, else from whoever sits at the terminal."""
    return lambda sitting: passphrase(file) or _typed(f"Passphrase of the keys of {sitting}")


def new_passphrase(file: Path | None) -> Callable[[], str]:
    """Gives the passphrase that shall lock the keys of a new sitting: from the file, else typed twice."""
    from grader.base.locks import SHORTEST

    asks = f"Passphrase to lock the keys with, {SHORTEST} letters or more (nobody can open them without)"
    return lambda: passphrase(file) or _typed(asks, twice=True)


def _typed(question: str, *, twice: bool = False) -> str:
    """A passphrase typed at the terminal; it is not shown."""
    if not terminal():
        raise UseError(
            f"a passphrase is wanted and nobody is here to type it; name its file with --passphrase-file or {KEYS_FILE}"
        )
    found: str = click.prompt(question, hide_input=True, err=True, confirmation_prompt="The same again" if twice else False)
    return found


def terminal() -> bool:
    """Whether somebody can be asked without the answer being shown."""
    try:
        with Path("/dev/tty").open():
            return True
    except OSError:
        return sys.stdin is not None and sys.stdin.isatty()


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
    """The first line of a passphrase's file, which may be a pipe, or - for standard input; "" where none is named."""
    if file is None:
        return ""
    try:
        with open(0 if str(file) == "-" else file, "rb", buffering=0, closefd=str(file) != "-") as stream:
            line = _first_line(stream)
    except OSError as error:
        raise UseError(f"{file}: cannot be read ({error.strerror}); check the name of the passphrase's file") from error
    try:
        found = line.decode()
    except UnicodeDecodeError:
        raise UseError(f"{file}: not UTF-8; save the passphrase as UTF-8") from None  # the error itself would carry the words
    if not found:
        raise UseError(f"{file}: the first line is empty; write the passphrase there")
    return found


def _first_line(stream: io.FileIO) -> bytes:
    """Up to the first line's end, and no byte more than a passphrase may have."""
    line = b""
    while b"\n" not in line and len(line) <= PASSPHRASE_LIMIT and (more := stream.read(PASSPHRASE_LIMIT)):
        line += more
    line = line.splitlines()[0] if line else b""
    if len(line) > PASSPHRASE_LIMIT:
        raise UseError(f"a passphrase of more than {PASSPHRASE_LIMIT} bytes; name the file that holds it in its first line")
    return line


def instant() -> str:
    """Now, in UTC, to the second: ``2031-05-14T08:00:00Z``. Commands read the clock here and hand it on."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def tell(line: str) -> None:
    """A line of progress to stderr. Nobody listening is no reason to stop half-way, as in `grader mark … 2>&1 | head -1`."""
    with contextlib.suppress(OSError):
        click.echo(line, err=True)
