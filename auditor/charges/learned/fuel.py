"""The fuel percentage of each week, learned from what labels were billed, or from what they cost.

A percentage is known only where it gives, to the cent, what was billed. Where labels are billed charge by charge and no
fuel with them, it is 0 %; where nothing tells it, it is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked
from auditor.core.money import half_up, product
from auditor.core.schemas import FUEL, conform
from auditor.tariff import Prices, Rulebook, column_of, price
from auditor.tariff.prices import LEARNED, day_numbers, plain

STEPS_PPM = (500, 100, 10)
"""Published percentages are multiples of a twentieth of a percent, or else of a hundredth (common practice, no source);
a coarser one that gives the cents goes before a finer one."""

MOST = 0.8
"""A percentage must give what so large a share of the labels was billed (chosen: one in five may be billed wrongly)."""

LEAST_UNLIKE = 5
"""So many sums that carry fuel, all unlike, tell whether an unknown charge is among them (chosen)."""

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

    That is labels as billed; those with charges of unknown words, where it is sure whether these carry fuel;
    corrections that show fuel; and what labels cost.
    """
    label = of_labels(lines)
    sums = charge_sums(lines[label], ["shipment"], book.charges)
    sums = sums[sums["unknown_cents"] != 0]
    yield fuel_seen(lines, shipments, book)
    yield _beside_unknown(
        *(_as_billed(sums, lines[label], shipments, book, unknown_carries=carries) for carries in (False, True))
    )
    later = lines[lines["state"].isin(["adjustment", "fee"])]
    of_later = charge_sums(later, ["shipment", "statement"], book.charges)
    corrected = _as_billed(of_later[of_later["unknown_cents"] == 0], later, shipments, book)
    yield corrected[corrected["fuel_cents"] > 0]
    yield _as_paid(shipments[~shipments.index.isin(lines.loc[label, "shipment"])], given, book)


def fuel_seen(lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """SEEN of each label of which every charge is known: service, ship date, what carries fuel and the fuel billed."""
    label = lines[of_labels(lines)]
    sums = charge_sums(label, ["shipment"], book.charges)
    return _as_billed(sums[sums["unknown_cents"] == 0], label, shipments, book)


def _beside_unknown(without: pd.DataFrame, with_them: pd.DataFrame) -> pd.DataFrame:
    """SEEN of labels with charges of unknown words, of the weeks that tell whether those carry fuel.

    Of the two percentages one must be plain and the other none at all: nearly right is not known.
    """
    weeks = [
        dict(iter(seen.groupby([seen["service"], _monday(seen["on"]).rename("monday")])))
        for seen in (without, with_them)
    ]
    told = [
        weeks[sure][week] for week in weeks[0].keys() & weeks[1].keys() for sure in _surely(*(w[week] for w in weeks))
    ]
    return pd.concat(told).sort_index() if told else without[:0]


def _surely(*hypotheses: pd.DataFrame) -> list[int]:
    """The only one of the hypotheses that a plain percentage fits; none where none or several fit."""
    fit = [
        at
        for at, seen in enumerate(hypotheses)
        if seen["carried_cents"].nunique() >= LEAST_UNLIKE and percentage(seen, STEPS_PPM[:1]) is not None
    ]
    return fit if len(fit) == 1 else []


def _monday(days: pd.Series) -> pd.Series:
    monday: pd.Series = days - pd.to_timedelta(days.dt.day_of_week, unit="D") if len(days) else days
    return monday


def fits_its_week(seen: pd.DataFrame) -> pd.Series:
    """Whose fuel is, to the cent, a plain percentage that most labels of its week are billed by.

    Args:
        seen: SEEN, of labels of one service with a ship date.
    """
    fits = pd.Series(data=False, index=seen.index)
    known = _seen_percentages(seen)
    for _, week in known.groupby(_monday(known["on"])):
        ppm = percentage(week, STEPS_PPM[:2])
        fits.loc[week.index] = _half_up(week, ppm) == week["fuel_cents"] if ppm is not None else False
    return fits


def _half_up(seen: pd.DataFrame, ppm: int) -> pd.Series:
    return pd.Series(half_up(product(seen["carried_cents"].to_numpy(dtype=np.int64), ppm), 1_000_000), index=seen.index)


def fits_table(seen: pd.DataFrame, prices: Prices) -> pd.Series:
    """Whose fuel is, to the cent, the percentage of its day by the seller's table.

    Args:
        seen: SEEN, of labels with a ship date.
        prices: the tables given.
    """
    days = day_numbers(seen["on"])
    ppm = Masked.of(prices.fuel_ppm(plain(of), day) for of, day in zip(seen["service"], days.tolist(), strict=True))
    fuel = half_up(product(seen["carried_cents"].to_numpy(dtype=np.int64), ppm.numbers), 1_000_000)
    return pd.Series(ppm.known & (fuel == seen["fuel_cents"].to_numpy()), index=seen.index)


def of_labels(lines: pd.DataFrame) -> pd.Series:
    """Which lines are a label's charges, or stand beside them under words that are not known and may carry fuel."""
    label = lines["state"] == "label charge"
    key = pd.MultiIndex.from_frame(lines[["shipment", "statement"]])
    beside = (lines["state"] == "fee") & lines["charge"].isna() & key.isin(key[label.to_numpy()])
    return label | beside


def charge_sums(lines: pd.DataFrame, by: list[str], charges: Sequence[str]) -> pd.DataFrame:
    """Cents by charge, of each parcel or each of its statements; words that are not known together."""
    lines = lines[lines["amount_cents"].notna()]
    columns = ["freight_cents", *map(column_of, charges), "fuel_cents", "unknown_cents"]
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
    return _seen_percentages(facts.assign(carried_cents=carried, fuel_cents=sums["fuel_cents"]).reset_index(drop=True))


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
    return _seen_percentages(seen[priced["unpriced"].isna()])


def _carried(service: pd.Series, cents: pd.DataFrame, book: Rulebook) -> pd.Series:
    """What carries fuel, by the rules of each parcel's service."""
    carried = pd.Series(0, index=cents.index, dtype=np.int64)
    for name, rows in service.groupby(service):
        columns = [column for charge in book.of(name).fuel_on if (column := column_of(charge)) in cents]
        carried.loc[rows.index] = cents.loc[rows.index, columns].sum(axis=1)
    return carried


def _seen_percentages(seen: pd.DataFrame) -> pd.DataFrame:
    known = seen.dropna(subset=["service", "on", "fuel_cents"])
    carried, fuel = known["carried_cents"], known["fuel_cents"]
    return known[carried.between(1, MOST_CENTS) & fuel.between(0, MOST_CENTS)][list(SEEN)]


def _percentages(seen: pd.DataFrame) -> pd.DataFrame:
    """Service, first day and percentage, week by week; day by day in a week that has more than one."""
    found = [
        (service, on, ppm)
        for (service, start), week in seen.groupby(["service", _monday(seen["on"]).rename("monday")])
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


def percentage(seen: pd.DataFrame, steps: Sequence[int] = STEPS_PPM) -> int | None:
    """The percentage in millionths that gives what most of some labels were billed to the cent; None where none does.

    Args:
        seen: columns carried_cents (above zero) and fuel_cents.
        steps: of what the percentage may be a multiple.
    """
    carried, fuel = (seen[column].to_numpy(dtype=np.int64) for column in ("carried_cents", "fuel_cents"))
    for step in steps:
        rounded = np.rint(fuel / carried * 1_000_000 / step).astype(np.int64) * step
        candidates = np.unique(rounded)
        gives = [int((half_up(carried * ppm, 1_000_000) == fuel).sum()) for ppm in candidates.tolist()]
        best = int(np.argmax(gives))
        if gives[best] >= MOST * len(fuel):
            return int(candidates[best])
    return None
