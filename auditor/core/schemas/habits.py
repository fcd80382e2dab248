"""What the shop's cartons cost, how the scanner reads them, and what to change."""

from __future__ import annotations

from auditor.core.schemas.columns import DATE, FLAG, SHARE, TEXT, WHOLE, Column, Schema, sides, with_interval
from auditor.core.schemas.findings import SHARES


def _cents_by_cause(when: str) -> Schema:
    return tuple(
        Column(f"{share}_cents", WHOLE, f"back-charged {when} because of {share.replace('_', ' ')}") for share in SHARES
    )


HABIT_CARTONS: Schema = (
    Column("carton", TEXT, "the carton: its name, with ', cut' or ', uncut' where it is used both ways; or its size"),
    Column("name", TEXT, "its name without that"),
    Column("form", TEXT, "cut, uncut, or '' where it is only used one way"),
    Column("spelled", TEXT, "every spelling of the name met in the records, parted by '; '"),
    *sides("", "as most of its parcels were declared"),
    Column("shipped", WHOLE, "parcels shipped in it"),
    Column("parcels", WHOLE, "those of them that count: billed, and old enough for a correction to have come"),
    Column("measured", WHOLE, "those of which the carrier showed a reading"),
    Column("back_charged", WHOLE, "those back-charged for size, weight or rounding"),
    *with_interval("share", SHARE, "back_charged of parcels, with Wilson's interval"),
    *with_interval("likely_share", SHARE, "the same, small counts drawn towards the shop's own mean (beta-binomial)"),
    *_cents_by_cause("a month"),
    *with_interval("expected_cents", WHOLE, "back-charges a month by the fitted excess, of parcels that are no slips"),
    Column(
        "measured_over_nm", WHOLE, "mean of the readings seen less the declared longest side; only of parcels corrected"
    ),
    *with_interval("excess_nm", WHOLE, "mean reading less declared longest side, of all parcels, as fitted"),
    Column("trend", TEXT, "rising, falling, none (no clear difference), or '' with too few months to say"),
    *with_interval("later_less", SHARE, "share back-charged in the later half of the months less that in the earlier"),
)

HABIT_MONTHS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("month_on", DATE, "first day of the month of shipping"),
    Column("parcels", WHOLE, "parcels that count"),
    Column("back_charged", WHOLE, "those back-charged for size, weight or rounding"),
    *_cents_by_cause("of that month's parcels"),
)

HABIT_EXCESS: Schema = (
    Column("carton", TEXT, "the carton; missing for any other carton of the shop"),
    Column("figure", TEXT, "length_nm, width_nm, height_nm or weight_pg: what is read, and the unit of the columns"),
    Column("parcels", WHOLE, "parcels that say something of it"),
    Column("measured", WHOLE, "those of them with a reading"),
    Column("basis", TEXT, "own history, shop's history or device tolerance"),
    *with_interval("mean", WHOLE, "mean of reading less declared figure"),
    *with_interval("spread", WHOLE, "its standard deviation from parcel to parcel"),
)

HABIT_READINGS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("figure", TEXT, "length_nm, width_nm, height_nm or weight_pg"),
    Column("low", WHOLE, "reading less declared figure is over this; missing: not known"),
    Column("high", WHOLE, "and at most this; equal to low when exact; missing: not known"),
    Column(
        "kind",
        TEXT,
        "exact, rounded, inferred, slip (not fitted), or stayed below (no correction, so under the next costly figure)",
    ),
    Column("parcels", WHOLE, "parcels of which just this is known"),
    *with_interval("fitted", SHARE, "how many of the parcels that could be seen so the fit expects there"),
)

HABIT_CUTS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("side", TEXT, "length_nm, width_nm or height_nm"),
    Column("cut_to_nm", WHOLE, "length of that side; the first row of a side is as it is now"),
    *with_interval("chance", SHARE, "chance that this side's reading alone raises the charge by more than $5"),
    Column("any_chance", SHARE, "chance that it raises the charge at all"),
    *with_interval("parcel_cents", WHOLE, "expected charge a parcel, back-charges of every figure included"),
    *with_interval("saving_cents", WHOLE, "less a month than now"),
    Column("lighter", SHARE, "share of the parcels billed at a lower weight than now by their declared figures"),
)

HABIT_WEIGHTS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("weight_pg", WHOLE, "default weight"),
    Column("now", FLAG, "the one that is typed now"),
    *with_interval("covered", SHARE, "share of parcels whose reading it covers"),
    *with_interval("parcel_cents", WHOLE, "expected charge a parcel, back-charges for weight included"),
    *with_interval("saving_cents", WHOLE, "less a month than now"),
)

HABIT_WEIGHTS_SEEN: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("kind", TEXT, "typed (on the label), packed (weighed by the seller) or measured (by the carrier)"),
    Column("weight_pg", WHOLE, "the weight; a rounded reading stands as its highest"),
    Column("parcels", WHOLE, "parcels with it"),
)

HABIT_CHANGES: Schema = (
    Column("carton", TEXT, "the carton's name"),
    Column("figure", TEXT, "what changed: length_nm, width_nm, height_nm or weight_pg; missing when told by the user"),
    Column("changed_on", DATE, "first ship date with the new habit"),
    Column("before", WHOLE, "declared figure before, nm or pg"),
    Column("after", WHOLE, "and after"),
    Column("told", FLAG, "told by the user rather than found"),
    Column("parcels_before", WHOLE, "parcels before that count"),
    Column("parcels_after", WHOLE, "and after"),
    Column("share_before", SHARE, "share of them back-charged before"),
    Column("share_after", SHARE, "and after"),
    *with_interval("difference", SHARE, "share after less share before, with Newcombe's interval"),
    Column("cents_before", WHOLE, "back-charges a parcel before"),
    Column("cents_after", WHOLE, "and after"),
)

HABIT_ADVICE: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("about", TEXT, "slips (see docs/habits.md), length_nm, width_nm, height_nm, weight_pg, or weighing"),
    Column("now", WHOLE, "the figure now, nm or pg"),
    Column("then", WHOLE, "the figure advised; missing where none is"),
    *with_interval("saving_cents", WHOLE, "less a month"),
    Column("sentence", TEXT, "the advice in words"),
)
