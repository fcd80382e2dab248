"""What is drawn of one carton from the study of habits: its chance against its length, its weights, its readings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats
from auditor.core.units import factor
from auditor.habits import Habits
from auditor.habits.advice.best import COSTS, on_scale, on_tape
from auditor.report import wording
from auditor.report.html.chart import Chart, Column, Curve, Scale, band, curve
from auditor.report.html.ruler import Density, Mark

WEIGHT_UNIT = {"in": "lb", "cm": "kg"}

LEAST_TOP_PERCENT = 10
"""The scale of chances reaches at least this far, so that small chances look small."""

LEAST_PARCELS = 4
"""And that of parcels."""


def density(habits: Habits, carton: str, declared: int | None) -> Density | None:
    """How often a reading lies at each length, by the fit; None where the carrier has told nothing of this carton."""
    fit = habits.history.fits.get("length_nm")
    excess = fit.of_carton.get(carton) if fit else None
    if excess is None or declared is None:
        return None

    def at(lengths: Floats) -> Floats:
        apart = (lengths[:, None] - declared - excess.mean) / excess.spread
        return np.asarray((np.exp(-(apart**2) / 2) / np.sqrt(2 * np.pi) / excess.spread).mean(axis=1))

    return at


def cuts_of(habits: Habits, carton: str) -> pd.DataFrame:
    """The rows of HABIT_CUTS about a carton's longest side."""
    table = habits.cuts
    return table[(table["carton"] == carton) & (table["side"] == "length_nm")]


def chance_chart(habits: Habits, carton: str) -> Chart | None:
    """The chance of a costly back-charge for the longest side against its length; None where it is surely safe."""
    table = cuts_of(habits, carton).sort_values("cut_to_nm")
    if not (table["chance_high"] > habits.most_chance).any():
        return None
    unit, lengths = habits.history.unit, [int(length) for length in table["cut_to_nm"]]
    places = [_in(length, unit, "length") for length in lengths]
    low, mean, high = (list(100 * table[column].astype(float)) for column in ("chance_low", "chance", "chance_high"))
    across, up = Scale(places[0], places[-1]), Scale(0, max(LEAST_TOP_PERCENT, *high))
    now, level = on_tape(lengths[-1], unit), 100 * habits.most_chance
    return Chart(
        title=f"{carton}: chance of a costly back-charge against its length",
        words=f"As it is, {now}, its longest side {COSTS} for {mean[-1]:.0f} in a hundred parcels (range "
        f"{low[-1]:.0f} to {high[-1]:.0f}). {_safe_words(table, habits)}",
        lower=across.numbered(),
        upper=up.numbered(" %"),
        lower_name=f"cut to, {unit}",
        upper_name="of the parcels",
        curves=(Curve(curve(across, up, places, mean), band(across, up, places, low, high)),),
        uprights=(
            Mark(across.at(places[-1]), f"now {now}"),
            *(
                Mark(across.at(_in(cut, unit, "length")), f"advised {on_tape(cut, unit)}")
                for cut in _advised(habits, carton, "length_nm")
            ),
        ),
        level=Mark(up.at(level), f"{level:g} %"),
    )


def _safe_words(table: pd.DataFrame, habits: Habits) -> str:
    """The longest length at which the chance is under the chosen level."""
    level = f"{100 * habits.most_chance:g} in a hundred"
    safe = table.loc[table["chance"] <= habits.most_chance, "cut_to_nm"]
    if safe.empty:
        return f"No length drawn here brings that to {level} or less."
    return f"The longest length with {level} or less is {on_tape(int(safe.max()), habits.history.unit)}."


def weights_seen(habits: Habits, carton: str) -> pd.DataFrame:
    """The rows of HABIT_WEIGHTS_SEEN about a carton, lightest first."""
    return habits.weights_seen[habits.weights_seen["carton"] == carton].sort_values(["weight_pg", "kind"])


def weights_chart(habits: Habits, carton: str) -> Chart | None:
    """The weights seen, a column for each pound or kilogram, and the default typed; None where none is judged."""
    seen = weights_seen(habits, carton)
    weighed = seen[seen["kind"] != "typed"]
    own = habits.weights[habits.weights["carton"] == carton]
    if own.empty or weighed.empty:
        return None
    unit = habits.history.unit
    named = WEIGHT_UNIT[unit]
    typed = int(own.loc[own["now"].fillna(value=False), "weight_pg"].iloc[0])
    in_units = np.ceil([_in(int(pg), named, "weight") for pg in weighed["weight_pg"]])
    counts = (
        weighed.assign(in_units=in_units).groupby(["in_units", "kind"], as_index=False).agg(parcels=("parcels", "sum"))
    )
    ends = [_in(typed, named, "weight"), *counts["in_units"].astype(float)]
    across = Scale(min(ends) - 2, max(ends) + 1)
    up = Scale(0, max(LEAST_PARCELS, float(counts["parcels"].max())))
    marks = [(typed, "typed"), *((pg, "advised") for pg in _advised(habits, carton, "weight_pg"))]
    return Chart(
        title=f"{carton}: weights seen against the one that is typed",
        words=_weight_words(weighed, typed, unit),
        lower=across.numbered(),
        upper=up.numbered(least=1),
        lower_name=f"weight, {named}",
        upper_name="parcels",
        columns=tuple(_columns(counts, across, up)),
        uprights=tuple(Mark(across.at(_in(pg, named, "weight")), f"{what} {on_scale(pg, unit)}") for pg, what in marks),
    )


def _weight_words(weighed: pd.DataFrame, typed: int, unit: str) -> str:
    over = int(weighed.loc[weighed["weight_pg"] > typed, "parcels"].sum())
    seen = wording.counted(int(weighed["parcels"].sum()), "weight")
    return (
        f"{on_scale(typed, unit)} is typed on most labels. Of {seen} seen, {over} over that. "
        "The carrier shows weights of corrected parcels only, so they look heavier than all of them are."
    )


def _columns(counts: pd.DataFrame, across: Scale, up: Scale) -> Iterable[Column]:
    """For each weight, rounded up to a whole unit, the parcels weighed at packing and beside them those read."""
    width = across.at(across.first + 0.45) - across.at(across.first)
    for in_units, kind, parcels in counts[["in_units", "kind", "parcels"]].itertuples(index=False):
        start = across.at(float(in_units) - (0.5 if kind == "measured" else 1))
        yield Column(start, round(width, 2), up.at(float(parcels)), str(parcels), str(kind))


def _advised(habits: Habits, carton: str, about: str) -> Sequence[int]:
    """The figures advised for a carton."""
    rows = habits.advice[(habits.advice["carton"] == carton) & (habits.advice["about"] == about)]
    return [int(figure) for figure in rows["then"].dropna()]


def _in(amount: int, unit: str, kind: str) -> float:
    return float(amount / factor(unit, kind))
