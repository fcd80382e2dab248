"""A grid of a shop's records → one row a parcel: two rows of an order joined, parcels in columns stacked."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Places
from auditor.intake.documents import Grid
from auditor.intake.reading.known import LEAST_FIGURES, bare

NUMBERING = re.compile(r"[\W_]*\d+[\W_]*")
LEAST = 3
"""Fewer numbers of a column in statements may be there for another reason. Chosen."""
MOSTLY = 0.9

NumberIn = Callable[[str], bool]
"""Whether a text is the number of a parcel that a statement bills."""


@dataclass(frozen=True)
class Rows:
    """Headings, and rows of as many cells with the place of each in the file; `said` is what was done to get them."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    places: tuple[str, ...]
    above: tuple[str, ...] = ()
    said: tuple[str, ...] = ()

    def column(self, at: int) -> list[str]:
        """The texts of a column."""
        return [row[at] for row in self.rows]


def rows_of(grid: Grid, is_number: NumberIn) -> Rows | None:
    """The grid's rows with a row for each parcel; None where no parcel's number stands in it."""
    width = max(map(len, grid.rows), default=0)
    filled = [(at, _padded(row, width)) for at, row in enumerate(grid.rows) if any(map(str.strip, row))]
    with_number = [at for at, (_, row) in enumerate(filled) if any(map(is_number, row))]
    if not with_number:
        return None
    per_record = _rows_a_record(with_number, len(filled))
    first = with_number[0] - (per_record - 1 if with_number[-1] == len(filled) - 1 else 0)
    first = first if per_record > 1 else first_parcel([row for _, row in filled], with_number, is_number)
    head = _head([row for _, row in filled[:first]], per_record, width)
    above = tuple(" ".join(filter(None, row)) for _, row in filled[: max(first - per_record, 0)])
    tops = {row for _, row in filled[:first]}
    body = [(at, row) for at, row in filled[first:] if row not in tops]
    lines = [_joined(body[at : at + per_record]) for at in range(0, len(body) - per_record + 1, per_record)]
    said = ("Two rows of each order were read as one.",) if per_record > 1 else ()
    whole = Rows(
        head,
        tuple(row for _, row in lines),
        tuple(grid.places[at] for at, _ in lines),
        (*grid.above, *above),
        said,
    )
    return _stacked(whole, is_number)


def first_parcel(rows: Sequence[Sequence[str]], with_number: Sequence[int], is_number: NumberIn) -> int:
    """The first row of a parcel: the first with a number that is known, or of those right above it with one like it.

    Who is billed for a few parcels only has others above them, whose numbers are as long and stand in the same column.
    """
    first = with_number[0]
    at = next(nth for nth, cell in enumerate(rows[first]) if is_number(cell))
    lengths = {len(bare(rows[row][at])) for row in with_number if at < len(rows[row]) and is_number(rows[row][at])}
    while first and at < len(rows[first - 1]) and _is_like(rows[first - 1][at], lengths):
        first -= 1
    return first


def _is_like(text: str, lengths: Collection[int]) -> bool:
    return len(bare(text)) in lengths and sum(map(str.isdigit, text)) >= LEAST_FIGURES


def plain_rows(grid: Grid, head: int) -> Rows:
    """The grid's rows below that one, which has the headings."""
    width = max(map(len, grid.rows), default=0)
    filled = [at for at in range(head + 1, len(grid.rows)) if any(map(str.strip, grid.rows[at]))]
    rows = tuple(_padded(grid.rows[at], width) for at in filled)
    return Rows(_padded(grid.rows[head], width), rows, tuple(grid.places[at] for at in filled), grid.above)


def _padded(row: Sequence[str], width: int) -> tuple[str, ...]:
    return tuple(" ".join(cell.split()) for cell in [*row, *[""] * (width - len(row))])


def _rows_a_record(with_number: Sequence[int], count: int) -> int:
    """How many rows each record has: two where a number stands in every second one, to the last."""
    apart = np.diff(with_number)
    whole = len(apart) >= LEAST and (apart == 2).mean() >= MOSTLY  # noqa: PLR2004 - two rows
    return 2 if whole and with_number[-1] >= count - 2 else 1


def _head(above: Sequence[tuple[str, ...]], per_record: int, width: int) -> tuple[str, ...]:
    """The last rows above the first record that have several texts; blanks where there are none."""
    found = [row for row in above if sum(map(bool, row)) > 1][-per_record:]
    blank = ("",) * width
    return tuple(cell for row in [*[blank] * (per_record - len(found)), *found] for cell in row)


def _joined(rows: Sequence[tuple[int, tuple[str, ...]]]) -> tuple[int, tuple[str, ...]]:
    return rows[0][0], tuple(cell for _, row in rows for cell in row)


# Several parcels of an order in columns


def _stacked(whole: Rows, is_number: NumberIn) -> Rows:
    """A row for each parcel where an order's parcels stand beside one another, each with columns of its own."""
    columns = [whole.column(at) for at in range(len(whole.head))]
    numbers = [at for at, column in enumerate(columns) if sum(map(is_number, column)) >= LEAST]
    numbers = [at for at in numbers if _other_numbers(columns, numbers[0], at, is_number)]
    if len(numbers) < 2:  # noqa: PLR2004 - one parcel a row
        return whole
    blocks = _blocks(whole.head, numbers)
    taken = {at for block in blocks for at in block}
    shared = [at for at in range(len(whole.head)) if at not in taken]
    rows, places = [], []
    for row, place in zip(whole.rows, whole.places, strict=True):
        for nth, block in enumerate(blocks):
            if nth == 0 or any(row[at] for at in block):
                rows.append(tuple(row[at] for at in (*shared, *block)))
                places.append(place)
    head = tuple(whole.head[at] for at in shared) + tuple(_unnumbered(whole.head[at]) for at in blocks[0])
    said = f"Parcels that stand beside one another in an order's row were read as {len(blocks)} parcels at most."
    return replace(whole, head=head, rows=tuple(rows), places=tuple(places), said=(*whole.said, said))


def _other_numbers(columns: Sequence[Sequence[str]], first: int, at: int, is_number: NumberIn) -> bool:
    """Whether a column has other numbers than the first one has, and is no copy of it."""
    pairs = [(one, other) for one, other in zip(columns[first], columns[at], strict=True) if is_number(other)]
    return at == first or sum(one == other for one, other in pairs) < len(pairs) / 2


def _unnumbered(heading: str) -> str:
    return " ".join(NUMBERING.sub(" ", heading).split())


def _blocks(head: Sequence[str], numbers: Sequence[int]) -> list[list[int]]:
    """The columns of each parcel: those whose headings differ in their numbering alone, else as many after each."""
    alike = {text: [at for at, one in enumerate(head) if _unnumbered(one) == text] for text in map(_unnumbered, head)}
    named = [them for text, them in alike.items() if text and len(them) == len(numbers)]
    if any(list(numbers) == them for them in named):
        return [[them[nth] for them in named] for nth in range(len(numbers))]
    width = min(np.diff(numbers))
    return [[at for at in range(number, number + int(width)) if at < len(head)] for number in numbers]


def distinct_places(found: Places) -> int:
    """How many different parcels were found."""
    return len(np.unique(found[found >= 0]))
