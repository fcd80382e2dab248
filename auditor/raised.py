"""The seller's own price table where the carrier's prices have risen since: raised as the labels show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.cases import Cases
from auditor.rises import STEPS, Rise, rises
from auditor.tables import RATES, conform
from auditor.tariff import Prices, Rulebook, price
from auditor.tariff.price import sheet_of
from auditor.tariff.prices import day_numbers, plain


@dataclass(frozen=True)
class Raised:
    """The prices to reckon by; where labels show rises beyond the table given, those, and the prices without them."""

    prices: Prices
    rises: tuple[Rise, ...] = ()
    older: Prices | None = None


def raised(prices: Prices, seen: pd.DataFrame) -> Raised:
    """The prices with a further list from each day on which those of all labels rise by one percentage.

    Args:
        prices: with the seller's own rates.
        seen: the labels, as `learn.labels_seen` gives them.
    """
    sheet, of = sheet_of(seen.rename(columns={"billable_pg": "weight_pg"}), prices)
    listed = prices.freight_cents(sheet.row[of], seen["billable_pg"].to_numpy(dtype=np.int64))
    steps = pd.DataFrame(
        {
            "service": seen["service"].map(plain),
            "before_cents": listed,
            "after_cents": seen["cents"],
            "before_on": pd.Series(pd.NaT, index=seen.index, dtype="datetime64[s]"),
            "after_on": seen["shipped_on"],
        },
        columns=list(STEPS),
    )
    found = rises(steps)
    rates = prices.rates
    for rise in found:
        rates = conform(pd.concat([rates, _further(rates, rise, seen)], ignore_index=True), RATES)
    return Raised(Prices(rates, prices.fees, prices.fuel), found, prices if found else None)


def _further(rates: pd.DataFrame, rise: Rise, seen: pd.DataFrame) -> pd.DataFrame:
    """The lists in force on the day of the rise, raised; where labels show a price a cent off that, it is theirs."""
    service = rates["service"].map(plain)
    begun = pd.Series(day_numbers(rates["effective_on"]), index=rates.index)
    begun = begun.where((begun <= int(day_numbers(pd.Series([rise.since]))[0])) & rise.covers(service))
    table = rates[begun.notna() & (begun == begun.groupby(service).transform("max"))]
    higher = rise.of(table["price_cents"].to_numpy(dtype=np.int64))
    words = f"; {rise.percent} on {rise.since:%Y-%m-%d}, as your labels show"
    table = table.assign(
        price_cents=higher, effective_on=rise.since, source_place=table["source_place"].fillna("") + words
    )
    return table.assign(price_cents=_as_shown(table, seen[seen["shipped_on"] >= rise.since]))


def _as_shown(table: pd.DataFrame, seen: pd.DataFrame) -> pd.Series:
    """The prices of a list, each that labels show within a cent as most of those show it."""
    keys = ["service", "zone"]
    listed = table.assign(row=table.index, **{key: table[key].map(plain) for key in keys}).sort_values("up_to_pg")
    labels = seen.assign(**{key: seen[key].map(plain) for key in keys}).sort_values("billable_pg")
    labels = labels.astype({"billable_pg": "int64"})
    joined = pd.merge_asof(
        labels,
        listed.astype({"up_to_pg": "int64"})[["row", "up_to_pg", "price_cents", *keys]],
        left_on="billable_pg",
        right_on="up_to_pg",
        by=keys,
        direction="forward",
    ).dropna(subset=["row"])
    near = joined[(joined["cents"] - joined["price_cents"].astype("int64")).abs() <= 1]
    count = near.groupby(["row", "cents"]).size().rename("labels").reset_index().sort_values("labels")
    shown = count.drop_duplicates("row", keep="last").set_index("row")["cents"]
    prices: pd.Series = table["price_cents"].where(~table.index.isin(shown.index), shown.reindex(table.index))
    return prices.astype("int64")


def more_by_statement(cases: Cases, held: Raised, book: Rulebook) -> pd.DataFrame:
    """What labels cost by the raised prices and by those of the table as given, where that differs.

    Returns:
        A row for each statement: the case of its first such label, labels (their count), raised_cents and given_cents.
    """
    label = cases.before[cases.about["first"] & ~cases.about["voided"] & (held.older is not None)]
    by_raised, by_given = (price(label, book, prices) for prices in (held.prices, held.older or held.prices))
    both = pd.DataFrame({"given_cents": by_given["total_cents"], "raised_cents": by_raised["total_cents"]}).dropna()
    both = both[both["given_cents"] != both["raised_cents"]].astype("int64")
    summed = both.assign(case=both.index).groupby(cases.about["statement"].loc[both.index], dropna=False)
    return summed.agg(
        case=("case", "first"),
        labels=("case", "size"),
        raised_cents=("raised_cents", "sum"),
        given_cents=("given_cents", "sum"),
    )


def in_words(found: Sequence[Rise], names: pd.Series) -> str:
    """The rises in words: 'prices rose by 5.9 % on 2026-03-16'; `names`, the services as the table spells them."""
    spelled = {plain(name): str(name) for name in names.dropna().unique()}
    of = (f" of {spelled.get(rise.service, rise.service)}" if rise.service else "" for rise in found)
    return " and ".join(
        f"prices{service} {rise.percent} on {rise.since:%Y-%m-%d}" for rise, service in zip(found, of, strict=True)
    )
