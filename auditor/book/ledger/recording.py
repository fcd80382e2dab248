"""What was reckoned: statements, findings, and the disputes with their history."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pandas as pd

from auditor.book.ledger.documents import digest_of, keep
from auditor.book.ledger.opening import Book, BookError, plainly
from auditor.book.ledger.reading_out import table
from auditor.book.ledger.taking_in import TAKEN_AT, columns_of, insert
from auditor.core.schemas import DATE, DISPUTES, EVENTS, FINDINGS, TEXT, WHOLE, Column, Schema, conform

STATEMENT: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "its date"),
    Column("rules", TEXT, "the tariffs it was reckoned by"),
    Column("lines", WHOLE, "number of lines counted"),
    Column("billed_cents", WHOLE, "their sum"),
    Column("accepted_cents", WHOLE, "what of it is not disputed"),
    Column("disputed_cents", WHOLE, "what of it is or was disputed"),
)
COUNTED: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("file", WHOLE, "the file whose lines count"),
    Column("month", TEXT, "the month of shipping"),
    Column("lines", WHOLE, "number of lines"),
    Column("billed_cents", WHOLE, "their sum"),
)
REPLACED: Schema = (
    Column("statement", TEXT, "number of a statement that is not counted"),
    Column("file", WHOLE, "its file"),
    Column("by_statement", TEXT, "number of the one in its place"),
    Column("by_file", WHOLE, "the file of that"),
    Column("billed_cents", WHOLE, "sum of the lines that are not counted"),
    Column("now_cents", WHOLE, "sum of those in their place"),
    Column("reason", TEXT, "what that was told by"),
)
FINDING: Schema = (
    Column("about", TEXT, "what it is about"),
    Column("month", TEXT, "the month of shipping"),
    Column("worth_cents", WHOLE, "what of its difference is worth disputing"),
    *(column for column in FINDINGS if column.name not in {"finding", "disputable_cents", "strong_cents"}),
)
BALANCE: Schema = tuple(
    column
    for column in DISPUTES
    if column.name in {"statement", "about", "state"}
    or column.name in {"amount_cents", "open_cents", "credited_cents", "refused_cents", "given_up_cents"}
)


class ChangedMeanwhileError(BookError):
    """Another run wrote to the book between reading it out and recording; what was reckoned is to be reckoned again."""


@dataclass(frozen=True)
class Reckoned:
    """What a run reckoned, ready to be written: STATEMENT, COUNTED, FINDING, new EVENTS, all BALANCEs, all REPLACED.

    `gone`: statements of which nothing is counted any more, as others are in their place.
    """

    statements: pd.DataFrame
    counted: pd.DataFrame
    findings: pd.DataFrame
    events: pd.DataFrame
    balances: pd.DataFrame
    replaced: pd.DataFrame
    gone: frozenset[str] = frozenset()


def history(connection: sqlite3.Connection) -> pd.DataFrame:
    """All that happened to disputes (EVENTS), in order."""
    return table(connection, "SELECT * FROM event ORDER BY number", EVENTS)


def findings(connection: sqlite3.Connection) -> pd.DataFrame:
    """The findings as last reckoned (FINDING)."""
    return table(connection, "SELECT * FROM finding ORDER BY statement, about", FINDING)


def statements(connection: sqlite3.Connection) -> pd.DataFrame:
    """The statements as last reckoned (STATEMENT)."""
    return table(connection, "SELECT * FROM statement ORDER BY statement", STATEMENT)


def replaced(connection: sqlite3.Connection) -> pd.DataFrame:
    """The statements that others are in the place of, as last reckoned (REPLACED)."""
    return table(connection, "SELECT * FROM replaced ORDER BY statement, file", REPLACED)


def record(book: Book, reckoned: Reckoned, *, changes: int) -> None:
    """Write what a run reckoned in place of what was reckoned before of the same statements; add to the history.

    When nothing is different, nothing is written.

    Args:
        book: the book.
        reckoned: all of it.
        changes: `book.changes` from before it was read out.

    Raises:
        ChangedMeanwhileError: another process has written to the book since.
        BookError: it would not add up, or cannot be written.
    """
    with book.writing() as connection:
        if int(connection.execute("PRAGMA data_version").fetchone()[0]) != changes:
            raise ChangedMeanwhileError(f"The book {book.path} was changed by another run. Run again.")
        if _same(connection, reckoned):
            return
        for name in ("finding", "counted", "statement"):
            connection.executemany(
                f"DELETE FROM {name} WHERE statement = ?",
                [(statement,) for statement in (*reckoned.statements["statement"], *reckoned.gone)],
            )
        connection.execute("DELETE FROM replaced")
        for name, rows, schema in (
            ("statement", reckoned.statements, STATEMENT),
            ("counted", reckoned.counted, COUNTED),
            ("finding", reckoned.findings, FINDING),
            ("replaced", reckoned.replaced, REPLACED),
        ):
            known = columns_of(connection, name)
            insert(connection, name, {}, rows, tuple(column for column in schema if column.name in known))
        write_disputes(connection, reckoned.events, reckoned.balances)


def write_disputes(connection: sqlite3.Connection, events: pd.DataFrame, balances: pd.DataFrame) -> None:
    """Add events to the history, and put down how the disputes stand now."""
    known = "statement, about, state, amount_cents, open_cents, credited_cents, refused_cents, given_up_cents"
    update = ", ".join(f"{name} = excluded.{name}" for name in known.split(", ")[2:])
    rows = balances[known.split(", ")].astype(object).to_numpy().tolist()
    connection.executemany(
        f"INSERT INTO dispute ({known}) VALUES (?, ?, ?, ?, ?, ?, ?, ?) "
        f"ON CONFLICT (statement, about) DO UPDATE SET {update}",
        rows,
    )
    insert(connection, "event", {}, events, EVENTS)


def write_answer(
    connection: sqlite3.Connection, finding: Mapping[str, Any], events: pd.DataFrame, balances: pd.DataFrame, why: str
) -> None:
    """Put down what an answer of the seller's makes of a finding that was a question: its dispute, and why.

    Args:
        connection: to write on.
        finding: its statement, what it is about, and `worth_cents` before the answer.
        events: EVENTS to add.
        balances: how all disputes stand then.
        why: the reason to dispute it.
    """
    key = finding["statement"], finding["about"]
    its = balances[(balances["statement"] == key[0]) & (balances["about"] == key[1])]
    amount = "SELECT coalesce(sum(amount_cents), 0) FROM dispute WHERE statement = ?"
    before = connection.execute(amount, key[:1]).fetchone()[0]
    write_disputes(connection, events, balances)
    more = connection.execute(amount, key[:1]).fetchone()[0] - before
    connection.execute(
        "UPDATE finding SET worth_cents = ?, dispute = 'arguable', dispute_reason = ? "
        "WHERE statement = ? AND about = ?",
        (int(its["amount_cents"].iloc[0]), why, *key),
    )
    connection.execute(
        "UPDATE statement SET disputed_cents = disputed_cents + ?, accepted_cents = accepted_cents - ? "
        "WHERE statement = ?",
        (more, more, key[0]),
    )


def _same(connection: sqlite3.Connection, reckoned: Reckoned) -> bool:
    """Whether the book says just that already."""
    if len(reckoned.events):
        return False
    numbers = reckoned.statements["statement"]
    if reckoned.gone & set(statements(connection)["statement"]):
        return False
    if not _alike(reckoned.replaced, replaced(connection)):
        return False
    before = (
        (reckoned.statements, statements(connection)),
        (reckoned.findings, findings(connection)),
        (reckoned.counted, table(connection, "SELECT * FROM counted", COUNTED)),
    )
    return all(_alike(now, then[then["statement"].isin(numbers)]) for now, then in before)


def _alike(left_table: pd.DataFrame, right_table: pd.DataFrame) -> bool:
    """Whether two tables have the same rows, in any order."""
    key = [name for name in ("statement", "about", "file", "month") if name in left_table]
    left, right = (frame.sort_values(key).reset_index(drop=True) for frame in (left_table, right_table))
    return bool(left.equals(right))


def disputes(book: Book) -> pd.DataFrame:
    """All disputes with the findings they are about, without what follows from the history alone (DISPUTES)."""
    query = (
        "SELECT d.*, s.statement_on, f.tracking, f.shipment_tracking, f.charges, f.cause, f.dispute, f.dispute_reason, "
        "f.dispute_by, f.worth_cents FROM dispute d LEFT JOIN finding f USING (statement, about) "
        "LEFT JOIN statement s USING (statement) ORDER BY d.statement, d.about"
    )
    with book.reading() as connection:
        return conform(table(connection, query, DISPUTES), DISPUTES)


def note_rules(book: Book, used: Sequence[tuple[str, str, Path | None]]) -> None:
    """Put down the tariffs used, as (name, version, the shop's own file); own files are kept beside the book."""
    now = datetime.now(UTC).strftime(TAKEN_AT)
    rows = []
    for name, version, path in used:
        digest = digest_of(path) if path else ""
        if path:
            with plainly(book.path):
                keep(book.documents, path, digest, ".toml")
        rows.append((name, version, digest, now))
    with book.writing() as connection:
        connection.executemany("INSERT OR IGNORE INTO rules (name, version, digest, used_at) VALUES (?, ?, ?, ?)", rows)
