"""Pages of a statement → grids, each by another way to see them, anchored on the shop's numbers; no word decides.

anchored.py    words, each known number one of them
fields.py      figures beside a number in its line
halves.py      parcels side by side as one below the other
page_lines.py  lines: where the table begins, its headings
bands.py       where columns stand, by the gaps that lines leave
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.documents import Grid, Page
from auditor.intake.placed import Numbers, Table, around_each
from auditor.intake.reading.anchored import anchored
from auditor.intake.reading.bands import band_of, bands, crossed
from auditor.intake.reading.fields import fields
from auditor.intake.reading.halves import side_by_side
from auditor.intake.reading.known import Known, bare
from auditor.intake.reading.page_lines import SEVERAL, Lines

Way = Callable[[Lines], Iterator[Grid | None]]


def standing(pages: Sequence[Page], known: Known) -> int:
    """How many parcels of the shop have their numbers on pages as one word."""
    words = {word for page in pages for word in page.words}
    return len({known.numbers.get(bare(word.rpartition(":")[2])) for word in words} - {None})


def ways(known: Known) -> Iterator[Callable[[Sequence[Page]], list[Grid]]]:
    """The ways to see pages as grids, the likeliest first."""
    return (partial(_grids, known, way) for way in WAYS)


def _grids(known: Known, way: Way, pages: Sequence[Page]) -> list[Grid]:
    found = Lines(anchored(pages, known))
    return [*filter(None, way(found))] if found.numbered.any() else []


def by_columns(found: Lines) -> Iterator[Grid | None]:
    """One set of columns for all lines."""
    yield _table(found, [found.body & (found.several | found.numbered)], parts=True)


def by_words(found: Lines) -> Iterator[Grid | None]:
    """The same, where columns stand no further apart than words do."""
    yield _table(found, [found.body & (found.several | found.numbered)], parts=False)


def by_table(found: Lines) -> Iterator[Grid | None]:
    """A set of columns for each table, where several stand below one another under headings of their own."""
    starts = _starts(found)
    if len(starts) < SEVERAL:
        return
    ends = pairwise([0, *starts[1:], len(found.starts)])
    parts = [Lines(found.given.where((found.line >= begin) & (found.line < end))) for begin, end in ends]
    tables = [table for part in parts for table in by_columns(part) if table is not None]
    yield _below_one_another(tables) if len(tables) == len(parts) else None


def _below_one_another(tables: Sequence[Grid]) -> Grid:
    """Tables as one grid."""
    rows, places, boxes = (
        [one for table in tables for one in getattr(table, name)] for name in ("rows", "places", "boxes")
    )
    return Grid(rows, places, tuple(text for table in tables for text in table.above), boxes=boxes)


def _starts(found: Lines) -> list[int]:
    """The first lines of tables: of several parts without number or amount, never seen before, above numbers."""
    seen: set[str] = {found.texts[at] for at in found.headings}
    starts = [found.first]
    plain = found.several & ~found.numbered & ~found.of_money
    for at in np.flatnonzero(plain & (np.arange(len(plain)) > found.first)).tolist():
        text = found.texts[at]
        if text not in seen and found.numbered[starts[-1] : at].any() and found.numbered[at:].any():
            starts.append(at)
        seen.add(text)
    return starts


def by_kind(found: Lines) -> Iterator[Grid | None]:
    """Columns of their own for lines with a number, and for those without."""
    yield _table(found, [found.body & found.numbered, found.body & ~found.numbered & found.several], parts=True)


def by_line(found: Lines) -> Iterator[Grid | None]:
    """A line is its number and the figures beside it, or words; and its amounts, from the right."""
    words, line = found.words, found.line
    chosen = found.body[line]
    # How many words from a word to the end of its line are no amounts.
    others = np.cumsum((~words.money)[::-1])[::-1]
    ends = np.concatenate([found.starts[1:], [len(words)]])
    after = np.concatenate([others, [0]])
    behind = others - after[ends[line]]
    amounts = words.money & (behind == 0)
    from_right = np.where(amounts, ends[line] - 1 - np.arange(len(words)), 0)
    most = int(from_right[chosen].max(initial=0)) if amounts[chosen].any() else 0
    beside = fields(found)
    column = np.where(amounts, 2 + most - from_right, 1) + max(beside.count, 1)
    column[found.given.numbers] = 0
    told = found.numbered[line] & ~amounts & ~found.given.numbers
    column[told] = 1 + np.maximum(beside.of_word, 0)[told]
    chosen &= ~told | (beside.of_word >= 0)
    yield _grid(beside.without_commas(found), chosen, column.astype(np.int64), 3 + most + max(beside.count, 1), line)


def by_half(found: Lines) -> Iterator[Grid | None]:
    """Lines of cards or parcels that stand side by side, one side below the other."""
    if halves := side_by_side(found.given):
        yield from by_line(Lines(halves))


def by_columns_of_half(found: Lines) -> Iterator[Grid | None]:
    """The same, with one set of columns for both sides."""
    if halves := side_by_side(found.given):
        yield from by_columns(Lines(halves))


WAYS: tuple[Way, ...] = (by_columns, by_line, by_table, by_half, by_columns_of_half, by_kind, by_words)


def _table(found: Lines, kinds: Sequence[Yes], *, parts: bool) -> Grid | None:
    """A grid with columns for each kind of line, one after another; headings stand over the columns they fit best."""
    cells = _cells(found, parts=parts)
    columns = [_columns_of(cells, kind) for kind in kinds]
    if not all(len(one) for one in columns):
        return None
    heads = {at: _fitting(cells, at, columns) for at in found.headings}
    column = np.zeros(len(found.words), dtype=np.int64)
    row = found.line.copy()
    chosen = np.zeros(len(found.starts), dtype=bool)
    begin = 0
    for number, (kind, bounds) in enumerate(zip(kinds, columns, strict=True)):
        own = kind.copy()
        mine = [at for at, fits in heads.items() if fits == number]
        own[mine] = True
        if mine:
            row[np.isin(found.line, mine)] = mine[0]
        if number == len(kinds) - 1:
            own |= found.body & ~np.logical_or.reduce(kinds)
        them = own[found.line]
        column[them] = begin + _columns(found, cells, bounds)[them]
        chosen |= own
        begin += len(bounds)
    return _grid(found, chosen[found.line], column, begin, row)


@dataclass(frozen=True, eq=False)
class _Cells:
    """Words that belong together: for each word its cell; each cell's box and line."""

    of_word: Places
    boxes: Numbers
    line: Places


def _cells(found: Lines, *, parts: bool) -> _Cells:
    """Parts of lines, numbers and amounts each by itself; or words."""
    words = found.words
    fresh = np.diff(words.part, prepend=-1) != 0
    alone = found.given.numbers | words.money
    fresh |= alone | np.concatenate([[False], alone[:-1]]) | (not parts)
    starts = np.flatnonzero(fresh)
    return _Cells(np.cumsum(fresh) - 1, around_each(found.given.aligned, starts), found.line[starts])


def _columns_of(cells: _Cells, kind: Yes) -> Numbers:
    return bands(cells.boxes[kind[cells.line]], int(kind.sum()))


def _columns(found: Lines, cells: _Cells, bounds: Numbers) -> Places:
    """The column of each word: its cell's; where that lies over several, its own."""
    of_cells = band_of(cells.boxes, bounds)[cells.of_word]
    own = band_of(found.given.aligned, bounds)
    wide = (crossed(cells.boxes, bounds) > 1)[cells.of_word]
    return np.where(wide & found.body[found.line], own, of_cells)


def _fitting(cells: _Cells, at: int, columns: Sequence[Numbers]) -> int:
    """The kind of line over whose columns the cells of a line of headings stand best: each over one of its own."""
    boxes = cells.boxes[cells.line == at]

    def fits(bounds: Numbers) -> int:
        over = crossed(boxes, bounds)
        return len(np.unique(band_of(boxes, bounds)[over == 1])) - int((over > 1).sum())

    return max(range(len(columns)), key=lambda kind: fits(columns[kind]))


def _grid(found: Lines, chosen: Yes, column: Places, width: int, row: Places) -> Grid:
    """The words of those lines as a grid, with the text around them."""
    table = Table(found.words.where(chosen), row[chosen].astype(np.int64), column[chosen].astype(np.int64), width)
    return replace(table.grid(), above=found.above)
