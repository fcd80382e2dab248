"""Which text of a row is the name of its charge: the one that the amounts go with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Places
from auditor.intake.reading import agreement
from auditor.intake.reading.cells import LETTER, Column, joined
from auditor.intake.reading.lines import Lines, sizes
from auditor.intake.reading.tables import Anchors, Table

MOST_NAMES = 0.34
"""Names repeat: a column with more distinct texts than a third of the lines names no charges."""
FEW = 12
MOST_KINDS = 12
WORDS = 3.0
"""A name has letters; a code beside it, which says the same, has none as often. Chosen; it only breaks ties."""
HALF = 0.5


@dataclass(frozen=True, eq=False)
class Name:
    """The columns whose texts together name a row's charge, the text of each row, and what speaks for them."""

    columns: tuple[int, ...]
    texts: Column
    odds: float


def name_of(table: Table, where: Anchors, lines: Lines, taken: set[int]) -> Name | None:
    """The column of names of a row a charge, with the kind of row where that tells apart what is called the same."""
    found = [
        Name((at,), table.columns[at], goes_with(table.columns[at], lines))
        for at in _may_be(table, where, lines, taken)
    ]
    best = max(found, key=lambda name: name.odds, default=None)
    if best is None:
        return None
    more = kind_of(table, where, lines, {*taken, *best.columns}, best.texts)
    return best if more is None else Name((more, *best.columns), joined([table.columns[more], best.texts]), best.odds)


def _may_be(table: Table, where: Anchors, lines: Lines, taken: set[int]) -> Iterator[int]:
    told = [at for at, column in enumerate(table.columns) if column.told == "description"]
    yield from told
    for at, column in enumerate(table.columns if not told else ()):
        if not column.may_be():
            continue
        codes = column.codes[lines.row]
        distinct = len(np.unique(codes))
        if at == where.at or at in taken or at in table.down or distinct < 2 or column.filled[lines.row].mean() < HALF:  # noqa: PLR2004
            continue
        if distinct <= max(MOST_NAMES * len(lines), FEW) and not _is_measure(column):
            yield at


def _is_measure(column: Column) -> bool:
    """Whether a column has amounts with decimals, or days."""
    used = max(len(column.used), 1)
    if column.share_with_decimals > HALF and column.money().known[column.filled].mean() > HALF:
        return True
    return any(column.days(day_first=first).known[column.filled].mean() > HALF for first in (False, True)) and used > 1


def goes_with(column: Column, lines: Lines) -> float:
    """Log odds that the amounts go with the column's texts."""
    _, codes = np.unique(column.codes[lines.row], return_inverse=True)
    letters = sum(LETTER.search(text) is not None for text in column.used) / max(len(column.used), 1)
    return agreement.explained(sizes(lines.cents), codes.astype(np.intp)) + _once(lines.key, codes) + WORDS * letters


def _once(key: Places, codes: Places) -> float:
    """Log odds that a text stands once in a parcel's lines, as a charge's name does."""
    rows = key >= 0
    pairs = np.column_stack([key[rows], codes[rows]])
    if len(pairs) < 2 or len(np.unique(key[rows])) == len(pairs):  # noqa: PLR2004 - nothing repeats
        return 0.0
    alone = np.unique(pairs, axis=0).shape[0]
    parcels = len(np.unique(key[rows]))
    others = alone - parcels
    again = len(pairs) - parcels
    return agreement.held(np.arange(again) < others, HALF, agreement.MEANT)


def kind_of(table: Table, where: Anchors, lines: Lines, taken: set[int], names: Column | None) -> int | None:
    """The column that tells rows of a parcel with the same name apart, as labels from their corrections."""
    codes = names.codes[lines.row] if names is not None else lines.slot
    pairs = np.column_stack([lines.key, codes])
    _, group, counts = np.unique(pairs, axis=0, return_inverse=True, return_counts=True)
    again = (counts[group.reshape(-1)] > 1) & (lines.key >= 0)
    doubled = int(again.sum()) - len(np.unique(group.reshape(-1)[again]))
    if doubled < 3:  # noqa: PLR2004 - fewer may be doubled by mistake
        return None
    best: tuple[float, int] | None = None
    for at, column in enumerate(table.columns):
        if at == where.at or at in taken or not 1 < len(column.used) <= MOST_KINDS or _is_measure(column):
            continue
        if not sum(LETTER.search(text) is not None for text in column.used):
            continue
        told = _told_apart(pairs[again], column.codes[lines.row][again], doubled)
        if told > HALF and (best is None or told > best[0]):
            best = (told, at)
    return best[1] if best else None


def _told_apart(pairs: Places, codes: Places, doubled: int) -> float:
    """Of the rows that say again what another says, how many do not once the text is looked at too."""
    left = len(pairs) - len(np.unique(np.column_stack([pairs, codes]), axis=0))
    return 1 - left / doubled
