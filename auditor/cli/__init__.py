"""The command line: one thin file a command, loaded only when that command is used.

In go words typed at a terminal. Out come what a command prints, the files it writes, and an exit code; nothing else in
the package prints or exits.

Read in this order:

commands/     one file a command: its arguments → the rooms' functions → what is printed
options.py    arguments that several commands share, and what they stand for
questions.py  what is asked at a terminal where a column could mean two things
terminal.py   the one place that prints and asks; what strangers wrote comes out harmless
endings.py    how a command ends that did not come to its end
"""

from __future__ import annotations

import gc
import importlib
import os
from typing import Any

import click

from auditor.cli.terminal import showing_progress
from auditor.core.characters import harmless

COMMANDS = {
    "reconcile": "Account for every line of a month's statements and say what each adjustment is.",
    "explain": "Show one parcel's charges step by step, with rules and sources.",
    "cartons": "Say what each carton costs in back-charges, and how to cut or weigh it.",
    "precheck": "Check a parcel before it is shipped: charges, limits, chance of a back-charge, what to trim.",
    "whatif": "Reprice recorded months with one change, and see what it would have saved.",
    "evidence": "Write the papers for disputes: a letter with its evidence, a PDF each.",
    "columns": "Show what a file's columns were taken for; correct that, and keep it for the next one.",
    "disputes": "List what is worth disputing, by deadline and amount; mark what was sent, answered, credited.",
    "close": "Freeze a month's figures; what later documents change is then shown apart.",
    "book": "Look after the book that holds all months: show, check, backup, export, import.",
    "rules": "Show what the rules say and where they come from; check a file of your own.",
}


class Commands(click.Group):
    """A group that imports a command's module only when that command is called, so that help answers at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of the commands, most used first."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"auditor.cli.commands.{cmd_name}").command
        return _with_examples(command)

    def invoke(self, ctx: click.Context) -> Any:
        """Call the command. What it says is wrong may name what a stranger wrote, and comes out harmless."""
        try:
            with showing_progress():
                return super().invoke(ctx)
        except click.ClickException as error:
            vars(error)["message"] = harmless(error.message)
            raise

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="None of your files is changed, and no network is used.",
)
@click.version_option(package_name="auditor")
@click.option("--debug", is_flag=True, help="Show where in the program an error came from.")
def group(*, debug: bool) -> None:
    r"""Account for every line of a parcel carrier's statement, and say what each back-charge is.

    \b
    For example:
      auditor reconcile my-month/ --out my-report
      auditor explain NP4410026031700123 my-month/
    """
    del debug


def _with_examples(command: click.Command) -> click.Command:
    """The command with the mark before its examples, which a raw docstring cannot hold, as click knows it."""
    command.help = (command.help or "").replace("\\b\n", "\b\n")
    return command


_with_examples(group)


ONE_THREAD = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
"""What products of matrices are told to keep to. Ours are many and small: several threads, which mostly wait for one
another, took ten times the processor's time of one."""

OBJECTS = 50_000
"""New objects after which Python looks for rings of dead ones. Libraries make many when they are loaded, none of which
dies: the usual 700 took a twentieth of a month's time."""


def main() -> None:
    """Run the command line. Whatever does not come to its end is told in a sentence, without traceback."""
    from auditor.cli import endings

    gc.set_threshold(OBJECTS)
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    endings.run(group.main)
