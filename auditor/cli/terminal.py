"""The one place from which commands talk to a terminal: what strangers wrote comes out harmless."""

from __future__ import annotations

import json
import os
import re
import sys
import unicodedata
from collections.abc import Sequence
from contextlib import suppress

import click

BREAK = re.compile(r"[\t-\r\x1c-\x1f\x85\u2028\u2029]+")
"""What begins a line of its own, or moves on in one."""


def harmless(text: str) -> str:
    r"""The text on one line, with nothing in it that steers a terminal.

    Breaks of lines become blanks. Control characters, escape sequences, and what turns the direction of writing or is
    not seen are shown as their code, as JSON writes it: ESC as \u001b.
    """
    return text if text.isprintable() else "".join(map(_shown, BREAK.sub(" ", text)))


def _shown(letter: str) -> str:
    is_blank = unicodedata.category(letter) == "Zs"
    return letter if letter.isprintable() or is_blank else json.dumps(letter)[1:-1]


def say(*lines: str, err: bool = False) -> None:
    """Print each on a line of its own; to stderr where it is talk and no result."""
    coding = getattr(sys.stderr if err else sys.stdout, "encoding", None) or "utf-8"
    for line in lines:
        # A terminal of a small character set shows the others as their codes.
        click.echo(harmless(line).encode(coding, "backslashreplace").decode(coding), err=err)


def flush() -> None:
    """Have all that was printed written, so that what cannot be is known now."""
    if sys.stdout:
        sys.stdout.flush()


def say_no_more() -> None:
    """Send what is still to be written nowhere, as the output takes no more of it."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def at_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def asked(question: str, answers: Sequence[str], otherwise: str) -> str:
    """One of the answers, typed by the user; an empty line is `otherwise`."""
    choice: str = click.prompt(
        harmless(question),
        type=click.Choice(answers, case_sensitive=False),
        default=otherwise,
        show_choices=False,
        err=True,
    )
    return choice


def agreed(question: str) -> bool:
    """Whether the user says yes; an empty line is no."""
    return click.confirm(harmless(question), default=False, err=True)
