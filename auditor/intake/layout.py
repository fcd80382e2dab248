"""Words with their places on pages → tables, told by rulings, by blocks a parcel, and by whitespace.

    placed.py     words in reading order, lines of text, tables of words
    beside_charges.py  a parcel's cells beside a stack of its charges
    rulings.py    tables with lines drawn between their cells
    blocks.py     a parcel's line with its charges under it; two_columns.py: such blocks in two columns of a page
    heading_rows.py headings of several lines
    whitespace.py tables whose columns stand apart by whitespace

A table that runs on over pages is one grid. It serves for any source of words with boxes: a PDF's text, a scan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from auditor.intake import beside_charges, covers
from auditor.intake.blocks import grid_of
from auditor.intake.documents import Grid, Page
from auditor.intake.heading_rows import with_one_heading
from auditor.intake.placed import Line, lines, read_in_order
from auditor.intake.rulings import ruled
from auditor.intake.whitespace import aligned

__all__ = ["Line", "Page", "tables"]


def tables(pages: Sequence[Page]) -> tuple[list[Grid], list[Line]]:
    """The tables of a document, and the lines of text that are in none of them."""
    found, free = ruled(beside_charges.lifted(read_in_order(pages)), pages)
    blocks, left = grid_of(beside_charges.apart(free))
    free = left if blocks else free
    more, free = aligned(free, pages)
    outside = lines(free)
    above = tuple(line.text for line in outside)
    grids = [*(with_one_heading(table.grid()) for table in (*found, *more)), *blocks]
    cards = [tuple(covers.said(grid.rows)) if len(grid.rows) <= covers.ROWS else () for grid in grids]
    return [
        replace(grid, above=(*above, *(text for other, said in enumerate(cards) if other != at for text in said)))
        for at, grid in enumerate(grids)
    ], outside
