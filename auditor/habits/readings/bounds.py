"""Between which figures the carrier's reading of each parcel lies.

A correction shows the reading: exactly, where a notice tells it, or as every reading that rounds to the figure billed.
No correction says only that the reading stayed below the next figure at which the charge would rise; where that is
depends on the parcel's other figures and is found with `price`. This takes the carrier to measure every parcel and to
correct every one whose charge its reading raises.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Whole, Yes
from auditor.core.sides import FIGURES, SIDES
from auditor.habits.readings.alike import NO_PRICE, alike
from auditor.habits.readings.cells import edges, rounding_of, width
from auditor.habits.readings.lot import Lot
from auditor.tariff import Prices, Rounding, Rulebook, price

UNREAD = -1
"""Stands for a figure of which the carrier showed no reading."""

STEPS_TRIED = {"length_nm": 12, "width_nm": 12, "height_nm": 12, "weight_pg": 40}
"""So many steps above the declared figure a rise of the charge is looked for; beyond, no correction says nothing
(chosen)."""

NEARLY_ALL = 0.95
"""A parcel counts when this share of corrections, by their delay so far, would have come by now (chosen)."""


@dataclass(frozen=True)
class Parcels:
    """The parcels that count, and why others do not.

    `table`, with the index of the shipments: the declared figures as `price` takes them; `reading_shown`, whether the
    carrier showed a reading of its own; `inferred`, the chance of one that is not shown but inferred, else missing; and
    for each of the FIGURES `low_` and `high_`, between which the reading lies (nm or pg; -inf where only the upper end
    is known, inf where none is; twice the same when exact). `left_out`: reasons, with the number of parcels.
    `delay_days`: how long after the label corrections mostly came.
    `lot`: the parcels of `table` as declared, and `kind`: which of its kinds each is.
    """

    table: pd.DataFrame
    left_out: dict[str, int]
    delay_days: int
    lot: Lot
    kind: Whole

    def excess(self, figure: str, carton: pd.Series) -> pd.DataFrame:
        """The same as intervals of reading less declared figure: carton, low, high."""
        declared = self.table[figure].astype("float64")
        ends = {end: self.table[f"{end}_{figure}"] - declared for end in ("low", "high")}
        return pd.DataFrame({"carton": carton.reindex(self.table.index), **ends})


def bounded(
    shipments: pd.DataFrame, lines: pd.DataFrame, readings: pd.DataFrame, book: Rulebook, prices: Prices
) -> Parcels:
    """The reading of each parcel between bounds.

    Args:
        shipments: SHIPMENTS.
        lines: LINES with `shipment`, the row of `shipments` each belongs to, missing where there is none.
        readings: READINGS.
        book: the rules.
        prices: the prices.
    """
    own_lines = lines[lines["shipment"].notna()].astype({"shipment": "int64"})
    declared = _declared(shipments, own_lines)
    counts, left_out, delay = _counted(declared, shipments, own_lines, _priced(declared, book, prices))
    table = declared[counts]
    seen = _seen(shipments, readings).reindex(table.index)
    corrected, exact = _surely(seen["corrected"]), _surely(seen["exact"])
    lot, kind = Lot.of(table, book, prices)
    own = {figure: table[figure].to_numpy(dtype=np.int64) for figure in FIGURES}
    measured = {figure: seen[f"measured_{figure}"].to_numpy(dtype=np.int64, na_value=UNREAD) for figure in FIGURES}
    as_read = {figure: np.where(measured[figure] == UNREAD, own[figure], measured[figure]) for figure in FIGURES}
    shows = dict.fromkeys(SIDES, corrected & (exact | table.index.isin(_with_sides(own_lines))))
    shows["weight_pg"] = corrected & _billed_by_weight(table.index, own_lines, *lot.with_figures(kind, as_read))
    ends: dict[str, Floats] = {}
    for figure in FIGURES:
        alone, kind_of = lot.with_figures(kind, {**as_read, figure: own[figure]})
        next_rise = _next_rise(alone, figure)[kind_of]
        figures = _Figures(own[figure], measured[figure], shows[figure].to_numpy(), exact.to_numpy())
        low, high = _ends(figure, lot, kind, figures)
        ends |= {f"low_{figure}": low, f"high_{figure}": np.where(np.isneginf(low), next_rise, high)}
    inferred = seen["inferred"].astype("Float64")
    return Parcels(table.assign(reading_shown=corrected, inferred=inferred, **ends), left_out, delay, lot, kind)


def _declared(shipments: pd.DataFrame, own_lines: pd.DataFrame) -> pd.DataFrame:
    """The seller's figures; service, zone and ship date are the carrier's where the seller recorded none."""
    own = shipments[["service", "zone", "shipped_on", *FIGURES, "residential"]]
    billed = own_lines.groupby("shipment")[["service", "zone", "shipped_on"]].first().reindex(own.index)
    filled = {str(column): own[column].fillna(billed[column]) for column in billed}
    return own.assign(**filled, residential=own["residential"].fillna(value=False))


def _surely(flag: pd.Series) -> pd.Series:
    """Yes where it is known to be so."""
    return flag.astype("boolean").fillna(value=False).astype(bool)


def _priced(declared: pd.DataFrame, book: Rulebook, prices: Prices) -> pd.Series:
    kinds, kind = alike(declared, book, prices)
    return pd.Series(price(kinds, book, prices)["total_cents"].notna().to_numpy()[kind], index=declared.index)


def _counted(
    declared: pd.DataFrame, shipments: pd.DataFrame, own_lines: pd.DataFrame, priced: pd.Series
) -> tuple[pd.Series, dict[str, int], int]:
    """Which parcels count, how many do not and why, and the delay of corrections in days.

    Where no statement bills labels (they are paid elsewhere) a parcel counts as billed on the first statement after it
    was shipped.
    """
    labels = own_lines[own_lines["state"] == "label charge"]
    first = {
        state: lines.groupby("shipment")["statement_on"].min().reindex(declared.index)
        for state, lines in (("billed", labels), ("corrected", own_lines[own_lines["state"] == "adjustment"]))
    }
    billed_on = first["billed"] if len(labels) else _next(declared["shipped_on"], own_lines["statement_on"])
    billed = pd.Series(declared.index.isin(labels["shipment"]), index=declared.index) | (
        billed_on.notna() if labels.empty else False
    )
    delays = (first["corrected"] - billed_on).dt.days.dropna().clip(lower=0)
    delay = int(delays.quantile(NEARLY_ALL, interpolation="higher")) if len(delays) else 0
    last = own_lines["statement_on"].max()
    complete = declared[list(FIGURES)].notna().all(axis=1)
    reasons = {
        "cancelled before use": shipments["voided"],
        "without a ship date": declared["shipped_on"].isna(),
        "with a ship date after the last statement or after the one that bills them (is the date right?)": (
            declared["shipped_on"] > first["billed"].fillna(last)
        ),
        "billed by no statement read here": ~billed,
        "without a side or the weight": ~complete,
        "without rules or prices for their day, service and zone": ~priced,
        f"billed in the last {delay} days, so that a correction may still come": (
            billed_on > last - pd.Timedelta(days=delay)
        ),
    }
    counts = pd.Series(data=True, index=declared.index)
    left_out = {}
    for reason, holds in reasons.items():
        left_out[reason] = int((counts & _surely(holds)).sum())
        counts &= ~_surely(holds)
    return counts, {reason: count for reason, count in left_out.items() if count}, delay


def _next(days: pd.Series, statements: pd.Series) -> pd.Series:
    """The first statement's date on or after each day; missing when there is none."""
    dates = np.append(np.sort(statements.dropna().unique()), np.datetime64("NaT", "s"))
    found = pd.Series(dates[np.searchsorted(dates[:-1], days.to_numpy())], index=days.index)
    return found.mask(days.isna())


def _seen(shipments: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """The last reading of each shipment that the carrier showed as its own, or that was inferred."""
    of_number = pd.Series(shipments.index, index=shipments["tracking"])
    row = readings["shipment_tracking"].map(of_number[~of_number.index.duplicated()])
    differs = {
        figure: (readings[f"measured_{figure}"] != readings[f"declared_{figure}"]).fillna(value=False)
        for figure in FIGURES
    }
    own = {f"measured_{figure}": readings[f"measured_{figure}"].where(differs[figure]) for figure in FIGURES}
    corrected = pd.DataFrame(differs).any(axis=1)
    table = pd.DataFrame(own).assign(
        row=row,
        corrected=corrected,
        exact=~readings["measured_rounded"].fillna(value=True),
        inferred=readings["inferred"],
    )
    return table[corrected & row.notna()].drop_duplicates("row", keep="last").set_index("row")


def _with_sides(own_lines: pd.DataFrame) -> pd.Series:
    """The shipments of which a correction shows the sides."""
    return own_lines.loc[(own_lines["state"] == "adjustment") & own_lines["billed_length_nm"].notna(), "shipment"]


def _billed_by_weight(index: pd.Index, own_lines: pd.DataFrame, as_read: Lot, kind: Whole) -> pd.Series:
    """Whether a correction shows a billed weight that is the scale's: sides and least weights come to less."""
    shown = own_lines.loc[own_lines["state"] == "adjustment"].groupby("shipment")["billed_weight_pg"].last()
    by_size = np.maximum(as_read.column("dimensional_weight_pg"), as_read.column("least_billable_pg"))[kind]
    return _surely(shown.reindex(index) > by_size)


@dataclass(frozen=True)
class _Figures:
    """One figure of each parcel, as declared and as measured.

    `shows`: where a correction shows the figure, so that it is the declared one's step if it is no other. `exact`:
    where it is no rounded one.
    """

    declared: Whole
    measured: Whole
    shows: Yes
    exact: Yes


def _ends(figure: str, lot: Lot, kind: Whole, figures: _Figures) -> Floats:
    """The ends of one figure's reading of each parcel that has one (2, N); -inf and inf for the others."""
    declared, measured, exact = figures.declared, figures.measured, figures.exact
    ends = np.full((2, len(kind)), [[-np.inf], [np.inf]])
    rows = np.flatnonzero((measured != UNREAD) | figures.shows)
    for rules, under in lot.stretches(kind[rows]):
        ruled = rows[np.isin(kind[rows], under)]
        rounding, shown = rounding_of(figure, rules), measured[ruled] != UNREAD
        at = np.where(shown, measured[ruled], rounding.steps(declared[ruled]) * rounding.step)
        rounded = (at % _step_at(at, rounding) == 0) & ~(exact[ruled] & shown & (figure in SIDES))
        ends[:, ruled] = np.where(rounded, _span(at, rounding), at)
    return ends


def _step_at(figure: Whole, rounding: Rounding) -> Whole:
    """The step that a rounded figure was rounded to."""
    fine = rounding.step if rounding.fine_step is None else rounding.fine_step
    return np.where(figure > rounding.fine_up_to, rounding.step, fine)


def _span(figure: Whole, rounding: Rounding) -> Whole:
    """The readings that round to each figure, from and to."""
    coarse, fine = rounding.span(figure), Rounding(rounding.way, rounding.fine_step or rounding.step).span(figure)
    return np.where(figure <= rounding.fine_up_to, np.stack(fine), np.stack(coarse))


def _next_rise(lot: Lot, figure: str) -> Floats:
    """The figure above which each kind's charge first rises, the others left as they are; inf when none is near."""
    found = np.full(len(lot.row), np.inf)
    for rules, kinds in lot.stretches(np.arange(len(lot.row))):
        declared, count = lot.figures[figure][kinds], STEPS_TRIED[figure]
        ends = edges(figure, int(declared.min()), int(declared.max()) + (count + 1) * width(figure, rules), rules)
        place = np.searchsorted(ends, declared)[:, None] + np.arange(count + 1)
        cells = ends[np.minimum(place, len(ends) - 1)]
        inside = np.maximum((cells[:, :-1] + cells[:, 1:]) // 2, 1)
        after = lot.cents(kinds.repeat(count), {figure: inside.reshape(-1)}).reshape(len(kinds), count)
        rises = (after > lot.cents(kinds)[:, None]) | (after == NO_PRICE)
        first = cells[np.arange(len(kinds)), rises.argmax(axis=1)]
        found[kinds] = np.where(rises.any(axis=1), first, np.inf)
    return found
