"""Which row or column is a sum of which: by arithmetic alone, over whole cents."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from auditor.core.arrays import Masked, Places, Whole, Yes

NEARLY_ALL = 0.95
"""A sum of columns holds in so many of its rows: what is printed may be wrong once, as a carrier's slip."""
FEWEST = 3
"""Two rows may add up by chance."""
ROUNDS = 300
"""Sums of pages are found one after another, each from the one before it: a document has at most so many."""
MOST_STEPS = 40
MOST_ROWS = 300
"""So many rows are enough to tell which columns add up."""


def plain(column: Masked) -> Whole:
    """The cents of a column, 0 where there are none."""
    return np.where(column.known, column.numbers, 0)


def sums_of_columns(columns: Sequence[Masked]) -> dict[int, tuple[int, ...]]:
    """Columns that are the sum of others in nearly every row, each with those: the nearest before it, then any."""
    found: dict[int, tuple[int, ...]] = {}
    matrix = np.column_stack([plain(column) for column in columns]) if columns else np.zeros((0, 0), np.int64)
    for at, column in enumerate(columns):
        rows = column.known & (column.numbers != 0)
        if rows.sum() < FEWEST:
            continue
        parts = _parts(matrix[rows], at, [one for one in range(len(columns)) if one != at and one not in found])
        if parts:
            found[at] = parts
    return found


def _parts(matrix: Whole, at: int, others: Sequence[int]) -> tuple[int, ...]:
    """The columns that add up to the one at that place in most rows; none where there are not two that do.

    Of several such sets the nearest and shortest. Any columns are tried where none beside one another do.
    """
    target = matrix[:, at]
    best = max(_runs(at, others), key=lambda parts: _right(matrix, target, parts), default=())
    if not _add_up(matrix, target, best):
        best = tuple(others[place] for place in chosen(matrix[:, list(others)], target))
    return best if _add_up(matrix, target, best) else ()


def _right(matrix: Whole, target: Whole, parts: Sequence[int]) -> int:
    return int((matrix[:, list(parts)].sum(axis=1) == target).sum())


def _runs(at: int, others: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Columns beside one another that end before that one, then those that begin behind it; the shortest first."""
    before, behind = [one for one in others if one < at][::-1], [one for one in others if one > at]
    for side in (before, behind):
        yield from (tuple(sorted(side[:count])) for count in range(2, len(side) + 1))


def _add_up(matrix: Whole, target: Whole, parts: Sequence[int]) -> bool:
    """Whether those columns come to the target nearly everywhere, and at least two of them somewhere together."""
    if len(parts) < 2:  # noqa: PLR2004 - one that equals another is no sum
        return False
    them = matrix[:, list(parts)]
    together = ((them != 0).sum(axis=1) > 1).sum()
    return bool(_right(matrix, target, parts) >= NEARLY_ALL * len(target) and together >= FEWEST)


def chosen(matrix: Whole, target: Whole) -> list[int]:
    """The columns of which the sum is the target in most rows: the best two at first, then one more or one less.

    Least squares would be led astray by few wrong rows, and by columns that go with one another, as fuel does.
    """
    matrix, target = matrix[:MOST_ROWS], target[:MOST_ROWS]
    if matrix.shape[1] < 2 or not len(target):  # noqa: PLR2004 - one is no sum
        return []
    taken = np.zeros(matrix.shape[1], dtype=bool)
    pairs = [(matrix == (target - matrix[:, at])[:, None]).sum(axis=0) for at in range(matrix.shape[1])]
    best = np.array(pairs)
    np.fill_diagonal(best, 0)
    taken[list(np.unravel_index(int(best.argmax()), best.shape))] = True
    taken = _climbed(matrix, target, taken)
    # What is blank wherever the sum is right already may belong to it elsewhere, several columns at a time.
    right = matrix @ taken == target
    wider = _climbed(matrix, target, taken | ~(matrix[right] != 0).any(axis=0))
    if (matrix @ wider == target).sum() > right.sum():
        taken = wider
    return [int(place) for place in np.flatnonzero(taken) if matrix[:, place].any()]


def _climbed(matrix: Whole, target: Whole, taken: Yes) -> Yes:
    """The columns with one more or one less, as long as more rows come to their sum."""
    taken, rest = taken.copy(), target - matrix @ taken
    for _ in range(MOST_STEPS):
        signs = np.where(taken, 1, -1)
        right = (rest[:, None] + matrix * signs == 0).sum(axis=0)
        change = int(right.argmax())
        if right[change] <= (rest == 0).sum():
            break
        rest, taken[change] = rest + matrix[:, change] * signs[change], not taken[change]
    return taken


def is_running(balance: Masked, amounts: Masked) -> bool:
    """Whether a column is the sum of all amounts so far, from any beginning, upwards or downwards."""
    both = np.flatnonzero(balance.known & amounts.known)
    if len(both) < FEWEST + 1:
        return False
    steps, by = np.diff(balance.numbers[both]), amounts.numbers[both]
    return bool(
        np.mean(steps == by[1:]) >= NEARLY_ALL
        or np.mean(steps == -by[1:]) >= NEARLY_ALL
        or np.mean(steps == by[:-1]) >= NEARLY_ALL
    ) and bool((by[1:] != 0).mean() > 1 / 2)


def sum_rows(cents: Masked, key: Places, may_be: Yes, alike: Places, breaks: Yes) -> Yes:
    """Rows that are sums of rows above them.

    Args:
        cents: a row's amount, or sum.
        key: the parcel of each row, −1 for none.
        may_be: rows that may be sums: those without a number of their own.
        alike: a code a row: those of equal codes look alike, as subtotals of one kind do.
        breaks: rows at which something new begins, as a heading of a group.

    Returns:
        For each row whether it is one.
    """
    found = np.zeros(len(key), dtype=bool)
    for _ in range(ROUNDS):
        more = _equal_to_what_is_above(cents, key, may_be & cents.known, alike, breaks, found)
        if not more.any():
            break
        found |= more
    return found


def _equal_to_what_is_above(cents: Masked, key: Places, may_be: Yes, alike: Places, breaks: Yes, found: Yes) -> Yes:
    """Rows that equal the sum of the lines since one of several beginnings, of at least two lines.

    The beginnings: the first row, the last sum, the last that looks alike, the last break, the parcel's first row. The
    lines are taken without and with those that may themselves be sums. One line is a sum of one where others that look
    alike are sums of several.
    """
    numbers, lines = plain(cents), cents.known & ~found
    at = np.flatnonzero(may_be & ~found)
    result = np.zeros(len(numbers), dtype=bool)
    for counted in (lines & ~(may_be & (key < 0)), lines) if len(at) else ():
        before = np.concatenate([[0], np.cumsum(np.where(counted, numbers, 0))])
        count = np.concatenate([[0], np.cumsum(counted & (numbers != 0))])
        starts = [*_beginnings(at, key, alike, breaks, may_be & (key < 0) | found)]
        equal = np.array([(before[at] - before[start] == numbers[at]) & (numbers[at] != 0) for start in starts])
        of = np.array([count[at] - count[start] for start in starts])
        several, single = (equal & (of > 1)).any(axis=0), (equal & (of == 1)).any(axis=0)
        kinds = np.unique(alike[np.concatenate([at[several], np.flatnonzero(found)])])
        fits = several | (single & np.isin(alike[at], kinds))
        if fits.any():
            result[at[fits]] = True
            break
    return result


def _beginnings(at: Places, key: Places, alike: Places, breaks: Yes, sums: Yes) -> Iterator[Places]:
    """For each row in question the row from which lines are summed, in several ways."""
    rows = np.arange(len(key))
    yield np.zeros(len(at), dtype=np.intp)
    for marks in (sums, breaks):
        last = np.maximum.accumulate(np.where(marks, rows + 1, 0))
        yield np.concatenate([[0], last])[at]
    changes = np.concatenate([[True], (key[1:] != key[:-1]) & (key[1:] >= 0)]) if len(key) else np.zeros(0, bool)
    last = np.maximum.accumulate(np.where(changes, rows, 0))
    yield np.concatenate([[0], last])[at]
    previous: dict[int, int] = {}
    after_alike = []
    for row in at.tolist():
        after_alike.append(previous.get(int(alike[row]), 0))
        previous[int(alike[row])] = row + 1
    yield np.array(after_alike, dtype=np.intp)
