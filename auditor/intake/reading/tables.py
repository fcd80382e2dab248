"""Tables that a grid may be seen as, and where in them the parcels' numbers stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.reading.cells import Column, number_text
from auditor.intake.reading.known import LEAST_FIGURES, Known, bare


@dataclass(frozen=True, eq=False)
class Table:
    """One way to see rows of a grid: columns of equal length; `rows` says of which of the grid's rows each is.

    `structure` names the way. `fixed` are columns whose texts are known to be charges' names or amounts in a structure
    that is made so: (name, amount), or nothing; `taken` are the columns as they stand that these were made of, `slot`
    tells which of them a row has. `given` are the rows that have their parcel's number from a row above; `under` tells
    apart the rows that rows stand under or were taken out of, `down` are the columns that have all their texts so.
    """

    structure: str
    columns: tuple[Column, ...]
    rows: Places
    fixed: tuple[int, int] | None = None
    taken: frozenset[int] = frozenset()
    slot: Places | None = None
    given: Yes | None = None
    under: Places | None = None
    down: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return len(self.rows)

    def take(self, rows: Places | Yes) -> Table:
        """The same of those rows."""
        return replace(
            self,
            columns=tuple(column.take(rows) for column in self.columns),
            rows=self.rows[rows],
            slot=None if self.slot is None else self.slot[rows],
            given=None if self.given is None else self.given[rows],
            under=None if self.under is None else self.under[rows],
        )


@dataclass(frozen=True, eq=False)
class Anchors:
    """The parcel of each row: `at` the column of numbers; `place` its row of the shop's records, −1 where it has none.

    `key` tells parcels apart, also those in no record; −1 where the row is about no parcel. `by_order` where the
    numbers are those of orders.
    """

    at: int
    place: Places
    key: Places
    column: Column
    by_order: bool = False

    def take(self, rows: Places | Yes) -> Anchors:
        """The same of those rows."""
        return replace(self, place=self.place[rows], key=self.key[rows], column=self.column.take(rows))


def anchors(table: Table, known: Known) -> Anchors | None:
    """Where the parcels' numbers stand: in the column that holds those of most; by orders where there are none."""
    told = [column.told for column in table.columns]
    for by_order in (False, True):
        field = "order" if by_order else "tracking"
        places = [column.orders(known) if by_order else column.parcels(known) for column in table.columns]
        counts = [len(np.unique(found[found >= 0])) for found in places]
        said = {field} if field in told else {"", field}
        counts = [count if one in said else 0 for one, count in zip(told, counts, strict=True)]
        if counts and (most := max(counts)):
            at = counts.index(most)
            return _anchors(at, table.columns[at], places[at], by_order=by_order)
    return None


def _anchors(at: int, column: Column, place: Places, *, by_order: bool) -> Anchors:
    """With keys for numbers that are in no record but look like one: of as many figures as the known ones, or more."""
    known_texts = {column.texts[code] for code in np.unique(column.codes[place >= 0])}
    least = min((_figures(number_text(text)) for text in known_texts), default=LEAST_FIGURES)
    like = column.where(lambda text: _figures(number_text(text)) >= max(least, LEAST_FIGURES) and _is_one(text))
    names = {text: code for code, text in enumerate(dict.fromkeys(bare(number_text(text)) for text in column.texts))}
    codes = np.array([names[bare(number_text(text))] for text in column.texts], dtype=np.intp)[column.codes]
    key = np.where(place >= 0, place, np.where(like, codes + int(place.max(initial=0)) + 1, -1))
    return Anchors(at, place, key.astype(np.intp), column, by_order)


def _figures(text: str) -> int:
    return sum(map(str.isdigit, text))


def _is_one(text: str) -> bool:
    """Whether a text is a number alone, not an amount or a day: digits and capitals with at most blanks in between."""
    return all(char.isalnum() or char in " -'" for char in text)


def filled_down(column: Column, rows: Yes) -> Column:
    """With what stands in the nearest row above of those, in all others; blank above the first."""
    last = np.maximum.accumulate(np.where(rows, np.arange(len(rows)), -1))
    texts = column.texts if "" in column.texts else (*column.texts, "")
    blank = texts.index("")
    return replace(column, texts=texts, codes=np.where(last < 0, blank, column.codes[last]), cache={})
