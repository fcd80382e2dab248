"""The sums that must hold after every write. What is checked row by row stands in the steps as CHECK."""

from __future__ import annotations

import sqlite3

from auditor.core.money import dollars

MOST_TOLD = 5

DISPUTED = """
SELECT s.statement, s.disputed_cents, coalesce(sum(d.amount_cents), 0)
FROM statement s LEFT JOIN dispute d USING (statement)
GROUP BY s.statement HAVING s.disputed_cents <> coalesce(sum(d.amount_cents), 0)
"""

COUNTED = """
SELECT s.statement, s.billed_cents, coalesce(sum(c.billed_cents), 0)
FROM statement s LEFT JOIN counted c USING (statement)
GROUP BY s.statement HAVING s.billed_cents <> coalesce(sum(c.billed_cents), 0)
    OR s.lines <> coalesce(sum(c.lines), 0)
"""

LINES = """
SELECT c.statement, c.billed, coalesce(sum(l.amount_cents), 0)
FROM (SELECT statement, file, sum(billed_cents) AS billed FROM counted GROUP BY statement, file) c
LEFT JOIN lines l ON l.file = c.file AND coalesce(l.statement, '') = c.statement
GROUP BY c.statement, c.file HAVING c.billed <> coalesce(sum(l.amount_cents), 0)
"""

HISTORY = """
SELECT d.statement, d.amount_cents, e.amount_cents
FROM dispute d LEFT JOIN event e ON e.number = (
    SELECT max(number) FROM event
    WHERE statement = d.statement AND about = d.about AND what IN ('opened', 'changed'))
WHERE d.amount_cents IS NOT e.amount_cents
"""

SUMS = (
    (DISPUTED, "statement {}: {} is disputed, but its disputes come to {}"),
    (COUNTED, "statement {}: {} is billed, but its files come to {}"),
    (HISTORY, "a dispute of statement {}: it is about {}, but its history says {}"),
)
DEEP_SUMS = (*SUMS, (LINES, "statement {}: {} is billed in one of its files, but the lines there come to {}"))


def broken(connection: sqlite3.Connection, *, deep: bool = False) -> list[str]:
    """The sums that do not hold, in words; with `deep` also those over every line, which takes longer."""
    return [
        words.format(
            name or "without a number", *("nothing" if amount is None else dollars(amount) for amount in cents)
        )
        for query, words in (DEEP_SUMS if deep else SUMS)
        for name, *cents in connection.execute(f"{query} LIMIT {MOST_TOLD}")
    ]
