"""What the names of groups of rows say (group_names.py) → columns that each row has."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from auditor.core.schemas import Problem
from auditor.intake.group_names import FIELDS, said
from auditor.intake.headings import Heading
from auditor.intake.recognise import Sheet
from auditor.intake.texts import put

MOST_OVER = 4
"""So many rows before the first line may be its headings and the names of the first group."""
FEW, MOSTLY = 2, 0.9
"""So many names at least, over this part of the rows with a number, are names of groups and no remarks."""


def ungrouped(sheet: Sheet) -> tuple[Sheet, list[Problem]]:
    """The statement without rows that name a group, with what they say in columns that it does not have itself.

    A row that looks so but names no group is left without cells, as a remark.
    """
    cells = sheet.cells
    bare = (sheet.charges == "").all(axis=1)
    for name in {"description", "amount_cents"} & {*cells}:
        bare &= cells[name] == ""
    if not bare.any():
        return sheet, []
    leads, beside = sheet.leads[bare].astype(object), cells[bare].astype(object)
    alone = ((beside == "") | beside.eq(leads, axis=0)).all(axis=1)
    found = leads[alone].map(said).dropna()
    if found.empty:
        return sheet, []
    names = pd.Series({at: pair[0] for at, pair in found.items()})
    values = pd.Series({at: pair[1] for at, pair in found.items()})
    numbered = (cells["tracking"] != "") & ~cells.index.isin(found.index)
    notes, columns, gone = [], {}, pd.Series(data=False, index=cells.index)
    for name in (one for one in FIELDS if one not in cells):
        ours = values[names == name]
        below = ours.reindex(cells.index).ffill().fillna(_over_headings(sheet).get(name, ""))
        if ours.nunique() < FEW or (below[numbered] != "").mean() < MOSTLY:
            continue
        columns[name] = below
        gone[ours.index] = True
        message = (
            f"The {FIELDS[name]} was read from {len(ours):,} rows that stand over others, as "
            f"'{sheet.leads[ours.index[0]]}'."
        )
        notes.append(Problem(sheet.file, sheet.places[ours.index[0]], message, note=True))
    remarks = pd.Series(cells.index.isin(found.index), index=cells.index) & ~gone
    if remarks.any():
        cells = pd.DataFrame({name: put(column, remarks, "") for name, column in cells.items()}, copy=False)
    headings = {**sheet.headings, **{name: Heading(FIELDS[name]) for name in columns}}
    return replace(sheet, cells=cells.assign(**columns), headings=headings).where(~gone), notes


def _over_headings(sheet: Sheet) -> dict[str, str]:
    """What the names of the first group say, by field, where they stand over the headings."""
    begin = next(at for at, place in enumerate(sheet.grid.places) if place == sheet.places.iloc[0])
    rows = sheet.grid.rows[max(begin - MOST_OVER, 0) : begin]
    texts = [[text.strip() for text in row if text.strip()] for row in rows]
    return dict(filter(None, (said(row[0]) for row in texts if len(row) == 1)))
