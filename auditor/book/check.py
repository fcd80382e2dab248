"""Whether the book and the documents beside it are whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from auditor.book import balances, reading_out
from auditor.book.documents import digest_of
from auditor.book.opening import Book
from auditor.book.reading_out import Filed
from auditor.book.taking_in import columns_of
from auditor.money import dollars
from auditor.progress import each

UNRECKONED = """
SELECT DISTINCT coalesce(l.statement, '') FROM lines l JOIN file USING (file)
WHERE set_aside IS NULL AND NOT picture AND coalesce(l.statement, '') NOT IN (SELECT statement FROM statement)
AND NOT EXISTS (SELECT 1 FROM replaced r WHERE r.statement = coalesce(l.statement, '') AND r.file = l.file)
ORDER BY 1
"""


@dataclass(frozen=True)
class Health:
    """What is wrong with the book, and what is merely worth knowing; and how much was looked at."""

    faults: tuple[str, ...]
    notes: tuple[str, ...]
    files: int


def check(book: Book) -> Health:
    """Look at everything: the database itself, the rows of each file, the sums, the documents against their digests."""
    filed = reading_out.files(book)
    with book.reading() as connection:
        faults = (
            *_database(connection),
            *balances.broken(connection, deep=True),
            *(fault for one in filed for fault in _rows(connection, one)),
            *filter(None, map(original_fault, each(filed, "Checking kept documents"))),
        )
        waiting = [name for (name,) in connection.execute(UNRECKONED)]
        rules = [digest for (digest,) in connection.execute("SELECT digest FROM rules WHERE digest <> ''")]
    notes = [f"Statement {name} is in the book but was not reckoned yet: auditor reconcile --all." for name in waiting]
    known = {one.path for one in filed}
    strays = [path for path in _kept(book.documents) if path not in known and path.stem not in rules]
    if strays:
        notes.append(
            f"{len(strays)} files in {book.documents} belong to nothing in the book, as after a run that was stopped. "
            "They do no harm."
        )
    return Health(faults, tuple(notes), len(filed))


def _database(connection: sqlite3.Connection) -> Iterator[str]:
    for (said,) in connection.execute("PRAGMA integrity_check"):
        if said != "ok":
            yield f"the database is damaged: {said}"
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of table {table} refers to a row of {parent} that is not there"


def _rows(connection: sqlite3.Connection, filed: Filed) -> Iterator[str]:
    """Whether each table still has the rows and the money that the file gave it."""
    query = "SELECT name, rows, cents FROM content WHERE file = ?"
    for name, count, cents in connection.execute(query, (filed.file,)).fetchall():
        money = [f"coalesce(sum({column}), 0)" for column in columns_of(connection, name) if column.endswith("_cents")]
        total = f"SELECT count(*), {' + '.join(money) or '0'} FROM {name} WHERE file = ?"
        there, sum_ = connection.execute(total, (filed.file,)).fetchone()
        if (there, sum_) != (count, cents):
            yield (
                f"{filed.name} gave {count:,} rows of {dollars(cents)} to {name}, but {there:,} rows of "
                f"{dollars(sum_)} are there"
            )


def original_fault(filed: Filed) -> str:
    """What is wrong with the kept original of a file; "" when it is what was taken in."""
    try:
        digest = digest_of(filed.path)
    except FileNotFoundError:
        return (
            f"the original of {filed.name} is missing: {filed.path}. Give the file to a run again, which puts it back"
        )
    except OSError as error:
        why = error.strerror or error
        return f"the original of {filed.name} cannot be read ({why}): {filed.path}. Look at who may read it"
    if digest != filed.digest:
        return (
            f"the original of {filed.name} was changed: {filed.path}. Give the file to a run again, which restores it"
        )
    return ""


def _kept(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*/*") if path.is_file())
