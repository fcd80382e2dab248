"""The default weight of a carton: the one always typed, against the weights that are read.

A default too low costs corrections, one too high costs postage on every parcel. Which share of parcels it should cover
is the newsvendor's question (Arrow, Harris and Marschak, Econometrica 19 (1951), 250-272): short / (short + over). Here
a parcel short costs the correction fee, the postage being due either way, and a step over costs its postage; where that
fee is not known, so is not the share it asks for, and what is reckoned says that it leaves the fee out. As nobody is to
declare less than was measured, a default covers at least the share chosen, and none is advised below what is
typed now unless the seller's own scale showed lighter parcels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr

from auditor.core.arrays import Floats, Whole
from auditor.habits.advice.trims import in_cents, some_of, with_ends
from auditor.habits.readings.cells import edges, width
from auditor.habits.readings.excess import Excess
from auditor.tariff import Prices, Rulebook, Rules, price

TYPED_MOSTLY = 0.5
"""A weight typed on this share of a carton's parcels is its default (chosen)."""

LEAST_WEIGHED = 10
"""From so many parcels on weighed by the seller a lighter default than now may be advised (chosen)."""

BELOW, ABOVE, FAR = 6, 16, 40
"""Steps below and above the present default that are tried, and in which readings are told apart (chosen)."""

MOST_COVERED = 0.98
"""A default that covers more would be guessed from the tail (chosen)."""


def critical_ratio(short: float, over: float) -> float:
    """The share of cases to cover, from the cost of one unit short and of one over; 0 where neither costs anything."""
    return short / (short + over) if short + over > 0 else 0.0


def default_of(parcels: pd.DataFrame) -> int | None:
    """The weight (pg) typed on most parcels of a carton; None where there is no such one."""
    counts = parcels["weight_pg"].value_counts()
    return int(counts.index[0]) if len(counts) and counts.iloc[0] >= TYPED_MOSTLY * counts.sum() else None


def beyond_default(table: pd.DataFrame, packed: pd.Series, default: pd.Series) -> pd.DataFrame:
    """Bounds of each parcel's weight less its carton's default: carton, low, high, as `excess.fitted` takes them.

    Args:
        table: `bounds.Parcels.table` with carton.
        packed: what the seller's own scale showed, pg, missing where not weighed; it stands for a reading where the
            carrier shows none.
        default: each parcel's carton's default weight, pg.
    """
    weighed = packed.astype("float64").reindex(table.index)
    unread = np.isneginf(table["low_weight_pg"]) & weighed.notna()
    ends = {end: table[f"{end}_weight_pg"].mask(unread, weighed) - default.astype("float64") for end in ("low", "high")}
    return pd.DataFrame({"carton": table["carton"], **ends})[default.notna()]


@dataclass(frozen=True)
class Default:
    """What is known of one carton's default weight.

    `table`: columns of HABIT_WEIGHTS without the carton. `then_pg`: the default that covers `share` of the parcels, not
    below what was measured; None when none within reach does. In draws (D) and cents a month: `saving`, less than now
    with `then_pg`; `weighing_saving`, less than now if each parcel were weighed; `over`, paid now for weight that is
    not there; `short`, back-charged now for weight, by the fit. `fee_known`: whether a correction's fee is in them.
    """

    table: pd.DataFrame
    now_pg: int
    then_pg: int | None
    share: float
    saving: Floats
    weighing_saving: Floats
    over: Floats
    short: Floats
    fee_known: bool


@dataclass(frozen=True)
class Typed:
    """One carton's parcels with its default weight typed.

    `parcels`: as `price` takes them. `now_pg`: that default weight. `beyond`: how far the weights measured lie beyond
    it. `packed`: weights of that carton measured by the seller, pg. `a_month`: how many such parcels there are.
    """

    parcels: pd.DataFrame
    now_pg: int
    beyond: Excess
    packed: pd.Series
    a_month: float


def defaults(typed: Typed, rules: Rules, book: Rulebook, prices: Prices, *, cover: float) -> Default:
    """Every default weight within reach of one carton's present one.

    Args:
        typed: the carton as it is used.
        rules: whose steps of weight are tried.
        book: the rules.
        prices: the prices.
        cover: the share of parcels that a default is to cover at least.
    """
    now_pg, beyond, a_month = typed.now_pg, typed.beyond, typed.a_month
    step = width("weight_pg", rules)
    tried = sorted({now_pg, *range(max(now_pg // step - BELOW, 1) * step, (now_pg // step + ABOVE) * step, step)})
    sample = some_of(typed.parcels)
    ends = edges("weight_pg", max(now_pg - FAR * step, 1), now_pg + FAR * step, rules)
    chance = np.diff(ndtr((ends[1:-1, None] - now_pg - beyond.mean) / beyond.spread), axis=0, prepend=0.0, append=1.0)
    entered, measured = _priced(sample, tried, book, prices), _priced(sample, (ends[:-1] + ends[1:]) // 2, book, prices)
    fee = _fee(sample, book, prices)
    short = np.maximum(measured[:, None, :] - entered[:, :, None], 0.0)
    expected = (short + (fee or 0) * (short > 0)).mean(axis=0) @ chance
    cost, at = entered.mean(axis=0)[:, None] + expected, tried.index(now_pg)

    covered = ndtr((np.array(tried)[:, None] - now_pg - beyond.mean) / beyond.spread)
    asked = 0.0 if fee is None else critical_ratio(fee, float(np.diff(entered.mean(axis=0)).mean()))
    share = min(max(cover, asked), MOST_COVERED)
    least = _floor(now_pg, typed.packed.dropna().astype("float64"), share)
    enough = [place for place, weight in enumerate(tried) if weight >= least and covered[place].mean() >= share]
    columns: dict[str, object] = {"weight_pg": tried, "now": [weight == now_pg for weight in tried]}
    columns |= with_ends("covered", covered) | with_ends("parcel_cents", cost)
    columns |= with_ends("saving_cents", (cost[at] - cost) * a_month)
    return Default(
        table=in_cents(pd.DataFrame(columns)),
        now_pg=now_pg,
        then_pg=tried[enough[0]] if enough else None,
        share=share,
        saving=(cost[at] - cost[enough[0] if enough else at]) * a_month,
        weighing_saving=(cost[at] - measured.mean(axis=0) @ chance) * a_month,
        over=np.maximum(entered[:, [at]] - measured, 0).mean(axis=0) @ chance * a_month,
        short=expected[at] * a_month,
        fee_known=fee is not None,
    )


def _priced(sample: pd.DataFrame, weights: Sequence[int] | Whole, book: Rulebook, prices: Prices) -> Floats:
    """What each parcel costs at each weight, in cents; too heavy to be taken counts as the heaviest that is."""
    tiled = sample.loc[sample.index.repeat(len(weights))].reset_index(drop=True)
    tiled = tiled.assign(weight_pg=np.maximum(np.tile(np.asarray(weights), len(sample)), 1))
    cents = price(tiled, book, prices)["total_cents"].astype("float64").to_numpy().reshape(len(sample), -1)
    return np.where(np.isnan(cents), np.nanmax(cents, axis=1, keepdims=True), cents)


def _fee(sample: pd.DataFrame, book: Rulebook, prices: Prices) -> float | None:
    """What correcting one parcel costs beside the postage, in cents on average; None where it is not known of all."""
    with_fee, without = (
        price(sample.assign(corrected=corrected), book, prices)["total_cents"].astype("float64")
        for corrected in (True, False)
    )
    fees = (with_fee - without)[without.notna()]
    return None if fees.empty or fees.isna().any() else float(fees.mean())


def _floor(now_pg: int, weighed: pd.Series, share: float) -> float:
    """The lightest default that may be advised: what covers the parcels weighed; the present one where too few are."""
    return float(weighed.quantile(share)) if len(weighed) >= LEAST_WEIGHED else float(now_pg)
