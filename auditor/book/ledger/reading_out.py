"""Rows of the book → tables, file by file, in an order that does not depend on when they were taken in."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from auditor.book.ledger.documents import place
from auditor.book.ledger.opening import Book
from auditor.core.schemas import Problem, Schema, conform, joined

AT_ONCE = 100_000
"""So many rows are held as single values before they are put into columns."""

SHOWN_OF_DIGEST = 8


@dataclass(frozen=True)
class Filed:
    """A file in the book, as it was called when it was first given.

    `name` tells it from all others: where two share one, with the beginning of its digest.
    """

    file: int
    name: str
    own_name: str
    digest: str
    kind: str | None
    picture: bool
    reading: str
    path: Path
    taken_in_at: str
    changed_at: str
    set_aside: str | None


def files(book: Book) -> list[Filed]:
    """All files, pictures last, by name."""
    query = (
        "SELECT file, name, digest, kind, picture, reading, ending, taken_in_at, changed_at, set_aside FROM file "
        "ORDER BY picture, name, digest"
    )
    with book.reading() as connection:
        found = connection.execute(query).fetchall()
    filed = [
        Filed(
            file,
            name,
            name,
            digest,
            kind,
            bool(picture),
            reading,
            place(book.documents, digest, ending),
            taken,
            changed,
            out,
        )
        for file, name, digest, kind, picture, reading, ending, taken, changed, out in found
    ]
    often = Counter(one.name for one in filed)
    return [
        replace(one, name=f"{one.name} ({one.digest[:SHOWN_OF_DIGEST]})") if often[one.name] > 1 else one
        for one in filed
    ]


def statements_set_aside(book: Book) -> dict[str, list[Filed]]:
    """The files set aside by the statements that they have lines of."""
    known = {one.file: one for one in files(book)}
    query = (
        "SELECT DISTINCT coalesce(statement, ''), file FROM lines JOIN file USING (file) WHERE set_aside IS NOT NULL "
        "ORDER BY 1, 2"
    )
    found: dict[str, list[Filed]] = {}
    with book.reading() as connection:
        for statement, file in connection.execute(query):
            found.setdefault(statement, []).append(known[file])
    return found


def tables(connection: sqlite3.Connection, filed: Filed, schemas: Mapping[str, Schema]) -> dict[str, pd.DataFrame]:
    """What a file gave to each table, with the file's name as the source of each row."""
    given = connection.execute("SELECT name FROM content WHERE file = ? ORDER BY name", (filed.file,)).fetchall()
    return {
        name: conform(
            table(connection, f"SELECT * FROM {name} WHERE file = ? ORDER BY row", schemas[name], (filed.file,)).assign(
                source_file=filed.name
            ),
            schemas[name],
        )
        for (name,) in given
    }


def problems(connection: sqlite3.Connection, filed: Filed) -> list[Problem]:
    """What there was to say about a file by itself."""
    query = "SELECT place, message, unread, note FROM problem WHERE file = ? ORDER BY row"
    return [
        Problem(filed.name, place, message, unread=bool(unread), note=bool(note))
        for place, message, unread, note in connection.execute(query, (filed.file,))
    ]


def table(connection: sqlite3.Connection, query: str, schema: Schema, values: Sequence[object] = ()) -> pd.DataFrame:
    """The answer to a query as a table of the schema; a column that the answer lacks comes out missing."""
    cursor = connection.execute(query, values)
    names = [column[0] for column in cursor.description]
    known = tuple(column for column in schema if column.name in names)
    chunks = [conform(_columns(rows, names), known) for rows in _chunks(cursor)]
    return conform(joined(chunks, known), schema)


def _chunks(cursor: sqlite3.Cursor) -> Iterator[list[tuple[object, ...]]]:
    while rows := cursor.fetchmany(AT_ONCE):
        yield rows


def _columns(rows: list[tuple[object, ...]], names: list[str]) -> pd.DataFrame:
    columns = zip(names, zip(*rows, strict=True), strict=True)
    return pd.DataFrame({name: pd.Series(values, dtype=object) for name, values in columns})
