"""What labels cost that are bought one by one, each at one price: learned as a whole, where no price list is given.

A label's price is that of its service, zone and billable weight. Where labels over a limit cost more, that is told
apart: by as much as they cost more than labels of equal weight below it, or than these would. What a correction says
would have been right tells a price too, where no label does. There is no fuel beside such prices.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from auditor.charges.learned.rates import CELL, SEEN, SETTLED, price_lists
from auditor.core.schemas import FEES, FUEL, conform, empty
from auditor.core.sides import FIGURES
from auditor.tariff import Prices, Rulebook, charges_due, column_of
from auditor.tariff.price import sheet_of
from auditor.tariff.prices import LEARNED

BETWEEN = "; "


def with_label_prices(given: Prices, shipments: pd.DataFrame, moves: pd.DataFrame, book: Rulebook) -> Prices:
    """The prices given, and in the place of tables that are not, what labels cost by the shop's own records.

    Args:
        given: the seller's tables.
        shipments: SHIPMENTS.
        moves: MOVES; without any the prices come back as they are.
        book: the rules, for billable weights and for the charges that are due.
    """
    if moves.empty:
        return given
    fees = _with_fee_of_corrections(given.fees, moves, book)
    if len(given.rates):
        return Prices(given.rates, fees, given.fuel)
    labels = _seen(shipments, shipments["label_cost_cents"], book)
    if labels.empty:
        return Prices(given.rates, fees, given.fuel)
    corrected = _corrected(shipments, moves, book)
    every = pd.concat([labels, corrected], ignore_index=True)
    plain = Prices(price_lists(every[every["charges"] == ""], labels[:0], book), fees[:0], empty(FUEL))
    surcharges = dict(_surcharges(every, plain))
    table = {"charge": [*surcharges], "amount_cents": [*surcharges.values()]}
    own = pd.DataFrame(table).assign(source_file=LEARNED)
    own = own[~own["charge"].isin(given.fees["charge"])]
    fees = conform(pd.concat([fees, own], ignore_index=True), FEES)
    rates = price_lists(_without(labels, surcharges), _without(corrected, surcharges), book)
    fuel = given.fuel if len(given.fuel) else conform(pd.DataFrame({"fuel_ppm": [0], "source_file": [LEARNED]}), FUEL)
    return Prices(rates, fees, fuel)


def _seen(parcels: pd.DataFrame, cents: pd.Series, book: Rulebook) -> pd.DataFrame:
    """SEEN of parcels with those prices, and `charges`: the names of those due beside freight."""
    whole = parcels[["service", "zone", "shipped_on", *FIGURES]].notna().all(axis=1) & cents.gt(0).fillna(value=False)
    own = parcels[whole]
    due = charges_due(own, book)
    names = [name for name in book.charges if column_of(name) in due]
    charges = [
        BETWEEN.join(name for name, is_due in zip(names, row, strict=True) if is_due)
        for row in due[[column_of(name) for name in names]].gt(0).to_numpy()
    ]
    seen = own[["service", "zone", "shipped_on"]].assign(
        billable_pg=due["billable_pg"], cents=cents[whole].astype("int64"), charges=charges
    )
    return seen[seen["billable_pg"].gt(0).fillna(value=False)].astype({"billable_pg": "int64"})


def _corrected(shipments: pd.DataFrame, moves: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The same of what corrections say would have been right for what was measured."""
    measured = [f"measured_{figure}" for figure in FIGURES]
    shown = moves[moves["kind"].eq("correction") & moves[measured].notna().any(axis=1)]
    own = shipments.drop_duplicates("tracking").set_index("tracking")
    shown = shown[shown["tracking"].isin(own.index)].reset_index(drop=True)
    parcels = own.loc[shown["tracking"]].reset_index(drop=True)
    cents = shown["right_cents"].fillna(parcels["label_cost_cents"] + shown["amount_cents"])
    for figure in FIGURES:
        parcels[figure] = shown[f"measured_{figure}"].fillna(parcels[figure])
    return _seen(parcels, cents, book)


def _surcharges(seen: pd.DataFrame, plain: Prices) -> Iterator[tuple[str, int]]:
    """By charge what labels with it alone cost more: the settled difference from equal labels without, or the usual."""
    sheet, line_of = sheet_of(seen, plain)
    without = plain.freight_cents(sheet.line[line_of], seen["billable_pg"].to_numpy(dtype=np.int64))
    known = seen.assign(more=seen["cents"] - without.numbers)[without.known]
    exact = set(map(tuple, seen.loc[seen["charges"] == "", CELL].to_numpy().tolist()))
    equal = pd.Series([tuple(cell) in exact for cell in known[CELL].to_numpy().tolist()], index=known.index, dtype=bool)
    for charges, them in known[known["charges"].ne("") & ~known["charges"].str.contains(BETWEEN)].groupby("charges"):
        usual = _usual(them.loc[equal[them.index], "more"], them["more"])
        yield str(charges), max(min(usual, *_most(them, seen[seen["charges"] == ""])), 0)


def _most(them: pd.DataFrame, plain: pd.DataFrame) -> Iterator[int]:
    """What a surcharge is at most: a parcel costs no less than a lighter one without it, as prices never fall."""
    pairs = them.merge(plain[["service", "zone", "billable_pg", "cents"]], on=["service", "zone"], suffixes=("", "_of"))
    lighter = pairs[pairs["billable_pg_of"] <= pairs["billable_pg"]]
    yield from (lighter["cents"] - lighter["cents_of"]).nsmallest(1).astype(int)
    yield int(them["cents"].min())


def _usual(exact: pd.Series, every: pd.Series) -> int:
    """The amount that most exact differences come to; the middle of all where there is none."""
    if len(exact) and exact.value_counts(normalize=True).iloc[0] >= SETTLED:
        return int(exact.value_counts().index[0])
    return int(every.median())


def _without(seen: pd.DataFrame, surcharges: Mapping[str, int]) -> pd.DataFrame:
    """SEEN without what surcharges come to."""
    off = {
        text: sum(surcharges.get(name, 0) for name in text.split(BETWEEN)) for text in seen["charges"].unique() if text
    }
    less = seen["charges"].map(off).fillna(0).astype("int64")
    return seen.assign(cents=seen["cents"] - less)[list(SEEN)].query("cents > 0")


def _with_fee_of_corrections(fees: pd.DataFrame, moves: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The fees with what is usually taken for a correction, where they have none for it."""
    names = [name for name in book.called_by("corrected") if name not in {*fees["charge"]}]
    taken = moves["fee_cents"][moves["fee_cents"].gt(0).fillna(value=False)]
    if not names or taken.empty:
        return fees
    row = pd.DataFrame({"charge": names, "amount_cents": int(taken.mode().iloc[0])})
    return conform(pd.concat([fees, row.assign(source_file=LEARNED)], ignore_index=True), FEES)
