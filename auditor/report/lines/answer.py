"""The answer of a run for a terminal: half a screen. The report has all of it."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.audit import Audit
from auditor.core.money import dollars
from auditor.intake.twice import SAME_LINES
from auditor.report import prepaid
from auditor.report.groups import by_cause
from auditor.report.plain import Row, plain_rows
from auditor.report.wording import counted, over

MOST_CAUSES = 6
MOST_STATEMENTS = 3
MOST_LABELS = 3
"""So many are named each; of the rest it is said how many there are, and what they come to."""


def answer(audit: Audit, *, in_book: bool) -> Iterator[str]:
    """What was billed, whether it adds up, what it was over and why, and what is missing.

    Args:
        audit: of the files given.
        in_book: whether they were taken into a book, where a file is set aside.
    """
    yield from _bought(audit) if audit.is_prepaid else _billed(audit)
    yield from _ties(plain_rows(audit.statements), "paper" if audit.is_prepaid else "statement")
    yield from _unproven(plain_rows(audit.statements))
    yield from _replaced(plain_rows(audit.replaced), in_book=in_book)
    yield from _causes(by_cause(audit.findings[audit.findings["cause"].notna()]))
    if count := len(audit.never_billed):
        named = [*audit.never_billed["tracking"].head(MOST_LABELS)]
        more = f" and {count - MOST_LABELS:,} more" if count > MOST_LABELS else ""
        yield f"{counted(count, 'label')} never billed: {', '.join(named)}{more}."


def _billed(audit: Audit) -> Iterator[str]:
    """What statements bill, and how that hangs together."""
    lines, statements = counted(len(audit.lines), "line"), counted(len(audit.statements), "statement")
    yield f"{counted(len(audit.shipments), 'recorded parcel')}, {lines} of {statements}."
    yield (
        f"Billed {dollars(audit.billed_cents)} = {dollars(audit.expected_cents)} expected "
        f"{over(audit.difference_cents)}{_not_audited(audit)}."
    )
    yield f"Worth disputing: {dollars(audit.disputable_cents)}."


def _bought(audit: Audit) -> Iterator[str]:
    """What labels cost that were paid when they were bought, and what corrections took."""
    yield from prepaid.lede(audit)
    yield from prepaid.balance(audit)
    if audit.not_audited_cents:
        yield f"{dollars(audit.not_audited_cents)} of it was not audited (the report says why)."


def _not_audited(audit: Audit) -> str:
    cents = audit.not_audited_cents
    return f" + {dollars(cents)} not audited (the report says why)" if cents else ""


def _ties(statements: list[Row], noun: str) -> Iterator[str]:
    """Each statement that does not add up; of the others how many do, and how many statements print no total."""
    untied = [row for row in statements if row["ties"] is False]
    yield from (_untied(row) for row in untied[:MOST_STATEMENTS])
    if len(untied) > MOST_STATEMENTS:
        yield f"{counted(len(untied) - MOST_STATEMENTS, 'more statement')} DO NOT TIE OUT; the report names them."
    for ties, singular, plural in (
        (True, "ties out to its own total", "tie out to their own totals"),
        (None, "prints no total to hold it against", "print no total to hold them against"),
    ):
        if noun == "paper" and ties is None:
            continue
        if named := [str(row["statement"]) for row in statements if row["ties"] is ties]:
            more = f" and {len(named) - MOST_STATEMENTS:,} more" if len(named) > MOST_STATEMENTS else ""
            verb = singular if len(named) == 1 else plural
            yield f"{counted(len(named), noun)} {verb}: {', '.join(named[:MOST_STATEMENTS])}{more}."


def _unproven(statements: list[Row]) -> Iterator[str]:
    """Each statement whose reading is doubtful, and what is not done about it."""
    doubtful = [row for row in statements if row["reading"] == "doubtful"]
    for row in doubtful[:MOST_STATEMENTS]:
        yield (
            f"How statement {row['statement']} was read is DOUBTFUL, so nothing on it is called worth disputing: "
            f"{row['proof']}."
        )
    if len(doubtful) > MOST_STATEMENTS:
        yield f"{counted(len(doubtful) - MOST_STATEMENTS, 'more statement')} read doubtfully; the report names them."


def _untied(row: Row) -> str:
    total = dollars(row["lines_total_cents"])
    if not row["difference_cents"]:
        return f"Statement {row['statement']} DOES NOT TIE OUT: a line of it could not be read."
    printed, apart = (dollars(row[key]) for key in ("printed_total_cents", "difference_cents"))
    return (
        f"Statement {row['statement']} DOES NOT TIE OUT: its lines come to {total}, it prints {printed}; {apart} apart."
    )


def _replaced(replaced: list[Row], *, in_book: bool) -> Iterator[str]:
    """Each statement that was issued again, with what is counted in its place, and the way out if that is wrong."""
    again = [row for row in replaced if row["reason"] != SAME_LINES]
    for row in again[:MOST_STATEMENTS]:
        was, now = dollars(row["billed_cents"]), dollars(row["now_cents"])
        file = row["by_file"]
        out = f"auditor book set-aside '{file}'" if in_book else f"leave {file} out and run again"
        yield (
            f"Statement {row['statement']} in {row['source_file']} ({was}) is not counted: {file} is in its "
            f"place ({now}; {row['reason']}). If that is wrong: {out}."
        )
    if len(again) > MOST_STATEMENTS:
        yield f"{counted(len(again) - MOST_STATEMENTS, 'more statement')} issued again, counted once: see the report."


def _causes(causes: pd.DataFrame) -> Iterator[str]:
    """The largest causes as columns, and the others in one row, so that the columns add up to the sums above."""
    if causes.empty:
        return
    rows = [(row["name"], row["count"], row["amount_cents"], row["disputable_cents"]) for row in plain_rows(causes)]
    rest = rows[MOST_CAUSES:]
    shown = rows[:MOST_CAUSES] if len(rest) > 1 else rows
    if len(rest) > 1:
        shown.append((f"{len(rest)} other causes", *(sum(row[at] for row in rest) for at in (1, 2, 3))))
    widest = max(len(name) for name, *_ in shown)
    yield f"  {'cause':<{widest}}  {'findings':>8}  {'over expected':>13}  {'worth disputing':>15}"
    for name, count, difference, worth in shown:
        yield f"  {name:<{widest}}  {count:>8,}  {dollars(difference):>13}  {dollars(worth):>15}"
