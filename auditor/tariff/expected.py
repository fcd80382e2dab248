"""What each recorded label should cost, charge by charge, as far as prices are known; and which charges are due."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from auditor.core.schemas import FEES, FUEL, RATES, conform
from auditor.tariff.price import price
from auditor.tariff.prices import Prices, plain
from auditor.tariff.rulebook import Rulebook
from auditor.tariff.surcharges import column_of

Expecting = Callable[[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.DataFrame], pd.DataFrame]

MOST_PG = 10**18
"""A weight that no parcel has: 1,000 tonnes."""
ANY_ZONE = "any"
FREIGHT, FUEL_CHARGE = "freight", "fuel"


def expected_charges(shipments: pd.DataFrame, book: Rulebook, prices: Prices) -> pd.DataFrame:
    """The charges of each parcel's label as it was declared.

    Args:
        shipments: SHIPMENTS; what is missing of a parcel leaves what depends on it missing.
        book: the rules.
        prices: the seller's prices, any of which may be missing.

    Returns:
        With the index of `shipments`: `billable_pg`, and in cents `freight`, each charge of the rules by its name, and
        `fuel`; 0 where a charge is not due, missing where it is due and its amount is not known.
    """
    parcels = shipments.assign(
        residential=shipments["residential"].fillna(value=False),
        zone=shipments["zone"].fillna(ANY_ZONE),
        service=shipments["service"].fillna(""),
    )
    due = price(parcels, book, _one_cent_each(parcels, book))
    known = price(parcels, book, prices)
    unpriced, unread = known["unpriced"].notna(), due["unpriced"].notna()
    columns = {FREIGHT: "freight_cents", **{name: column_of(name) for name in book.charges}, FUEL_CHARGE: "fuel_cents"}
    cents = pd.DataFrame(
        {name: known[column].astype("Int64").mask(unpriced) for name, column in columns.items()}, index=shipments.index
    )
    for name in book.charges:
        not_due = (due[column_of(name)] == 0) & ~unread
        cents[name] = cents[name].mask(not_due & unpriced, 0)
        alone = unpriced & ~not_due & ~unread
        cents[name] = cents[name].mask(alone, _fees(parcels[alone], name, prices).reindex(shipments.index))
    return cents.assign(billable_pg=due["billable_pg"].astype("Int64").mask(unread))


def charges_due(parcels: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """`price` of parcels at a cent for each charge that is due, and none for carriage: which are due, at any price."""
    parcels = parcels.assign(residential=parcels["residential"].fillna(value=False))
    return price(parcels, book, _one_cent_each(parcels, book))


def expecting(book: Rulebook) -> Expecting:
    """`expected_charges` by some rules, for whoever has shipments, rates, fees and fuel."""

    def of(shipments: pd.DataFrame, rates: pd.DataFrame, fees: pd.DataFrame, fuel: pd.DataFrame) -> pd.DataFrame:
        return expected_charges(shipments, book, Prices(rates, fees, fuel))

    return of


def _one_cent_each(parcels: pd.DataFrame, book: Rulebook) -> Prices:
    """Prices by which each charge that is due costs a cent, and carriage nothing."""
    places = parcels[["service", "zone"]].drop_duplicates()
    rates = conform(places.assign(up_to_pg=MOST_PG, price_cents=0), RATES)
    fees = conform(pd.DataFrame({"charge": [*book.charges], "amount_cents": 1}), FEES)
    return Prices(rates, fees, conform(pd.DataFrame({"fuel_ppm": [0]}), FUEL))


def _fees(parcels: pd.DataFrame, charge: str, prices: Prices) -> pd.Series:
    """The amount of a charge for each parcel, missing where the seller's table has none."""
    days = parcels["shipped_on"].to_numpy(dtype="datetime64[D]")
    found = [
        prices.fee(charge, plain(zone), int(day.astype("int64")) if not np.isnat(day) else 0)
        for zone, day in zip(parcels["zone"], days, strict=True)
    ]
    return pd.Series(found, index=parcels.index, dtype="Int64")
