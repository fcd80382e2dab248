"""What the seller gives: shipments, cartons and prices."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, FLAG, SOURCE, TEXT, WHOLE, Column, Schema, sides

SHIPMENTS: Schema = (
    Column("tracking", TEXT, "the parcel's number as the seller recorded it", needed=True),
    Column("order", TEXT, "the seller's order"),
    Column("shipped_on", DATE, "day the parcel was shipped"),
    Column("service", TEXT, "service bought"),
    Column("zone", TEXT, "the carrier's distance zone"),
    Column("postcode", TEXT, "destination postcode"),
    Column("residential", FLAG, "declared as a delivery to a home"),
    Column("carton", TEXT, "name of the carton used"),
    *sides("", "declared on the label"),
    Column("weight_pg", WHOLE, "weight declared on the label"),
    Column("label_cost_cents", WHOLE, "what the label cost when bought"),
    Column("buyer_paid_cents", WHOLE, "shipping the buyer paid"),
    *sides("packed_", "measured at packing"),
    Column("packed_weight_pg", WHOLE, "weight measured at packing"),
    Column("photo", TEXT, "file name of a photograph taken at packing"),
    Column("voided", FLAG, "the label was cancelled before use"),
    *SOURCE,
)

CARTONS: Schema = (
    Column("carton", TEXT, "name of the carton", needed=True),
    *sides("", "as the seller uses it"),
    Column("unit_cost_cents", WHOLE, "price of one carton"),
    Column("empty_weight_pg", WHOLE, "weight of the empty carton"),
    Column("usual_weight_pg", WHOLE, "weight usually declared"),
    Column("usual_trim_nm", WHOLE, "what is usually cut off its length"),
    *SOURCE,
)

RATES: Schema = (
    Column("service", TEXT, "service", needed=True),
    Column("zone", TEXT, "zone", needed=True),
    Column("up_to_pg", WHOLE, "greatest billable weight at this price, itself included", needed=True),
    Column("price_cents", WHOLE, "base price (freight)", needed=True),
    Column("effective_on", DATE, "first ship date at this price; missing: always"),
    *SOURCE,
)

FEES: Schema = (
    Column("charge", TEXT, "the charge's name, as in the rules", needed=True),
    Column("amount_cents", WHOLE, "amount", needed=True),
    Column("zone", TEXT, "zone it holds in; missing: all"),
    Column("effective_on", DATE, "first ship date at this amount; missing: always"),
    *SOURCE,
)

FUEL: Schema = (
    Column("effective_on", DATE, "first ship date at this percentage; missing: always"),
    Column("fuel_ppm", WHOLE, "fuel surcharge in millionths of what it applies to (15.25 % is 152500)", needed=True),
    Column("service", TEXT, "service it holds for; missing: all"),
    *SOURCE,
)
