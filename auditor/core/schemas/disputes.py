"""The life of disputes, and what later documents change of closed months."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, TEXT, WHOLE, Column, Schema

EVENTS: Schema = (
    Column("statement", TEXT, "the statement's number", needed=True),
    Column("about", TEXT, "the parcel's number as billed, without blanks and signs; or the charge about no parcel"),
    Column("happened_on", DATE, "the day it happened"),
    Column("what", TEXT, "one of HAPPENINGS"),
    Column("amount_cents", WHOLE, "opened, changed: what is disputed from then on; credited: what came back by it"),
    Column(
        "by_statement",
        TEXT,
        "the later statement that credits it; the one that it goes on from or with; missing where marked by hand",
    ),
    Column("reference", TEXT, "the carrier's number for it"),
    Column("note", TEXT, "in words"),
)
"""The history of disputes, a row for each thing that happened to one, in order."""

HAPPENINGS = ("opened", "changed", "sent", "answered", "credited", "refused", "given up", "taken up again", "not mine")
"""not mine: the seller said that a parcel in no record is none of theirs."""

DISPUTE_STATES = ("open", "sent", "answered", "credited", "refused", "given up", "withdrawn")
"""How a dispute stands. withdrawn: later documents left nothing to dispute, before it was sent."""

DISPUTES: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("about", TEXT, "the parcel's number as billed, without blanks and signs; or the charge about no parcel"),
    Column("state", TEXT, "one of DISPUTE_STATES"),
    Column("amount_cents", WHOLE, "what is or was disputed: the sum of the next four"),
    Column("open_cents", WHOLE, "not yet decided"),
    Column("credited_cents", WHOLE, "came back"),
    Column("refused_cents", WHOLE, "the carrier said no"),
    Column("given_up_cents", WHOLE, "not pursued"),
    Column("opened_on", DATE, "the day it was first found"),
    Column("sent_on", DATE, "the day it was last sent to the carrier"),
    Column("reference", TEXT, "the carrier's number for it, as last marked"),
    Column("note", TEXT, "the last note"),
    Column("statement_on", DATE, "the statement's date"),
    Column("tracking", TEXT, "the parcel's number as billed"),
    Column("shipment_tracking", TEXT, "the parcel's number as the seller recorded it"),
    Column("charges", TEXT, "the charges with something to say, parted by '; '"),
    Column("cause", TEXT, "one of CAUSES"),
    Column("dispute", TEXT, "strong, arguable or none, by what is known now"),
    Column("dispute_reason", TEXT, "why"),
    Column("dispute_by", DATE, "last day to dispute"),
    Column("worth_cents", WHOLE, "what would be disputed by what is known now; missing when nothing is found any more"),
)
"""The disputes as they stand: `disputes.states.states_of` of their history, joined with the findings."""

CORRECTIONS: Schema = (
    Column("month", TEXT, "the closed month that is touched: 2026-03"),
    Column("statement", TEXT, "the statement's number"),
    Column("about", TEXT, "what it is about: a parcel's number, a charge, or all lines of a file"),
    Column("figure", TEXT, "billed, difference or disputed"),
    Column("closed_cents", WHOLE, "as it stood when the month was closed"),
    Column("now_cents", WHOLE, "as it is now"),
    Column("difference_cents", WHOLE, "now less closed"),
    Column("source_file", TEXT, "the file taken in since that caused it; missing where it was none"),
)
