"""The fitted excess as tables, beside the readings it was fitted to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import pandas as pd
from scipy.special import ndtr

from auditor.core.schemas import HABIT_EXCESS, HABIT_READINGS, conform, joined
from auditor.core.sides import FIGURES
from auditor.habits.advice.trims import with_ends
from auditor.habits.history import History
from auditor.habits.readings.excess import Excess


def excess_table(past: History) -> pd.DataFrame:
    """HABIT_EXCESS: a row a carton and figure, and one a figure for any other carton."""
    rows = [
        row for figure, fit in past.fits.items() for row in _rows(figure, [*fit.of_carton.items(), (None, fit.shop)])
    ]
    return conform(pd.DataFrame(rows), HABIT_EXCESS) if rows else joined([], HABIT_EXCESS)


def _rows(figure: str, by_carton: Iterable[tuple[str | None, Excess]]) -> Iterator[dict[str, object]]:
    for carton, fit in by_carton:
        about = {
            "carton": carton,
            "figure": figure,
            "parcels": fit.parcels,
            "measured": fit.measured,
            "basis": fit.basis,
        }
        ends = with_ends("mean", fit.mean[None]) | with_ends("spread", fit.spread[None])
        yield {**about, **{name: round(float(value[0])) for name, value in ends.items()}}


def readings_table(past: History) -> pd.DataFrame:
    """HABIT_READINGS: what is known of each parcel's reading, counted, and how many the fit expects there."""
    return joined([_of_figure(past, figure) for figure in FIGURES], HABIT_READINGS)


def _of_figure(past: History, figure: str) -> pd.DataFrame:
    excess = past.parcels.excess(figure, past.groups.of_shipment)
    inferred = past.parcels.table["inferred"].notna()
    below, above = np.isneginf(excess["low"]), np.isposinf(excess["high"])
    kind = pd.Series("rounded", index=excess.index, dtype="str").mask(excess["low"] == excess["high"], "exact")
    kind = kind.mask(below, "stayed below").mask(inferred & ~below, "inferred").mask(past.slipped, "slip")
    known = excess.assign(kind=kind)[~(below & above)].groupby(["carton", "low", "high", "kind"]).size()
    table = known.rename("parcels").reset_index()
    if table.empty:
        return joined([], HABIT_READINGS)
    fitted = table[table["kind"] != "slip"]
    if len(fitted):  # of slips alone there is no fit
        expected = pd.DataFrame(with_ends("fitted", _expected(past, figure, fitted)), index=fitted.index)
        table = table.join(expected[fitted["kind"] != "exact"])
    table = table.assign(figure=figure)
    ends = {end: table[end].where(np.isfinite(table[end])).round().astype("Int64") for end in ("low", "high")}
    return conform(table.assign(**ends), HABIT_READINGS)


def _expected(past: History, figure: str, table: pd.DataFrame) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """How many of all the carton's parcels in the table the fit expects between the ends of each row (rows, D)."""
    fit = past.fits[figure].of_carton
    parcels = table["parcels"].groupby(table["carton"]).transform("sum").to_numpy(dtype=np.float64)
    mean = np.stack([fit[carton].mean for carton in table["carton"]])
    spread = np.stack([fit[carton].spread for carton in table["carton"]])
    low, high = (ndtr((table[end].to_numpy()[:, None] - mean) / spread) for end in ("low", "high"))
    return np.asarray(parcels[:, None] * (high - low))
