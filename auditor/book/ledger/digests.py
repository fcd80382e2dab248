"""A digest beside each row of the book, and what is damaged by it: rows, pages, the plan of the tables."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing

COLUMN = "row_digest"
FUNCTION = "digest_of_row"
WIDTH = 8
"""Bytes of a digest, as many as SQLite keeps in a whole number."""

PLAN = "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_stat%' ESCAPE '\\'"


def of_row(*values: object) -> int:
    """The digest of a row's values: BLAKE2b (RFC 7693) of how they are written."""
    written = repr(values).encode("utf-8", "backslashreplace")
    return int.from_bytes(hashlib.blake2b(written, digest_size=WIDTH).digest(), "little", signed=True)


def keep_up(connection: sqlite3.Connection) -> None:
    """Have every row that is written on this connection get its digest, whatever writes it.

    The triggers are the connection's own: one that stands in the file could call no function of ours.
    """
    connection.create_function(FUNCTION, -1, of_row, deterministic=True)
    for table, columns in _digested(connection):
        reckoned = f"{FUNCTION}({_listed(columns, 'NEW.')})"
        update = f"UPDATE {table} SET {COLUMN} = {reckoned} WHERE {_is_new(connection, table)}"
        for name, event in (
            (f"put_into_{table}", f"INSERT ON main.{table} WHEN NEW.{COLUMN} IS NULL"),
            (f"changed_in_{table}", f"UPDATE OF {_listed(columns)} ON main.{table}"),
        ):
            connection.execute(f"CREATE TEMP TRIGGER IF NOT EXISTS {name} AFTER {event} BEGIN {update}; END")


def of_given(columns: Sequence[str], given: Sequence[str]) -> str:
    """SQL for the digest of a row by the numbers of its given values; "" where not all of them are given."""
    own = [name for name in columns if name != COLUMN]
    if COLUMN not in columns or not set(own) <= set(given):
        return ""
    return f"{FUNCTION}({', '.join(f'?{given.index(name) + 1}' for name in own)})"


def give_all(connection: sqlite3.Connection) -> None:
    """Give every row its digest: those of a book that had none, or whose columns are others now."""
    connection.create_function(FUNCTION, -1, of_row, deterministic=True)
    for table, columns in _digested(connection):
        connection.execute(f"UPDATE {table} SET {COLUMN} = {FUNCTION}({_listed(columns)})")


def damage(connection: sqlite3.Connection, plan: str) -> list[str]:
    """What is damaged, in words; nothing where every page, table and row is as it was written.

    Args:
        connection: to the book.
        plan: the SQL that made its tables.
    """
    before = connection.text_factory
    connection.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        return [*_of_plan(connection, plan)] or [*_of_pages(connection), *_of_rows(connection)]
    except (sqlite3.Error, UnicodeDecodeError) as error:
        return [f"the database is damaged: {error}"]
    finally:
        connection.text_factory = before


def _of_plan(connection: sqlite3.Connection, plan: str) -> Iterator[str]:
    """How its tables, and the rules they are written by, differ from those it was made with."""
    with closing(sqlite3.connect(":memory:")) as made:
        made.executescript(plan)
        planned = set(made.execute(PLAN))
    for kind, name, *_ in sorted(planned ^ {*connection.execute(PLAN)}, key=str)[:1]:
        yield f"the plan of its tables is damaged, at {kind} {name}"


def _of_pages(connection: sqlite3.Connection) -> Iterator[str]:
    for (fault,) in connection.execute("PRAGMA integrity_check"):
        if fault != "ok":
            yield f"the database is damaged: {fault}"
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of table {table} refers to a row of {parent} that is not there"


def _of_rows(connection: sqlite3.Connection) -> Iterator[str]:
    for table, columns in _digested(connection):
        rows = connection.execute(f"SELECT {_listed(columns)}, {COLUMN} FROM {table}")
        changed = [row for row in rows if of_row(*row[:-1]) != row[-1]]
        if changed:
            values = dict(zip(columns, changed[0], strict=False))
            first = ", ".join(f"{name} {values[name]!r}" for name in _key(connection, table))
            yield f"table {table} has {len(changed):,} rows that are not as they were written; the first: {first}"


def _digested(connection: sqlite3.Connection) -> list[tuple[str, list[str]]]:
    """The tables that have digests, with their other columns."""
    tables = connection.execute("SELECT name FROM main.sqlite_schema WHERE type = 'table'").fetchall()
    columns = {name: [row[1] for row in connection.execute(f"PRAGMA main.table_info({name})")] for (name,) in tables}
    return [
        (name, [column for column in names if column != COLUMN]) for name, names in columns.items() if COLUMN in names
    ]


def _key(connection: sqlite3.Connection, table: str) -> list[str]:
    return [row[1] for row in connection.execute(f"PRAGMA main.table_info({table})") if row[5]]


def _is_new(connection: sqlite3.Connection, table: str) -> str:
    return " AND ".join(f'"{name}" = NEW."{name}"' for name in _key(connection, table))


def _listed(columns: list[str], before: str = "") -> str:
    return ", ".join(f'{before}"{name}"' for name in columns)
