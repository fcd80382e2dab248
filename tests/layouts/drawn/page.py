"""What structures make and writers write: rows of cells with roles, and what was planted in them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from tests.layouts.drawn.month import Event, Line


@dataclass(frozen=True)
class Cell:
    """What is printed, and the value that a workbook may hold in its place; several lines are parted by line breaks."""

    text: str = ""
    value: float | date | None = None
    right: bool = False


BLANK = Cell()


@dataclass(frozen=True)
class Row:
    """Cells with one role: over, heading, data, group, subtotal, total, page total, line.

    `event` and `cents` are what a row of data is about, and what it adds to the sum.
    """

    role: str
    cells: tuple[Cell, ...]
    event: Event | None = None
    cents: int = 0


@dataclass(frozen=True)
class Table:
    """Rows; `regular` where each has its cells under the heading's, `amount_at` the column that totals stand under."""

    rows: tuple[Row, ...]
    amount_at: int | None = None
    regular: bool = True
    title: str = ""

    @property
    def width(self) -> int:
        """The greatest number of cells in a row."""
        return max(len(row.cells) for row in self.rows)


@dataclass(frozen=True)
class Planted:
    """A line as it was printed: its charge, the event whose figures stand beside it, and the names of those figures."""

    event: Event
    line: Line
    fields: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """What a structure makes of events."""

    tables: tuple[Table, ...]
    planted: tuple[Planted, ...]


@dataclass(frozen=True)
class Document:
    """A whole statement, before anybody writes it; lines before and after are rows too."""

    title: str
    before: tuple[Row, ...]
    tables: tuple[Table, ...]
    after: tuple[Row, ...]
    page_total: Callable[[int], tuple[Cell, Cell]] | None = None
    """The words and the amount at a page's foot, given what its rows sum to; None for none."""

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows below one another, an empty one between its parts."""
        apart = (Row("line", ()),)
        rows = list(self.before)
        for table in self.tables:
            head = (Row("line", (Cell(table.title),)),) if table.title else ()
            rows += (*(apart if rows else ()), *head, *table.rows)
        return (*rows, *(apart if self.after else ()), *self.after)


def line_row(*texts: str) -> Row:
    """A row of words alone."""
    return Row("line", tuple(Cell(text) for text in texts))


def under(width: int, cells: dict[int, Cell]) -> tuple[Cell, ...]:
    """A row of so many cells, blank but for those."""
    return tuple(cells.get(place, BLANK) for place in range(width))


def planted(events: Sequence[Event], fields: tuple[str, ...]) -> tuple[Planted, ...]:
    """All lines of the events, each beside its own event's figures."""
    return tuple(Planted(event, line, fields) for event in events for line in event.lines)
