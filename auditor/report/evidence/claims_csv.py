"""claims.csv: every claim on a row, for a spreadsheet or another program."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from auditor.core import schemas
from auditor.core.schemas import DATE, TEXT, WHOLE, Column
from auditor.report.csv_files import csv_text
from auditor.report.evidence.claim import Claim
from auditor.report.evidence.shop import Shop

CLAIMS: schemas.Schema = (
    Column("finding", TEXT, "the finding's number in this run"),
    Column("tracking", TEXT, "the parcel's number as billed; empty for a charge about no parcel"),
    Column("shipment_tracking", TEXT, "the number as the seller recorded it"),
    Column("order", TEXT, "the seller's order"),
    Column("carrier", TEXT, "the carrier, by the shop file"),
    Column("account", TEXT, "the shop's account with it"),
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("charges", TEXT, "the charges in dispute"),
    Column("causes", TEXT, "the causes disputed, the largest first, parted by '; '"),
    Column("dispute", TEXT, "strong or arguable"),
    Column("dispute_by", DATE, "last day to dispute"),
    Column("billed_cents", WHOLE, "all the statement bills for it"),
    Column("expected_cents", WHOLE, "what was expected"),
    Column("asked_cents", WHOLE, "what is asked back"),
    Column("summary", TEXT, "the claim in one sentence"),
    Column("reasons", TEXT, "why, a sentence for each cause"),
    Column("pdf", TEXT, "file name of the claim's PDF"),
    Column("text", TEXT, "file name of its letter as plain text"),
)


def claims_csv(claims: Sequence[Claim], shop: Shop, stems: Sequence[str]) -> str:
    """The claims in their order, each with its carrier and account, and the names of its files."""
    rows = [
        {
            **{name: getattr(claim, name) for name in ("finding", "tracking", "order", "statement", "charges")},
            **{name: getattr(claim, name) for name in ("billed_cents", "expected_cents", "asked_cents", "summary")},
            "shipment_tracking": claim.recorded,
            "carrier": shop.carrier(claim.statement).name,
            "account": shop.carrier(claim.statement).account,
            "statement_on": claim.statement_on,
            "causes": "; ".join(share.cause for share in claim.shares if share.asked),
            "dispute": claim.strength,
            "dispute_by": claim.dispute_by,
            "reasons": " ".join(claim.reasons),
            "pdf": f"{stem}.pdf",
            "text": f"{stem}.txt",
        }
        for claim, stem in zip(claims, stems, strict=True)
    ]
    return csv_text(schemas.conform(pd.DataFrame(rows), CLAIMS) if rows else schemas.empty(CLAIMS), CLAIMS)
