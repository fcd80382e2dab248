"""The sums of a report by their own names, and how they hang together.

"Over expected" is all that was billed above the expected charges. A part of it are corrections, as the carrier made
them; another part is what counts in the study of cartons.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from auditor.audit import Audit
from auditor.core.money import dollars
from auditor.report import wording

Part = tuple[int, str]
"""Cents, and what they are."""

OVER = "over expected"
CORRECTED = "corrections less credits"


@dataclass(frozen=True)
class Sum:
    """A sum by its name, and the parts that it is made of, to the cent."""

    name: str
    parts: tuple[Part, ...]

    @property
    def cents(self) -> int:
        """What the parts come to."""
        return sum(cents for cents, _ in self.parts)

    @property
    def words(self) -> str:
        """'$998.01 over expected in the study of cartons = $1,084.33 over expected − $62.64 of parcels not yours'."""
        first, *others = [part for part in self.parts if part[0]] or self.parts[:1]
        rest = (f" {'−' if cents < 0 else '+'} {dollars(abs(cents))} {what}" for cents, what in others)
        return f"{dollars(self.cents)} {self.name} = {dollars(first[0])} {first[1]}{''.join(rest)}."


def sums(audit: Audit, paid_for_cents: int | None) -> Iterator[Sum]:
    """The sums of the report, each with the parts it is made of.

    Args:
        audit: the run.
        paid_for_cents: corrections less credits of the parcels that buyers paid for, as the report shows them; None
            where it shows none.
    """
    yield _by_line(audit)
    if len(audit.habits.by_month):
        yield _studied(audit)
    if paid_for_cents is not None:
        yield _paid_for(audit, paid_for_cents)


def _by_line(audit: Audit) -> Sum:
    """What is over expected, by the lines that it stands on; of lines not audited nothing is said."""
    cents = {state: _of_lines(audit.lines[~_not_audited(audit)], state) for state in ("adjustment", "credit")}
    first = audit.difference_cents - sum(cents.values())
    parts = (
        (cents["adjustment"], "corrections of labels"),
        (cents["credit"], "credits"),
        (first, "in first charges (labels, fees, parcels not in your records)"),
    )
    return Sum(OVER, parts)


def _not_audited(audit: Audit) -> pd.Series:
    """Whether each line is about a parcel that was not priced, or that lies outside the records."""
    unpriced = audit.findings.loc[audit.findings["expected_cents"].isna(), "finding"]
    outside = audit.lines["finding"].isna() & audit.lines["shipment"].isna() & audit.lines["tracking"].notna()
    return audit.lines["finding"].isin(unpriced) | outside


def _of_lines(lines: pd.DataFrame, state: str) -> int:
    return int(lines.loc[lines["state"] == state, "amount_cents"].sum())


def _studied(audit: Audit) -> Sum:
    """What counts in the study of cartons: not every finding is about a parcel that was sent, billed and settled."""
    months = audit.habits.by_month
    studied = int(months[list(wording.SHARES)].sum().sum())
    named = _not_studied(audit.findings)
    rest = studied - audit.difference_cents - sum(cents for cents, _ in named)
    parts = ((audit.difference_cents, OVER), *named, (rest, "of parcels left out of the study"))
    return Sum(f"{OVER} in the study of cartons", parts)


def _not_studied(findings: pd.DataFrame) -> tuple[Part, ...]:
    """Cents to be taken off, by why the study leaves such findings out."""
    unknown, voided = (findings["cause"].fillna("") == cause for cause in ("unknown parcel", "voided label"))
    kinds = {
        "of parcels not in your records": unknown,
        "of labels you cancelled": voided,
        "of charges about no parcel": findings["tracking"].isna() & ~unknown & ~voided,
    }
    return tuple((-int(findings.loc[rows, "difference_cents"].sum()), words) for words, rows in kinds.items())


def _paid_for(audit: Audit, cents: int) -> Sum:
    corrections, credited = (_of_lines(audit.lines, state) for state in ("adjustment", "credit"))
    parts = (
        (corrections, "corrections of labels"),
        (credited, "credits"),
        (cents - corrections - credited, "of other parcels, such as cancelled ones"),
    )
    return Sum(f"{CORRECTED} of parcels that buyers paid for", parts)
