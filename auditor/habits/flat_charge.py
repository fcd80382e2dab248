"""The flat shipping charge: what buyers paid against what their parcels cost, and which flat sum would cover that.

Costs are those of the recorded months, as billed: label, carton, fees and back-charges less what was credited.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, log
from typing import Any

import numpy as np
import pandas as pd
from scipy.special import bdtr

from auditor.core.arrays import Whole
from auditor.core.money import dollars
from auditor.core.schemas import FLAT_CHARGES, LEFT_OVER, PARCEL_COSTS, conform, empty, rows
from auditor.habits.same_carton import of_shipments, plain_name

COST_OF_STATE = {
    "label charge": "label_cents",
    "adjustment": "back_charge_cents",
    "credit": "back_charge_cents",
    "fee": "fees_cents",
    "tax": "fees_cents",
}
"""What a statement line of each state costs a parcel as; a credit is money back, below zero."""

COSTS = ("label_cents", "carton_cents", "fees_cents", "back_charge_cents")
CONFIDENCE = 0.9
"""Of the intervals, as elsewhere (chosen)."""

EVERY = "all"


def parcel_costs(shipments: pd.DataFrame, lines: pd.DataFrame, cartons: pd.DataFrame) -> pd.DataFrame:
    """What each parcel brought and cost, for those for which a buyer's payment is recorded.

    Args:
        shipments: SHIPMENTS; voided labels are left out.
        lines: LINES with `shipment`, the row of `shipments` each belongs to.
        cartons: CARTONS.

    Returns:
        PARCEL_COSTS, with the index of `shipments`. A label that no statement bills costs what the records say.
    """
    sold = shipments[shipments["buyer_paid_cents"].notna() & ~shipments["voided"].fillna(value=False)]
    billed = _billed(lines).reindex(sold.index)
    groups = of_shipments(shipments, cartons)
    carton = groups.of_shipment.reindex(sold.index)
    name = carton.map(groups.table.set_index("carton")["name"]).astype("str").fillna(sold["carton"])
    listed = cartons.assign(key=cartons["carton"].map(plain_name)).drop_duplicates("key").set_index("key")
    table = sold[["tracking", "zone", "shipped_on", "buyer_paid_cents"]].assign(
        carton=carton.fillna(sold["carton"]),
        label_cents=billed["label_cents"].fillna(sold["label_cost_cents"]),
        carton_cents=name.fillna("").map(plain_name).map(listed["unit_cost_cents"]).astype("Int64"),
        fees_cents=billed["fees_cents"].fillna(0),
        back_charge_cents=billed["back_charge_cents"].fillna(0),
    )
    table["left_cents"] = table["buyer_paid_cents"] - _cost(table)
    return conform(table, PARCEL_COSTS)


def _billed(lines: pd.DataFrame) -> pd.DataFrame:
    """Cents of each shipment by kind of cost; a kind with no line is missing."""
    kind = lines["state"].map(COST_OF_STATE)
    of_record = lines["shipment"].notna() & kind.notna()
    amounts = lines.loc[of_record, "amount_cents"].groupby(
        [lines.loc[of_record, "shipment"].astype(np.int64), kind[of_record]]
    )
    return amounts.sum().unstack().reindex(columns=list(dict.fromkeys(COST_OF_STATE.values()))).astype("Int64")


def _cost(table: pd.DataFrame) -> pd.Series:
    """What each parcel cost; an unknown carton cost counts as nothing, a parcel without a label cost has none."""
    known = table["carton_cents"].fillna(0)
    cost: pd.Series = table["label_cents"] + known + table["fees_cents"] + table["back_charge_cents"]
    return cost


def left_over(costs: pd.DataFrame) -> pd.DataFrame:
    """What buyers paid less what their parcels cost, over all and by carton, zone and month.

    Args:
        costs: PARCEL_COSTS; a parcel whose label cost is not known is left out.

    Returns:
        LEFT_OVER.
    """
    priced = costs.dropna(subset=["left_cents"])
    tables = [_summed(priced, by, group) for by, group in _groups(priced).items()]
    return conform(pd.concat(tables, ignore_index=True), LEFT_OVER)


def _groups(costs: pd.DataFrame) -> dict[str, pd.Series]:
    """The group of each parcel: all in one, and by carton, zone and month."""
    return {
        EVERY: pd.Series(EVERY, index=costs.index, dtype="str"),
        "carton": costs["carton"].fillna("no name"),
        "zone": costs["zone"].fillna("no zone"),
        "month": costs["shipped_on"].dt.strftime("%Y-%m").fillna("no date"),
    }


def _summed(costs: pd.DataFrame, by: str, group: pd.Series) -> pd.DataFrame:
    sums = ["buyer_paid_cents", *COSTS, "left_cents"]
    table = costs.groupby(group)[sums].sum()
    losing = (costs["left_cents"] < 0).groupby(group).sum()
    unknown = costs["carton_cents"].isna().groupby(group).sum()
    counted = table.assign(by=by, parcels=group.value_counts(), losing=losing, carton_unknown=unknown)
    return counted.rename_axis("group").reset_index()


def flat_charges(costs: pd.DataFrame, share: float) -> pd.DataFrame:
    """The flat charge that would have covered a share of the parcels, over all and by group, against other ways.

    Args:
        costs: PARCEL_COSTS.
        share: of the parcels that are to be covered, between 0 and 1.

    Returns:
        FLAT_CHARGES.
    """
    priced = costs.dropna(subset=["left_cents"])
    charges = [
        _flat(by, str(name), parcels, share)
        for by, group in _groups(priced).items()
        for name, parcels in priced.groupby(group)
    ]
    return conform(pd.DataFrame(charges), FLAT_CHARGES) if charges else empty(FLAT_CHARGES)


def _flat(by: str, group: str, costs: pd.DataFrame, share: float) -> dict[str, object]:
    cost = _cost(costs).to_numpy(dtype=np.int64)
    covers, low, high = quantile(cost, share)
    total = int(cost.sum())
    return {
        "by": by,
        "group": group,
        "parcels": len(cost),
        "share": share,
        "covers_cents": covers,
        "covers_low_cents": low,
        "covers_high_cents": high,
        "needed": parcels_needed(share),
        "break_even_cents": ceil(total / len(cost)),
        "left_now_cents": int(costs["left_cents"].sum()),
        "left_flat_cents": covers * len(cost) - total,
        "left_calculated_cents": -int((costs["fees_cents"] + costs["back_charge_cents"]).sum()),
    }


def with_charge(costs: pd.DataFrame, charge_cents: int) -> str:
    """What a flat charge would have left of the recorded parcels, in a sentence."""
    cost = _cost(costs.dropna(subset=["left_cents"])).to_numpy(dtype=np.int64)
    if not len(cost):
        return "No parcel has both a payment and a label cost, so a flat charge cannot be tried."
    left, covered = charge_cents * len(cost) - int(cost.sum()), int((cost <= charge_cents).sum())
    return (
        f"A flat charge of {dollars(charge_cents)} {_would_have(left)} over {_parcels(len(cost))}, and "
        f"covered {covered:,} of them ({covered / len(cost):.0%})."
    )


def quantile(values: Whole, share: float, confidence: float = CONFIDENCE) -> tuple[int, int | None, int | None]:
    """The least of the values that covers a share of them, with an interval for the same of all parcels alike.

    The interval's ends are values too, by their order: of n values those of ranks l and u, where a binomial count of n
    and the share stays below l, or reaches u, with a chance of (1 - confidence)/2 at most. No shape of distribution is
    assumed (Hahn and Meeker, Statistical Intervals, 5.2; Conover, Practical Nonparametric Statistics, 3.2).

    Returns:
        The quantile, and the ends of its interval; None for an end for which there are too few values.
    """
    ordered, count = np.sort(values), len(values)
    tail = (1 - confidence) / 2
    lowest = _rank_below(count, share, tail)
    highest = count + 1 - _rank_below(count, 1 - share, tail)
    middle = min(max(ceil(count * share - ROUNDING_ERROR), 1), count)
    low = int(ordered[lowest - 1]) if lowest >= 1 else None
    high = int(ordered[highest - 1]) if highest <= count else None
    return int(ordered[middle - 1]), low, high


ROUNDING_ERROR = 1e-9
"""0.9 of 10 is 9, though the product of the floating numbers may be a hair above it."""


def _rank_below(count: int, share: float, tail: float) -> int:
    """The greatest rank that a binomial count stays below with a chance of `tail` at most; 0 when there is none."""
    return int(np.searchsorted(bdtr(np.arange(count), count, share), tail, side="right"))


def parcels_needed(share: float, confidence: float = CONFIDENCE) -> int:
    """How many parcels it takes for the interval of `quantile` to have an upper end."""
    return ceil(log((1 - confidence) / 2) / log(share))


def sentences(left: pd.DataFrame, flat: pd.DataFrame) -> Iterator[str]:
    """What LEFT_OVER and FLAT_CHARGES say, in plain words."""
    if left.empty:
        yield (
            "No recorded parcel has both what the buyer paid and what its label cost, so nothing can be said of a flat "
            "charge. Add a column 'Shipping paid' to your shipping records and run again."
        )
        return
    total = rows(left[left["by"] == EVERY])[0]
    paid, kept = int(total["buyer_paid_cents"]), int(total["left_cents"])
    yield (
        f"Buyers paid {dollars(paid)} for {_parcels(total['parcels'])} that cost {dollars(paid - kept)}: "
        f"{dollars(abs(kept))} {'too little' if kept < 0 else 'is left'}. {total['losing']:,} of them cost more than "
        "was paid."
    )
    if total["carton_unknown"]:
        yield f"The carton's price is not known for {total['carton_unknown']:,} of them and counts as nothing."
    losing = left[(left["by"] == "zone") & (left["left_cents"] < 0)].sort_values("left_cents", kind="stable")
    if len(losing):
        lost = (f"{dollars(-int(row['left_cents']))} in zone {row['group']}" for row in rows(losing))
        which = "Every zone loses" if len(losing) == (left["by"] == "zone").sum() else "These zones lose"
        yield f"{which} money: {', '.join(lost)}."
    for row in rows(flat[flat["by"].isin([EVERY, "carton"])]):
        yield _flat_sentence(row)
    yield (
        "These are costs of the recorded months, not of months to come, and they do not say how many buyers a higher "
        "charge would turn away."
    )


def _parcels(count: int) -> str:
    return f"{count:,} parcel{'' if count == 1 else 's'}"


def _would_have(left_cents: int) -> str:
    return f"would have {'left' if left_cents >= 0 else 'lost'} {dollars(abs(left_cents))}"


def _flat_sentence(row: dict[str, Any]) -> str:
    which = f"all {_parcels(row['parcels'])}" if row["by"] == EVERY else f"{row['group']}, {_parcels(row['parcels'])}"
    low, high = (
        None if pd.isna(end) else dollars(int(end)) for end in (row["covers_low_cents"], row["covers_high_cents"])
    )
    if high is None:
        interval = f"how much higher it should be cannot be said yet: that takes {row['needed']} parcels"
    else:
        interval = f"range {low or 'below'} to {high}"
    return (
        f"For {which}: a flat charge of {dollars(int(row['covers_cents']))} covered {row['share']:.0%} of them "
        f"({interval}) and {_would_have(int(row['left_flat_cents']))}; "
        f"break-even is {dollars(int(row['break_even_cents']))}; charging each buyer label and carton as calculated "
        f"{_would_have(int(row['left_calculated_cents']))}."
    )
