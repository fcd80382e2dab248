"""A change of habit: from some day on a carton is declared otherwise. Before and after, compared.

Found where the two figures mostly declared for a carton follow one another in time; or told by the user, for a change
that no declared figure shows (fresh tape, stiffer board).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.schemas import HABIT_CHANGES, conform
from auditor.core.sides import FIGURES
from auditor.habits.rates import newcombe

LEAST = 5
"""So many parcels with each figure, before and after, make a habit (chosen)."""

MOSTLY = 0.6
"""The two figures together are declared for at least this share of a carton's parcels (chosen)."""

CLEARLY = 0.9
"""And this share of those stands on the right side of the day of the change (chosen)."""


def changes(parcels: pd.DataFrame, named: Mapping[str, date]) -> pd.DataFrame:
    """Changes found and told, with the share of parcels back-charged before and after.

    Args:
        parcels: that count: name (the carton's, cut or not), shipped_on, the FIGURES as declared, back_charged (yes or
            no) and back_cents.
        named: by a carton's name the first day of a new habit.

    Returns:
        A table of HABIT_CHANGES.
    """
    in_time = parcels.sort_values("shipped_on", kind="stable")
    rows = [row for name, own in in_time.groupby("name") for row in _of_carton(str(name), own, named.get(str(name)))]
    return conform(pd.DataFrame(rows), HABIT_CHANGES) if rows else conform(pd.DataFrame(index=[]), HABIT_CHANGES)


def _of_carton(name: str, own: pd.DataFrame, named: date | None) -> Iterator[dict[str, Any]]:
    if named is not None and own["shipped_on"].min() < pd.Timestamp(named) <= own["shipped_on"].max():
        yield {"carton": name, "told": True} | _compared(own, pd.Timestamp(named))
    for figure in FIGURES:
        found = _found(own, figure)
        if found is not None:
            day, before, after = found
            yield {"carton": name, "figure": figure, "told": False, "before": before, "after": after} | _compared(
                own, day
            )


def _found(own: pd.DataFrame, figure: str) -> tuple[pd.Timestamp, int, int] | None:
    """The day from which another figure is declared than before, and both; None where there is no clear such day."""
    common = own[figure].value_counts().head(2)
    if len(common) < 2 or common.min() < LEAST or common.sum() < MOSTLY * len(own):  # noqa: PLR2004 two figures
        return None
    two = own[own[figure].isin(common.index)]
    first = int(two[figure].iloc[:LEAST].mode().iloc[0])
    old = (two[figure] == first).to_numpy()
    # As many old ones before the day and new ones from it on as can be.
    right = np.concatenate([[0], np.cumsum(old)]) + np.concatenate([np.cumsum(~old[::-1])[::-1], [0]])
    starts = np.flatnonzero(~two["shipped_on"].duplicated().to_numpy())
    best = int(starts[np.argmax(right[starts])])
    if right[best] < CLEARLY * len(two) or min(best, len(two) - best) < LEAST:
        return None
    other = next(int(value) for value in common.index if int(value) != first)
    return two["shipped_on"].iloc[best], first, other


def _compared(own: pd.DataFrame, day: pd.Timestamp) -> dict[str, Any]:
    """Share back-charged and cents a parcel before the day and from it on."""
    before, after = own[own["shipped_on"] < day], own[own["shipped_on"] >= day]
    counts = [(int(part["back_charged"].sum()), len(part)) for part in (before, after)]
    difference, low, high = newcombe(counts[0], counts[1])
    return {
        "changed_on": day,
        "parcels_before": len(before),
        "parcels_after": len(after),
        "share_before": counts[0][0] / len(before),
        "share_after": counts[1][0] / len(after),
        "difference": difference,
        "difference_low": low,
        "difference_high": high,
        "cents_before": round(before["back_cents"].mean()),
        "cents_after": round(after["back_cents"].mean()),
    }
