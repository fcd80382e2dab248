"""Which recorded shipment a billed number belongs to, with a reason in words and a confidence that means something.

The number as it stands comes first, then the number without blanks, hyphens and case. What is left is held against the
shipments that no number has found: those whose number could be misread as this one (`nearby`), or that have the same
order reference, weighed by what else is printed (`evidence`). One shipment is given to one number. Where two could be
meant, neither is picked.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from auditor.match.evidence import AGREES, Neighbours, in_words, neighbours, weights
from auditor.match.nearby import nearby
from auditor.match.pairing import paired
from auditor.tables import Column, Schema, conform, rows
from auditor.units import NM_PER_INCH

MATCHES: Schema = (
    Column("tracking", "str", "a distinct number as billed"),
    Column("shipment", "Int64", "row of the shipments table; missing when none fits"),
    Column("match", "str", "exact, spacing, misread, reference or none"),
    Column("confidence", "Float64", "chance that the join is right, 0 to 1"),
    Column("match_reason", "str", "how the two were joined, or which could be meant, in words"),
)

SAME = {
    "exact": (0.9999, "the number is the same"),
    "spacing": (0.999, "the number is the same but for blanks, hyphens or case"),
}
"""Confidence and reason of numbers that are the same."""

NOTHING_LIKE_IT = "no recorded number is like it"

SHARED = 0.5
"""Confidence where two shipments carry the number and nothing else tells them apart: one of the two."""

SIDES = ("length_nm", "width_nm", "height_nm")

NEAR_DAYS = pd.Timedelta(days=7)
"""So far may a billed ship date lie outside the recorded ones."""

SURE = 0.8
"""A join less likely than this is not made: it is told as what could be meant."""


def match(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Join each distinct billed number to at most one shipment, and each shipment left to at most one number.

    Args:
        lines: LINES (or NOTICES with the columns it has).
        shipments: SHIPMENTS.

    Returns:
        MATCHES, a row for each distinct number, sorted by it. The order of the lines and shipments does not matter.
    """
    tracking = lines["tracking"].dropna().drop_duplicates().sort_values(ignore_index=True)
    found = _same(tracking, shipments["tracking"], "exact").reindex(tracking.index)
    left = tracking[found["shipment"].isna()]
    if len(left):
        found = _added(found, _same(bare(left), bare(shipments["tracking"]), "spacing"))
        left = tracking[found["shipment"].isna()]
    if len(left) and len(shipments):
        found = _added(found, _misread(left, found["shipment"], lines, shipments))
    doubtful = found["shipment"].isin(shipments.index[shipments["tracking"].duplicated(keep=False)])
    found.loc[doubtful, "confidence"] = SHARED
    found.loc[doubtful, "match_reason"] = "two recorded shipments have this number; the first was taken"
    found["match"] = found["match"].fillna("none")
    found["match_reason"] = found["match_reason"].fillna(NOTHING_LIKE_IT)
    return conform(found.assign(tracking=tracking), MATCHES)


def _added(found: pd.DataFrame, more: pd.DataFrame) -> pd.DataFrame:
    """The joins with more of them in the rows that had none."""
    return found.where(found["shipment"].notna(), more.reindex(found.index))


def bare(tracking: pd.Series) -> pd.Series:
    """Tracking numbers as they are compared: without blanks and hyphens, in capitals."""
    for mark in BLANKS:
        tracking = tracking.str.replace(mark, "", regex=False)
    return tracking.str.upper()


BLANKS = (" ", "-", "\t", "\u00a0", "\u2007", "\u2009", "\u202f", "\u2010", "\u2011")
"""Blanks and hyphens of every width that people and printers use."""


def _same(billed: pd.Series, recorded: pd.Series, how: str) -> pd.DataFrame:
    """The numbers that stand among the recorded ones; of a number recorded twice the first row is taken."""
    first = recorded[~recorded.duplicated()].dropna()
    hit = billed.map(pd.Series(first.index, index=pd.Index(first), dtype="Int64")).dropna()
    confidence, words = SAME[how]
    return pd.DataFrame({"shipment": hit, "match": how, "confidence": confidence, "match_reason": words}, dtype=object)


def _misread(left: pd.Series, taken: pd.Series, lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Numbers joined to shipments by likeness and by what is printed beside them.

    A number with a label's charges is given a shipment that no other number has found, one to one. A number with
    corrections only may belong to a shipment whose label was billed under its right number.
    """
    seen = _billed(lines[lines["tracking"].isin(left)]).loc[left].set_index(left.index).assign(text=bare(left))
    recorded = shipments.rename(columns={"label_cost_cents": "label_cents"})
    recorded = recorded.assign(size=_size(shipments, ""), text=bare(shipments["tracking"]))[["text", *AGREES]]
    recorded = recorded.dropna(subset="text")
    seen = seen[~_of_other_days(seen["shipped_on"], recorded["shipped_on"])]
    near = neighbours(recorded)
    labelled = seen["label_cents"].notna()
    free = recorded[~recorded.index.isin(taken)]
    first = _chosen(seen[labelled], free, recorded, near, one_to_one=True)
    later = _chosen(seen[~labelled], recorded, recorded, near, one_to_one=False)
    return pd.concat([part for part in (first, later) if len(part)] or [first])


def _of_other_days(seen: pd.Series, recorded: pd.Series) -> pd.Series:
    """Parcels billed as shipped well before or after all that is recorded: none of it, whatever their number."""
    days = pd.to_datetime(seen)
    outside: pd.Series = (days < recorded.min() - NEAR_DAYS) | (days > recorded.max() + NEAR_DAYS)
    return outside


def _chosen(
    seen: pd.DataFrame, free: pd.DataFrame, everything: pd.DataFrame, near: Neighbours, *, one_to_one: bool
) -> pd.DataFrame:
    """The joins of the numbers seen to the shipments that are free, by their labels."""
    if seen.empty or free.empty:
        return pd.DataFrame()
    free = free.sort_values("text", kind="stable")
    pairs = pd.concat([nearby(seen["text"], free["text"]), _same_order(seen, free)], ignore_index=True)
    pairs = pairs.drop_duplicates(["seen", "recorded"], ignore_index=True)
    if pairs.empty:
        return pd.DataFrame()
    weight = weights(pairs, seen, everything, near)
    chosen = rows(paired(pairs.assign(weight=weight), one_to_one=one_to_one))
    texts, numbers = seen["text"].to_dict(), free["text"].to_dict()
    said = [_said(pair, texts, numbers) for pair in chosen]
    return pd.DataFrame(said, index=[pair["seen"] for pair in chosen], dtype=object)


def _billed(lines: pd.DataFrame) -> pd.DataFrame:
    """A row for each distinct number: what the lines print beside it, and what its label was billed."""
    fields = [field for field in ("shipped_on", "service", "zone", "order") if field in lines]
    first = lines.groupby("tracking")[fields].first()
    if "state" in lines:
        label = lines[lines["state"] == "label charge"]
        first["label_cents"] = label.groupby("tracking")["amount_cents"].sum()
        first["size"] = _size(label.groupby("tracking")[[f"billed_{side}" for side in SIDES]].first(), "billed_")
    return first.reindex(columns=list(AGREES))


def _said(pair: Mapping[str, Any], seen: Mapping[Any, str], recorded: Mapping[Any, str]) -> dict[str, Any]:
    """A pair as a join where it is sure enough; otherwise what could be meant."""
    if pair["confidence"] < SURE:
        could = ", ".join(recorded[other] for other in pair["others"])
        return {"match_reason": f"it could be a misreading of {could}, and nothing tells which or whether"}
    words = in_words(seen[pair["seen"]], recorded[pair["recorded"]])
    join = {"shipment": pair["recorded"], "confidence": round(pair["confidence"], 4)}
    if pair["by_order"]:
        return join | {"match": "reference", "match_reason": "the order reference is the same; the number is not"}
    return join | {"match": "misread", "match_reason": words}


def _size(table: pd.DataFrame, prefix: str) -> pd.Series:
    """A size in whole inches, each side rounded up, as one number: alike for what is declared and what is billed."""
    inches = [-(-table[f"{prefix}{side}"] // NM_PER_INCH) for side in SIDES]
    return (inches[0] * 1_000_000 + inches[1] * 1_000 + inches[2]).astype("Int64")


def _same_order(seen: pd.DataFrame, recorded: pd.DataFrame) -> pd.DataFrame:
    """Pairs with the same order reference, where one shipment only has it."""
    orders = recorded["order"].dropna()
    once = orders[~orders.duplicated(keep=False)]
    pairs = seen["order"].dropna().rename_axis("seen").reset_index()
    pairs = pairs.merge(once.rename_axis("recorded").reset_index(), on="order")[["seen", "recorded"]]
    return pairs.assign(edits=3, cut=False)
