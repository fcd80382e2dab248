"""Figures beside lines that words told rightly: the column of them that agrees with the shop's records is taken."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.schemas import LINES, conform
from auditor.core.sides import SIDES
from auditor.intake.reading.known import bare

FIGURES = (
    ("order",),
    ("shipped_on",),
    ("service",),
    ("zone",),
    ("billed_weight_pg",),
    ("measured_weight_pg",),
    tuple(f"billed_{side}" for side in SIDES),
)
"""What stands beside a line, by what is told together."""
SEVERAL = 5
"""The figures of fewer parcels agree with the records by chance, and what the words say of them holds (chosen)."""


def corrected(lines: pd.DataFrame, figures: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """The lines with figures as another reading has them, and the names of those that changed.

    Args:
        lines: LINES, whose numbers and amounts are right.
        figures: LINES of the same statement in another reading; what it says nothing of stays.

    Returns:
        The lines as they are where the two are not the same lines.
    """
    keys, others = _keys(lines), _keys(figures)
    if not keys.equals(others.reindex(keys.index)) or len(keys) != len(others):
        return lines, []
    changed = list(_told(lines.set_axis(keys.index), figures.set_axis(others.index)))
    places = figures.set_axis(others.index).reindex(keys.index).set_axis(lines.index)
    return (conform(lines.assign(**{name: places[name] for name in changed}), LINES) if changed else lines), changed


def _keys(lines: pd.DataFrame) -> pd.Series:
    """The lines under what tells them apart: number, amount, and which of those it is."""
    number = lines["tracking"].map(lambda text: bare(str(text)), na_action="ignore").fillna("").astype(object)
    place = lines.groupby([number, lines["amount_cents"]], dropna=False).cumcount()
    index = pd.MultiIndex.from_arrays([number, lines["amount_cents"].fillna(0), place])
    return pd.Series(1, index=index)


def _told(lines: pd.DataFrame, figures: pd.DataFrame) -> Iterator[str]:
    """The names of figures that the other reading tells, and tells otherwise."""
    for names in FIGURES:
        them = figures[[*names]].reindex(lines.index)
        told = lines.loc[them.notna().all(axis=1), "tracking"].nunique()
        if told >= (SEVERAL if lines[[*names]].notna().any(axis=None) else 1) and not them.equals(lines[[*names]]):
            yield from names
