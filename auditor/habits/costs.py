"""What each carton was back-charged, by cause and month, and whether it gets better or worse."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats
from auditor.core.schemas import HABIT_CARTONS, HABIT_MONTHS, SHARES, conform
from auditor.core.sides import SIDES
from auditor.habits.advice.trims import with_ends
from auditor.habits.history import History
from auditor.habits.rates import newcombe, shrunk, wilson
from auditor.habits.readings.excess import ends

BY_CAUSE = [f"{share}_cents" for share in SHARES]
OF_CARTON = BY_CAUSE[:4]
"""The causes that come from the carton and the typed weight; the rest are the carrier's, or the address's."""

DAYS_A_MONTH = 365.25 / 12
"""Of the Julian year (from memory)."""

LEAST_EACH = 10
"""So many parcels in each half of the months are needed to speak of a trend (chosen)."""


def with_back_charges(past: History, shipments: pd.DataFrame, findings: pd.DataFrame) -> pd.DataFrame:
    """The parcels that count, with carton, name, month_on, back_charged, and cents by cause.

    A parcel is back-charged when size, weight or rounding raised its bill.
    """
    table = past.parcels.table
    tracking = shipments["tracking"].loc[table.index]
    amounts = findings.groupby("shipment_tracking")[BY_CAUSE].sum()
    cents = amounts.reindex(tracking).set_axis(table.index).fillna(0).astype("int64")
    cents = cents.mask(tracking.duplicated(), 0)
    carton = past.groups.of_shipment.reindex(table.index)
    name = carton.map(past.groups.table.set_index("carton")["name"]).astype("str")
    month = table["shipped_on"].dt.to_period("M").dt.to_timestamp()
    back_charged = cents[OF_CARTON].sum(axis=1) > 0
    return pd.concat([table, cents], axis=1).assign(carton=carton, name=name, month_on=month, back_charged=back_charged)


def months_of(parcels: pd.DataFrame) -> float:
    """How many months the parcels' ship dates span; one at least."""
    days = (parcels["shipped_on"].max() - parcels["shipped_on"].min()).days + 1 if len(parcels) else 0
    return max(days / DAYS_A_MONTH, 1.0)


def by_month(parcels: pd.DataFrame) -> pd.DataFrame:
    """HABIT_MONTHS."""
    groups = parcels.groupby(["carton", "month_on"])
    counts = groups.agg(parcels=("back_charged", "size"), back_charged=("back_charged", "sum"))
    return conform(counts.join(groups[BY_CAUSE].sum()).reset_index(), HABIT_MONTHS)


def by_carton(
    parcels: pd.DataFrame, past: History, months: float, expected_cents: Mapping[str, Floats]
) -> pd.DataFrame:
    """HABIT_CARTONS, the dearest carton first.

    Args:
        parcels: of `with_back_charges`.
        past: the history they come from.
        months: that they span.
        expected_cents: by carton the back-charges a month by the fitted excess, in draws (D).
    """
    groups = parcels.groupby("carton")
    table = past.groups.table.rename(columns={"parcels": "shipped"}).set_index("carton")
    counts = groups.agg(parcels=("back_charged", "size"), back_charged=("back_charged", "sum"))
    seen = _readings(parcels)
    table = (
        table.join(counts)
        .join(groups["reading_shown"].sum().rename("measured"))
        .fillna({"parcels": 0, "back_charged": 0, "measured": 0})
    )
    table = table.join((groups[BY_CAUSE].sum() / months).round().astype("Int64")).join(seen)
    hits, trials = (table[column].to_numpy(dtype=np.float64) for column in ("back_charged", "parcels"))
    low, high = wilson(hits, trials)
    table = table.assign(share=hits / np.where(trials > 0, trials, np.nan), share_low=low, share_high=high)
    table = table.assign(**with_ends("likely_share", shrunk(hits, trials))) if len(table) else table
    table = table.join(_of_draws("expected_cents", expected_cents)).join(_fitted_length(past)).join(_trends(parcels))
    dearest = table[[*OF_CARTON]].sum(axis=1).sort_values(ascending=False, kind="stable").index
    return conform(table.loc[dearest].fillna({"trend": ""}).reset_index(), HABIT_CARTONS)


def _readings(parcels: pd.DataFrame) -> pd.DataFrame:
    """The mean of the readings seen less the declared longest side; only parcels that were corrected have one."""
    longest = SIDES[0]
    middle = (parcels[f"low_{longest}"] + parcels[f"high_{longest}"]) / 2 - parcels[longest].astype("float64")
    measured = parcels["reading_shown"] & np.isfinite(middle)
    mean = middle[measured].groupby(parcels.loc[measured, "carton"]).mean()
    return pd.DataFrame({"measured_over_nm": mean.round().astype("Int64")})


def _fitted_length(past: History) -> pd.DataFrame:
    fit = past.fits.get(SIDES[0])
    return _of_draws("excess_nm", {carton: own.mean for carton, own in fit.of_carton.items()} if fit else {})


def _of_draws(name: str, draws: Mapping[str, Floats]) -> pd.DataFrame:
    rows = {carton: (values.mean(), *ends(values)) for carton, values in draws.items() if len(values)}
    columns = [name, f"{name}_low", f"{name}_high"]
    return pd.DataFrame.from_dict(rows, orient="index", columns=columns).astype("float64").round().astype("Int64")


def _trends(parcels: pd.DataFrame) -> pd.DataFrame:
    """By carton the share back-charged in the later half of the months less that in the earlier."""
    months = np.sort(parcels["month_on"].dropna().unique())
    columns = ["trend", "later_less", "later_less_low", "later_less_high"]
    rows = {}
    for carton, own in parcels.groupby("carton"):
        later = own["month_on"] >= months[len(months) // 2] if len(months) > 1 else own["month_on"].isna()
        counts = [(int(half["back_charged"].sum()), len(half)) for half in (own[~later], own[later])]
        if min(count for _, count in counts) >= LEAST_EACH:
            difference, low, high = newcombe(counts[0], counts[1])
            rows[carton] = ("rising" if low > 0 else "falling" if high < 0 else "none", difference, low, high)
    return pd.DataFrame.from_dict(rows, orient="index", columns=columns)
