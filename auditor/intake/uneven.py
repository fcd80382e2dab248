"""Big files whose rows are not all alike, a line each: what is not read by column.

By column a million rows take a second. What is told from the order of rows, or from the parts of a cell, is looked for
row by row: names of groups over their rows, tops of pages between them, a column a charge, several particulars in one
cell. Files in which that may be are read by row, which takes longer and misses nothing.
"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from auditor.intake.documents import Grid
from auditor.intake.texts import where_no_number
from auditor.intake.wording import SUM

SAMPLE = 100
"""So many rows show whether a table is arranged in another way."""
FEW = 0.001
"""The share of rows that may be remarks; there are more where they are tops of pages or names of groups."""


def is_rearranged(grid: Grid, rearranged: Callable[[Grid], Grid]) -> bool:
    """Whether the first rows of a grid would be put into another order or other columns."""
    sample = Grid(grid.rows[:SAMPLE], grid.places[:SAMPLE])
    return rearranged(sample) is not sample


def has_odd_rows(cells: pd.DataFrame, leads: pd.Series) -> bool:
    """Whether more rows than a few have no charge or no amount, and are no sums.

    Args:
        cells: texts of a statement by field.
        leads: the first text of each row.
    """
    blank = pd.Series(data=False, index=cells.index)
    for name in {"description", "amount_cents"} & {*cells}:
        blank |= cells[name] == ""
    return int((~where_no_number(leads[blank], SUM.match)).sum()) > FEW * len(cells)
