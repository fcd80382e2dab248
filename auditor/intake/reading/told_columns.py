"""What the user said of columns, laid on a grid's columns before it is known what they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from auditor.intake.by_column import Columns
from auditor.intake.documents import Grid
from auditor.intake.reading.cells import Column, of_texts
from auditor.intake.readings import NOT_READ, Reading, digest, meaning_of

FIRST_ROWS = 60
"""Headings stand in the first rows of a table (chosen)."""


def told_in(grid: Grid, readings: Sequence[Reading]) -> dict[str, str]:
    """What the readings of statements say of the grid's headings: those of which all headings stand in one row."""
    if isinstance(grid.rows, Columns):
        return {}
    rows = [{" ".join(text.split()) for text in row} for row in grid.rows[:FIRST_ROWS]]
    ours = [one for one in readings if one.kind == "statement" and one.columns]
    fitting = [one for one in ours if any(one.columns.keys() <= row for row in rows)]
    return {heading: name for one in reversed(fitting) for heading, name in one.columns.items()}


def as_told(page: Sequence[Column], grid: Grid, readings: Sequence[Reading]) -> list[Column]:
    """The columns, each with what was said of it; one that is set aside has nothing below its heading."""
    told = told_in(grid, readings)
    return [_as_told(column, told) for column in page]


def _as_told(column: Column, told: dict[str, str]) -> Column:
    heading = next((text for text in column.used if " ".join(text.split()) in told), None)
    if heading is None:
        return column
    name = told[" ".join(heading.split())]
    if name != NOT_READ:
        return replace(column, told=meaning_of(name).field, cache={})
    texts = column.text()
    last = int(np.flatnonzero(texts == heading)[0])
    return of_texts(["" if at > last else str(text) for at, text in enumerate(texts)], column.at)


def layout_of(grid: Grid, headings: Sequence[str]) -> str:
    """What a table is known by: the digest of the row in which most of its headings stand; "" where none does."""
    rows = [list(row) for row in grid.rows[:FIRST_ROWS]] if not isinstance(grid.rows, Columns) else []
    best = max(rows, key=lambda row: len({*row} & {*headings} - {""}), default=[])
    return digest(best) if {*best} & {*headings} - {""} else ""
