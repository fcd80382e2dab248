"""Where in the seller's own files a price stands: for the working of one parcel, not for columns of them."""

from __future__ import annotations

from datetime import date

import pandas as pd

from auditor.tariff.prices import ALWAYS, Prices, plain

EPOCH = date(1970, 1, 1)


def rate_place(prices: Prices, service: object, zone: object, day: pd.Timestamp, billable_pg: int) -> str:
    """File and row of the base price for that service, zone, day and billable weight; "" when there is none."""
    return _place(prices.rates, prices.rate_row(plain(service), plain(zone), _number(day), billable_pg))


def fee_place(prices: Prices, charge: str, zone: object, day: pd.Timestamp) -> str:
    """File and row of a charge's amount in that zone on that day; "" when the table has none."""
    rows = (prices.fee_row(plain(charge), where, _number(day)) for where in (plain(zone), ""))
    return next(filter(None, (_place(prices.fees, row) for row in rows)), "")


def fuel_place(prices: Prices, service: object, day: pd.Timestamp) -> str:
    """File and row of the fuel percentage of that day; "" when the table has none."""
    rows = (prices.fuel_row(which, _number(day)) for which in (plain(service), ""))
    return next(filter(None, (_place(prices.fuel, row) for row in rows)), "")


def _number(day: pd.Timestamp) -> int:
    return ALWAYS if pd.isna(day) else day.toordinal() - EPOCH.toordinal()


def _place(table: pd.DataFrame, row: int | None) -> str:
    if row is None:
        return ""
    where = (table[column].array[row] for column in ("source_file", "source_place"))
    return ", ".join(part for part in where if isinstance(part, str))
