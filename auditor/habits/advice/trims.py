"""How much to cut off a carton: chance of a back-charge and dollars for each length it could be cut to.

The excess is taken to stay as it is when a carton is cut. What is in the carton is not known, so a cut is only ever
advised where what is packed leaves half an inch of air (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Whole
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH
from auditor.habits.outlook import amount, expected, over
from auditor.habits.readings.excess import Excess, ends
from auditor.habits.readings.lot import Lot

REACH = {"in": (24, 4, NM_PER_INCH // 4), "cm": (30, 5, 5_000_000)}
"""By unit of length: so many steps are tried off the longest side, off the others, and the step: ¼ in or ½ cm
(chosen)."""

COSTLY_CENTS = 500
"""A cut keeps back-charges of more than this away, such as those for a limit passed; a pound more often costs less
(chosen)."""

MOST_PARCELS = 24
"""So many parcels of a carton stand for all of them, spread evenly over time (chosen)."""

THIN = 2
"""Every second draw is enough for dollars (chosen)."""

WORTH = 0.7
"""A cut that brings this share of what the best one within reach brings is enough (chosen)."""


def some_of(parcels: pd.DataFrame, most: int = MOST_PARCELS) -> pd.DataFrame:
    """At most so many parcels, evenly from the first shipped to the last, that stand for all."""
    in_time = parcels.sort_values("shipped_on", kind="stable")
    places = np.linspace(0, len(in_time) - 1, min(most, len(in_time))).round().astype(int)
    return in_time.iloc[places]


def cuts(lot: Lot, excess: Mapping[str, Excess], side: str, declared: int, unit: str, a_month: float) -> pd.DataFrame:
    """What each cut of one side of one carton would bring.

    Args:
        lot: parcels of that carton.
        excess: of that carton's readings, for each of the FIGURES.
        side: one of SIDES.
        declared: what that side is mostly declared, nm.
        unit: of lengths: "in" for cuts by a quarter inch, "cm" by half a centimetre.
        a_month: parcels of that carton a month.

    Returns:
        Columns of HABIT_CUTS without the carton, from no cut down. A parcel whose side is shorter already is not cut.
    """
    lengths = _lengths(declared, side, unit)
    tried = lot.cut(side, lengths)
    fewer = {figure: replace(fit, mean=fit.mean[::THIN], spread=fit.spread[::THIN]) for figure, fit in excess.items()}
    any_chance, chance = expected(tried, {side: excess[side]}, over(0), over(COSTLY_CENTS))
    [back_cents] = expected(tried, fewer, amount)
    label = tried.declared_cents
    priced = (tried.count * (label >= 0)).reshape(len(lengths), -1)
    cost = _by_length(back_cents + label[:, None], priced)
    billable = tried.column("billable_pg").reshape(len(lengths), -1)
    columns = {"side": side, "cut_to_nm": lengths, "any_chance": _by_length(any_chance, priced).mean(axis=1)}
    columns |= with_ends("chance", _by_length(chance, priced))
    columns |= with_ends("parcel_cents", cost) | with_ends("saving_cents", (cost[:1] - cost) * a_month)
    lighter = (billable[:1] > billable) @ lot.count / lot.count.sum()
    return in_cents(pd.DataFrame(columns)).assign(lighter=lighter)


def back_charge(lot: Lot, excess: Mapping[str, Excess], flat: str | None = None) -> Floats:
    """Cents a parcel (D) that are expected to be back-charged, were one side (`flat`) always read as declared."""
    [cents] = expected(lot, {figure: fit for figure, fit in excess.items() if figure != flat}, amount)
    return np.asarray(_by_length(cents, (lot.count * (lot.declared_cents >= 0))[None])[0])


def safe(table: pd.DataFrame, most_chance: float) -> pd.Series | None:
    """The row of the longest length whose chance of a costly back-charge is at most that; None when none is."""
    under = table[table["chance"] <= most_chance]
    return None if under.empty else under.iloc[0]


def worthwhile(table: pd.DataFrame) -> pd.Series | None:
    """The row of the smallest cut that surely saves, and nearly as much as any within reach; None without one."""
    surely = table[table["saving_cents_low"] > 0]
    enough = surely[surely["saving_cents"] >= WORTH * surely["saving_cents"].max()]
    return None if enough.empty else enough.iloc[0]


def _lengths(declared: int, side: str, unit: str) -> list[int]:
    """The declared length, and every shorter one within reach on the grid of the tape."""
    longest, others, step = REACH[unit]
    count = longest if side == SIDES[0] else others
    first = (declared - 1) // step * step
    return [declared, *(length for length in range(first, first - count * step, -step) if length >= NM_PER_INCH)]


def _by_length(of_kind: Floats, parcels: Whole) -> Floats:
    """Means of values of kinds (lengths × kinds, D) over so many parcels of each (lengths, kinds): (lengths, D)."""
    values = of_kind.reshape(*parcels.shape, -1)
    return np.asarray((parcels[:, None] @ values)[:, 0] / parcels.sum(axis=1, keepdims=True))


def with_ends(name: str, draws: Floats) -> dict[str, Floats]:
    """Columns with the mean of draws (rows, D) and the ends of their 90 % interval."""
    low, high = ends(draws)
    return {name: draws.mean(axis=1), f"{name}_low": low, f"{name}_high": high}


def in_cents(table: pd.DataFrame) -> pd.DataFrame:
    """The table with its amounts in whole cents."""
    money = [str(column) for column in table if "_cents" in str(column)]
    return table.assign(**{column: _whole(table[column].to_numpy(dtype=np.float64)) for column in money})


def _whole(cents: Floats) -> pd.arrays.IntegerArray:
    known = np.isfinite(cents)
    return pd.arrays.IntegerArray(np.where(known, np.rint(cents), 0).astype(np.int64), ~known)
