"""Prices at the packing bench: of today, from tables and labels that end before it, and marked so."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from auditor.core.schemas import FUEL, Problem, joined, rows
from auditor.tariff import Prices
from auditor.tariff.prices import day_numbers, plain


def learned(prices: Prices) -> bool:
    """Whether some of the prices were not given but learned from labels."""
    return bool(prices.learned)


def carried_on(prices: Prices, day: pd.Timestamp) -> tuple[Prices, list[Problem]]:
    """The prices with each service's last fuel percentage up to that day, where its table ends before; and that told.

    A percentage that changes every week is not known for a day after its table, and an audit leaves such a parcel
    without a price. At the bench the label is about to be bought, and the last one known is the best there is.
    """
    on = day.as_unit("s")
    ended = [row for row in _last(prices.fuel, on) if prices.fuel_ppm(plain(row["service"]), _number(on)) is None]
    if not ended:
        return prices, []
    more = pd.DataFrame(ended).assign(effective_on=on)
    return Prices(prices.rates, prices.fees, joined([prices.fuel, more], FUEL)), list(_notes(ended))


def _last(fuel: pd.DataFrame, day: pd.Timestamp) -> list[dict[str, Any]]:
    """The last row of each service that is in force by that day."""
    begun = fuel[fuel["effective_on"] <= day].sort_values("effective_on", kind="stable")
    return rows(begun.drop_duplicates("service", keep="last"))


def _number(day: pd.Timestamp) -> int:
    return int(day_numbers(pd.Series([day]))[0])


def _notes(ended: list[dict[str, Any]]) -> Iterator[Problem]:
    for row in ended:
        service = "" if pd.isna(row["service"]) else f" of {row['service']}"
        message = (
            f"The last fuel percentage known{service}, {int(row['fuel_ppm']) / 10_000:g} % from "
            f"{row['effective_on']:%Y-%m-%d} on, was taken. Look up today's: the charge moves with it."
        )
        yield Problem("", "", message, note=True)


def prices_learned(prices: Prices, lines: pd.DataFrame) -> Iterator[Problem]:
    """That the prices are no list's, and how old the labels are that they were learned from."""
    labels = lines.loc[lines["state"] == "label charge", "shipped_on"].dropna()
    if not learned(prices) or labels.empty:
        return
    names = {"rates": "prices", "fees": "fees", "fuel": "fuel percentages"}
    which = " and ".join(names[name] for name in names if name in prices.learned)
    message = (
        f"The {which} were learned from your own labels, the last of {labels.max():%Y-%m-%d}, so the charge is an "
        "estimate, and what has changed since is not in it. A price list given with --history makes it exact."
    )
    yield Problem("", "", message, note=True)
