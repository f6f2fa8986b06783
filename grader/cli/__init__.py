"""
The commands. Each is a thin file named after it, loaded only when it is called; this is the only room that exits.

Exit status: 0 done; 1 done, and something needs a person; 2 wrong use.
"""

from __future__ import annotations

import importlib
import os
import sys

import click

from grader.base.errors import FindingsError, GraderError

COMMANDS = ("check", "show", "site", "paper", "mark", "report", "decide", "certify", "revoke", "verify", "compute", "curves", "demo")


class Commands(click.Group):
    """Loads a command's file when the command is called, so that `grader --help` starts at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 (click's signature)
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"grader.cli.{cmd_name}").command
        return command


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="grader")
def group() -> None:
    """The course, the examination and the marking for apprentices who service carburetors."""


def run(arguments: list[str] | None = None) -> int:
    """Run a command; what went wrong becomes one message and an exit status."""
    try:
        status = group.main(arguments, standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return 2
    except click.Abort:
        click.echo("interrupted; what was finished is kept, run it again to go on", err=True)
        return 130
    except FindingsError as error:
        click.echo(str(error), err=True)
        return 1
    except GraderError as error:
        click.echo(f"grader: {error}", err=True)
        return 2
    return status if isinstance(status, int) else 0


def main() -> None:
    """The console script."""
    try:
        status = run()
        sys.stdout.flush()
    except BrokenPipeError:  # whoever reads has seen enough, as in `grader check | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    sys.exit(status)
