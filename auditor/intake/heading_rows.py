"""Headings of two lines beside headings of one, which stand at half their height → one row of headings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest

from auditor.intake.documents import Grid

LINES = 3
"""The first line of the high ones, all others, and the second line of the high ones."""


def with_one_heading(grid: Grid) -> Grid:
    """The grid with such headings as one row, wherever they stand; as it is where it has none."""
    rows = [tuple(row) for row in grid.rows]
    if len(rows) <= LINES or not _are_one(rows[:LINES]):
        return grid
    starts = {at for at in range(len(rows) - LINES + 1) if rows[at : at + LINES] == rows[:LINES]}
    into: dict[int, int] = {}
    kept: list[int] = []
    for at in range(len(rows)):
        if not any(at - back in starts for back in range(1, LINES)):
            kept.append(at)
        into[at] = len(kept) - 1
    heading = [" ".join(filter(None, texts)) for texts in zip_longest(*rows[:LINES], fillvalue="")]
    cells = grid.cell_boxes
    if cells is not None:
        cells = cells.copy()
        cells[:, 0] = [into[int(row)] for row in cells[:, 0]]
    return replace(
        grid,
        rows=[heading if at in starts else rows[at] for at in kept],
        places=[grid.places[at] for at in kept],
        boxes=[grid.boxes[at] for at in kept] if grid.boxes else (),
        cell_boxes=cells,
    )


def _are_one(rows: Sequence[Sequence[str]]) -> bool:
    """Whether three rows without figures are one: the third goes on where the first is filled, the second elsewhere."""
    first, second, third = ({at for at, text in enumerate(row) if text} for row in rows)
    figures = any(map(str.isdigit, "".join(text for row in rows for text in row)))
    return bool(second) and not figures and not first & second and bool(third) and third <= first
