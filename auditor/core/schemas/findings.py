"""What an audit says: the findings, their causes, and the readings they rest on."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, FLAG, SHARE, TEXT, WHOLE, Column, Schema, sides

CAUSES = (
    "box length",
    "box girth",
    "declared weight",
    "rounding",
    "service or zone",
    "address",
    "rate",
    "duplicate",
    "unknown parcel",
    "voided label",
    "carrier arithmetic",
    "unexplained",
)

SHARES = ("box_length", "box_girth", "declared_weight", "rounding", "other")
"""Columns of findings.csv over which a difference is spread; `other` holds every cause without a column of its own."""

FINDINGS: Schema = (
    Column("finding", TEXT, "its number in this run: F001, F002 …"),
    Column("shipment_tracking", TEXT, "the parcel's number as the seller recorded it; missing when unknown"),
    Column("tracking", TEXT, "the parcel's number as billed"),
    Column("match", TEXT, "how the two were joined: exact, spacing, misread, reference, none"),
    Column("confidence", SHARE, "chance that the join is right, 0 to 1"),
    Column("order", TEXT, "the seller's order"),
    Column("carton", TEXT, "the carton used"),
    Column("statement", TEXT, "the statement's number"),
    Column("charges", TEXT, "the charges with something to say, parted by '; '"),
    Column("billed_cents", WHOLE, "all this statement bills for the parcel"),
    Column(
        "expected_cents", WHOLE, "what it should have cost by the declared figures; missing when it cannot be priced"
    ),
    Column("difference_cents", WHOLE, "billed less expected"),
    Column("cause", TEXT, "one of CAUSES: the one with the largest share; missing when it cannot be priced"),
    Column("box_length_cents", WHOLE, "share of the difference due to the longest side"),
    Column("box_girth_cents", WHOLE, "share due to the other sides"),
    Column("declared_weight_cents", WHOLE, "share due to the weight typed"),
    Column("rounding_cents", WHOLE, "share due to rounding and the measuring tolerance"),
    Column("other_cents", WHOLE, "share due to every other cause"),
    Column("price_basis", TEXT, "where the expected price comes from: table, learned, label"),
    Column("dispute", TEXT, "strong, arguable or none: the weakest of what a dispute asks for"),
    Column("dispute_reason", TEXT, "why"),
    Column("dispute_by", DATE, "last day to dispute"),
    Column("source_file", TEXT, "file of the statement line"),
    Column("source_place", TEXT, "page and row of the first line concerned"),
    Column("explanation", TEXT, "one plain sentence"),
    Column("disputable_cents", WHOLE, "what a dispute asks for: the part of the difference that is worth disputing"),
    Column("strong_cents", WHOLE, "what of that is strong by itself"),
)

READINGS: Schema = (
    Column("shipment_tracking", TEXT, "the parcel's number as the seller recorded it"),
    Column("statement", TEXT, "the statement's number"),
    Column("carton", TEXT, "the carton used"),
    *sides("declared_", "declared on the label"),
    *sides("measured_", "by the carrier: the scanner's reading, or the side as billed where that is all it shows"),
    Column("measured_rounded", FLAG, "the measured sides are billed sides, already rounded to whole steps"),
    Column("declared_weight_pg", WHOLE, "weight declared on the label"),
    Column("measured_weight_pg", WHOLE, "weight by the carrier; missing when it shows none of its own"),
    Column("inferred", SHARE, "chance of a reading that is not shown but inferred from the bill; else missing"),
    Column("finding", TEXT, "the finding about this parcel; missing when there is nothing to say"),
)
