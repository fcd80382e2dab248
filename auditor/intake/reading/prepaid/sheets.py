"""Ways to see a grid as rows about prepaid labels: a row each, or two that belong together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Masked, Places, Yes
from auditor.intake.by_column import Columns
from auditor.intake.documents import Grid
from auditor.intake.reading.cells import columns_of
from auditor.intake.reading.known import Known
from auditor.intake.reading.structures import given_once, parts, with_groups
from auditor.intake.reading.tables import Anchors, Table, anchors

MOST_ROWS = 50_000
"""Whoever buys labels one by one has fewer in a paper; of longer tables each way to read them would take seconds."""
MOSTLY = 0.9


@dataclass(frozen=True, eq=False)
class Seen:
    """A table with its parcels; `pairs` where each row was made of two of the grid, the first one's columns first."""

    table: Table
    where: Anchors
    pairs: bool = False

    @property
    def numbered(self) -> Yes:
        """For each row whether it is about a parcel."""
        return np.asarray(self.where.key >= 0, dtype=bool)

    @property
    def ours(self) -> Yes:
        """For each row whether its parcel stands in the shop's records."""
        return np.asarray(self.where.place >= 0, dtype=bool)

    def recorded(self, known: Known, name: str) -> Masked:
        """For each row what an Int64 column of the records says of its parcel."""
        values, place = Masked.of_column(known.shipments[name]), np.maximum(self.where.place, 0)
        return Masked(values.numbers[place], values.known[place] & self.ours)


def seen(grid: Grid, known: Known) -> Iterator[Seen]:
    """The ways to see a grid."""
    if isinstance(grid.rows, Columns) or len(grid.rows) > MOST_ROWS:
        return
    for plain, _ in parts(columns_of(grid, slice(None)), known):
        where = anchors(plain, known)
        if where is None:
            continue
        table = with_groups(plain, where)
        yield Seen(table, where)
        if paired := _paired(table, where):
            yield paired
        if (once := given_once(table, where)) and (again := anchors(once, known)) and (paired := _paired(once, again)):
            yield paired


def _paired(table: Table, where: Anchors) -> Seen | None:
    """Each two rows below one another about one parcel as one; None where most are not so."""
    rows = np.flatnonzero(where.key >= 0)
    first = rows[_firsts(where.key[rows])] if len(rows) > 1 else rows[:0]
    second = rows[np.searchsorted(rows, first) + 1] if len(first) else first
    if not len(first) or 2 * len(first) < MOSTLY * len(rows):
        return None
    one, other = table.take(first), table.take(second)
    columns = (*one.columns, *other.columns)
    return Seen(replace(one, structure="two rows a correction", columns=columns), where.take(first), pairs=True)


def _firsts(key: Places) -> Places:
    """The places of those that are followed by one of the same parcel, none of them taken twice."""
    found, at = [], 0
    while at < len(key) - 1:
        if key[at] == key[at + 1]:
            found.append(at)
            at += 1
        at += 1
    return np.array(found, dtype=np.intp)
