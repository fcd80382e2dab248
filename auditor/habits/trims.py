"""How much to cut off a carton: chance of a back-charge and dollars for each length it could be cut to.

The excess is taken to stay as it is when a carton is cut. What is in the carton is not known, so a cut is only ever
advised where what is packed leaves half an inch above (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd

from auditor.habits.combinations import HIGH, LOW
from auditor.habits.excess import Excess, Floats
from auditor.habits.outlook import Outlook, outlook
from auditor.tables import HABIT_CUTS, conform
from auditor.tariff import Prices, Rulebook, price
from auditor.tariff.price import SIDES
from auditor.units import NM_PER_INCH

REACH = {"in": (24, 4, NM_PER_INCH // 4), "cm": (30, 5, 5_000_000)}
"""By unit of length: so many steps are tried off the longest side, off the others, and the step: ¼ in or ½ cm."""

COSTLY_CENTS = 500
"""A cut keeps back-charges of more than this away, such as those for a limit passed; a pound more often costs less."""

MOST_PARCELS = 24
"""So many parcels of a carton stand for all of them, spread evenly over time."""

THIN = 2
"""Every second draw is enough for dollars."""

WORTH = 0.7
"""A cut that brings this share of what the best one within reach brings is enough."""


def some_of(parcels: pd.DataFrame, most: int = MOST_PARCELS) -> pd.DataFrame:
    """At most so many parcels, evenly from the first shipped to the last, that stand for all."""
    in_time = parcels.sort_values("shipped_on", kind="stable")
    places = np.linspace(0, len(in_time) - 1, min(most, len(in_time))).round().astype(int)
    return in_time.iloc[places]


def cuts(
    parcels: pd.DataFrame,
    excess: Mapping[str, Excess],
    side: str,
    unit: str,
    a_month: float,
    book: Rulebook,
    prices: Prices,
) -> pd.DataFrame:
    """What each cut of one side of one carton would bring.

    Args:
        parcels: of that carton, as `price` takes them.
        excess: of that carton's readings, for each of the FIGURES.
        side: one of SIDES.
        unit: of lengths: "in" for cuts by a quarter inch, "cm" by half a centimetre.
        a_month: parcels of that carton a month.
        book: the rules.
        prices: the prices.

    Returns:
        A table of HABIT_CUTS without the carton, from no cut down. A parcel whose side is shorter already is not cut.
    """
    sample = some_of(parcels)
    lengths = _lengths(int(parcels[side].mode().iloc[0]), side, unit)
    tiled = pd.concat([sample.assign(**{side: sample[side].clip(upper=length)}) for length in lengths])
    tiled = tiled.reset_index(drop=True)
    fewer = {figure: replace(one, mean=one.mean[::THIN], spread=one.spread[::THIN]) for figure, one in excess.items()}
    alone = outlook(tiled, {side: excess[side]}, book, prices)
    costly = outlook(tiled, {side: excess[side]}, book, prices, over_cents=COSTLY_CENTS)
    whole = outlook(tiled, fewer, book, prices)
    chance, any_chance, cost = (
        _by_length(draws, whole, len(lengths)) for draws in (costly.chance, alone.chance, whole.cents)
    )
    cost = cost + _by_length(whole.declared_cents[:, None].astype(np.float64), whole, len(lengths))
    billable = price(tiled, book, prices)["billable_pg"].to_numpy(dtype=np.float64).reshape(len(lengths), -1)
    columns = {"side": side, "cut_to_nm": lengths, "any_chance": any_chance.mean(axis=1)}
    columns |= with_ends("chance", chance)
    columns |= with_ends("parcel_cents", cost) | with_ends("saving_cents", (cost[:1] - cost) * a_month)
    table = pd.DataFrame(columns).assign(lighter=(billable[:1] > billable).mean(axis=1))
    return conform(in_cents(table).assign(carton=""), HABIT_CUTS)


def bulge(parcels: pd.DataFrame, excess: Mapping[str, Excess], side: str, book: Rulebook, prices: Prices) -> Floats:
    """Cents a parcel (D) that are expected to be back-charged were one side always read as declared."""
    flat = {figure: one for figure, one in excess.items() if figure != side}
    return outlook(some_of(parcels), flat, book, prices).mean_cents()


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


def _by_length(of_kind: Floats, seen: Outlook, lengths: int) -> Floats:
    """Means over the parcels of each length (lengths, D), those without a price left out."""
    values = np.where(seen.declared_cents[:, None] < 0, np.nan, of_kind)[seen.kind]
    return np.asarray(np.nanmean(values.reshape(lengths, -1, values.shape[1]), axis=1))


def with_ends(name: str, draws: Floats) -> dict[str, Floats]:
    """Columns with the mean of draws (rows, D) and the ends of their 90 % interval."""
    low, high = np.quantile(draws, [LOW, HIGH], axis=1)
    return {name: draws.mean(axis=1), f"{name}_low": low, f"{name}_high": high}


def in_cents(table: pd.DataFrame) -> pd.DataFrame:
    """The table with its amounts in whole cents."""
    money = [column for column in table if "_cents" in str(column)]
    return table.assign(**{str(column): table[column].round().astype("Int64") for column in money})
