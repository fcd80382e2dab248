"""What papers about prepaid labels say: corrections of them, and all that moved a balance."""

from __future__ import annotations

from auditor.core.schemas.columns import BOX, DATE, SOURCE, TEXT, WHOLE, Column, Schema, sides

MOVE_KINDS = ("label", "correction", "returned", "refund", "top-up", "other")
"""What a movement is.

label: a label was bought; correction: its price was corrected later; returned: a correction was given back, all or a
part of it; refund: a label's price was given back; top-up: money was put in; other: anything else.
"""

MOVES: Schema = (
    Column("statement", TEXT, "the paper: its number, or else the name of its file"),
    Column("statement_on", DATE, "the paper's date, where it has one"),
    Column("kind", TEXT, "one of MOVE_KINDS", needed=True),
    Column("tracking", TEXT, "the parcel's number; missing for what is about no parcel"),
    Column("order", TEXT, "the seller's order"),
    Column("moved_on", DATE, "the day of it"),
    Column("reason", TEXT, "the sender's words for it"),
    *sides("entered_", "the sender says were typed on the label"),
    Column("entered_weight_pg", WHOLE, "weight the sender says was typed on the label"),
    *sides("measured_", "the sender says were measured"),
    Column("measured_weight_pg", WHOLE, "weight the sender says was measured"),
    Column("paid_cents", WHOLE, "what was paid for the label"),
    Column("right_cents", WHOLE, "what the sender says would have been right"),
    Column("amount_cents", WHOLE, "what was taken; below zero for what was given back or put in", needed=True),
    Column("fee_cents", WHOLE, "a fee taken beside it"),
    Column("balance_cents", WHOLE, "what was left after it"),
    *SOURCE,
    BOX,
)
"""Corrections of prepaid labels and movements of a balance, a row each, as papers say them."""
