"""Where the columns of a table without rulings stand: parts of lines, gaps between them, headings above them."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake.placed import CURRENCIES, FAR, X0, X1, Flags, Numbers, Words

ALIGNED = 2.5
"""Texts under one another begin, end or are centred within this many points."""
STRAY = 0.005
"""The share of rows that may cross a gap between columns."""
OVERLAP = 0.2
"""The share of rows with a gap within a column from which two columns are seen in it."""
COLUMNS = 3
"""A table without rulings has so many columns at least: with fewer it is text, or a block."""
RIGHT = 2
"""Of a text's edges, left, middle and right."""
STEP = 0.5
MOSTLY = 0.9
"""The share of rows in which figures must stand on both sides of a blank that parts two columns."""
FIGURE = re.compile(r"\d")
AFTER_MONEY = re.compile(rf"CR|DR|-|{CURRENCIES}", re.IGNORECASE)
"""What may stand behind an amount as a word of its own."""


@dataclass(frozen=True)
class Columns:
    """Where the columns of a table stand: the gaps between them, a bound in each, and its amounts' alignment."""

    gaps: Numbers
    bounds: Numbers
    right: dict[int, float]
    amount: float
    edge: int

    @property
    def width(self) -> int:
        """How many there are."""
        return len(self.bounds) + 1 + len(self.right)

    def of(self, x0: Numbers, x1: Numbers) -> Whole:
        """The column of each text that stands between x0 and x1."""
        column = np.searchsorted(self.bounds, (x0 + x1) / 2)
        moved = column.copy()
        for split, right in self.right.items():
            moved += (column > split) | ((column == split) & (np.abs(x1 - right) <= ALIGNED))
        return moved


@dataclass(frozen=True)
class Parts:
    """The parts of lines: arrays of one length; `line` counts from 0 without gaps.

    `bare` is where an amount ends without its mark of a credit, which may stand out of the column.
    """

    x0: Numbers
    x1: Numbers
    bare: Numbers
    line: Whole
    money: Flags
    first: Whole

    def edges(self) -> Numbers:
        """Left, middle and right of each."""
        return np.stack([self.x0, (self.x0 + self.x1) / 2, self.x1])

    def at(self, edge: int, place: float) -> Flags:
        """Which of them have that edge at that place, with a mark of a credit or without."""
        near: Flags = np.abs(self.edges()[edge] - place) <= ALIGNED
        bare: Flags = np.abs(self.bare - place) <= ALIGNED
        return near | bare if edge == RIGHT else near


def parts_of(words: Words, line: Whole) -> Parts:
    """The parts of words in reading order; `line` counts those that are left from 0."""
    starts = np.flatnonzero(np.diff(words.part, prepend=-1))
    ends = np.append(starts[1:], len(words)) - 1
    after = np.array([AFTER_MONEY.fullmatch(str(words.texts[at])) is not None for at in ends.tolist()], dtype=bool)
    amounts = np.where(after, np.maximum(ends - 1, starts), ends)
    money = words.money[ends] | (after & words.money[amounts])
    marked = [_marked(str(words.texts[at])) if is_amount else 0.0 for at, is_amount in zip(amounts, money, strict=True)]
    width = words.boxes[amounts, X1] - words.boxes[amounts, X0]
    bare = words.boxes[amounts, X1] - width * np.array(marked)
    end = np.maximum.reduceat(words.boxes[:, X1], starts)
    return Parts(words.boxes[starts, X0], end, bare, line[starts], money, starts)


def _marked(amount: str) -> float:
    """The part of an amount's letters that are its mark of a credit, behind it."""
    return 1 - len(amount.rstrip("CRDcrd-−)")) / len(amount)


def columns_in(parts: Parts, body: Whole, amount: float, edge: int) -> Columns | None:
    """The columns of the rows that stand in those lines: gaps that no row crosses, or next to none."""
    ours = np.isin(parts.line, body)
    x0, x1 = parts.x0[ours], parts.x1[ours]
    stray = int(STRAY * len(body))
    gaps = _clear(x0, x1, stray)
    if not len(gaps):
        return None
    columns = Columns(gaps, gaps.mean(axis=1), {}, amount, edge)
    return replace(columns, right=_overlapping(parts, ours, columns, len(body)))


def _clear(x0: Numbers, x1: Numbers, stray: int = 0) -> Numbers:
    """The gaps that no more than so many of the texts between x0 and x1 reach into: left and right of each."""
    size = int(x1.max()) * 2 + 4
    begin, end = np.maximum(x0 * 2, 0).astype(np.int64), np.maximum(x1 * 2, 0).astype(np.int64) + 1
    covered = np.cumsum(np.bincount(begin, minlength=size) - np.bincount(end, minlength=size)) > stray
    turns = np.flatnonzero(np.diff(covered.astype(np.int8)))
    return (turns[1:-1].reshape(-1, 2) + 0.5) / 2 if len(turns) >= COLUMNS else np.zeros((0, 2))


def narrow(words: Words, line: Whole, body: Flags, headings: int, columns: Columns) -> Columns:
    """The columns with those parted that only a blank parts, where there are then as many as headings.

    In a print whose letters are all of one width a blank that no row's word reaches into parts two columns, if figures
    stand on both sides of it; within a charge's words it parts none.
    """
    ours = body[line]
    if headings <= columns.width or not ours.any():
        return columns
    x0, x1, row = words.boxes[ours, X0], words.boxes[ours, X1], line[ours]
    figured = np.array([FIGURE.search(str(text)) is not None for text in words.texts[ours]], dtype=bool)
    gaps = columns.gaps.tolist()
    for left, right in _clear(x0, x1).tolist():
        if any(left < end and begin < right for begin, end in columns.gaps.tolist()):
            continue
        before = x1 <= (left + right) / 2
        beside = before[:-1] & ~before[1:] & (row[:-1] == row[1:])
        if (beside & figured[:-1] & figured[1:]).sum() >= MOSTLY * body.sum():
            gaps.append([left, right])
    if len(gaps) + 1 != headings:
        return columns
    parted = np.array(sorted(gaps))
    return replace(columns, gaps=parted, bounds=parted.mean(axis=1), right={})


def _overlapping(parts: Parts, ours: Flags, columns: Columns, rows: int) -> dict[int, float]:
    """Columns that are two, of which the right one ends at one place in every row; and that place."""
    x0, x1, line = parts.x0[ours], parts.x1[ours], parts.line[ours]
    column = columns.of(x0, x1)
    found = {}
    for one in range(columns.width):
        here = column == one
        _, last, count = np.unique(line[here][::-1], return_index=True, return_counts=True)
        several = x1[here][::-1][last[count > 1]]
        if len(several) >= max(OVERLAP * rows, 2) and (np.abs(several - np.median(several)) <= ALIGNED).mean() > 0.9:  # noqa: PLR2004
            found[one] = float(np.median(several))
    return found


def split_by_headings(parts: Parts, titles: Flags, body: Numbers, columns: Columns) -> Columns:
    """The columns with those parted in two that have two headings, where no word of a row stands between these."""
    gaps = columns.gaps.tolist()
    edges = [0.0, *columns.bounds.tolist(), FAR]
    for at in np.flatnonzero(titles).tolist():
        ours = parts.line == at
        headings = zip(parts.x0[ours].tolist(), parts.x1[ours].tolist(), strict=True)
        for (x0, x1), (next_x0, next_x1) in pairwise(headings):
            left, right = (x0 + x1) / 2, (next_x0 + next_x1) / 2
            column = int(np.searchsorted(columns.bounds, left))
            if edges[column] <= left and right < edges[column + 1]:
                gaps += _clear_stretch(body, x1, next_x0) or _clear_stretch(body, left, right)
    if len(gaps) == len(columns.gaps):
        return columns
    found = np.array(sorted({tuple(gap) for gap in gaps}))
    return replace(columns, gaps=found, bounds=found.mean(axis=1), right={})


def _clear_stretch(body: Numbers, left: float, right: float) -> list[list[float]]:
    """The widest stretch between two places that no word of a row reaches into, or next to none; empty without one."""
    inside = body[(body[:, X1] > left) & (body[:, X0] < right)]
    steps = np.arange(left, right, STEP)
    crossed = np.searchsorted(np.sort(inside[:, X0]), steps) - np.searchsorted(np.sort(inside[:, X1]), steps)
    clear = np.flatnonzero(crossed <= STRAY * len(inside) / COLUMNS)
    if not len(clear):
        return []
    runs = np.split(clear, np.flatnonzero(np.diff(clear) > 1) + 1)
    widest = max(runs, key=len)
    return [[float(steps[widest[0]]), float(steps[widest[-1]]) + STEP / 2]]


def clear_of_headings(headings: Numbers, columns: Columns) -> Columns:
    """The columns with each bound moved to the widest stretch of its gap that no word of a heading reaches into."""
    bounds = columns.bounds.copy()
    for at, (begin, end) in enumerate(columns.gaps.tolist()):
        inside = headings[(headings[:, X1] > begin) & (headings[:, X0] < end)]
        ordered = inside[np.argsort(inside[:, X0])]
        lefts = np.append(ordered[:, X0], end)
        rights = np.maximum.accumulate(np.append(begin, ordered[:, X1]))
        widest = int((lefts - rights).argmax())
        if lefts[widest] > rights[widest]:
            bounds[at] = (lefts[widest] + rights[widest]) / 2
    return replace(columns, bounds=bounds)


def by_order(parts: Parts, titles: Flags, page: Whole, columns: Columns) -> Whole:
    """For each part the column that it is the heading of by its order, -1 where headings go by their places.

    They go by order where there are as many as columns, and two of them stand above the same one.
    """
    found = np.full(len(parts.x0), -1)
    middle = (parts.x0 + parts.x1) / 2
    for one in np.unique(page[titles]).tolist():
        lines = [np.flatnonzero(parts.line == at) for at in np.flatnonzero(titles & (page == one)).tolist()]
        last = lines[-1]
        if len(last) != columns.width or len(set(columns.of(parts.x0[last], parts.x1[last]).tolist())) == len(last):
            continue
        for ours in lines:
            found[ours] = np.abs(middle[ours][:, None] - middle[last]).argmin(axis=1)
    return found
