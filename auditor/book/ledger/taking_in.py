"""What a file gave → rows of the book. One transaction a file, and a file of the same content is one file."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from auditor.book.ledger import digests
from auditor.book.ledger.documents import ending_of, keep
from auditor.book.ledger.opening import Book, BookError, plainly
from auditor.core.schemas import DATE, FLAG, TEXT, Problem, Schema

TAKEN_AT = "%Y-%m-%dT%H:%M:%S.%fZ"

ROWS = ("shipments", "cartons", "rates", "fees", "fuel", "lines", "printed_totals", "reissues", "notices", "moves")
"""The tables that files give rows to."""


@dataclass(frozen=True)
class Document:
    """A file and what it gave.

    `digest` is its SHA-256, `reading` says by what it was read (another reading of the same file replaces the rows of
    the first), `layouts` how its tables' columns were read, as (kind, heading → field).
    """

    name: str
    path: Path
    digest: str
    kind: str | None
    picture: bool
    reading: str
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    problems: Sequence[Problem] = ()
    layouts: Sequence[tuple[str, Mapping[str, str]]] = ()


def take_in(book: Book, document: Document, schemas: Mapping[str, Schema]) -> None:
    """Keep the original, then write all of its rows, or none.

    A file that is in the book already is left, unless it was read in another way now: then its rows are replaced, and
    the statements it had part in have to be reckoned again.

    Raises:
        BookError: there is no room, the file has changed meanwhile, or the book cannot be written.
    """
    with plainly(book.path):
        ending = ending_of(document.name)
        try:
            keep(book.documents, document.path, document.digest, ending)
        except ValueError as error:
            raise BookError(f"{document.name} was not taken in: {error}. Run again.") from error
        size = document.path.stat().st_size
    now = datetime.now(UTC).strftime(TAKEN_AT)
    with book.writing() as connection:
        known = connection.execute("SELECT file, reading FROM file WHERE digest = ?", (document.digest,)).fetchone()
        if known and known[1] == document.reading:
            return
        if known:
            (file, _) = known
            forget_rows(connection, file)
            connection.execute(
                "UPDATE file SET kind = ?, picture = ?, reading = ?, changed_at = ? WHERE file = ?",
                (document.kind, document.picture, document.reading, now, file),
            )
        else:
            values = (document.digest, _writable(document.name), ending, size, document.kind, document.picture)
            file = connection.execute(
                "INSERT INTO file (digest, name, ending, bytes, kind, picture, reading, taken_in_at, changed_at) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (*values, document.reading, now, now),
            ).lastrowid
        _write(connection, int(file or 0), document, schemas)


def set_aside(book: Book, file: int, why: str | None) -> None:
    """Count a file's rows no longer, or (None) again; its statements have to be reckoned again. Nothing is deleted."""
    now = datetime.now(UTC).strftime(TAKEN_AT)
    with book.writing() as connection:
        unreckon(connection, file)
        connection.execute("UPDATE file SET set_aside = ?, changed_at = ? WHERE file = ?", (why, now, file))


def unreckon(connection: sqlite3.Connection, file: int) -> None:
    """Drop what was reckoned of the statements that the file has part in; disputes and their history stay."""
    theirs = "SELECT DISTINCT coalesce(statement, '') FROM lines WHERE file = ?"
    for table in ("finding", "counted", "statement"):
        connection.execute(f"DELETE FROM {table} WHERE statement IN ({theirs})", (file,))
    connection.execute("DELETE FROM replaced WHERE ? IN (file, by_file)", (file,))


def forget_rows(connection: sqlite3.Connection, file: int) -> None:
    """Delete a file's rows, which are about to be written anew."""
    unreckon(connection, file)
    for table in (*ROWS, "problem", "layout", "content"):
        connection.execute(f"DELETE FROM {table} WHERE file = ?", (file,))


def _write(connection: sqlite3.Connection, file: int, document: Document, schemas: Mapping[str, Schema]) -> None:
    for name, table in document.tables.items():
        columns = columns_of(connection, name)
        fit = tuple(column for column in schemas[name] if column.name in columns)
        insert(connection, name, {"file": [file] * len(table)} | {"row": range(1, len(table) + 1)}, table, fit)
        cents = sum(int(table[column.name].sum()) for column in fit if column.name.endswith("_cents"))
        connection.execute(
            "INSERT INTO content (file, name, rows, cents) VALUES (?, ?, ?, ?)", (file, name, len(table), cents)
        )
    numbered = zip(count(1), document.problems, strict=False)
    connection.executemany(
        "INSERT INTO problem (file, row, place, message, unread, note) VALUES (?, ?, ?, ?, ?, ?)",
        [
            (file, row, _writable(problem.place), _writable(problem.message), problem.unread, problem.note)
            for row, problem in numbered
        ],
    )
    layouts = [(file, row, kind, json.dumps(columns)) for row, (kind, columns) in enumerate(document.layouts, 1)]
    connection.executemany("INSERT INTO layout (file, row, kind, columns) VALUES (?, ?, ?, ?)", layouts)


def insert(
    connection: sqlite3.Connection, name: str, first: Mapping[str, Iterable[Any]], table: pd.DataFrame, schema: Schema
) -> None:
    """Add rows to a table of the book: the columns of `first`, then those of the schema."""
    given = [*first, *(column.name for column in schema)]
    names = ", ".join(f'"{name}"' for name in given)
    marks = ", ".join(f"?{number}" for number in range(1, len(given) + 1))
    if digest := digests.of_given(columns_of(connection, name), given):  # at once, not row by row behind them
        names, marks = f"{names}, {digests.COLUMN}", f"{marks}, {digest}"
    values = [plain_values(table[column.name], column.dtype) for column in schema]
    statement = f"INSERT INTO {name} ({names}) VALUES ({marks})"
    try:
        for texts in (texts for texts, column in zip(values, schema, strict=True) if column.dtype == TEXT):
            "".join(filter(None, texts)).encode()
    except UnicodeEncodeError:  # half a character pair, which no file can hold
        values = [[_writable(value) if isinstance(value, str) else value for value in texts] for texts in values]
    connection.executemany(statement, zip(*first.values(), *values, strict=True))


def plain_values(column: pd.Series, dtype: str) -> list[Any]:
    """A column as what SQLite takes: whole numbers, texts, 0 and 1, ISO days; None where it is missing."""
    if dtype == DATE:  # few days are different in a long column, so each is written once
        codes, days = pd.factorize(column.to_numpy(dtype="datetime64[D]"))
        return list(np.array([*map(str, days), None], dtype=object)[codes])
    values: Any = column.astype("Int64") if dtype == FLAG else column
    return list(values.to_numpy(dtype=object, na_value=None))


def columns_of(connection: sqlite3.Connection, table: str) -> list[str]:
    """The columns of a table of the book, in its order."""
    return [str(name) for (name,) in connection.execute("SELECT name FROM pragma_table_info(?)", (table,))]


def _writable(text: str) -> str:
    """The text, with half a character pair shown as its code."""
    return text.encode("utf-8", errors="backslashreplace").decode("utf-8")
