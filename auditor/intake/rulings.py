"""The rulings of pages → ruled tables. Rows and columns are what the lines part; cells that run over others are one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake.documents import Page
from auditor.intake.placed import BOTTOM, FAR, TOP, X0, X1, Flags, Numbers, Table, Words, together

TOUCH = 3.0
"""Rulings nearer than this, in points, meet."""
SHADES = 3
"""So many shaded rows at least are every other row of a table."""
LEAST_EDGES = 3
"""A table has two columns at least."""


@dataclass(frozen=True)
class Frame:
    """A ruled table on a page: the places of its rulings, and for each cell the row and column it begins in."""

    across: Numbers
    down: Numbers
    row: Whole
    column: Whole

    def holds(self, boxes: Numbers) -> Flags:
        """Which boxes have their middle in the table."""
        x, y = boxes[:, [X0, X1]].mean(axis=1), boxes[:, [TOP, BOTTOM]].mean(axis=1)
        within = (x > self.across[0]) & (x < self.across[-1]) & (y > self.down[0]) & (y < self.down[-1])
        return np.asarray(within)


def frames(rulings: Numbers) -> list[Frame]:
    """The tables that the rulings of a page make: of two columns at least, from top to bottom."""
    wide, high = rulings[:, X1] - rulings[:, X0], rulings[:, BOTTOM] - rulings[:, TOP]
    flat, steep = (wide > high) & (wide > TOUCH), (high >= wide) & (high > TOUCH)
    down, left, right = _runs(rulings[flat][:, [TOP, BOTTOM]].mean(axis=1), rulings[flat][:, [X0, X1]])
    across, top, bottom = _runs(rulings[steep][:, [X0, X1]].mean(axis=1), rulings[steep][:, [TOP, BOTTOM]])
    if not len(down) or not len(across):
        return []
    meet = (across >= left[:, None] - TOUCH) & (across <= right[:, None] + TOUCH)
    meet &= (down[:, None] >= top - TOUCH) & (down[:, None] <= bottom + TOUCH)
    label = _connected(meet)
    found = []
    for one in np.unique(label[meet.any(axis=1)]):
        ours, theirs = label == one, meet[label == one].any(axis=0)
        flats, steeps = (down[ours], left[ours], right[ours]), (across[theirs], top[theirs], bottom[theirs])
        frame = _frame(flats, steeps)
        if frame is not None:
            found.append(frame)
    return sorted(found, key=lambda frame: float(frame.down[0]))


Runs = tuple[Numbers, Numbers, Numbers]


def _runs(level: Numbers, ends: Numbers) -> Runs:
    """Rulings on one level that touch, as one: its level, begin and end."""
    if not len(level):
        return level, level, level
    order = np.argsort(level)
    group = np.cumsum(np.diff(level[order], prepend=-FAR) > TOUCH / 2)
    inner = np.lexsort((ends[order, 0], group))
    order, group = order[inner], group[inner]
    shift = group * FAR
    reach = np.maximum.accumulate(shift + ends[order, 1])
    fresh = np.append(True, (shift + ends[order, 0])[1:] > reach[:-1] + TOUCH)
    starts = np.flatnonzero(fresh)
    count = np.diff(np.append(starts, len(order)))
    begin, end = ends[order, 0][starts], np.maximum.reduceat(ends[order, 1], starts)
    return np.add.reduceat(level[order], starts) / count, begin, end


def _connected(meet: Flags) -> Whole:
    """For each row of a matrix of who meets whom, the number of the group it belongs to."""
    label = np.arange(len(meet))
    while True:
        theirs = np.where(meet, label[:, None], len(meet)).min(axis=0)
        ours = np.minimum(label, np.where(meet, theirs, len(meet)).min(axis=1, initial=len(meet)))
        if (ours == label).all():
            return label
        label = ours


def levels(values: Numbers) -> Numbers:
    """Values in rising order, those that nearly agree as one."""
    ordered = np.sort(values)
    return ordered[np.diff(ordered, prepend=-FAR) > TOUCH]


def _frame(flats: Runs, steeps: Runs) -> Frame | None:
    """The cells between rulings. Where a piece of ruling is missing between two cells, they are one."""
    down = levels(np.concatenate([flats[0], [steeps[1].min(), steeps[2].max()]]))
    across = levels(np.concatenate([steeps[0], [flats[1].min(), flats[2].max()]]))
    if len(across) < LEAST_EDGES or len(down) <= 1:
        return None
    x, y = (across[:-1] + across[1:]) / 2, (down[:-1] + down[1:]) / 2
    over = _covered(down[:-1], flats, x)
    beside = _covered(across[:-1], steeps, y).T
    over[0], beside[:, 0] = True, True
    rows, columns = np.arange(len(y))[:, None], np.arange(len(x))[None, :]
    column = np.maximum.accumulate(np.where(beside, columns, 0), axis=1)
    row = np.maximum.accumulate(np.where(over, rows, 0), axis=0)
    return Frame(across, down, row, column)


def _covered(at_levels: Numbers, runs: Runs, at: Numbers) -> Flags:
    """Whether at each level a ruling passes each of those points: a row a level."""
    near = np.abs(at_levels[:, None] - runs[0]) <= TOUCH
    passes = (runs[1][:, None] <= at) & (runs[2][:, None] >= at)
    return np.asarray(near.astype(np.int64) @ passes.astype(np.int64) > 0)


def ruled(words: Words, pages: Sequence[Page]) -> tuple[list[Table], Words]:
    """The ruled tables, those of as many columns as one that runs on; and the words outside."""
    pieces: list[tuple[Table, Whole]] = []
    begin = 0
    for page in pages:
        start, end = np.searchsorted(words.page, [page.number, page.number + 1])
        here = np.arange(start, end)
        for frame in frames(page.rulings) if len(page.rulings) else ():
            inside = here[frame.holds(words.boxes[here])]
            if len(inside):
                pieces.append((_in_frame(words.where(inside), frame, begin), inside))
                begin = int(pieces[-1][0].row.max()) + 1
    pieces = _without_shades(words, pieces)
    tables: dict[int, list[tuple[Table, Whole]]] = {}
    for piece, inside in pieces:
        tables.setdefault(piece.width, []).append((piece, inside))
    tables = {width: some for width, some in tables.items() if not all(_is_band(piece) for piece, _ in some)}
    taken = np.zeros(len(words), dtype=bool)
    for _, inside in (one for some in tables.values() for one in some):
        taken[inside] = True
    return [together([piece for piece, _ in some]) for some in tables.values()], words.where(~taken)


def _without_shades(words: Words, pieces: list[tuple[Table, Whole]]) -> list[tuple[Table, Whole]]:
    """The frames without those that are but shades behind every other row, between which others stand without any."""
    lone = [inside for piece, inside in pieces if len(np.unique(piece.row)) == 1]
    if len(lone) < SHADES:
        return pieces
    outside = np.ones(len(words), dtype=bool)
    outside[np.concatenate([inside for _, inside in pieces])] = False
    shaded = {int(words.line[inside[0]]) for inside in lone}
    between = {line for line in np.unique(words.line[outside]).tolist() if {line - 1, line + 1} <= shaded}
    if len(between) < len(lone) / 2:
        return pieces
    return [(piece, inside) for piece, inside in pieces if len(np.unique(piece.row)) > 1]


def _is_band(piece: Table) -> bool:
    """Whether a frame is no table but a band: around headings alone, or around one line, such as a parcel's number."""
    if piece.words.money.any():
        return False
    return len(np.unique(piece.words.line)) == 1 or not any(map(str.isdigit, "".join(map(str, piece.words.texts))))


def _in_frame(words: Words, frame: Frame, begin: int) -> Table:
    """The words with the cell of the frame in which each has its middle."""
    x, y = words.boxes[:, [X0, X1]].mean(axis=1), words.boxes[:, [TOP, BOTTOM]].mean(axis=1)
    row, column = np.searchsorted(frame.down, y) - 1, np.searchsorted(frame.across, x) - 1
    band, column, row = row, frame.column[row, column], frame.row[row, column]
    # Where rows have no ruling between them, amounts under one another show the lines to be rows.
    stacked = _stacked(words, band, column)
    if stacked.any():
        return Table(words, begin + words.line - words.line.min(), column, len(frame.across) - 1)
    return _with_spans(Table(words, begin + row, column, len(frame.across) - 1), frame, begin)


def _stacked(words: Words, band: Whole, column: Whole) -> Flags:
    """Which words are amounts that stand in one cell with another amount on another line."""
    cells = (band * 1000 + column)[words.money]
    pairs = np.unique(np.stack([cells, words.line[words.money]]), axis=1)[0]
    several = pairs[1:][np.diff(pairs) == 0] if len(pairs) else pairs
    return np.isin(band * 1000 + column, several) & words.money


def _with_spans(table: Table, frame: Frame, begin: int) -> Table:
    """With the words of a cell that is several rows high in each of those rows, amounts apart."""
    spans = np.arange(len(frame.row))[:, None] != frame.row
    added = [table]
    for row, column in np.argwhere(spans).tolist():
        ours = (table.row == begin + frame.row[row, column]) & (table.column == column) & ~table.words.money
        row_has_words = (table.row == begin + row).any()
        if ours.any() and row_has_words and frame.column[row, column] == column:
            words = table.words.where(ours)
            added.append(Table(words, np.full(len(words), begin + row), table.column[ours], table.width))
    return together(added)
