"""How a command ends that did not come to its end: what happened, what is whole, what to do, and the exit code."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import sqlite3
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import NoReturn

import click

from auditor.cli.terminal import flush, say, say_no_more

WRONG_USE, FAILED, NO_ROOM = 2, 70, 74
"""Of click; EX_SOFTWARE and EX_IOERR of sysexits.h, as is common practice."""
INTERRUPTED, UNHEARD, TERMINATED = 130, 141, 143
"""128 and the number of the signal (SIGINT, SIGPIPE, SIGTERM), as is common practice among shells."""

UNTOUCHED = "None of your files was changed."
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
WHAT_TO_DO = {
    **dict.fromkeys(FULL, "Make room there, or send it to another place, and run again."),
    **dict.fromkeys((errno.EACCES, errno.EPERM), "Change who may read and write there, and run again."),
    errno.EROFS: "It may not be written to. Choose another place, and run again.",
    **dict.fromkeys((errno.EMFILE, errno.ENFILE), "Too many files are open. End other programs, and run again."),
    **dict.fromkeys((errno.EIO, errno.ENXIO, errno.ESTALE), "Look at the disk and its cable, and run again."),
}
OTHERWISE = "Look at that place and who may write to it, and run again."


class NoRoom(click.ClickException):
    """A disk that is full or fails: nobody called wrongly."""

    exit_code = NO_ROOM


class Terminated(BaseException):
    """The system, or somebody, asked the program to end."""


def is_of_the_disk(error: BaseException | None) -> bool:
    """Whether something failed because a disk is full, or fails itself."""
    if isinstance(error, sqlite3.Error):
        return getattr(error, "sqlite_errorcode", 0) & 0xFF in {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR}
    return isinstance(error, OSError) and error.errno in {*FULL, errno.EIO}


def kept(error: BaseException | None) -> str:
    """What is so of the user's files and the book, as the error itself tells."""
    return " ".join(getattr(error, "__notes__", ())) or UNTOUCHED


@contextlib.contextmanager
def noting(what: str) -> Iterator[None]:
    """Whatever ends the block has that noted beside it: what is kept all the same."""
    try:
        yield
    except BaseException as error:
        if what:
            error.add_note(what)
        raise


@contextlib.contextmanager
def writing_to(place: Path, what: str, option: str) -> Iterator[None]:
    """Say in a sentence why something could not be written there, and what to do."""
    try:
        yield
    except OSError as error:
        full = is_of_the_disk(error)
        advice = f"Make room there, or choose another {option}." if full else f"Choose another {option}."
        message = f"{what} cannot be written to {place}: {error.strerror or error}. {advice}"
        raise (NoRoom if full else click.UsageError)(message) from error


def run(main: Callable[..., object]) -> NoReturn:
    """Run click's main, and exit with a code of its own for each way to end."""
    with contextlib.suppress(ValueError):  # which comes where it is not the main thread
        signal.signal(signal.SIGTERM, _terminate)
    try:
        code = main(standalone_mode=False)
        flush()
    except click.exceptions.Abort as error:
        _end(_stopped(error.__cause__), INTERRUPTED)
    except KeyboardInterrupt as error:
        _end(_stopped(error), INTERRUPTED)
    except Terminated as error:
        _end(_stopped(error), TERMINATED)
    except click.ClickException as error:
        error.show()
        say(*getattr(error, "__notes__", ()), err=True)
        sys.exit(error.exit_code)
    except Exception as error:
        if "--debug" in sys.argv:
            raise
        _end(*_failed(error))
    except SystemExit as error:
        if error.code == 1:  # click's own end where the reader of the output went away; no command of ours exits so
            _end("", UNHEARD)
        raise
    sys.exit(code if isinstance(code, int) else 0)


def _terminate(number: int, frame: FrameType | None) -> NoReturn:
    del number, frame
    raise Terminated


def _stopped(error: BaseException | None) -> str:
    return f"Stopped before the end. {kept(error)} Run the same command again to have it done."


def _failed(error: Exception) -> tuple[str, int]:
    """What is said of an error that no command foresaw, and the exit code."""
    if isinstance(error, BrokenPipeError):
        return "", UNHEARD
    if isinstance(error, MemoryError):
        return (
            f"The machine's memory ran out. {kept(error)} Give fewer files at a time, or end other programs.",
            NO_ROOM,
        )
    if isinstance(error, OSError) and error.errno is not None:
        place = f"{error.filename} cannot be used" if error.filename else "The output could not be written"
        why = os.strerror(error.errno)
        return f"{place}: {why}. {WHAT_TO_DO.get(error.errno, OTHERWISE)} {kept(error)}", NO_ROOM
    message = (
        f"The program itself failed ({type(error).__name__}: {error}). {kept(error)} Please report this; the same "
        "command after 'auditor --debug' shows where."
    )
    return message, FAILED


def _end(message: str, code: int) -> NoReturn:
    """Say it, as far as anybody can be told, and exit; nothing more is written to an output that takes no more."""
    with contextlib.suppress(OSError):
        say(*filter(None, [message]), err=True)
    say_no_more()
    sys.exit(code)
