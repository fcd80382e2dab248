"""Whether the book and the documents beside it are whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from auditor.book.ledger import balances, reading_out
from auditor.book.ledger.documents import digest_of, place
from auditor.book.ledger.opening import Book, damage
from auditor.book.ledger.reading_out import Filed
from auditor.book.ledger.taking_in import columns_of
from auditor.book.ledger.whereabouts import open_to_others
from auditor.core.money import dollars
from auditor.core.progress import each

UNRECKONED = """
SELECT DISTINCT coalesce(l.statement, '') FROM lines l JOIN file USING (file)
WHERE set_aside IS NULL AND NOT picture AND coalesce(l.statement, '') NOT IN (SELECT statement FROM statement)
AND NOT EXISTS (SELECT 1 FROM replaced r WHERE r.statement = coalesce(l.statement, '') AND r.file = l.file)
ORDER BY 1
"""


@dataclass(frozen=True)
class Health:
    """What is wrong with the book, and what is merely worth knowing; and how much was looked at.

    `damaged`: it is not as it was written, so nothing else was looked at.
    """

    faults: tuple[str, ...]
    notes: tuple[str, ...]
    files: int
    damaged: bool = False


def check(book: Book) -> Health:
    """Look at everything: the database itself, the rows of each file, the sums, the documents against their digests."""
    if damaged := damage(book.path):
        return Health(tuple(damaged), (), 0, damaged=True)
    filed = reading_out.files(book)
    with book.reading() as connection:
        faults = (
            *balances.broken(connection, deep=True),
            *(fault for file in filed for fault in _rows(connection, file)),
            *filter(None, map(original_fault, each(filed, "Checking kept documents"))),
            *_own_rules(book, connection),
        )
        waiting = [name for (name,) in connection.execute(UNRECKONED)]
        rules = [digest for (digest,) in connection.execute("SELECT digest FROM rules WHERE digest <> ''")]
    notes = [f"Statement {name} is in the book but was not reckoned yet: auditor reconcile --all." for name in waiting]
    notes += filter(None, [open_to_others(book.path)])
    known = {file.path for file in filed}
    strays = [path for path in _kept(book.documents) if path not in known and path.stem not in rules]
    if strays:
        notes.append(
            f"{len(strays)} files in {book.documents} belong to nothing in the book, as after a run that was stopped. "
            "They do no harm."
        )
    return Health(faults, tuple(notes), len(filed))


def _own_rules(book: Book, connection: sqlite3.Connection) -> Iterator[str]:
    """What is wrong with the kept copies of the shop's own rule files."""
    for name, digest in connection.execute("SELECT name, digest FROM rules WHERE digest <> ''"):
        yield from filter(None, [_fault_of(f"the rules {name}", place(book.documents, digest, ".toml"), digest)])


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
    return _fault_of(filed.name, filed.path, filed.digest)


def _fault_of(name: str, path: Path, digest: str) -> str:
    try:
        there = digest_of(path)
    except FileNotFoundError:
        return f"the original of {name} is missing: {path}. Give the file to a run again, which puts it back"
    except OSError as error:
        return f"the original of {name} cannot be read ({error.strerror or error}): {path}. Look at who may read it"
    if there != digest:
        return f"the original of {name} was changed: {path}. Give the file to a run again, which restores it"
    return ""


def _kept(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*/*") if path.is_file())
