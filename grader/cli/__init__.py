"""
The commands. Each is a thin file named after it, loaded only when it is called; this is the only room that exits.

Exit status: 0 done; 1 done, and something needs a person; 2 wrong use.
"""

from __future__ import annotations

import importlib
import io
import os
import sys

import click

from grader.base.errors import FindingsError, GraderError
from grader.base.text import visible

# In the order of the work; each line is what `grader --help` says, so that help needs to load no command.
COMMANDS = {
    "check": "Everything wrong with a course: file:line, what, how to mend it.",
    "show": "An item as its author wants to see it.",
    "site": "The static site: lessons and practice.",
    "compute": "One relation in the trade's units, with the working.",
    "curves": "A whole carburetor, computed: healthy and with faults.",
    "quiz": "An open quiz with its worked key, in one line.",
    "paper": "Hold a sitting: papers, answer sheets, sealed keys.",
    "mark": "Mark a pile of answer files.",
    "correct": "Correct a sitting's keys, and mark again.",
    "award": "A mark, or a station's step, decided by hand.",
    "decide": "Decide by the blueprint's rule who passed.",
    "report": "Results, the examiner's report, feedback.",
    "review": "Which questions are bad, and on what evidence.",
    "analyse": "Item analysis of any table of marks.",
    "cut": "A cut score from judges' ratings.",
    "agree": "How far assessors agree.",
    "certify": "Certificates for those who passed.",
    "revoke": "Take a certificate back.",
    "issuer": "The school's keys: which there are, and a new one.",
    "register": "Is it whole, a copy, who opened keys, taking data out.",
    "verify": "Say whether a certificate is good, and why.",
    "export": "Questions, marks, certificates in open forms.",
    "draft": "A bank draft from questions that stand elsewhere.",
    "demo": "The whole job once, on an invented class.",
}


class _Unread(Exception):
    """Whoever reads what is printed has gone; by a name of ours, as click ends with 1 where it meets a broken pipe."""


class Commands(click.Group):
    """Loads a command's file when the command is called, so that `grader --help` starts at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 (click's signature)
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"grader.cli.{cmd_name}").command
        return command

    def resolve_command(self, ctx: click.Context, args: list[str]) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, 1)
            meant = f"did you mean {near[0]!r}?" if near else "grader --help lists all"
            ctx.fail(f"there is no command {args[0][:40]!r}; {meant}")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except BrokenPipeError as error:
            raise _Unread from error

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 (click's signature)
        with formatter.section("Commands, in the order of the work"):
            formatter.write_dl(list(COMMANDS.items()))


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
    except _Unread as error:
        raise BrokenPipeError from error
    except FindingsError as error:
        click.echo(str(error), err=True)
        return 1
    except GraderError as error:
        click.echo("\n".join(map(visible, f"grader: {error}".split("\n"))), err=True)
        return 2
    except BrokenPipeError:
        raise
    except OSError as error:  # a name the system itself refuses, a disk that filled up: said, whichever step met it
        click.echo(visible(f"grader: {_refused(error)}"), err=True)
        return 2
    return status if isinstance(status, int) else 0


def _refused(error: OSError) -> str:
    name = "" if error.filename is None else f"{str(error.filename)[:200]}: "
    return f"{name}the system refused it ({error.strerror or error}); check the name, its permissions and the room on the disk"


def main() -> None:
    """The console script."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # half a character in a file's name is spelt out, never a reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        status = run()
        if sys.stdout is not None:  # None where it was closed before the program began
            sys.stdout.flush()
    except BrokenPipeError:  # whoever reads has seen enough, as in `grader check | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except KeyboardInterrupt:  # between commands; within one, click says so
        status = 130
    sys.exit(status)
