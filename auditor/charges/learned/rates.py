"""Prices learned from the labels and statements themselves, for a shop that has no price table.

A label's freight tells the price of its service, zone and billable weight; a surcharge line tells its amount; the fuel
lines of a week tell its percentage (`learn_fuel`). Prices never fall as weight grows, and from a day on all may be
higher by one percentage (`rises`). Between weights that were seen they are interpolated, beyond them continued at the
service's own slope: an estimate, and said to be one wherever it is used. What is billed in no settled way is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd

from auditor.charges.learned.fuel import learned_fuel
from auditor.charges.learned.rises import Rise, rises
from auditor.charges.schema import Cases, by_rules
from auditor.core.arrays import Floats, Whole
from auditor.core.schemas import FEES, RATES, conform
from auditor.tariff import Prices, Rulebook, price
from auditor.tariff.price import sheet_of
from auditor.tariff.prices import LEARNED, plain

EVERY_STEP = 200
"""Learned prices are written out for so many weight steps."""

SETTLED = 0.8
"""A price is learned where so large a share of the labels of one kind pay the same (chosen)."""

LEAST_ALIKE = 5
"""With fewer labels of equal service, zone and weight than this, nothing speaks against their prices."""

FIRM = 1_000_000.0
"""A price seen on labels of the very time weighs so much more than one carried over or seen on a correction."""

SEEN = ("service", "zone", "shipped_on", "billable_pg", "cents")
CELL = ["service", "zone", "billable_pg"]


def learned(
    lines: pd.DataFrame,
    shipments: pd.DataFrame,
    given: Prices,
    book: Rulebook,
    *,
    corrected: pd.DataFrame | None = None,
) -> Prices:
    """The prices given, and learned ones in the place of each table that is empty.

    Args:
        lines: LINES with `shipment`, of recorded parcels only.
        shipments: SHIPMENTS.
        given: the seller's tables.
        book: the rules, for billable weights and for what carries fuel.
        corrected: SEEN of corrections, see `corrected_labels`; they serve where no label shows a price.
    """
    rates = given.rates
    if rates.empty:
        seen = labels_seen(lines, shipments, given, book)
        rates = price_lists(seen, seen[:0] if corrected is None else corrected, book)
    fees = given.fees if len(given.fees) else _fees(lines, book)
    fuel = given.fuel if len(given.fuel) else learned_fuel(lines, shipments, given, book)
    return Prices(rates, fees, fuel)


def labels_seen(lines: pd.DataFrame, shipments: pd.DataFrame, given: Prices, book: Rulebook) -> pd.DataFrame:
    """SEEN of each label billed, by its row of shipments: its freight, and by what it is priced.

    The billable weight is that of the declared figures, or the one printed where labels of equal weight then agree more
    often on their price; a service and zone as printed where the seller's own records have them too.
    """
    label = lines[(lines["state"] == "label charge") & lines["amount_cents"].notna()]
    facts = ["service", "zone", "shipped_on", "billed_weight_pg"]
    printed = label.groupby("shipment")[facts].first()
    own = shipments.loc[printed.index.astype(int)].set_axis(printed.index)
    own["shipped_on"] = own["shipped_on"].fillna(printed["shipped_on"])
    for column in ("service", "zone"):
        known = printed[column].isin(own[column].dropna().unique()) | own[column].isna()
        own[column] = own[column].mask(known & printed[column].notna(), printed[column])
    freight = label[label["charge"] == "freight"].groupby("shipment")["amount_cents"].first()
    priced = price(own.assign(residential=False), book, given)
    seen = own[["service", "zone", "shipped_on"]].assign(
        billable_pg=priced["billable_pg"], cents=freight.reindex(own.index).astype("Int64")
    )
    kept = (seen[["service", "zone", "shipped_on", "cents"]].notna().all(axis=1)) & (seen["billable_pg"] > 0)
    seen = seen[kept].astype({"cents": "int64"})
    as_printed = seen.assign(billable_pg=_rounded(seen, printed.loc[seen.index, "billed_weight_pg"], book))
    return as_printed if _settled(as_printed)[0] > _settled(seen)[0] else seen


def corrected_labels(cases: Cases, prices: Prices, book: Rulebook) -> pd.DataFrame:
    """SEEN of the parcels that were corrected to another freight, by the carrier's figures."""
    before, measured = price(cases.before, book, prices), price(cases.measured, book, prices)
    label = before["freight_cents"].mask(cases.about["first"], 0)
    seen = cases.measured[["service", "zone", "shipped_on"]].assign(
        billable_pg=measured["billable_pg"], cents=cases.billed["freight_cents"] + label
    )
    sheet, line_of = sheet_of(cases.before, prices)
    known = prices.freight_cents(sheet.line[line_of], before["billable_pg"].to_numpy(dtype=np.int64)).known
    changed = (cases.players["active"] != 0) & (cases.billed["freight_cents"] != 0) & (cases.about["first"] | known)
    return seen[changed & (seen["cents"] > 0) & (seen["billable_pg"] > 0)].dropna()


def _rounded(seen: pd.DataFrame, printed: pd.Series, book: Rulebook) -> pd.Series:
    """The weights printed, in whole steps of the rules; those of the declared figures where none is printed."""
    weights = seen["billable_pg"].copy()
    for rules, rows in by_rules(book, seen):
        rounding = rules.weight_rounding
        steps = rounding.steps(printed.loc[rows]) * rounding.step
        weights.loc[rows] = steps.fillna(weights.loc[rows]).astype("int64")
    return weights.where(weights > 0, seen["billable_pg"])


def _settled(seen: pd.DataFrame) -> tuple[float, int]:
    """The share of labels within a cent of the middle price of their service, zone and weight, and of how many."""
    cells = seen.groupby(CELL)["cents"]
    several = cells.transform("size") > 1
    near = (seen["cents"] - cells.transform("median")).abs() <= 1
    return (float(near[several].mean()) if several.any() else 0.0), int(several.sum())


def price_lists(seen: pd.DataFrame, corrected: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """A price list for each service and zone, and another from each day on which prices rose."""
    found = rises(_steps(seen))
    seen = seen.assign(risen=_risen(seen, found, seen["shipped_on"]), corrected=0)
    seen = seen[seen["service"].isin(list(_settled_services(seen)))]
    corrected = corrected.assign(risen=_risen(corrected, found, corrected["shipped_on"]), corrected=1)
    every = pd.concat([seen, corrected[corrected["service"].isin(seen["service"].unique())]], ignore_index=True)
    slopes = {str(service): _slope(rows) for service, rows in seen.groupby("service")}
    starts = [None, *dict.fromkeys(rise.since for rise in found)]
    tables = [
        _price_list(str(service), str(zone), _best(rows), slopes[str(service)], book)
        for since in starts
        for (service, zone), rows in _as_of(every, since, found).groupby(["service", "zone"])
    ]
    return conform(pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(), RATES)


def _steps(seen: pd.DataFrame) -> pd.DataFrame:
    """Each label after another one of its service, zone and weight, as `rises` takes them."""
    ordered = seen.sort_values([*CELL, "shipped_on"], kind="stable")
    before = ordered.groupby(CELL)[["cents", "shipped_on"]].shift()
    steps = ordered.rename(columns={"cents": "after_cents", "shipped_on": "after_on"})
    steps = steps.assign(before_cents=before["cents"], before_on=before["shipped_on"]).dropna(subset=["before_on"])
    return steps.assign(service=steps["service"].map(plain)).astype({"before_cents": "int64"})


def _risen(seen: pd.DataFrame, found: Sequence[Rise], on: pd.Series) -> pd.Series:
    """What all rises of each label's service up to a day come to: the ratio to the first prices."""
    service, risen = seen["service"].map(plain), pd.Series(1.0, index=seen.index)
    for rise in found:
        begun = on >= rise.since
        risen = risen.mask(rise.covers(service) & begun, risen * rise.ppm / 1_000_000)
    return risen


def _as_of(seen: pd.DataFrame, since: pd.Timestamp | None, found: Sequence[Rise]) -> pd.DataFrame:
    """What is seen at the prices of the time that begins on a day (None: the first), each with how good it is."""
    begun = pd.Series(since, index=seen.index, dtype="datetime64[s]")
    risen = _risen(seen, found, begun)
    cents = (seen["cents"] * (risen / seen["risen"])).round().astype("int64")
    return seen.assign(since=begun, cents=cents, rank=2 * (risen != seen["risen"]) + seen["corrected"])


def _best(rows: pd.DataFrame) -> pd.DataFrame:
    """Of each weight only what is known best: labels of the time, then corrections, then what is carried over."""
    return rows[rows["rank"] == rows.groupby("billable_pg")["rank"].transform("min")]


def _settled_services(seen: pd.DataFrame) -> Iterator[str]:
    """The services whose labels have one price for one service, zone and weight, rises left aside."""
    for service, rows in seen.groupby("service"):
        share, count = _settled(rows.assign(cents=(rows["cents"] / rows["risen"]).round()))
        if share >= SETTLED or count < LEAST_ALIKE:
            yield str(service)


def _slope(rows: pd.DataFrame) -> float:
    """Cents by picogram, over all zones of a service, each zone's mean taken out."""
    weight, cents = rows["billable_pg"].astype(float), rows["cents"].astype(float)
    weight = weight - weight.groupby(rows["zone"]).transform("mean")
    cents = cents - cents.groupby(rows["zone"]).transform("mean")
    spread = float((weight**2).sum())
    return max(float((weight * cents).sum()) / spread, 0.0) if spread else 0.0


def _price_list(service: str, zone: str, rows: pd.DataFrame, slope: float, book: Rulebook) -> pd.DataFrame:
    """One service and zone: the usual price of each weight seen, never falling, carried to every step of weight."""
    from scipy.optimize import isotonic_regression

    alike = rows.groupby(["billable_pg", "cents", "rank"]).size().rename("labels").reset_index()
    usual = alike.sort_values(["billable_pg", "labels"], ascending=[True, False], kind="stable")
    seen = usual.drop_duplicates("billable_pg").set_index("billable_pg")
    firm = seen["labels"] * seen["rank"].eq(0).map({True: FIRM, False: 1.0})
    rising = isotonic_regression(seen["cents"].to_numpy(dtype=float), weights=firm.to_numpy(dtype=float)).x
    rules = book.on(service, rows["shipped_on"].max().date())
    step = rules.weight_rounding.step if rules else 1
    weights = np.unique(np.concatenate([np.arange(1, EVERY_STEP + 1) * step, seen.index.to_numpy(dtype=np.int64)]))
    cents = _carried(weights, seen.index.to_numpy(dtype=np.int64), rising, slope)
    table = {"service": service, "zone": zone, "up_to_pg": weights, "price_cents": np.rint(cents).astype(np.int64)}
    table |= {"effective_on": rows["since"].iloc[0]}
    return pd.DataFrame(table).assign(source_file=LEARNED, source_place=f"{len(rows)} labels")


def _carried(weights: Whole, seen: Whole, cents: Floats, slope: float) -> Floats:
    inside = np.interp(weights, seen, cents)
    below = np.minimum(weights - seen[0], 0) * slope
    above = np.maximum(weights - seen[-1], 0) * slope
    return np.asarray(np.maximum(inside + below + above, 0.0))


def _fees(lines: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The settled amount of each charge: by zone, and for all zones; by week, where it changes."""
    known = lines[lines["charge"].isin(book.charges) & (lines["amount_cents"] > 0).fillna(value=False)]
    known = known.assign(week=_monday(known["shipped_on"]))
    tables = [_changing(_usual_fee(known, by)) for by in (["charge", "week"], ["charge", "zone", "week"])]
    return conform(pd.concat(tables, ignore_index=True).assign(source_file=LEARNED), FEES)


def _usual_fee(lines: pd.DataFrame, by: list[str]) -> pd.Series:
    """The amount that nearly all lines of a kind show; a kind without one is left out."""
    alike = lines.groupby([*by, "amount_cents"]).size().rename("lines").reset_index()
    settled = alike["lines"] >= SETTLED * alike.groupby(by)["lines"].transform("sum")
    found: pd.Series = alike[settled].set_index(by)["amount_cents"]
    return found


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
