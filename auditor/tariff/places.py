"""Where in the seller's own files a price stands: for the working of one parcel, not for columns of them."""

from __future__ import annotations

import pandas as pd

from auditor.tariff.prices import Prices, day_numbers, plain


def rate_place(prices: Prices, service: object, zone: object, day: pd.Timestamp, billable_pg: int) -> str:
    """File and row of the base price for that service, zone, day and billable weight; "" when there is none."""
    rates = prices.rates[_means(prices.rates["service"], service)]
    rates = _latest(rates, day)
    rates = rates[_means(rates["zone"], zone) & (rates["up_to_pg"] >= billable_pg)]
    return _place(rates.sort_values("up_to_pg"))


def fee_place(prices: Prices, charge: str, zone: object, day: pd.Timestamp) -> str:
    """File and row of a charge's amount in that zone on that day; "" when the table has none."""
    fees = prices.fees[_means(prices.fees["charge"], charge)]
    own = _latest(fees[_means(fees["zone"], zone)], day)
    return _place(own) or _place(_latest(fees[fees["zone"].isna()], day))


def fuel_place(prices: Prices, service: object, day: pd.Timestamp) -> str:
    """File and row of the fuel percentage of that day; "" when the table has none."""
    own = _latest(prices.fuel[_means(prices.fuel["service"], service)], day)
    return _place(own) or _place(_latest(prices.fuel[prices.fuel["service"].isna()], day))


def _means(column: pd.Series, wanted: object) -> pd.Series:
    return column.map(plain) == plain(wanted)


def _latest(table: pd.DataFrame, day: pd.Timestamp) -> pd.DataFrame:
    """The rows of the last effective date that has begun."""
    begun = pd.Series(day_numbers(table["effective_on"]), index=table.index)
    begun = begun[begun <= int(day_numbers(pd.Series([day]))[0])]
    latest: pd.DataFrame = table.loc[begun.index[begun == begun.max()]]
    return latest


def _place(table: pd.DataFrame) -> str:
    if table.empty or pd.isna(table["source_file"].iloc[0]):
        return ""
    return f"{table['source_file'].iloc[0]}, {table['source_place'].iloc[0]}"
