"""The command `fairlead`: one file a command under `web/commands`, loaded when it is asked for.

Exit codes: 0 done; 1 done, and something is wrong with what was looked at; 2 the command line
itself is wrong; 3 it could not be done.
"""

import sys
from importlib import import_module
from typing import Final

import click

from scoring import MeetError, RulebookError, ScoringError, TableError
from web.errors import AppError

WRONG: Final = 1
IMPOSSIBLE: Final = 3

#: Each command and what it does, in the order of the help.
COMMANDS: Final = {
    "check": "Read rulebooks and name every problem in them.",
    "explain": "Say a rulebook, or one rule, in plain words with what it would cost.",
    "compare": "Say what has changed between two editions of a rulebook.",
    "format": "Lay rulebooks out evenly; comments and meaning stay.",
    "table": "Turn a rulebook into a workbook, and bring a changed one back.",
    "schema": "Print the format of rulebooks as a JSON Schema, for editors.",
    "score": "Score a table of runs under a rulebook.",
    "paper": "Write a rulebook on paper: briefing, judges' sheets, check sheet, clock sheet.",
    "key": "Compare and score what two people keyed in from the sheets.",
    "open": "Open an event: teams, people, runs and the rulebook, written down in a folder.",
    "serve": "Serve a meet to tablets and screens.",
    "demo": "Play a demo event over real tablets' messages.",
    "export": "Write a meet's standings and a workbook for each team.",
    "overall": "Show what the events of a meet come to together.",
    "rescore": "Show what an event would have looked like under another rulebook.",
    "verify": "Walk a meet's record and name the first entry that was tampered with.",
}


class _Commands(click.Group):
    """The commands by name. `serve` patches the standard library, so no command is loaded early."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - as in click
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as in click
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"web.commands.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - as in click
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.command(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="fairlead")
def fairlead() -> None:
    """Score timed hands-on crew contests: from the rulebook to each crew's penalty sheet."""


def main() -> None:
    """Run a command; a refusal is a sentence on standard error and an exit code."""
    try:
        fairlead.main(standalone_mode=False)
    except (RulebookError, MeetError, TableError) as error:
        _stop(str(error), WRONG)
    except (ScoringError, AppError, OSError) as error:
        _stop(f"fairlead: {error}", IMPOSSIBLE)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        _stop("fairlead: stopped.", IMPOSSIBLE)


def _stop(says: str, code: int) -> None:
    click.echo(says, err=True)
    sys.exit(code)


if __name__ == "__main__":
    main()
