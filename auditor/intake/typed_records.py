"""Files of records of several types, each with fields of its own that the file names → one table of a row a charge.

The first cell of a record is its type; a row of that type with a mark before it names its fields: '#PKG, TRACKING NO,
SHIP DATE' and '#CHG, CHARGE, AMOUNT'. A charge gets the fields of the parcel's record above it.
Records of which there is one, as at head and foot, are texts around the table: 'STATEMENT NO QM-40817'.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice

from auditor.intake.documents import Grid

MARKS = "#*;!/"
HEAD_ROWS = 30
"""Rows in which the fields of types are named."""
LEAST_TYPES, MOST_TYPES = 2, 12


def one_table(grid: Grid) -> Grid:
    """The grid as a table of charges; as it is where it is not of such records."""
    fields = _fields(grid.rows)
    if len(fields) < LEAST_TYPES:
        return grid
    rows = [_without_blanks(row) for row in grid.rows]
    counts = Counter(row[0] for row in rows if row and row[0] in fields)
    repeated = [name for name in fields if counts[name] > 1]
    too_wide = any(len(row) > 1 + len(fields[row[0]]) for row in rows if row and row[0] in fields)
    if not repeated or too_wide or sum(counts.values()) + len(fields) != sum(map(bool, rows)):
        return grid
    *parents, lines = repeated  # fields are named from the whole to its parts
    if not parents:
        return grid
    headings = [name for one in (*parents, lines) for name in fields[one]]
    table, places = [headings], [grid.places[0]]
    above: list[str] = []
    current = {one: [""] * len(fields[one]) for one in parents}
    bare: int | None = None
    for at, row in enumerate([*rows, [parents[-1]]]):
        kind = row[0] if row else ""
        if kind in parents:
            if bare is not None:  # a parcel without a charge is a row without one, and told of as such
                table.append([cell for one in parents for cell in current[one]] + [""] * len(fields[lines]))
                places.append(grid.places[bare])
            current[kind] = _padded(row[1:], len(fields[kind]))
            bare = at if kind == parents[-1] else None
        elif kind == lines:
            own = _padded(row[1:], len(fields[kind]))
            table.append([cell for one in parents for cell in current[one]] + own)
            places.append(grid.places[at])
            bare = None
        elif kind in fields:
            above += [f"{name} {value}" for name, value in zip(fields[kind], row[1:], strict=False) if value]
    return replace(grid, rows=table, places=places, above=(*grid.above, *above), boxes=(), cell_boxes=None)


def _fields(rows: Sequence[Sequence[str]]) -> Mapping[str, list[str]]:
    """The names of the fields of each type, from the rows that name them: a marked type, and words without figures."""
    found: dict[str, list[str]] = {}
    for row in map(_without_blanks, islice(rows, HEAD_ROWS)):
        kind = row[0].lstrip(MARKS).strip() if row else ""
        if kind and row[0] != kind and not any(map(str.isdigit, "".join(row))):
            found.setdefault(kind, row[1:])
    return found if len(found) <= MOST_TYPES else {}


def _without_blanks(row: Sequence[str]) -> list[str]:
    """Its cells without blanks around them, and without empty ones at the end."""
    cells = [cell.strip() for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _padded(cells: Sequence[str], width: int) -> list[str]:
    return [*cells, *[""] * (width - len(cells))]
