"""Prices learned from the labels and statements themselves, for a shop that has no price table.

A label's freight tells the price of its service, zone and billable weight; a surcharge line tells its amount; the fuel
lines of a week tell its percentage. Prices never fall as weight grows. Between weights that were seen they are
interpolated, beyond them continued at the service's own slope: an estimate, and said to be one wherever it is used.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.tables import FEES, FUEL, RATES, conform
from auditor.tariff import Prices, Rulebook, column_of, price
from auditor.tariff.prices import LEARNED

EVERY_STEP = 200
"""Learned prices are written out for so many weight steps."""

FUEL_STEP_PPM = 500
"""Published percentages are multiples of a twentieth of a percent (common practice, no source)."""


def learned(lines: pd.DataFrame, shipments: pd.DataFrame, given: Prices, book: Rulebook) -> Prices:
    """The prices given, and learned ones in the place of each table that is empty.

    Args:
        lines: LINES with `shipment`, of recorded parcels only.
        shipments: SHIPMENTS.
        given: the seller's tables.
        book: the rules, for billable weights and for what carries fuel.
    """
    label = lines[(lines["state"] == "label charge") & lines["amount_cents"].notna()]
    parcels = _as_declared(label, shipments, book, given)
    rates = given.rates if len(given.rates) else _rates(label, parcels, book)
    fees = given.fees if len(given.fees) else _fees(lines, book)
    fuel = given.fuel if len(given.fuel) else _fuel(label, book)
    return Prices(rates, fees, fuel)


def _as_declared(label: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook, given: Prices) -> pd.DataFrame:
    """Service, zone and billable weight of each shipment with a label charge, by its row of shipments."""
    printed = label.groupby("shipment")[["service", "zone", "shipped_on"]].first()
    own = shipments.loc[printed.index.astype(int)].set_axis(printed.index)
    for column in printed:
        own[column] = own[column].fillna(printed[column])
    billable = price(own.assign(residential=False), book, given)["billable_pg"]
    return own[["service", "zone", "shipped_on"]].assign(billable_pg=billable)


def _rates(label: pd.DataFrame, parcels: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    freight = label[label["charge"] == "freight"].groupby("shipment")["amount_cents"].first()
    seen = parcels.assign(cents=freight).dropna(subset=["cents", "service", "zone"])
    seen = seen[seen["billable_pg"] > 0]
    slopes = {str(service): _slope(rows) for service, rows in seen.groupby("service")}
    tables = [
        _price_list(str(service), str(zone), rows, slopes[str(service)], book)
        for (service, zone), rows in seen.groupby(["service", "zone"])
    ]
    return conform(pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(), RATES)


def _slope(rows: pd.DataFrame) -> float:
    """Cents by picogram, over all zones of a service, each zone's mean taken out."""
    weight, cents = rows["billable_pg"].astype(float), rows["cents"].astype(float)
    weight = weight - weight.groupby(rows["zone"]).transform("mean")
    cents = cents - cents.groupby(rows["zone"]).transform("mean")
    spread = float((weight**2).sum())
    return max(float((weight * cents).sum()) / spread, 0.0) if spread else 0.0


def _price_list(service: str, zone: str, rows: pd.DataFrame, slope: float, book: Rulebook) -> pd.DataFrame:
    """One service and zone: the median of each weight seen, never falling, carried to every step of weight."""
    from scipy.optimize import isotonic_regression

    seen = rows.groupby("billable_pg")["cents"].agg(["median", "size"]).sort_index()
    rising = isotonic_regression(seen["median"].to_numpy(dtype=float), weights=seen["size"].to_numpy(dtype=float)).x
    rules = book.on(service, rows["shipped_on"].max().date())
    step = rules.weight_rounding.step if rules else 1
    weights = np.unique(np.concatenate([np.arange(1, EVERY_STEP + 1) * step, seen.index.to_numpy(dtype=np.int64)]))
    cents = _carried(weights, seen.index.to_numpy(dtype=np.int64), rising, slope)
    table = {"service": service, "zone": zone, "up_to_pg": weights, "price_cents": np.rint(cents).astype(np.int64)}
    return pd.DataFrame(table).assign(source_file=LEARNED, source_place=f"{len(rows)} labels")


def _carried(
    weights: npt.NDArray[np.int64], seen: npt.NDArray[np.int64], cents: npt.NDArray[np.float64], slope: float
) -> npt.NDArray[np.float64]:
    inside = np.interp(weights, seen, cents)
    below = np.minimum(weights - seen[0], 0) * slope
    above = np.maximum(weights - seen[-1], 0) * slope
    return np.asarray(np.maximum(inside + below + above, 0.0))


def _fees(lines: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The amount most often billed of each charge: by zone, and for all zones; by week, where it changes."""
    known = lines[lines["charge"].isin(book.charges) & (lines["amount_cents"] > 0).fillna(value=False)]
    week = _monday(known["shipped_on"])
    by_zone = known.groupby(["charge", "zone", week])["amount_cents"].agg(_usual)
    everywhere = known.groupby(["charge", week])["amount_cents"].agg(_usual)
    return conform(pd.concat([_changing(everywhere), _changing(by_zone)], ignore_index=True), FEES)


def _changing(weekly: pd.Series) -> pd.DataFrame:
    """The weeks in which an amount differs from that of the week before; the first week stands for all before it."""
    before = weekly.groupby(level=list(range(weekly.index.nlevels - 1))).shift()
    kept = weekly[(weekly != before).fillna(value=True)].rename("amount_cents")
    table = kept.rename_axis([*weekly.index.names[:-1], "effective_on"]).reset_index()
    first = ~table.drop(columns=["effective_on", "amount_cents"]).duplicated()
    return table.assign(effective_on=table["effective_on"].mask(first))


def _monday(days: pd.Series) -> pd.Series:
    monday: pd.Series = days - pd.to_timedelta(days.dt.day_of_week, unit="D")
    return monday


def _usual(amounts: pd.Series) -> int:
    return int(amounts.mode().iloc[0])


def _fuel(label: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The percentage of each week, from the labels' own fuel lines."""
    kind = label["charge"].fillna("unknown").map(column_of)
    sums = label["amount_cents"].astype(np.int64).groupby([label["shipment"], kind]).sum().unstack(fill_value=0)
    facts = label.groupby("shipment")[["service", "shipped_on"]].first().dropna()
    if "fuel_cents" not in sums or facts.empty:
        return conform(pd.DataFrame(), FUEL)
    rows = facts.join(sums)
    carried = pd.Series(
        [
            sum(int(row.get(column_of(name), 0)) for name in book.of(row["service"]).fuel_on)
            for row in rows.to_dict("records")
        ],
        index=rows.index,
    )
    rows = rows.assign(ppm=rows["fuel_cents"] / carried.where(carried > 0) * 1_000_000).dropna(subset=["ppm"])
    weeks = rows.groupby(_monday(rows["shipped_on"]))["ppm"].median()
    ppm = (weeks / FUEL_STEP_PPM).round().astype(np.int64) * FUEL_STEP_PPM
    return conform(pd.DataFrame({"effective_on": weeks.index, "fuel_ppm": ppm.to_numpy()}), FUEL)
