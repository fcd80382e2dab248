"""Tables without rulings: columns that stand apart by whitespace, headings above them, cells of several lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake import column_gaps, group_names
from auditor.intake.column_gaps import ALIGNED, COLUMNS, Columns, Parts, parts_of
from auditor.intake.documents import Page
from auditor.intake.heading_lines import MOST_GROUPS, runs, text_of, titles_of, under_one_heading
from auditor.intake.placed import BOTTOM, FAR, TOP, X0, X1, Flags, Numbers, Table, Words, around_each
from auditor.intake.rulings import TOUCH, levels
from auditor.intake.wording import SUM

MOST_TABLES = 12
MOST_BANDS, LEAST_BANDS = 100_000, 2


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
    parts = parts_of(words, line)
    count = np.bincount(parts.line)
    amounts = np.flatnonzero(parts.money & (count[parts.line] >= COLUMNS))
    last = amounts[np.diff(parts.line[amounts], append=-1) != 0]
    if not len(last):
        return nothing
    edge, place = _commonest(parts.edges()[:, last])
    body = parts.line[last[parts.at(edge, place)[last]]]
    columns = column_gaps.columns_in(parts, body, place, edge)
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


def _rows(
    words: Words, line: Whole, parts: Parts, columns: Columns, pages: Sequence[Page]
) -> tuple[Table | None, Whole]:
    """The lines that are rows of the table, its headings, and what is left."""
    count = int(line.max()) + 1
    starts = np.searchsorted(line, np.arange(count))
    boxes, page = around_each(words.boxes, starts), words.page[starts]
    body = np.zeros(count, dtype=bool)
    body[parts.line[parts.money & parts.at(columns.edge, columns.amount)]] = True
    titles = titles_of(words, line, parts, body, _fitting(parts, columns, count), boxes, page)
    same = under_one_heading(words, line, body, titles, page)
    if not same.all():
        titles &= same
        body &= same
        alone = column_gaps.columns_in(parts, np.flatnonzero(body), columns.amount, columns.edge)
        columns = alone or columns
    headings = int(np.bincount(parts.line)[titles].max(initial=0))
    narrow = column_gaps.narrow(words, line, body, headings, columns)
    if narrow is columns:
        columns = column_gaps.split_by_headings(parts, titles, words.boxes[body[line]], columns)
        columns = column_gaps.clear_of_headings(words.boxes[titles[line]], columns)
    else:
        columns = narrow
    sums = _sums(words, line, parts, body, columns)
    named = _groups(words, line, parts, body, titles, columns)
    body |= sums | named
    body |= _priced_between(parts, body, titles, columns, page)
    fits = _fitting(parts, columns, count)
    kept = body | titles
    owner = np.where(body, np.arange(count), -1)
    priced = np.isin(np.arange(count), parts.line[parts.money])
    summed = _summed(parts, columns, count)
    owner = _owners(
        owner, body, titles, fits & ~priced, summed, sums | named, boxes, page, _bands(boxes, page, pages, columns)
    )
    for run in runs(titles, page):
        owner[run] = run[0]
    inside = owner[line] >= 0
    ours = words.where(inside)
    column = _column_of_words(words, line, parts, columns, kept & fits, titles, page)[inside]
    return Table(ours, owner[line][inside], column, columns.width), np.flatnonzero(~inside)


def _column_of_words(
    words: Words, line: Whole, parts: Parts, columns: Columns, fits: Flags, titles: Flags, page: Whole
) -> Whole:
    """Words go by their part; in rows and headings a part that reaches into another column goes by its words."""
    of_part = np.searchsorted(parts.first, np.arange(len(words)), side="right") - 1
    begin = np.searchsorted(columns.bounds, parts.x0)
    single = begin == np.searchsorted(columns.bounds, parts.x1)
    whole = columns.of(parts.x0, parts.x1)
    alone = columns.of(parts.x0, np.minimum(parts.x1, parts.x0 + 1))
    by_word = columns.of(words.boxes[:, X0], words.boxes[:, X1])
    count = np.bincount(parts.line)
    table_like = fits | (count >= COLUMNS)
    found = np.where(single[of_part], whole[of_part], np.where(table_like[line], by_word, alone[of_part]))
    ordered = column_gaps.by_order(parts, titles, page, columns)[of_part]
    return np.where(ordered >= 0, ordered, found)


def _sums(words: Words, line: Whole, parts: Parts, body: Flags, columns: Columns) -> Flags:
    """The lines from the first row on that are called a sum, with an amount in that column, at whatever edge."""
    found = np.zeros_like(body)
    if not body.any():
        return found
    column = columns.of(parts.x0, parts.x1)
    amounts = column[parts.money & body[parts.line]].max(initial=-1)
    few = np.bincount(parts.line)[parts.line] <= COLUMNS
    last = np.flatnonzero((np.diff(parts.line, append=-1) != 0) & parts.money & few & (column == amounts))
    lines = parts.line[last[parts.line[last] >= body.argmax()]]
    bounds = zip(*(np.searchsorted(line, lines + more).tolist() for more in (0, 1)), strict=True)
    found[lines] = [SUM.match(" ".join(words.texts[begin:end])) is not None for begin, end in bounds]
    return found


def _priced_between(parts: Parts, body: Flags, titles: Flags, columns: Columns, page: Whole) -> Flags:
    """The lines between the rows of a page that have an amount in another of its columns, as that of credits."""
    count = np.bincount(parts.line)
    priced = np.isin(np.arange(len(body)), parts.line[parts.money])
    may_be = ~body & ~titles & priced & (count >= COLUMNS) & _fitting(parts, columns, len(body))
    at = np.arange(len(body))
    first = np.searchsorted(page[body], page)
    last = np.searchsorted(page[body], page, side="right") - 1
    rows = np.append(np.flatnonzero(body), len(body))
    return may_be & (first <= last) & (at > rows[np.minimum(first, len(rows) - 1)]) & (at < rows[last])


def _groups(words: Words, line: Whole, parts: Parts, body: Flags, titles: Flags, columns: Columns) -> Flags:
    """The lines among the rows, from their left on, that name a group of them by a day, a service or a zone."""
    found = np.zeros_like(body)
    if not body.any():
        return found
    first = min(body.argmax(), titles.argmax() if titles.any() else len(body))
    may_be = ~body & ~titles & (np.bincount(parts.line) < COLUMNS) & (np.arange(len(body)) >= first - MOST_GROUPS)
    may_be[parts.line[parts.money]] = False
    left = parts.x0[np.searchsorted(parts.line, np.arange(len(body)))] < columns.bounds[0]
    said = {at: group_names.said(text_of(words, line, at)) for at in np.flatnonzero(may_be & left).tolist()}
    several = {name for name, count in Counter(pair[0] for pair in {*filter(None, said.values())}).items() if count > 1}
    found[[at for at, pair in said.items() if pair and pair[0] in several]] = True
    return found


def _fitting(parts: Parts, columns: Columns, count: int) -> Flags:
    """Lines of which no part reaches from one column into another."""
    crosses = np.searchsorted(columns.bounds, parts.x0) != np.searchsorted(columns.bounds, parts.x1)
    fits = np.ones(count, dtype=bool)
    fits[parts.line[crosses]] = False
    return fits


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


def _summed(parts: Parts, columns: Columns, count: int) -> Flags:
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
    sums: Flags,
    boxes: Numbers,
    page: Whole,
    band: Whole | None,
) -> Whole:
    """For each line the line of the row that it continues, -1 for those of none, as those of a sum are."""
    owner = owner.copy()
    if band is not None:
        rows = body & ~sums
        alone = {int(key): at for at, key in zip(np.flatnonzero(rows).tolist(), band[rows].tolist(), strict=True)}
        crowd = np.unique(band[rows], return_counts=True)
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
