"""Tables without rulings: columns that stand apart by whitespace, headings above them, cells of several lines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from auditor.intake.placed import (
    BOTTOM,
    FAR,
    TOP,
    X0,
    X1,
    Flags,
    Numbers,
    Page,
    Table,
    Whole,
    Words,
    around_each,
)
from auditor.intake.rulings import TOUCH, levels

ALIGNED = 2.5
"""Texts under one another begin, end or are centred within this many points."""
STRAY = 0.005
"""The share of rows that may cross a gap between columns."""
OVERLAP = 0.2
"""The share of rows with a gap within a column from which two columns are seen in it."""
COLUMNS = 3
"""A table without rulings has so many columns at least: with fewer it is text, or a block."""
HEADING_REACH = 2.2
"""Headings stand no further above the first row, in heights of a letter."""
TIGHT = 0.1
STACKED = 0.6
"""Lines of one heading are no further apart, in heights of a letter."""
MOST_GROUPS = 2
"""So many lines may name a group of rows, and a group within it, between the headings and the first row."""
STEP = 0.5
MOST_TABLES = 12
MOST_BANDS, LEAST_BANDS = 100_000, 2

AFTER_MONEY = {"cr", "dr", "-", "usd", "$"}
FIGURE = re.compile(r".*\d")


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
class _Parts:
    """The parts of lines: arrays of one length; `line` counts from 0 without gaps."""

    x0: Numbers
    x1: Numbers
    line: Whole
    money: Flags
    first: Whole

    def edges(self) -> Numbers:
        """Left, middle and right of each."""
        return np.stack([self.x0, (self.x0 + self.x1) / 2, self.x1])


def _parts_of(words: Words, line: Whole) -> _Parts:
    starts = np.flatnonzero(np.diff(words.part, prepend=-1))
    ends = np.append(starts[1:], len(words)) - 1
    after = np.array([str(words.texts[at]).casefold() in AFTER_MONEY for at in ends.tolist()], dtype=bool)
    money = words.money[ends] | (after & words.money[np.maximum(ends - 1, starts)])
    return _Parts(words.boxes[starts, X0], np.maximum.reduceat(words.boxes[:, X1], starts), line[starts], money, starts)


def aligned(words: Words, pages: Sequence[Page]) -> tuple[list[Table], Words]:
    """The tables whose columns stand apart by whitespace, and the words that are in none."""
    found: list[Table] = []
    for _ in range(MOST_TABLES):
        table, rest = _largest(words, pages)
        if table is None:
            break
        found.append(table)
        words = words.where(rest)
    return found, words


def _largest(words: Words, pages: Sequence[Page]) -> tuple[Table | None, Whole]:
    """The table without rulings of the most rows, and the indexes of the words it leaves."""
    nothing = None, np.arange(len(words))
    if not len(words):
        return nothing
    _, line = np.unique(words.line, return_inverse=True)
    parts = _parts_of(words, line)
    count = np.bincount(parts.line)
    amounts = np.flatnonzero(parts.money & (count[parts.line] >= COLUMNS))
    last = amounts[np.diff(parts.line[amounts], append=-1) != 0]
    if not len(last):
        return nothing
    edge, place = _commonest(parts.edges()[:, last])
    body = parts.line[last[np.abs(parts.edges()[edge, last] - place) <= ALIGNED]]
    columns = _columns(parts, body, place, edge)
    if columns is None or columns.width < COLUMNS:
        return nothing
    return _rows(words, line, parts, columns, pages)


def _commonest(edges: Numbers) -> tuple[int, float]:
    """The edge, of left, middle and right, in which most texts agree, and where that is."""
    best = (0, 0, 0.0)
    for edge in (2, 0, 1):
        near = np.round(edges[edge] / ALIGNED).astype(np.int64)
        values, counts = np.unique(near, return_counts=True)
        at = int(counts.argmax())
        if counts[at] > best[0]:
            best = int(counts[at]), edge, float(np.median(edges[edge][near == values[at]]))
    return best[1], best[2]


def _columns(parts: _Parts, body: Whole, amount: float, edge: int) -> Columns | None:
    """The columns of the rows that stand in those lines: gaps that no row crosses, or next to none."""
    ours = np.isin(parts.line, body)
    x0, x1 = parts.x0[ours], parts.x1[ours]
    stray = int(STRAY * len(body))
    size = int(x1.max()) * 2 + 4
    begin, end = np.maximum(x0 * 2, 0).astype(np.int64), np.maximum(x1 * 2, 0).astype(np.int64) + 1
    covered = np.cumsum(np.bincount(begin, minlength=size) - np.bincount(end, minlength=size)) > stray
    turns = np.flatnonzero(np.diff(covered.astype(np.int8)))
    if len(turns) < COLUMNS:
        return None
    gaps = (turns[1:-1].reshape(-1, 2) + 0.5) / 2
    columns = Columns(gaps, gaps.mean(axis=1), {}, amount, edge)
    return replace(columns, right=_overlapping(parts, ours, columns, len(body)))


def _overlapping(parts: _Parts, ours: Flags, columns: Columns, rows: int) -> dict[int, float]:
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


def _rows(
    words: Words, line: Whole, parts: _Parts, columns: Columns, pages: Sequence[Page]
) -> tuple[Table | None, Whole]:
    """The lines that are rows of the table, its headings, and what is left."""
    count = int(line.max()) + 1
    starts = np.searchsorted(line, np.arange(count))
    boxes, page = around_each(words.boxes, starts), words.page[starts]
    body = np.zeros(count, dtype=bool)
    body[parts.line[parts.money & (np.abs(parts.edges()[columns.edge] - columns.amount) <= ALIGNED)]] = True
    titles = _titles(words, line, parts, body, _fitting(parts, columns, count), boxes, page)
    columns = _clear_of(words.boxes[titles[line]], _split_by(parts, titles, words.boxes[body[line]], columns))
    fits = _fitting(parts, columns, count)
    kept = body | titles
    owner = np.where(body, np.arange(count), -1)
    priced = np.isin(np.arange(count), parts.line[parts.money])
    summed = _summed(parts, columns, count)
    owner = _owners(owner, body, titles, fits & ~priced, summed, boxes, page, _bands(boxes, page, pages, columns))
    for one in np.unique(page[titles]):
        owner[titles & (page == one)] = np.flatnonzero(titles & (page == one))[0]
    inside = owner[line] >= 0
    ours = words.where(inside)
    column = _column_of_words(words, line, parts, columns, kept & fits)[inside]
    return Table(ours, owner[line][inside], column, columns.width), np.flatnonzero(~inside)


def _split_by(parts: _Parts, titles: Flags, body: Numbers, columns: Columns) -> Columns:
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


def _clear_of(headings: Numbers, columns: Columns) -> Columns:
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


def _column_of_words(words: Words, line: Whole, parts: _Parts, columns: Columns, fits: Flags) -> Whole:
    """Words go by their part; in rows and headings a part that reaches into another column goes by its words."""
    of_part = np.searchsorted(parts.first, np.arange(len(words)), side="right") - 1
    begin = np.searchsorted(columns.bounds, parts.x0)
    single = begin == np.searchsorted(columns.bounds, parts.x1)
    whole = columns.of(parts.x0, parts.x1)
    alone = columns.of(parts.x0, np.minimum(parts.x1, parts.x0 + 1))
    by_word = columns.of(words.boxes[:, X0], words.boxes[:, X1])
    count = np.bincount(parts.line)
    table_like = fits | (count >= COLUMNS)
    return np.where(single[of_part], whole[of_part], np.where(table_like[line], by_word, alone[of_part]))


def _fitting(parts: _Parts, columns: Columns, count: int) -> Flags:
    """Lines of which no part reaches from one column into another."""
    crosses = np.searchsorted(columns.bounds, parts.x0) != np.searchsorted(columns.bounds, parts.x1)
    fits = np.ones(count, dtype=bool)
    fits[parts.line[crosses]] = False
    return fits


def _titles(words: Words, line: Whole, parts: _Parts, body: Flags, fits: Flags, boxes: Numbers, page: Whole) -> Flags:
    """The lines of headings: just above the first row of a page, of several parts, and without figures.

    The name of a group of rows may stand between.
    """
    count = np.bincount(parts.line, minlength=len(body))
    figures = np.zeros(len(body), dtype=bool)
    figures[line[[FIGURE.match(str(text)) is not None for text in words.texts]]] = True
    titles = np.zeros(len(body), dtype=bool)
    for one in np.unique(page[body]).tolist():
        first = int(np.flatnonzero(body & (page == one))[0])
        first = _top_of_row(first, boxes, page, figures)
        for last in range(first, max(first - MOST_GROUPS, 0) - 1, -1):
            if last < first and (page[last] != one or count[last] >= COLUMNS):
                break
            begin = _begin(last, (page == one) & ~figures & (fits | (count >= COLUMNS)), boxes)
            if count[begin:last].max(initial=0) >= COLUMNS:
                titles[begin:last] = True
                break
    return titles


def _begin(last: int, may_be: Flags, boxes: Numbers) -> int:
    """The first of the lines of headings that end before `last`."""
    begin = last
    while begin and may_be[begin - 1]:
        height = boxes[begin - 1, BOTTOM] - boxes[begin - 1, TOP]
        reach = HEADING_REACH if begin == last else STACKED
        if boxes[begin, TOP] - boxes[begin - 1, BOTTOM] > reach * height:
            break
        begin -= 1
    return begin


def _top_of_row(first: int, boxes: Numbers, page: Whole, figures: Flags) -> int:
    """The first line of a row whose amount stands lower: lines that reach into one another are of one row."""
    while first and page[first - 1] == page[first]:
        height = boxes[first, BOTTOM] - boxes[first, TOP]
        gap = (boxes[first, TOP] - boxes[first - 1, BOTTOM]) / height
        if gap > -TIGHT and not (gap < TIGHT and figures[first - 1]):
            break
        first -= 1
    return first


def _bands(boxes: Numbers, page: Whole, pages: Sequence[Page], columns: Columns) -> Whole | None:
    """For each line the number of the band between rulings that it stands in; None where there are none to go by."""
    band = np.zeros(len(boxes), dtype=np.int64)
    for one in pages:
        wide = one.rulings[one.rulings[:, X1] - one.rulings[:, X0] > TOUCH] if len(one.rulings) else one.rulings
        wide = wide[wide[:, BOTTOM] - wide[:, TOP] <= TOUCH] if len(wide) else wide
        crossing = (
            wide[(wide[:, X0] <= columns.amount) & (wide[:, X1] >= columns.amount - TOUCH)] if len(wide) else wide
        )
        here = page == one.number
        edges = levels(crossing[:, TOP])
        nth = np.searchsorted(edges, boxes[here][:, [TOP, BOTTOM]].mean(axis=1))
        between = (nth > 0) & (nth < len(edges))
        band[here] = np.where(between, nth + one.number * MOST_BANDS, 0)
    return band if len(np.unique(band)) > LEAST_BANDS else None


def _summed(parts: _Parts, columns: Columns, count: int) -> Flags:
    """Lines of words and an amount in the last column, which stand below rows, within the same shading or not."""
    last = np.flatnonzero(np.diff(parts.line, append=-1) != 0)
    last = last[parts.money[last] & (columns.of(parts.x0[last], parts.x1[last]) == columns.width - 1)]
    summed = np.zeros(count, dtype=bool)
    summed[parts.line[last]] = True
    return summed


def _owners(
    owner: Whole,
    body: Flags,
    titles: Flags,
    fits: Flags,
    summed: Flags,
    boxes: Numbers,
    page: Whole,
    band: Whole | None,
) -> Whole:
    """For each line the line of the row that it continues, -1 for those of none, as those of a sum are."""
    owner = owner.copy()
    if band is not None:
        alone = {int(key): at for at, key in zip(np.flatnonzero(body).tolist(), band[body].tolist(), strict=True)}
        crowd = np.unique(band[body], return_counts=True)
        single = set(crowd[0][crowd[1] == 1].tolist()) - {0}
        for at in np.flatnonzero(~body & ~titles & ~summed).tolist():
            if int(band[at]) in single:
                owner[at] = alone[int(band[at])]
    height = np.median(boxes[:, BOTTOM] - boxes[:, TOP])
    gap = np.append(FAR, boxes[1:, TOP] - boxes[:-1, BOTTOM])
    gap[np.diff(page, prepend=-1) != 0] = FAR
    loose = ~body & ~titles & fits & (owner < 0)
    if not loose.any() or not body.any():
        return owner
    up = np.append(gap[1:], FAR) < gap - 0.05 * height
    near = np.minimum(gap, np.append(gap[1:], FAR)) < 0.8 * height
    for at in np.flatnonzero(loose & ~up & near).tolist():
        owner[at] = owner[at - 1] if at and not titles[at - 1] else -1
    for at in np.flatnonzero(loose & up & near)[::-1].tolist():
        owner[at] = owner[at + 1] if at + 1 < len(owner) and not titles[at + 1] else -1
    return owner
