"""The fuel percentage of each week, learned from what labels were billed, or from what they cost.

A percentage is known only where it gives, to the cent, what was billed. Where labels are billed charge by charge and no
fuel with them, it is 0 %; where nothing tells it, it is not known.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from auditor.core.money import half_up
from auditor.core.schemas import FUEL, conform
from auditor.tariff import Prices, Rulebook, column_of, price
from auditor.tariff.prices import LEARNED

STEPS_PPM = (500, 100, 10)
"""Published percentages are multiples of a twentieth of a percent, or else of a hundredth (common practice, no source);
a coarser one that gives the cents goes before a finer one."""

MOST = 0.8
"""A percentage must give what so large a share of the labels was billed (chosen: one in five may be billed wrongly)."""

MOST_CENTS = 10**10
"""More than any parcel costs."""

SEEN = ("service", "on", "carried_cents", "fuel_cents")


def learned_fuel(lines: pd.DataFrame, shipments: pd.DataFrame, given: Prices, book: Rulebook) -> pd.DataFrame:
    """FUEL of every week that something tells the percentage of: of all services, or of each where they differ.

    Args:
        lines: LINES with `shipment`, of recorded parcels only.
        shipments: SHIPMENTS.
        given: the seller's tables, by which a label's cost is parted into charges and fuel.
        book: the rules, for what carries fuel.
    """
    weeks = _percentages(pd.DataFrame(columns=list(SEEN)))
    for seen in _evidence(lines, shipments, given, book):
        weeks = pd.concat([weeks, _percentages(seen[~seen["service"].isin(weeks["service"])])], ignore_index=True)
    alike = weeks.groupby("effective_on")["fuel_ppm"].nunique().le(1).all()
    table = weeks.drop(columns="service").drop_duplicates() if alike else weeks
    return conform(table.assign(source_file=LEARNED), FUEL)


def _evidence(lines: pd.DataFrame, shipments: pd.DataFrame, given: Prices, book: Rulebook) -> Iterator[pd.DataFrame]:
    """SEEN of what may tell the percentage, the surest first.

    That is labels as billed; those with charges of unknown words, which carry no fuel or do; corrections that show
    fuel; and what labels cost.
    """
    label = lines["state"] == "label charge"
    sums = _sums(lines[label], ["shipment"], book)
    yield fuel_seen(lines, shipments, book)
    yield _as_billed(sums, lines[label], shipments, book)
    yield _as_billed(sums, lines[label], shipments, book, unknown_carries=True)
    later = lines[lines["state"].isin(["adjustment", "fee"])]
    corrected = _as_billed(_sums(later, ["shipment", "statement"], book), later, shipments, book)
    yield corrected[corrected["fuel_cents"] > 0]
    yield _as_paid(shipments[~shipments.index.isin(lines.loc[label, "shipment"])], given, book)


def fuel_seen(lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """SEEN of each label of which every charge is known: service, ship date, what carries fuel and the fuel billed."""
    label = lines[lines["state"] == "label charge"]
    sums = _sums(label, ["shipment"], book)
    return _as_billed(sums[sums["unknown_cents"] == 0], label, shipments, book)


def _sums(lines: pd.DataFrame, by: list[str], book: Rulebook) -> pd.DataFrame:
    """Cents by charge, of each parcel or each of its statements; words that are not known together."""
    lines = lines[lines["amount_cents"].notna()]
    columns = ["freight_cents", *map(column_of, book.charges), "fuel_cents", "unknown_cents"]
    kind = lines["charge"].fillna("unknown").map(column_of)
    kind = kind.where(kind.isin(columns), "unknown_cents")
    sums = lines["amount_cents"].astype(np.int64).groupby([*(lines[key] for key in by), kind]).sum()
    return sums.unstack(fill_value=0).reindex(columns=columns, fill_value=0)


def _as_billed(
    sums: pd.DataFrame, lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook, *, unknown_carries: bool = False
) -> pd.DataFrame:
    """SEEN of parcels as billed."""
    printed = lines.groupby(list(sums.index.names))[["service", "shipped_on"]].first().loc[sums.index]
    own = shipments.loc[sums.index.get_level_values("shipment").astype(int), ["service", "shipped_on"]]
    facts = own.set_axis(sums.index).fillna(printed).rename(columns={"shipped_on": "on"})
    carried = _carried(facts["service"], sums, book) + (sums["unknown_cents"] if unknown_carries else 0)
    return _told(facts.assign(carried_cents=carried, fuel_cents=sums["fuel_cents"]).reset_index(drop=True))


def _as_paid(parcels: pd.DataFrame, given: Prices, book: Rulebook) -> pd.DataFrame:
    """SEEN of labels by what the seller paid for them: what is beyond the price of their charges is fuel."""
    if given.rates.empty or parcels["label_cost_cents"].isna().all():
        return pd.DataFrame(columns=list(SEEN))
    parcels = parcels[parcels["label_cost_cents"].notna()]
    without = Prices(given.rates, given.fees, conform(pd.DataFrame({"fuel_ppm": [0]}), FUEL))
    priced = price(parcels.assign(residential=parcels["residential"].fillna(value=False)), book, without)
    seen = parcels[["service"]].assign(
        on=parcels["shipped_on"],
        carried_cents=_carried(parcels["service"], priced, book),
        fuel_cents=parcels["label_cost_cents"] - priced["total_cents"],
    )
    return _told(seen[priced["unpriced"].isna()])


def _carried(service: pd.Series, cents: pd.DataFrame, book: Rulebook) -> pd.Series:
    """What carries fuel, by the rules of each parcel's service."""
    carried = pd.Series(0, index=cents.index, dtype=np.int64)
    for name, rows in service.groupby(service):
        columns = [column for charge in book.of(name).fuel_on if (column := column_of(charge)) in cents]
        carried.loc[rows.index] = cents.loc[rows.index, columns].sum(axis=1)
    return carried


def _told(seen: pd.DataFrame) -> pd.DataFrame:
    known = seen.dropna(subset=["service", "on", "fuel_cents"])
    carried, fuel = known["carried_cents"], known["fuel_cents"]
    return known[carried.between(1, MOST_CENTS) & fuel.between(0, MOST_CENTS)][list(SEEN)]


def _percentages(seen: pd.DataFrame) -> pd.DataFrame:
    """Service, first day and percentage, week by week; day by day in a week that has more than one."""
    monday = seen["on"] - pd.to_timedelta(seen["on"].dt.day_of_week, unit="D") if len(seen) else seen["on"]
    found = [
        (service, on, ppm)
        for (service, start), week in seen.groupby(["service", monday.rename("monday")])
        for on, ppm in _of_week(pd.Timestamp(str(start)), week)
    ]
    table = pd.DataFrame(found, columns=["service", "effective_on", "fuel_ppm"])
    return table.astype({"effective_on": "datetime64[s]", "fuel_ppm": "int64"})


def _of_week(start: pd.Timestamp, week: pd.DataFrame) -> Iterator[tuple[pd.Timestamp, int]]:
    ppm = percentage(week)
    if ppm is not None:
        yield start, ppm
        return
    for on, labels in week.groupby("on"):
        if (ppm := percentage(labels)) is not None:
            yield pd.Timestamp(str(on)), ppm


def percentage(seen: pd.DataFrame) -> int | None:
    """The percentage in millionths that gives what most of some labels were billed to the cent; None where none does.

    Args:
        seen: columns carried_cents (above zero) and fuel_cents.
    """
    carried, fuel = (seen[column].to_numpy(dtype=np.int64) for column in ("carried_cents", "fuel_cents"))
    for step in STEPS_PPM:
        rounded = np.rint(fuel / carried * 1_000_000 / step).astype(np.int64) * step
        candidates = np.unique(rounded)
        gives = [int((half_up(carried * one, 1_000_000) == fuel).sum()) for one in candidates.tolist()]
        best = int(np.argmax(gives))
        if gives[best] >= MOST * len(fuel):
            return int(candidates[best])
    return None
