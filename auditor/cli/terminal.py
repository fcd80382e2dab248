"""The one place from which commands talk to a terminal: what strangers wrote comes out harmless."""

from __future__ import annotations

import os
import sys
import time
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import accumulate, takewhile
from typing import TextIO

import click

from auditor.core import progress
from auditor.core.characters import harmless


def say(*lines: str, err: bool = False) -> None:
    """Print each on a line of its own; to stderr where it is talk and no result."""
    _status.clear()
    for line in lines:
        # A terminal of a small character set shows the others as their codes.
        click.echo(_in_coding(harmless(line), sys.stderr if err else sys.stdout), err=err)


class Status:
    """The last line of a terminal, which says how far the run has come, and is taken away before anything is said.

    Nothing but blanks and carriage returns moves on it, so that every terminal can show it.
    """

    EVERY = 0.1
    """Seconds that a line stands at least while the same is being done to the next of many things."""
    NARROW = 80
    """Cells of a terminal that does not tell how wide it is (common practice, no source)."""

    def __init__(self) -> None:
        """Nothing is shown yet."""
        self._cells, self._what, self._since = 0, "", 0.0

    def show(self, what: str, number: int, total: int) -> None:
        """Show what is being done, and to which one of how many things: 'Reading orders.csv: 3 of 11 …'."""
        now = time.monotonic()
        if self._cells and what == self._what and now - self._since < self.EVERY:
            return
        self._what, self._since = what, now
        count = _in_coding(f": {number:,} of {total:,} …" if total else " …", sys.stderr)
        text = fitting(_in_coding(harmless(what), sys.stderr), _width() - len(count) - 1) + count
        self._write(text, max(self._cells - cells(text), 0))
        self._cells = cells(text)

    def clear(self) -> None:
        """Take the line away, if one is shown."""
        if self._cells:
            self._write("", self._cells)
            self._cells = 0

    @staticmethod
    def _write(text: str, blanks: int) -> None:
        with suppress(OSError, ValueError):  # a terminal that is gone ends no run
            sys.stderr.write(f"\r{text}{' ' * blanks}" + ("" if text else "\r"))
            sys.stderr.flush()


_status = Status()


@contextmanager
def showing_progress() -> Iterator[None]:
    """Show at a terminal how far the run has come; in a pipe or a file nothing of it, and nothing is left behind."""
    if not (sys.stderr and sys.stderr.isatty()):
        yield
        return
    try:
        with progress.told_to(_status.show):
            yield
    finally:
        _status.clear()


def _width() -> int:
    with suppress(OSError, ValueError):
        return os.get_terminal_size(sys.stderr.fileno()).columns or Status.NARROW
    return Status.NARROW


def fitting(text: str, most: int) -> str:
    """As much of a text from its beginning as so many cells of a terminal hold."""
    ends = accumulate(map(cells, text))
    return text[: sum(1 for _ in takewhile(lambda end: end <= most, ends))]


def cells(text: str) -> int:
    """How many cells of a terminal a text takes: two for each wide letter (Unicode Standard Annex 11)."""
    wide = sum(unicodedata.east_asian_width(letter) in {"W", "F"} for letter in text)
    return len(text) + wide - sum(map(bool, map(unicodedata.combining, text)))


def _in_coding(text: str, stream: TextIO | None) -> str:
    coding = getattr(stream, "encoding", None) or "utf-8"
    return text.encode(coding, "backslashreplace").decode(coding)


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
    _status.clear()
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
    _status.clear()
    return click.confirm(harmless(question), default=False, err=True)
