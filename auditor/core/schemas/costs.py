"""What parcels brought and cost, and what would be left with another charge or another habit."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, SHARE, TEXT, WHOLE, Column, Schema

PARCEL_COSTS: Schema = (
    Column("tracking", TEXT, "the parcel's number as the seller recorded it"),
    Column("carton", TEXT, "the carton used"),
    Column("zone", TEXT, "the carrier's distance zone"),
    Column("shipped_on", DATE, "day the parcel was shipped"),
    Column("buyer_paid_cents", WHOLE, "shipping the buyer paid"),
    Column("label_cents", WHOLE, "label as billed, or as recorded where no statement bills it"),
    Column("carton_cents", WHOLE, "price of the carton; missing when the list of cartons does not have it"),
    Column("fees_cents", WHOLE, "fees and taxes billed for it"),
    Column("back_charge_cents", WHOLE, "adjustments billed for it, less credits"),
    Column("left_cents", WHOLE, "what is left of the payment; missing when the label's cost is not known"),
)

LEFT_OVER: Schema = (
    Column("by", TEXT, "what the parcels are grouped by: all, carton, zone, month"),
    Column("group", TEXT, "the group"),
    Column("parcels", WHOLE, "parcels with a recorded payment and cost"),
    Column("buyer_paid_cents", WHOLE, "shipping the buyers paid"),
    Column("label_cents", WHOLE, "labels"),
    Column("carton_cents", WHOLE, "cartons, those with a known price"),
    Column("fees_cents", WHOLE, "fees and taxes"),
    Column("back_charge_cents", WHOLE, "adjustments less credits"),
    Column("left_cents", WHOLE, "what is left of the payments"),
    Column("losing", WHOLE, "parcels that cost more than was paid"),
    Column("carton_unknown", WHOLE, "parcels whose carton has no known price"),
)

FLAT_CHARGES: Schema = (
    Column("by", TEXT, "what the parcels are grouped by: all, carton, zone, month"),
    Column("group", TEXT, "the group"),
    Column("parcels", WHOLE, "parcels it rests on"),
    Column("share", SHARE, "share of the parcels to be covered"),
    Column("covers_cents", WHOLE, "flat charge that covered that share of them"),
    Column("covers_low_cents", WHOLE, "low end of its 90 % interval; missing with too few parcels"),
    Column("covers_high_cents", WHOLE, "high end; missing with too few parcels"),
    Column("needed", WHOLE, "parcels needed for a high end"),
    Column("break_even_cents", WHOLE, "flat charge with which nothing is left and nothing lost"),
    Column("left_now_cents", WHOLE, "what was left of what buyers paid"),
    Column("left_flat_cents", WHOLE, "what the covering flat charge would have left"),
    Column("left_calculated_cents", WHOLE, "what is left when each buyer pays label and carton: fees and back-charges"),
)

WHAT_IF: Schema = (
    Column("carton", TEXT, "the carton, or 'all'"),
    Column("month", TEXT, "month of shipping, or 'all'"),
    Column("parcels", WHOLE, "parcels repriced"),
    Column("unpriced", WHOLE, "parcels left out, as a price is not known before or after"),
    Column("label_before_cents", WHOLE, "expected labels as recorded, exact"),
    Column("label_after_cents", WHOLE, "expected labels with the change, exact"),
    Column("back_charge_before_cents", WHOLE, "back-charges expected as recorded"),
    Column("back_charge_after_cents", WHOLE, "back-charges expected with the change"),
    Column("other_cents", WHOLE, "other costs that the change adds: cartons; below zero: what it saves"),
    Column("difference_cents", WHOLE, "costs with the change less those as recorded; below zero: it saves"),
    Column("difference_low_cents", WHOLE, "low end of its 90 % interval"),
    Column("difference_high_cents", WHOLE, "high end"),
)
