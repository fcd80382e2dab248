"""Make, open and upgrade the book; and one write to it, which happens whole or not at all."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Self

from auditor.book.ledger import balances, digests
from auditor.book.ledger.documents import documents_of
from auditor.core.whole_files import fresh, make_durable, make_private

MARK = 0x41554442
"""'AUDB': what the file's header says it is."""

WAIT_SECONDS = 60
"""So long a run waits for another one that is writing."""

STEPS_TAKEN = "CREATE TABLE IF NOT EXISTS step (number INTEGER PRIMARY KEY, taken_at TEXT NOT NULL) STRICT"

Steps = dict[int, str]


class BookError(Exception):
    """What is wrong with the book, where, and what to do, in words for the user."""


OF_DAMAGE = (sqlite3.Error, ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""How reading ends where a row or a table is not what it should be."""


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

    def __exit__(self, _: object, error: BaseException | None, __: object) -> None:
        try:
            if isinstance(error, OF_DAMAGE) and (faults := damage(self.path)):
                raise BookError(_damaged(self.path, faults)) from error
        finally:
            self.connection.close()


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
    if form <= newest and (faults := _not_as_made(connection, form)):
        raise BookError(_damaged(path, faults))
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
    if writable:
        digests.keep_up(connection)


def _not_as_made(connection: sqlite3.Connection, form: int) -> list[str]:
    """That the header says another form than the last step that was taken brought the book to."""
    if not form and not connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        return []
    last = connection.execute("SELECT max(number) FROM step").fetchone()[0]
    return [] if last == form else [f"its header says that it has form {form}, its steps say {last}"]


def damage(path: Path, steps: Steps | None = None) -> list[str]:
    """What is damaged of the book's file, in words; nothing where all is as it was written."""
    if not path.exists():
        return []
    try:
        with closing(_connected(path, writable=False)) as connection:
            form = int(connection.execute("PRAGMA user_version").fetchone()[0])
            return digests.damage(connection, plan_of(form, steps))
    except (sqlite3.Error, UnicodeDecodeError) as error:
        return [f"the database is damaged: {error}"]


def plan_of(form: int, steps: Steps | None = None) -> str:
    """The SQL that makes a book of that form."""
    taken = (text for number, text in sorted((steps or own_steps()).items()) if number <= form)
    return ";\n".join((STEPS_TAKEN, *taken))


def _damaged(path: Path, faults: list[str]) -> str:
    return (
        f"The book {path} is damaged: {faults[0]}. 'auditor book check' says more. Restore a backup (auditor book "
        "backup makes one), or export what is left."
    )


def own_steps() -> Steps:
    """The SQL of each step of this program, by number."""
    folder = resources.files("auditor.book.ledger") / "steps"
    return {
        int(file.name.removesuffix(".sql")): file.read_text(encoding="utf-8")
        for file in folder.iterdir()
        if re.fullmatch(r"\d{4}\.sql", file.name)
    }


def _connected(path: Path, *, writable: bool) -> sqlite3.Connection:
    if writable:
        path.parent.mkdir(parents=True, exist_ok=True)
        with suppress(OSError):  # where it cannot be made the database says so in its turn
            make_private(path)
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
    """Take the steps that the book has not taken, all or none, with the number they bring the book to."""
    if form:
        if faults := digests.damage(connection, plan_of(form, steps)):
            raise BookError(_damaged(path, faults))
        _copy_before(connection, path, form)
    with _transaction(connection):
        # Asked again inside: another process may have taken them in the meantime.
        form = int(connection.execute("PRAGMA user_version").fetchone()[0])
        for number in sorted(number for number in steps if number > form):
            connection.execute(f"PRAGMA application_id = {MARK}")
            connection.execute(STEPS_TAKEN)
            for statement in _statements(steps[number]):
                connection.execute(statement)
            taken = "INSERT INTO step (number, taken_at) VALUES (?, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'))"
            connection.execute(taken, (number,))
            connection.execute(f"PRAGMA user_version = {number:d}")
        digests.give_all(connection)


def _copy_before(connection: sqlite3.Connection, path: Path, form: int) -> None:
    copy = path.with_name(f"{path.stem}-form-{form}{path.suffix}")
    if not copy.exists():
        with new_copy(copy) as partial, closing(sqlite3.connect(partial)) as target:
            connection.backup(target)


@contextmanager
def new_copy(path: Path) -> Iterator[Path]:
    """An empty private file to be made a book, which gets that name when the block has ended well."""
    partial = fresh(path)
    make_private(partial)
    try:
        yield partial
        partial.replace(path)
    finally:
        partial.unlink(missing_ok=True)
    make_durable(path.parent)


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
    except (sqlite3.Error, UnicodeDecodeError) as error:  # the second of what a damaged database complains of
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code not in REASONS and (faults := damage(path)):
            raise BookError(_damaged(path, faults)) from error
        if code not in REASONS:
            raise
        raise BookError(f"The book {path} cannot be used: {REASONS[code]}.") from error
    except OSError as error:
        raise BookError(
            f"The book {path} cannot be used: {error.strerror or error}. Look at its folder, or choose another place "
            "with --book."
        ) from error
