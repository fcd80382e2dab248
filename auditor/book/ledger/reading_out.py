"""Rows of the book → tables, file by file, in an order that does not depend on when they were taken in."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from operator import itemgetter
from pathlib import Path

import numpy as np
import pandas as pd

from auditor.book.ledger.documents import place
from auditor.book.ledger.opening import Book
from auditor.core import progress
from auditor.core.schemas import WHOLE, Column, Problem, Schema, conform, empty, joined

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
    often = Counter(file.name for file in filed)
    return [
        replace(file, name=f"{file.name} ({file.digest[:SHOWN_OF_DIGEST]})") if often[file.name] > 1 else file
        for file in filed
    ]


def statements_set_aside(book: Book) -> dict[str, list[Filed]]:
    """The files set aside by the statements that they have lines of."""
    known = {file.file: file for file in files(book)}
    query = (
        "SELECT DISTINCT coalesce(statement, ''), file FROM lines JOIN file USING (file) WHERE set_aside IS NOT NULL "
        "ORDER BY 1, 2"
    )
    found: dict[str, list[Filed]] = {}
    with book.reading() as connection:
        for statement, file in connection.execute(query):
            found.setdefault(statement, []).append(known[file])
    return found


def tables(
    connection: sqlite3.Connection, filed: Sequence[Filed], schemas: Mapping[str, Schema]
) -> dict[int, dict[str, pd.DataFrame]]:
    """For each file what it gave to each table, with the file's name as the source of each row.

    A table is read once for all files, as hundreds of letters have a row or two each.
    """
    called = {file.file: file.name for file in filed}
    given: dict[int, dict[str, pd.DataFrame]] = {file: {} for file in called}
    content = connection.execute("SELECT name, file FROM content ORDER BY name, file").fetchall()
    by_name = {str(name): {file for _, file in rows} for name, rows in groupby(content, key=itemgetter(0))}
    for name in progress.each([*by_name], "Taking tables out of the book"):
        of_file = _by_file(connection, name, called, schemas[name])
        for file in by_name[name] & called.keys():
            given[file][name] = of_file[file] if file in of_file else empty(schemas[name])
    return given


FILE = Column("file", WHOLE, "the number of the file that gave the row")


def _by_file(
    connection: sqlite3.Connection, name: str, called: Mapping[int, str], schema: Schema
) -> dict[int, pd.DataFrame]:
    """The rows of a table of the book by the file that gave them."""
    theirs = "file IN (SELECT value FROM json_each(?))"
    query = f"SELECT * FROM {name} WHERE {theirs} ORDER BY file, row"
    every = table(connection, query, (*schema, FILE), (json.dumps([*called]),))
    rows = conform(every.assign(source_file=every["file"].map(called)), schema)
    number, first = np.unique(every["file"].to_numpy(dtype=np.int64), return_index=True)
    bounds = pairwise([*first.tolist(), len(rows)])
    return {
        file: rows.iloc[start:end].reset_index(drop=True)
        for file, (start, end) in zip(number.tolist(), bounds, strict=True)
    }


def problems(connection: sqlite3.Connection, filed: Sequence[Filed]) -> dict[int, list[Problem]]:
    """For each file what there was to say about it by itself."""
    found: dict[int, list[Problem]] = {file.file: [] for file in filed}
    called = {file.file: file.name for file in filed}
    query = "SELECT file, place, message, unread, note FROM problem ORDER BY file, row"
    for file, where, message, unread, note in connection.execute(query):
        if file in called:
            found[file].append(Problem(called[file], where, message, unread=bool(unread), note=bool(note)))
    return found


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
