"""A month's figures as they stood when it was closed, and what later documents changed of them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pandas as pd

from auditor.book.ledger import reading_out
from auditor.book.ledger.check import UNRECKONED
from auditor.book.ledger.opening import Book, BookError
from auditor.book.ledger.taking_in import TAKEN_AT
from auditor.core.schemas import CORRECTIONS, conform

FREEZE_COUNTED = """
INSERT INTO closed_counted (month, statement, file, lines, billed_cents)
SELECT month, statement, file, lines, billed_cents FROM counted WHERE month = ?
"""
FREEZE_FINDINGS = """
INSERT INTO closed_finding (month, statement, about, difference_cents, disputed_cents, cause)
SELECT f.month, f.statement, f.about, f.difference_cents, coalesce(d.amount_cents, 0), f.cause
FROM finding f LEFT JOIN dispute d USING (statement, about) WHERE f.month = ?
"""

BILLED = """
SELECT month, statement, file, coalesce(then_cents, 0), coalesce(now_cents, 0) FROM (
    SELECT c.month, c.statement, c.file, c.billed_cents AS then_cents, n.billed_cents AS now_cents
    FROM closed_counted c LEFT JOIN counted n USING (month, statement, file)
    UNION ALL
    SELECT n.month, n.statement, n.file, NULL, n.billed_cents
    FROM counted n JOIN closed m USING (month) LEFT JOIN closed_counted c USING (month, statement, file)
    WHERE c.month IS NULL
) WHERE coalesce(then_cents, 0) <> coalesce(now_cents, 0) ORDER BY month, statement, file
"""

NOW = """
SELECT f.month, f.statement, f.about, f.difference_cents AS difference, coalesce(d.amount_cents, 0) AS disputed
FROM finding f LEFT JOIN dispute d USING (statement, about)
"""
FOUND = f"""
SELECT month, statement, about, then_difference, difference, then_disputed, disputed FROM (
    SELECT c.month, c.statement, c.about, c.difference_cents AS then_difference, n.difference,
        c.disputed_cents AS then_disputed, n.disputed
    FROM closed_finding c LEFT JOIN ({NOW}) n USING (month, statement, about)
    UNION ALL
    SELECT n.month, n.statement, n.about, NULL, n.difference, NULL, n.disputed
    FROM ({NOW}) n JOIN closed m USING (month) LEFT JOIN closed_finding c USING (month, statement, about)
    WHERE c.month IS NULL
) WHERE coalesce(then_difference, 0) <> coalesce(difference, 0) OR coalesce(then_disputed, 0) <> coalesce(disputed, 0)
ORDER BY month, statement, about
"""

NUMBER = "upper(replace(replace(tracking, ' ', ''), '-', ''))"
MENTIONS = " UNION ".join(
    f"SELECT file FROM {name} WHERE {NUMBER} = :about" for name in ("shipments", "lines", "notices")
)
CAUSES = f"""
SELECT file FROM file WHERE changed_at > (SELECT closed_at FROM closed WHERE month = :month) AND (
    file IN ({MENTIONS}) OR file IN (SELECT file FROM lines WHERE statement = :statement)
    OR :about = '' OR file IN (SELECT file FROM content WHERE name IN ('rates', 'fees', 'fuel')))
ORDER BY file NOT IN ({MENTIONS}), file LIMIT 1
"""


def months(book: Book) -> pd.DataFrame:
    """The closed months with their figures: month, closed_at, lines, billed_cents, difference_cents, disputed_cents."""
    query = (
        "SELECT month, closed_at, (SELECT coalesce(sum(lines), 0) FROM closed_counted c WHERE c.month = m.month), "
        "(SELECT coalesce(sum(billed_cents), 0) FROM closed_counted c WHERE c.month = m.month), "
        "(SELECT coalesce(sum(difference_cents), 0) FROM closed_finding c WHERE c.month = m.month), "
        "(SELECT coalesce(sum(disputed_cents), 0) FROM closed_finding c WHERE c.month = m.month) "
        "FROM closed m ORDER BY month"
    )
    columns = ["month", "closed_at", "lines", "billed_cents", "difference_cents", "disputed_cents"]
    with book.reading() as connection:
        return pd.DataFrame(connection.execute(query).fetchall(), columns=columns)


def close(book: Book, month: str) -> None:
    """Freeze a month's figures, of the parcels shipped in it.

    Args:
        book: the book.
        month: as '2026-03'.

    Raises:
        BookError: it is closed already, or there is nothing of that month in the book.
    """
    with book.writing() as connection:
        if when := connection.execute("SELECT closed_at FROM closed WHERE month = ?", (month,)).fetchone():
            raise BookError(f"{month} was closed on {when[0][:10]} already. Its figures stay as they were then.")
        rules = connection.execute(
            "SELECT group_concat(DISTINCT rules) FROM statement JOIN counted USING (statement) WHERE month = ?",
            (month,),
        ).fetchone()[0]
        if rules is None:
            known = [row[0] for row in connection.execute("SELECT DISTINCT month FROM counted ORDER BY month")]
            raise BookError(
                f"There is nothing of {month} in the book. It has {', '.join(known) or 'no month yet'}. Months are "
                "those in which parcels were shipped."
            )
        if waiting := [name for (name,) in connection.execute(UNRECKONED)]:
            raise BookError(
                f"{month} cannot be closed yet: {', '.join(waiting)} was taken in but not reckoned. Run 'auditor "
                "reconcile --all' first."
            )
        now = datetime.now(UTC).strftime(TAKEN_AT)
        connection.execute("INSERT INTO closed (month, closed_at, rules) VALUES (?, ?, ?)", (month, now, rules))
        connection.execute(FREEZE_COUNTED, (month,))
        connection.execute(FREEZE_FINDINGS, (month,))


def corrections(book: Book) -> pd.DataFrame:
    """What is otherwise now than when its month was closed (CORRECTIONS), each with the file that caused it."""
    names = {file.file: file.name for file in reading_out.files(book)}
    with book.reading() as connection:
        billed = connection.execute(BILLED).fetchall()
        found = [
            (
                *row,
                (connection.execute(CAUSES, dict(zip(("month", "statement", "about"), row, strict=False))).fetchone()),
            )
            for row in connection.execute(FOUND).fetchall()
        ]
    rows: list[dict[str, Any]] = [
        _row((month, statement, "all its lines"), "billed", then, now, names[file])
        for month, statement, file, then, now in billed
    ]
    for month, statement, about, *figures, cause in found:
        rows += _of_finding((month, statement, about), figures, names[cause[0]] if cause else None)
    return conform(pd.DataFrame(rows, columns=[column.name for column in CORRECTIONS]), CORRECTIONS)


Key = tuple[str, str, str]
"""Month, statement, and what a finding is about."""


def _of_finding(key: Key, figures: list[int | None], file: str | None) -> Iterator[dict[str, Any]]:
    then_difference, difference, then_disputed, disputed = (figure or 0 for figure in figures)
    if then_difference != difference:
        yield _row(key, "difference", then_difference, difference, file)
    if then_disputed != disputed:
        yield _row(key, "disputed", then_disputed, disputed, file)


def _row(key: Key, figure: str, then: int, now: int, file: str | None) -> dict[str, Any]:
    return dict(zip(("month", "statement", "about"), key, strict=True)) | {
        "figure": figure,
        "closed_cents": then,
        "now_cents": now,
        "difference_cents": now - then,
        "source_file": file,
    }
