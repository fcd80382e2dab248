"""What the check before shipping is given, and what it says."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, FLAG, SHARE, SOURCE, TEXT, WHOLE, Column, Schema, sides

PARCELS: Schema = (
    Column("parcel", TEXT, "what to call it: its size as written, its order or its number"),
    Column("carton", TEXT, "name of the carton"),
    Column("shipped_on", DATE, "day it is to be shipped"),
    Column("service", TEXT, "service"),
    Column("zone", TEXT, "the carrier's distance zone"),
    Column("residential", FLAG, "to a home"),
    *sides("", "as measured"),
    Column("weight_pg", WHOLE, "weight as measured"),
    *SOURCE,
)
"""Parcels to be checked before they are shipped."""

CHECKS: Schema = (
    *PARCELS[:-2],
    Column("rules", TEXT, "the tariff it was checked by"),
    *sides("counted_", "as the tariff rounds it"),
    Column("dimensional_weight_pg", WHOLE, "dimensional weight; 0 where it does not count"),
    Column("billable_pg", WHOLE, "weight that the carrier will bill"),
    Column("total_cents", WHOLE, "expected charge; missing when a price is not known"),
    Column("unpriced", TEXT, "why a price is not known"),
    Column("price_basis", TEXT, "table: prices that were given; learned: some were learned, so it is an estimate"),
    Column("over", FLAG, "some limit of the tariff is passed"),
    Column("chance", SHARE, "chance of a back-charge, 0 to 1"),
    Column("chance_low", SHARE, "low end of its 90 % interval"),
    Column("chance_high", SHARE, "high end"),
    Column("back_charge_cents", WHOLE, "back-charge expected of such a parcel, over those with and without one"),
    Column(
        "costly_chance",
        SHARE,
        "chance of a back-charge of more than $5; where a price is not known, of one for a limit passed",
    ),
    Column("costly_cents", WHOLE, "the part of back_charge_cents that such ones make up"),
    Column("basis", TEXT, "what the chance rests on: own history, shop's history, device tolerance"),
    Column("basis_parcels", WHOLE, "recorded parcels it rests on"),
    Column("basis_read", WHOLE, "those of them with a reading"),
    *SOURCE,
)

ROOMS: Schema = (
    Column("check", WHOLE, "row of the checks"),
    Column("charge", TEXT, "charge that the limit calls for; 'not accepted' where the parcel would be refused"),
    Column("limit", TEXT, "the limit in words"),
    Column("counted", TEXT, "what the tariff holds against it"),
    Column("passed", FLAG, "the limit is passed"),
    Column(
        "side", TEXT, "the figure that is nearest to deciding: length, width, height, weight; missing when none alone"
    ),
    Column("room_nm", WHOLE, "how much larger that side may be; below zero: by how much it is too large"),
    Column("room_pg", WHOLE, "the same of the weight"),
)
"""Each limit of the tariff with the distance to it."""

TRIMS: Schema = (
    Column("check", WHOLE, "row of the checks"),
    Column("reason", TEXT, "what it changes: the charge whose limit is no longer passed, billable weight, back-charge"),
    Column("side", TEXT, "length, width or height"),
    Column("to_nm", WHOLE, "the side after the cut, or less"),
    Column("cut_nm", WHOLE, "what has to come off"),
    Column("billable_pg", WHOLE, "billable weight after it"),
    Column("saves_cents", WHOLE, "expected charge saved; missing when a price is not known"),
    Column("chance", SHARE, "chance of a back-charge after it"),
    Column("saves_back_charge_cents", WHOLE, "expected back-charge saved; missing when a price is not known"),
)
"""What can be cut off a parcel, and what that saves."""
