"""Which recorded shipment a billed number belongs to, with a reason and a confidence."""

from __future__ import annotations

import pandas as pd

from auditor.tables import Column, Schema, conform

MATCHES: Schema = (
    Column("tracking", "str", "a distinct number as billed"),
    Column("shipment", "Int64", "row of the shipments table; missing when none fits"),
    Column("match", "str", "exact, spacing, reference or none"),
    Column("confidence", "Float64", "chance that the join is right, 0 to 1"),
)

CONFIDENCE = {"exact": 0.999, "spacing": 0.995, "reference": 0.9}
SHARED = 0.5
"""Confidence where two shipments carry the number: one of the two."""


def match(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Join each distinct billed number to at most one shipment.

    The number as it stands comes first, then the number without blanks, hyphens and case, then the order reference of
    a shipment that no number has found.

    Args:
        lines: LINES.
        shipments: SHIPMENTS.

    Returns:
        MATCHES, a row for each distinct number, sorted by it.
    """
    billed = lines.dropna(subset="tracking").drop_duplicates("tracking").sort_values("tracking", ignore_index=True)
    found = pd.DataFrame({"tracking": billed["tracking"]})
    found["shipment"] = pd.Series(pd.NA, index=found.index, dtype="Int64")
    found["match"] = "none"
    _join(found, billed["tracking"], shipments["tracking"], "exact")
    _join(found, bare(billed["tracking"]), bare(shipments["tracking"]), "spacing")
    left = shipments["order"].mask(shipments.index.isin(found["shipment"].dropna()))
    _join(found, billed["order"], left[~left.duplicated(keep=False)].dropna(), "reference")
    found["confidence"] = found["match"].map(CONFIDENCE).astype("Float64")
    twice = bare(shipments["tracking"]).duplicated(keep=False)
    found.loc[found["shipment"].isin(shipments.index[twice]), "confidence"] = SHARED
    return conform(found, MATCHES)


def _join(found: pd.DataFrame, billed: pd.Series, recorded: pd.Series, how: str) -> None:
    """Fill the numbers still without a shipment whose key is recorded, the first time it is."""
    first = recorded[~recorded.duplicated()].dropna()
    rows = pd.Series(first.index, index=first.to_numpy(dtype=object), dtype="Int64")
    open_ = found["shipment"].isna() & billed.notna()
    hit = billed[open_].map(rows).dropna().astype("Int64")
    if how == "reference":
        hit = hit[~hit.duplicated(keep=False)]
    found.loc[hit.index, "shipment"] = hit
    found.loc[hit.index, "match"] = how


def bare(tracking: pd.Series) -> pd.Series:
    """Tracking numbers as they are compared: without blanks and hyphens, in capitals."""
    return tracking.str.replace(r"[\s-]", "", regex=True).str.upper()
