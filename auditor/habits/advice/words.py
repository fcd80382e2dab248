"""Changes of habit and trends, each in a sentence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import rows
from auditor.core.units import shown


def changes_told(changes: pd.DataFrame) -> Iterator[str]:
    """A sentence for each row of HABIT_CHANGES."""
    return (_change(row) for row in rows(changes))


def _change(row: dict[str, Any]) -> str:
    shares = [f"{100 * row[f'share_{when}']:.0f} % of {row[f'parcels_{when}']}" for when in ("before", "after")]
    difference, low, high = (f"{100 * row[f'difference{end}']:+.0f}" for end in ("", "_low", "_high"))
    return (
        f"{row['carton']}, from {row['changed_on']:%Y-%m-%d}{_what_changed(row)}: back-charged {shares[0]} parcels "
        f"before, {shares[1]} after, a difference of {difference} in a hundred (range {low} to {high}); "
        f"{dollars(row['cents_before'])} a parcel before, {dollars(row['cents_after'])} after."
    )


def _what_changed(row: dict[str, Any]) -> str:
    if row["told"]:
        return " (as you say)"
    figure, unit = row["figure"].rsplit("_", 1)
    kind, shown_in = ("length", "in") if unit == "nm" else ("weight", "lb")
    before, after = (shown(int(row[when]), shown_in, kind) for when in ("before", "after"))
    return f" ({figure} {after} {shown_in} instead of {before})"


def trends_told(cartons: pd.DataFrame) -> Iterator[str]:
    """A sentence for each row of HABIT_CARTONS with a trend."""
    for row in rows(cartons):
        if row["trend"] in ("rising", "falling"):
            difference, low, high = (f"{100 * row[f'later_less{end}']:+.0f}" for end in ("", "_low", "_high"))
            yield (
                f"{row['carton']}: {row['trend']}; {difference} back-charged parcels in a hundred in the later half of "
                f"the months (range {low} to {high})."
            )
