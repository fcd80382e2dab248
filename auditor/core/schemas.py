"""The schema of every table that flows through the program.

A table is a pandas DataFrame. Its schema says, for each column, the dtype, the unit and the meaning; `docs/tables.md`
is written from here. Lengths are whole nanometres (`_nm`) and weights whole picograms (`_pg`), because every 1/64 in,
0.001 cm, 0.001 oz and gram is a whole number of those: no limit is ever decided by a rounded figure (see `units.py`).
Money is whole cents (`_cents`). Shares of a whole are whole millionths (`_ppm`). Dates end in `_on`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

TEXT = "str"
WHOLE = "Int64"
FLAG = "boolean"
DATE = "datetime64[s]"
SHARE = "Float64"


@dataclass(frozen=True)
class Column:
    """One column: its name carries its unit, `dtype` is a pandas dtype, a row without a `needed` value is useless."""

    name: str
    dtype: str
    meaning: str
    needed: bool = False


Schema = tuple[Column, ...]


@dataclass(frozen=True)
class Problem:
    """A fault in what the user gave: where it is, the value seen, and what to do, in words for that user.

    `file` is the file's name as given, `place` the page, sheet or row ("" when it is the whole file). `unread` is true
    when the whole file could not be read. `note` marks a choice the program made and tells of, rather than a fault.
    """

    file: str
    place: str
    message: str
    unread: bool = False
    note: bool = False


def _sides(prefix: str, of: str) -> Schema:
    return tuple(
        Column(f"{prefix}{side}_nm", WHOLE, f"{which} side {of}; sides stand in falling order")
        for side, which in (("length", "longest"), ("width", "second"), ("height", "shortest"))
    )


_SOURCE: Schema = (
    Column("source_file", TEXT, "name of the file the row was read from"),
    Column("source_place", TEXT, "where in that file: 'row 12', 'page 2, row 7', 'sheet Labels, row 3'"),
)
_BOX = Column("source_box", TEXT, "where on its page, in points from the top left corner: 'x0 top x1 bottom'; PDF only")

SHIPMENTS: Schema = (
    Column("tracking", TEXT, "the parcel's number as the seller recorded it", needed=True),
    Column("order", TEXT, "the seller's order"),
    Column("shipped_on", DATE, "day the parcel was shipped"),
    Column("service", TEXT, "service bought"),
    Column("zone", TEXT, "the carrier's distance zone"),
    Column("postcode", TEXT, "destination postcode"),
    Column("residential", FLAG, "declared as a delivery to a home"),
    Column("carton", TEXT, "name of the carton used"),
    *_sides("", "declared on the label"),
    Column("weight_pg", WHOLE, "weight declared on the label"),
    Column("label_cost_cents", WHOLE, "what the label cost when bought"),
    Column("buyer_paid_cents", WHOLE, "shipping the buyer paid"),
    *_sides("packed_", "measured at packing"),
    Column("packed_weight_pg", WHOLE, "weight measured at packing"),
    Column("photo", TEXT, "file name of a photograph taken at packing"),
    Column("voided", FLAG, "the label was cancelled before use"),
    *_SOURCE,
)

CARTONS: Schema = (
    Column("carton", TEXT, "name of the carton", needed=True),
    *_sides("", "as the seller uses it"),
    Column("unit_cost_cents", WHOLE, "price of one carton"),
    Column("empty_weight_pg", WHOLE, "weight of the empty carton"),
    Column("usual_weight_pg", WHOLE, "weight usually declared"),
    Column("usual_trim_nm", WHOLE, "what is usually cut off its length"),
    *_SOURCE,
)

RATES: Schema = (
    Column("service", TEXT, "service", needed=True),
    Column("zone", TEXT, "zone", needed=True),
    Column("up_to_pg", WHOLE, "greatest billable weight at this price, itself included", needed=True),
    Column("price_cents", WHOLE, "base price (freight)", needed=True),
    Column("effective_on", DATE, "first ship date at this price; missing: always"),
    *_SOURCE,
)

FEES: Schema = (
    Column("charge", TEXT, "the charge's name, as in the rules", needed=True),
    Column("amount_cents", WHOLE, "amount", needed=True),
    Column("zone", TEXT, "zone it holds in; missing: all"),
    Column("effective_on", DATE, "first ship date at this amount; missing: always"),
    *_SOURCE,
)

FUEL: Schema = (
    Column("effective_on", DATE, "first ship date at this percentage; missing: always"),
    Column("fuel_ppm", WHOLE, "fuel surcharge in millionths of what it applies to (15.25 % is 152500)", needed=True),
    Column("service", TEXT, "service it holds for; missing: all"),
    *_SOURCE,
)

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
    *_sides("billed_", "the carrier billed by, as printed (often rounded already)"),
    Column("read_weight_pg", WHOLE, "weight the carrier's scale read, where it is printed"),
    Column("order", TEXT, "order reference printed by the carrier"),
    *_SOURCE,
    _BOX,
)

PRINTED_TOTALS: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("printed_total_cents", WHOLE, "the total the statement prints"),
    *_SOURCE,
    _BOX,
)

REISSUES: Schema = (
    Column("statement", TEXT, "the statement's number"),
    Column("words", TEXT, "what it says of another one that it replaces or corrects, or of itself as corrected"),
    *_SOURCE,
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
    *_sides("declared_", "the carrier says were declared"),
    Column("declared_weight_pg", WHOLE, "weight the carrier says was declared"),
    *_sides("read_", "the carrier's scanner read, not yet rounded"),
    Column("read_weight_pg", WHOLE, "weight the carrier's scale read"),
    Column("amount_cents", WHOLE, "amount of the adjustment, where given"),
    *_SOURCE,
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
)

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
    *_sides("declared_", "declared on the label"),
    *_sides("read_", "by the carrier: the scanner's reading, or the side as billed where that is all it shows"),
    Column("read_rounded", FLAG, "the read sides are billed sides, already rounded to whole steps"),
    Column("declared_weight_pg", WHOLE, "weight declared on the label"),
    Column("read_weight_pg", WHOLE, "weight by the carrier; missing when it shows none of its own"),
    Column("inferred", SHARE, "chance of a reading that is not shown but inferred from the bill; else missing"),
    Column("finding", TEXT, "the finding about this parcel; missing when there is nothing to say"),
)

PARCELS: Schema = (
    Column("parcel", TEXT, "what to call it: its size as written, its order or its number"),
    Column("carton", TEXT, "name of the carton"),
    Column("shipped_on", DATE, "day it is to be shipped"),
    Column("service", TEXT, "service"),
    Column("zone", TEXT, "the carrier's distance zone"),
    Column("residential", FLAG, "to a home"),
    *_sides("", "as measured"),
    Column("weight_pg", WHOLE, "weight as measured"),
    *_SOURCE,
)
"""Parcels to be checked before they are shipped."""

CHECKS: Schema = (
    *PARCELS[:-2],
    Column("rules", TEXT, "the tariff it was checked by"),
    *_sides("counted_", "as the tariff rounds it"),
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
    *_SOURCE,
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


def _with_interval(name: str, dtype: str, meaning: str) -> Schema:
    """An estimate and the ends of its 90 % interval."""
    return (
        Column(name, dtype, meaning),
        Column(f"{name}_low", dtype, "lower end of its 90 % interval"),
        Column(f"{name}_high", dtype, "upper end of its 90 % interval"),
    )


def _cents_by_cause(when: str) -> Schema:
    return tuple(
        Column(f"{share}_cents", WHOLE, f"back-charged {when} because of {share.replace('_', ' ')}") for share in SHARES
    )


HABIT_CARTONS: Schema = (
    Column("carton", TEXT, "the carton: its name, with ', cut' or ', uncut' where it is used both ways; or its size"),
    Column("name", TEXT, "its name without that"),
    Column("form", TEXT, "cut, uncut, or '' where it is only used one way"),
    Column("spelled", TEXT, "every spelling of the name met in the records, parted by '; '"),
    *_sides("", "as most of its parcels were declared"),
    Column("shipped", WHOLE, "parcels shipped in it"),
    Column("parcels", WHOLE, "those of them that count: billed, and old enough for a correction to have come"),
    Column("read", WHOLE, "those of which the carrier showed a reading"),
    Column("back_charged", WHOLE, "those back-charged for size, weight or rounding"),
    *_with_interval("share", SHARE, "back_charged of parcels, with Wilson's interval"),
    *_with_interval("likely_share", SHARE, "the same, small counts drawn towards the shop's own mean (beta-binomial)"),
    *_cents_by_cause("a month"),
    *_with_interval("expected_cents", WHOLE, "back-charges a month by the fitted excess, of parcels that are no slips"),
    Column(
        "read_over_nm", WHOLE, "mean of the readings seen less the declared longest side; only of parcels corrected"
    ),
    *_with_interval("excess_nm", WHOLE, "mean reading less declared longest side, of all parcels, as fitted"),
    Column("trend", TEXT, "rising, falling, none (no clear difference), or '' with too few months to say"),
    *_with_interval("later_less", SHARE, "share back-charged in the later half of the months less that in the earlier"),
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
    Column("read", WHOLE, "those of them with a reading"),
    Column("basis", TEXT, "own history, shop's history or device tolerance"),
    *_with_interval("mean", WHOLE, "mean of reading less declared figure"),
    *_with_interval("spread", WHOLE, "its standard deviation from parcel to parcel"),
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
    *_with_interval("fitted", SHARE, "how many of the parcels that could be seen so the fit expects there"),
)

HABIT_CUTS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("side", TEXT, "length_nm, width_nm or height_nm"),
    Column("cut_to_nm", WHOLE, "length of that side; the first row of a side is as it is now"),
    *_with_interval("chance", SHARE, "chance that this side's reading alone raises the charge by more than $5"),
    Column("any_chance", SHARE, "chance that it raises the charge at all"),
    *_with_interval("parcel_cents", WHOLE, "expected charge a parcel, back-charges of every figure included"),
    *_with_interval("saving_cents", WHOLE, "less a month than now"),
    Column("lighter", SHARE, "share of the parcels billed at a lower weight than now by their declared figures"),
)

HABIT_WEIGHTS: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("weight_pg", WHOLE, "default weight"),
    Column("now", FLAG, "the one that is typed now"),
    *_with_interval("covered", SHARE, "share of parcels whose reading it covers"),
    *_with_interval("parcel_cents", WHOLE, "expected charge a parcel, back-charges for weight included"),
    *_with_interval("saving_cents", WHOLE, "less a month than now"),
)

HABIT_WEIGHTS_SEEN: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("kind", TEXT, "typed (on the label), packed (weighed by the seller) or read (by the carrier)"),
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
    *_with_interval("difference", SHARE, "share after less share before, with Newcombe's interval"),
    Column("cents_before", WHOLE, "back-charges a parcel before"),
    Column("cents_after", WHOLE, "and after"),
)

HABIT_ADVICE: Schema = (
    Column("carton", TEXT, "the carton"),
    Column("about", TEXT, "slips (see docs/habits.md), length_nm, width_nm, height_nm, weight_pg, or weighing"),
    Column("now", WHOLE, "the figure now, nm or pg"),
    Column("then", WHOLE, "the figure advised; missing where none is"),
    *_with_interval("saving_cents", WHOLE, "less a month"),
    Column("sentence", TEXT, "the advice in words"),
)


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

HAPPENINGS = ("opened", "changed", "sent", "answered", "credited", "refused", "given up", "taken up again")

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
"""The disputes as they stand: `disputes.life.standing` of their history, joined with the findings."""

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


def names(schema: Schema) -> list[str]:
    """The column names of a schema, in order."""
    return [column.name for column in schema]


def conform(frame: pd.DataFrame, schema: Schema) -> pd.DataFrame:
    """The frame with just the schema's columns, in its order and dtypes; an absent column comes out missing."""
    import pandas as pd

    def values(column: Column) -> Any:
        if column.name not in frame:
            return _missing(column.dtype, frame.index)
        given: Any = frame[column.name]
        return given if given.dtype == column.dtype else given.astype(column.dtype)

    return pd.DataFrame({column.name: values(column) for column in schema}, index=frame.index, copy=False)


def _missing(dtype: str, index: pd.Index) -> pd.Series:
    """A column without any value, made from one of it, which is quicker than to turn as many blanks into its dtype."""
    import numpy as np
    import pandas as pd

    one = _one_missing(dtype)
    if isinstance(one, pd.arrays.ArrowStringArray):
        return pd.Series(pd.array(_nulls(len(index)), dtype=dtype), index=index)
    if isinstance(one, pd.arrays.IntegerArray | pd.arrays.BooleanArray):
        kind: Any = one.dtype
        zeros = np.zeros(len(index), dtype=kind.numpy_dtype)  # no memory is taken before it is written to
        array = kind.construct_array_type()(zeros, np.ones(len(index), dtype=bool))
        return pd.Series(array, index=index, copy=False)
    return pd.Series(one.take(np.zeros(len(index), dtype=np.int64)), index=index)


@lru_cache(maxsize=1)
def _nulls(count: int) -> Any:
    """So many missing texts; pyarrow's arrays do not change, so that several columns may have the same."""
    import pyarrow as pa

    return pa.nulls(count, pa.large_string())


@cache
def _one_missing(dtype: str) -> Any:
    import pandas as pd

    return pd.Series([None], dtype=object).astype(dtype).array  # type: ignore[call-overload]


@cache
def _empty(schema: Schema) -> pd.DataFrame:
    import pandas as pd

    return conform(pd.DataFrame(index=pd.RangeIndex(0)), schema)


def empty(schema: Schema) -> pd.DataFrame:
    """A table of that schema with no rows."""
    return _empty(schema).copy()


def joined(frames: Iterable[pd.DataFrame], schema: Schema) -> pd.DataFrame:
    """The tables below one another, numbered anew; an empty table of the schema when there are none."""
    import pandas as pd

    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else empty(schema)


def looked_up(keys: pd.Series, values: pd.Series) -> pd.Series:
    """For each key the value at that label, missing where there is none; of the values' dtype also when it is empty."""
    known = keys.dropna()
    return values.reindex(known).set_axis(known.index).reindex(keys.index)


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The table's rows as plain dictionaries by column name, for its few rows that go into words."""
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]
