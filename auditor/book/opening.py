"""Make, open and upgrade the book; and one write to it, which happens whole or not at all."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Self

from auditor.book import balances

MARK = 0x41554442
"""'AUDB': what the file's header says it is."""

WAIT_SECONDS = 60
"""So long a run waits for another one that is writing."""

Steps = dict[int, str]


class BookError(Exception):
    """What is wrong with the book, where, and what to do, in words for the user."""


@dataclass(frozen=True)
class Book:
    """An open book. Close it, or use it in a `with`."""

    path: Path
    connection: sqlite3.Connection

    @property
    def documents(self) -> Path:
        """The folder beside the book that holds the original documents."""
        return documents_of(self.path)

    @property
    def changes(self) -> int:
        """A number that is another one after another process has written to the book."""
        with plainly(self.path):
            return int(self.connection.execute("PRAGMA data_version").fetchone()[0])

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One write. It is durable when the block has ended; any fault in it, or a sum that does not hold, undoes it.

        Raises:
            BookError: the sums would not hold, or the file cannot be written.
        """
        with plainly(self.path), _transaction(self.connection):
            yield self.connection
            if faults := balances.broken(self.connection):
                raise BookError(
                    f"The book would no longer add up, so nothing was written to it: {'; '.join(faults)}. This is a "
                    "fault of the program. Please report it."
                )

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Several queries that all see the book as it is at one moment."""
        with plainly(self.path):
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                self.connection.rollback()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.connection.close()


def documents_of(path: Path) -> Path:
    """The folder with the original documents of the book at that path."""
    return path.with_name(f"{path.stem}.documents")


def opened(path: Path, *, steps: Steps | None = None, writable: bool = True, must_exist: bool = False) -> Book:
    """Open the book, which is made where there is none and brought to this program's form where it has an older one.

    Before a step, a copy of the book as it was is put beside it.

    Args:
        path: the SQLite file.
        steps: SQL by number, for tests; those of this program by default.
        writable: when false, nothing is made or upgraded.
        must_exist: when true, none is made.

    Raises:
        BookError: it cannot be opened, is no book, or is of a newer program.
    """
    steps = steps or own_steps()
    with plainly(path):
        if (must_exist or not writable) and not path.exists():
            raise BookError(f"There is no book at {path}. 'auditor reconcile' makes one; --book chooses another.")
        connection = _connected(path, writable=writable)
        try:
            _bring_to_form(connection, path, steps, writable=writable)
        except BaseException:
            connection.close()
            raise
    return Book(path, connection)


def _bring_to_form(connection: sqlite3.Connection, path: Path, steps: Steps, *, writable: bool) -> None:
    form, newest = _form(connection, path), max(steps)
    if form > newest:
        raise BookError(
            f"The book {path} was made by a newer version of this program (its form is {form}; this version knows "
            f"forms up to {newest}). Nothing in it was changed. Install the newer version, or choose another book with "
            "--book."
        )
    if form < newest and not writable:
        raise BookError(f"The book {path} has an older form ({form}). Run 'auditor reconcile' to renew it.")
    if form < newest:
        _upgrade(connection, path, form, steps)


def own_steps() -> Steps:
    """The SQL of each step of this program, by number."""
    folder = resources.files("auditor.book") / "steps"
    return {
        int(file.name.removesuffix(".sql")): file.read_text(encoding="utf-8")
        for file in folder.iterdir()
        if re.fullmatch(r"\d{4}\.sql", file.name)
    }


def _connected(path: Path, *, writable: bool) -> sqlite3.Connection:
    if writable:
        path.parent.mkdir(parents=True, exist_ok=True)
    mode = "rwc" if writable else "ro"
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None)
    # A rollback journal and no write-ahead log: the log's second file is not safe in synced and network folders.
    # EXTRA is FULL that also makes the end of a write durable, when the journal is deleted.
    for pragma in ("foreign_keys = ON", "synchronous = EXTRA", "cell_size_check = ON", "trusted_schema = OFF"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def _form(connection: sqlite3.Connection, path: Path) -> int:
    """The number of the last step; 0 for a file that is new."""
    form = int(connection.execute("PRAGMA user_version").fetchone()[0])
    mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
    tables = int(connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])
    if mark != MARK and (form or tables):
        raise BookError(f"{path} is a database of another program, not a book of this one. Choose another --book.")
    return form


def _upgrade(connection: sqlite3.Connection, path: Path, form: int, steps: Steps) -> None:
    """Take the steps that the book has not taken, each whole, with the number it brings the book to."""
    if form:
        _copy_before(connection, path, form)
    for number in sorted(steps):
        with _transaction(connection):
            # Asked again inside: another process may have taken the step in the meantime.
            if int(connection.execute("PRAGMA user_version").fetchone()[0]) >= number:
                continue
            connection.execute(f"PRAGMA application_id = {MARK}")
            connection.execute(
                "CREATE TABLE IF NOT EXISTS step (number INTEGER PRIMARY KEY, taken_at TEXT NOT NULL) STRICT"
            )
            for statement in _statements(steps[number]):
                connection.execute(statement)
            connection.execute("INSERT INTO step VALUES (?, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'))", (number,))
            connection.execute(f"PRAGMA user_version = {number:d}")


def _copy_before(connection: sqlite3.Connection, path: Path, form: int) -> None:
    copy = path.with_name(f"{path.stem}-form-{form}{path.suffix}")
    if not copy.exists():
        partial = copy.with_name(f".{copy.name}.partial")
        partial.unlink(missing_ok=True)
        target = sqlite3.connect(partial)
        try:
            connection.backup(target)
        finally:
            target.close()
        partial.replace(copy)


def _statements(text: str) -> Iterator[str]:
    """The statements of a script, one by one, since `executescript` would end the transaction first."""
    gathered = ""
    for line in text.splitlines(keepends=True):
        gathered += line
        if sqlite3.complete_statement(gathered):
            yield gathered
            gathered = ""


@contextmanager
def _transaction(connection: sqlite3.Connection) -> Iterator[None]:
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.rollback()
        raise


REASONS = {
    sqlite3.SQLITE_BUSY: "another program is using it. Wait until it has ended, and run again",
    sqlite3.SQLITE_LOCKED: "another program is using it. Wait until it has ended, and run again",
    sqlite3.SQLITE_READONLY: "it or its folder may not be written to. Change that, or choose another place with --book",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened or made there. Look at the folder and who may write to it, or choose "
    "another place with --book",
    sqlite3.SQLITE_FULL: "there is no room left. Nothing of this was written to it. Make room and run again",
    sqlite3.SQLITE_IOERR: "the disk failed, or is full. Nothing of this was written to it. Make room or look at the "
    "disk, and run again",
    sqlite3.SQLITE_NOTADB: "it is no book, or it is damaged. Choose another --book, or restore a backup",
    sqlite3.SQLITE_CORRUPT: "it is damaged. Restore a backup (auditor book backup makes one), or export what is left",
}


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Say what the database or the file system complains of in words that help."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code not in REASONS:
            raise
        raise BookError(f"The book {path} cannot be used: {REASONS[code]}.") from error
    except OSError as error:
        raise BookError(
            f"The book {path} cannot be used: {error.strerror or error}. Look at its folder, or choose another place "
            "with --book."
        ) from error
