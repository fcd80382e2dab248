"""What the carrier sends: statements, line by line, what they say of one another, and notices."""

from __future__ import annotations

from auditor.core.schemas.columns import BOX, DATE, FLAG, SOURCE, TEXT, WHOLE, Column, Schema, sides

STATES = ("label charge", "adjustment", "credit", "fee", "tax", "not ours", "not read")
"""The one state of a statement line.

label charge: for a label as bought; adjustment: a later correction of it; credit: money back; fee: for a service other
than carriage, or for correcting; tax; not ours: no recorded shipment fits its number; not read: its amount could not be
read, so the statement cannot tie out.
"""

LINES: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("tracking", TEXT, "the parcel's number as billed; missing on lines about no parcel"),
    Column("description", TEXT, "the carrier's words for the charge, as printed"),
    Column("charge", TEXT, "the same in the words of the rules; missing when the words are not known"),
    Column("amount_cents", WHOLE, "amount billed; below zero for money back", needed=True),
    Column("state", TEXT, "one of STATES"),
    Column("shipped_on", DATE, "ship date as billed"),
    Column("service", TEXT, "service billed"),
    Column("zone", TEXT, "zone billed"),
    Column("billed_weight_pg", WHOLE, "billable weight the carrier used"),
    *sides("billed_", "the carrier billed by, as printed (often rounded already)"),
    Column("measured_weight_pg", WHOLE, "weight the carrier's scale read, where it is printed"),
    Column("order", TEXT, "order reference printed by the carrier"),
    *SOURCE,
    BOX,
)

PRINTED_TOTALS: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("printed_total_cents", WHOLE, "the total the statement prints"),
    *SOURCE,
    BOX,
)

REISSUES: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("words", TEXT, "what it says of another one that it replaces or corrects, or of itself as corrected"),
    *SOURCE,
)
"""What statements say of one another."""

REPLACED: Schema = (
    Column("statement", TEXT, "number of a statement that is not counted, as another one is in its place"),
    Column("source_file", TEXT, "its file"),
    Column("by_statement", TEXT, "number of the one that is counted"),
    Column("by_file", TEXT, "the file of that"),
    Column("billed_cents", WHOLE, "sum of the lines that are not counted"),
    Column("now_cents", WHOLE, "sum of those in their place"),
    Column("reason", TEXT, "what that was told by"),
)
"""Statements that were issued again, or are there in two forms."""

NOTICES: Schema = (
    Column("tracking", TEXT, "the parcel's number", needed=True),
    Column("noticed_on", DATE, "date of the notice"),
    Column("reason", TEXT, "the carrier's reason, as written"),
    *sides("declared_", "the carrier says were declared"),
    Column("declared_weight_pg", WHOLE, "weight the carrier says was declared"),
    *sides("measured_", "the carrier's scanner read, not yet rounded"),
    Column("measured_weight_pg", WHOLE, "weight the carrier's scale read"),
    Column("amount_cents", WHOLE, "amount of the adjustment, where given"),
    *SOURCE,
)

STATEMENTS: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("lines", WHOLE, "number of lines"),
    Column("lines_total_cents", WHOLE, "sum of the lines"),
    Column("printed_total_cents", WHOLE, "total the statement prints; missing when it prints none"),
    Column("difference_cents", WHOLE, "sum of the lines less printed total"),
    Column("ties", FLAG, "the two totals agree; missing when none is printed"),
    Column("source_file", TEXT, "file it was read from"),
    Column("reading", TEXT, "how far its reading is proven: proven, likely or doubtful"),
    Column("proof", TEXT, "what proves it, in numbers"),
)
