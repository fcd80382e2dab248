"""Sides read otherwise than those of the same carton ever were, and like another parcel's that day.

A reading is held against how the carrier read all parcels of that carton, as the excess over what was declared: by the
modified z-score of B. Iglewicz and D. Hoaglin, "How to Detect and Handle Outliers" (1993), as in the NIST/SEMATECH
e-Handbook of Statistical Methods, section 1.3.5.17: 0.6745 × (excess − median) / MAD, an outlier beyond 3.5. A carton
that is read alike every time has a MAD of nothing, and readings are known in whole steps only, so MAD / 0.6745 is never
taken for less than one step of the rule's rounding (no source; it makes outliers fewer).

Weights are left aside: they are those of what was packed, not of the carton.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.charges.schema import Cases, by_rules
from auditor.core.arrays import Floats
from auditor.core.sides import SIDES
from auditor.tariff import Rulebook
from auditor.tariff.prices import plain

ENOUGH = 10
"""So many parcels of a carton must have been billed (no source)."""

BEYOND = 3.5
MAD_OF_DEVIATION = 0.6745


def outliers(cases: Cases, shipments: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The cases with a side read unlike those of its carton.

    Returns:
        With the index of those cases: side (0 the longest), excess_nm over the declared one (where whole steps are
        printed the least that rounds to them), distance (the modified z-score), others (how many other parcels of that
        carton), most_nm (the largest excess of those) and median_nm (the excess of half of all). Where another shipment
        of that day and service is declared with just the sides read: like_tracking, like_carton and like_size (nm,
        rounded), same_size (how many such shipments there are) and swapped, whether that one was read with this one's
        sides; otherwise these are missing.
    """
    scored = _scored(cases, _carton(cases, shipments, book), book)
    shown = cases.about["probability"].isna() & (cases.players[list(SIDES)] != 0).any(axis=1)
    unlike = scored[shown & (scored["others"] >= ENOUGH - 1) & (scored["distance"].abs() > BEYOND)]
    return unlike.join(_alike(unlike.index, cases, shipments, book))


def _rounded(parcels: pd.DataFrame, book: Rulebook) -> pd.Series:
    """The rounded sides of each parcel, longest first, as one text; missing where they are not known."""
    sizes = pd.Series(pd.NA, index=parcels.index, dtype="str")
    for rules, rows in by_rules(book, parcels):
        known = parcels.loc[rows, list(SIDES)].dropna().astype(np.int64)
        rounded = np.sort(rules.side_rounding.steps(known.to_numpy()), axis=1)[:, ::-1] * rules.side_rounding.step
        sizes.loc[known.index] = [" ".join(map(str, sides)) for sides in rounded.tolist()]
    return sizes


def _carton(cases: Cases, shipments: pd.DataFrame, book: Rulebook) -> pd.Series:
    """What is taken for the same carton: its name, or where none is recorded its declared size."""
    named = shipments["carton"].loc[cases.about["shipment"].astype(int)].set_axis(cases.about.index)
    return named.fillna(_rounded(cases.declared[named.isna()], book)).fillna("")


def _scored(cases: Cases, carton: pd.Series, book: Rulebook) -> pd.DataFrame:
    """For each case its side that is furthest from how that side of its carton is read; a parcel counts once."""
    sides = list(SIDES)
    excess = _excess(cases, book)
    last = ~cases.about["shipment"].duplicated(keep="last")
    counted, counted_carton = excess[last], carton[last]
    median = counted.groupby(counted_carton).median().reindex(carton).set_axis(excess.index)
    mad = (counted - median[last]).abs().groupby(counted_carton).median().reindex(carton).set_axis(excess.index)
    step = pd.Series(1, index=excess.index)
    for rules, rows in by_rules(book, cases.declared):
        step.loc[rows] = rules.side_rounding.step
    spread = (mad / MAD_OF_DEVIATION).clip(lower=step, axis=0)
    distance = ((excess - median) / spread).fillna(0).to_numpy()
    side = np.abs(distance).argmax(axis=1)
    row = np.arange(len(side))
    most = np.column_stack([_most_of_others(counted[name], counted_carton, excess[name], carton) for name in sides])
    return pd.DataFrame(
        {
            "side": side,
            "excess_nm": excess.to_numpy()[row, side],
            "distance": distance[row, side],
            "others": carton.map(counted_carton.value_counts()).fillna(0).astype(np.int64) - 1,
            "most_nm": most[row, side],
            "median_nm": median.to_numpy()[row, side],
        },
        index=excess.index,
    )


def _excess(cases: Cases, book: Rulebook) -> pd.DataFrame:
    """By how much each side was read longer than declared; the least that rounds so where whole steps are printed."""
    sides = list(SIDES)
    excess = cases.measured[sides].astype("float64") - cases.declared[sides].astype("float64")
    printed = cases.about["measured_rounded"]
    for rules, rows in by_rules(book, cases.declared[printed]):
        measured, declared = (table.loc[rows, sides].astype("float64") for table in (cases.measured, cases.declared))
        low, high = rules.side_rounding.span(measured)
        least = (low - declared).clip(lower=0) + (high - declared).clip(upper=0)
        excess.loc[rows] = least.where(measured % rules.side_rounding.step == 0, excess.loc[rows])
    return excess


def _most_of_others(counted: pd.Series, counted_carton: pd.Series, excess: pd.Series, carton: pd.Series) -> Floats:
    """The largest excess among the other parcels of each one's carton."""
    falling = counted.sort_values(ascending=False)
    rank = falling.groupby(counted_carton).cumcount()
    most, next_most = (
        carton.map(falling[rank == place].set_axis(counted_carton[rank.index[rank == place]])) for place in (0, 1)
    )
    return np.asarray(most.where(excess != most, next_most), dtype=float)


def _alike(rows: pd.Index, cases: Cases, shipments: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """For each of the cases the shipment of its day and service that is declared with just the sides read."""
    declared, about = cases.declared.loc[rows], cases.about
    mine = declared[["shipped_on"]].assign(
        service=declared["service"].map(plain),
        shipment=about.loc[rows, "shipment"],
        case=rows,
        own_size=_rounded(declared, book),
        like_size=_rounded(cases.measured.loc[rows], book),
    )
    that_day = shipments[shipments["shipped_on"].isin(mine["shipped_on"])]
    others = that_day[["tracking", "carton", "shipped_on"]].assign(
        service=that_day["service"].map(plain), like_size=_rounded(that_day, book), other=that_day.index
    )
    pairs = mine.merge(others.dropna(subset="like_size"), on=["shipped_on", "service", "like_size"])
    pairs = pairs[(pairs["other"] != pairs["shipment"]) & (pairs["like_size"] != pairs["own_size"])]
    last = about[about["shipment"].isin(pairs["other"])].drop_duplicates("shipment", keep="last")
    read_as = _rounded(cases.measured.loc[last.index], book).set_axis(last["shipment"])
    pairs = pairs.assign(
        swapped=(pairs["other"].map(read_as) == pairs["own_size"]).fillna(value=False),
        same_size=pairs.groupby("case")["case"].transform("size"),
    )
    best = pairs.sort_values(["swapped", "tracking"], ascending=[False, True], kind="stable").drop_duplicates("case")
    best = best.rename(columns={"tracking": "like_tracking", "carton": "like_carton"}).set_index("case")
    return best[["like_tracking", "like_carton", "like_size", "same_size", "swapped"]]
