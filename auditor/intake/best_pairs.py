"""Which rows and columns of a table of scores go together for the greatest sum.

The shortest augmenting paths of R. Jonker and A. Volgenant, "A Shortest Augmenting Path Algorithm for Dense and Sparse
Linear Assignment Problems", Computing 38 (1987), for tables that need not be square (from memory). A library has the
same, and takes longer to load than a month's files take to read.
"""

from __future__ import annotations

import numpy as np

from auditor.core.arrays import Floats, Places

NONE = -1


def best_pairs(scores: Floats) -> list[tuple[int, int]]:
    """Each row with its column, or each column with its row where there are fewer, so that their scores sum up highest.

    Args:
        scores: a row and a column each, finite.

    Returns:
        Pairs of places, in the order of rows.
    """
    if scores.shape[0] > scores.shape[1]:
        return sorted((row, column) for column, row in best_pairs(scores.T))
    row_of = _row_of_each_column(-scores)
    return sorted((int(row), column) for column, row in enumerate(row_of) if row != NONE)


def _row_of_each_column(costs: Floats) -> Places:
    """The row that each column goes to for the least sum, NONE for a column left over."""
    rows, columns = costs.shape
    by_row, by_column = np.zeros(rows), np.zeros(columns)
    row_of = np.full(columns, NONE, dtype=np.intp)
    for row in range(rows):
        _take_in(row, costs, by_row, by_column, row_of)
    return row_of


def _take_in(row: int, costs: Floats, by_row: Floats, by_column: Floats, row_of: Places) -> None:
    """Give one more row a column, along the shortest path of rows that then change theirs; prices go along."""
    columns = costs.shape[1]
    shortest, came_from = np.full(columns, np.inf), np.full(columns, NONE, dtype=np.intp)
    left = np.arange(columns)[::-1].copy()
    at, column, length = row, NONE, 0.0
    while at != NONE:
        further = length + costs[at, left] - by_row[at] - by_column[left]
        nearer = left[further < shortest[left]]
        shortest[left] = np.minimum(further, shortest[left])
        came_from[nearer] = at
        place = _nearest(shortest[left], row_of[left])
        column = int(left[place])
        length, at = float(shortest[column]), int(row_of[column])
        left[place], left = left[-1], left[:-1]
    reached = np.setdiff1d(np.arange(columns), left)
    met = reached[row_of[reached] != NONE]
    by_row[row] += length
    by_row[row_of[met]] += length - shortest[met]
    by_column[reached] -= length - shortest[reached]
    _change_along(row, column, came_from, row_of)


def _nearest(lengths: Floats, rows: Places) -> int:
    """The place of the shortest path; among equals one that ends there, as no row has that column yet."""
    ties = np.flatnonzero(lengths == lengths.min())
    free = ties[rows[ties] == NONE]
    return int(free[-1] if len(free) else ties[0])


def _change_along(row: int, last: int, came_from: Places, row_of: Places) -> None:
    """Let each row on the path have the column that the next one leaves."""
    column, taker = last, NONE
    while taker != row:
        taker = int(came_from[column])
        had = np.flatnonzero(row_of == taker)
        row_of[column] = taker
        column = int(had[0]) if len(had) else column
