"""Figures beside lines that words told rightly: the column of them that agrees with the shop's records is taken."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from auditor.core.schemas import LINES, conform
from auditor.core.sides import SIDES
from auditor.intake.reading.known import Known, bare, zone_text

RECORDED: tuple[Mapping[str, str], ...] = (
    {"order": "order"},
    {"shipped_on": "shipped_on"},
    {"service": "service"},
    {"zone": "zone"},
    {"billed_weight_pg": "billable_pg"},
    {"measured_weight_pg": "weight_pg"},
    {f"billed_{side}": side for side in SIDES},
)
"""What stands beside a line, by what is told together, and what is recorded of it."""
NEAR = 0.2
"""A figure billed or measured lies so near the recorded one for most, as in no other unit of the trade (chosen)."""


def corrected(lines: pd.DataFrame, figures: pd.DataFrame, known: Known) -> tuple[pd.DataFrame, list[str]]:
    """The lines with figures as another reading has them, and the names of those that changed.

    Args:
        lines: LINES, whose numbers and amounts are right.
        figures: LINES of the same statement in another reading; what it says nothing of stays.
        known: what is known beside them: figures are taken where they agree with it for more lines.

    Returns:
        The lines as they are where the two are not the same lines.
    """
    keys, others = _keys(lines), _keys(figures)
    if not keys.equals(others.reindex(keys.index)) or len(keys) != len(others):
        return lines, []
    changed = list(_told(lines.set_axis(keys.index), figures.set_axis(others.index), known))
    places = figures.set_axis(others.index).reindex(keys.index).set_axis(lines.index)
    return (conform(lines.assign(**{name: places[name] for name in changed}), LINES) if changed else lines), changed


def _keys(lines: pd.DataFrame) -> pd.Series:
    """The lines under what tells them apart: number, amount, and which of those it is."""
    number = lines["tracking"].map(lambda text: bare(str(text)), na_action="ignore").fillna("").astype(object)
    place = lines.groupby([number, lines["amount_cents"]], dropna=False).cumcount()
    index = pd.MultiIndex.from_arrays([number, lines["amount_cents"].fillna(0), place])
    return pd.Series(1, index=index)


def _told(lines: pd.DataFrame, figures: pd.DataFrame, known: Known) -> Iterator[str]:
    """The names of figures that the other reading tells otherwise, and more as they are recorded."""
    row = known.rows_of(lines["tracking"])
    places = row.dropna().to_numpy(dtype=np.intp)
    records = known.shipments.assign(billable_pg=known.expected["billable_pg"].fillna(known.shipments["weight_pg"]))
    ours, others = lines[row.notna()], figures.reindex(lines.index)[row.notna()]
    for recorded in RECORDED:
        wanted = records[[*recorded.values()]].iloc[places]
        if _agreeing(others[[*recorded]], wanted) > _agreeing(ours[[*recorded]], wanted):
            yield from recorded


def _agreeing(found: pd.DataFrame, wanted: pd.DataFrame) -> int:
    """How many lines have all of the figures as they are recorded, amounts of a measure nearly so."""
    pairs = zip((found[name] for name in found), (wanted[name] for name in wanted), strict=True)
    alike = [_alike(one.reset_index(drop=True), other.reset_index(drop=True)) for one, other in pairs]
    return int(np.logical_and.reduce(alike).sum())


def _alike(found: pd.Series, wanted: pd.Series) -> pd.Series:
    if pd.api.types.is_numeric_dtype(found):
        near = (found - wanted).abs() <= wanted * NEAR
    elif pd.api.types.is_datetime64_dtype(found):
        near = found == wanted
    else:
        plain = zone_text if found.name == "zone" else bare
        near = found.map(plain, na_action="ignore") == wanted.map(plain, na_action="ignore")
    return near.fillna(value=False).astype(bool)
