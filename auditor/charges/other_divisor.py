"""Labels billed as if volume were divided by another number than the rules say: one question, not many findings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pandas as pd

from auditor.core.sides import SIDES
from auditor.core.units import factor
from auditor.tariff import Prices, Rulebook, Rules, Tariff, price

LEAST_LABELS, MOST = 8, 0.8
"""So many labels, and so large a share of those billed by more weight than due, tell of another divisor (chosen)."""
HALF = 0.5
SPAN = 1.6
"""Divisors are tried from the rules' own by this factor down and up (chosen)."""


@dataclass(frozen=True)
class Divisor:
    """Another divisor than the rules': in nm³ per pg, as a rule file writes it, and in words."""

    value: Fraction
    written: str
    words: str


def shown_divisor(labels: pd.DataFrame, shipments: pd.DataFrame, tariff: Tariff, prices: Prices) -> Divisor | None:
    """The divisor that most labels of one service are billed by, where it is another than the rules'.

    Weights that are rounded otherwise than up to whole units tell nothing here.

    Args:
        labels: LINES of labels, with `shipment`.
        shipments: SHIPMENTS.
        tariff: the service's.
        prices: the seller's own tables.
    """
    parcels, billed = _parcels(labels, shipments)
    days = parcels["shipped_on"].dropna()
    rules = tariff.on(days.max().date()) if len(days) else None
    if rules is None or rules.dimensional is None or not _whole_units(rules):
        return None
    due = price(parcels, Rulebook(tariff), prices, detail=True)["billable_pg"]
    printed = (billed.notna() & due.notna()).to_numpy(dtype=bool)
    off = printed & (billed != due).fillna(value=False).to_numpy(dtype=bool)
    if off.sum() < LEAST_LABELS or off.sum() <= HALF * printed.sum():
        return None
    sides = labels.groupby("shipment")[[f"billed_{side}" for side in SIDES]].first().set_axis([*SIDES], axis=1)
    measured = sides.astype("Float64").fillna(parcels[[*SIDES]].set_axis(sides.index).astype("Float64")).dropna()
    kept = measured.index.isin(sides.index[off])
    found, fitting = _fitting(measured[kept], billed.set_axis(sides.index)[measured.index[kept]], rules)
    volume = factor(rules.length_unit, "length") ** 3
    own = rules.dimensional.divisor * int(factor(rules.weight_unit, "weight")) / volume
    if fitting < MOST * off.sum() or own in found:
        return None
    return _divisor(found, round(float(own)), (fitting, int(off.sum()), int(printed.sum())), rules)


def _parcels(labels: pd.DataFrame, shipments: pd.DataFrame) -> tuple[pd.DataFrame, pd.Series]:
    """The labels' parcels as declared, and the weight that each is billed by."""
    printed = labels.groupby("shipment")[["service", "zone", "shipped_on", "billed_weight_pg"]].first()
    own = shipments.loc[printed.index.astype("int64")].set_axis(printed.index)
    facts = {column: own[column].fillna(printed[column]) for column in ("service", "zone", "shipped_on")}
    parcels = own.assign(residential=own["residential"].fillna(value=False), **facts).reset_index(drop=True)
    return parcels, printed["billed_weight_pg"].reset_index(drop=True)


def _whole_units(rules: Rules) -> bool:
    unit = int(factor(rules.weight_unit, "weight"))
    return rules.weight_rounding.way == "up" and rules.weight_rounding.step == unit


def _fitting(measured: pd.DataFrame, billed: pd.Series, rules: Rules) -> tuple[list[int], int]:
    """The whole divisors that give most of the billed weights, and how many those are."""
    size, unit = int(factor(rules.length_unit, "length")), int(factor(rules.weight_unit, "weight"))
    rounding = rules.side_rounding
    sides = [rounding.steps(measured[side]).to_numpy(dtype=np.float64) * rounding.step / size for side in SIDES]
    volume, weight = np.prod(sides, axis=0), billed.to_numpy(dtype=np.float64) / unit
    own = float(rules.dimensional.divisor * unit / size**3) if rules.dimensional else 0.0
    tried = np.arange(round(own / SPAN), round(own * SPAN) + 1)
    gives = (np.ceil(volume[:, None] / tried - 1e-9) == weight[:, None]).sum(axis=0)
    return tried[gives == gives.max()].tolist(), int(gives.max())


USUAL = (139, 166, 194)
"""Of several divisors that fit alike, one that is in use (common practice, no source)."""


def _divisor(found: list[int], own: int, counts: tuple[int, int, int], rules: Rules) -> Divisor:
    fitting, off, labels = counts
    one = next((usual for usual in USUAL if usual in found), found[len(found) // 2])
    words = f"{found[0]:,}" if len(found) == 1 else f"a number from {found[0]:,} to {found[-1]:,}"
    value = one * factor(rules.length_unit, "length") ** 3 / Fraction(factor(rules.weight_unit, "weight"))
    return Divisor(
        Fraction(value),
        f"{one} {rules.length_unit}3/{rules.weight_unit}",
        f"{off:,} of {labels:,} labels are billed by another weight than yours come to, {fitting:,} of them just as if "
        f"the volume were divided by {words}, where the rules say {own:,}",
    )
