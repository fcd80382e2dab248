"""Which kind of table a grid is, where its headings stand, and which column means what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, zip_longest

import pandas as pd
from rapidfuzz import fuzz, process

from auditor.intake import vocabulary
from auditor.intake.documents import Grid, Unreadable
from auditor.tables import Problem

FIRST_ROWS = 30
"""Headings stand among the first rows; titles may stand above them."""
LIKE = 2
"""Headings that must be known before a table is said to look like a kind."""
NEAR = 75.0
"""How alike two spellings are, of 100, for the one to be suggested for the other."""
SHOWN_HEADINGS = 20


@dataclass(frozen=True)
class Heading:
    """A column's heading as printed, and the unit it gives."""

    text: str
    unit: str | None = None


@dataclass(frozen=True)
class Sheet:
    """A recognised table: for each field that has a column, its texts and its heading.

    `cells` (a column a field, stripped), `places` and `leads` (the first text of each row, whatever its column) have
    the same index; blank rows and repeated headings are gone.
    """

    file: str
    kind: str
    cells: pd.DataFrame
    headings: Mapping[str, Heading]
    places: pd.Series
    leads: pd.Series
    above: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Fit:
    """How well one row serves as the headings of one kind."""

    row: int
    kind: str
    columns: Mapping[str, tuple[int, Heading]]
    headings: tuple[str, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        return tuple(field for field in vocabulary.NEEDED[self.kind] if not self._has(field))

    def _has(self, field: str) -> bool:
        return field in self.columns or (field == "size" and not _absent_sides(self.columns))

    @property
    def rank(self) -> tuple[bool, float, int, int]:
        """A complete table first, then the one with the most of its headings known, then the topmost row."""
        known = len(self.columns)
        if self.missing:
            return False, known - len(self.missing), known, -self.row
        return True, known / len(self.headings), known, -self.row


def recognised(name: str, grid: Grid, kind: str | None = None) -> tuple[Sheet, list[Problem]]:
    """Find the kind and the columns of a grid; `kind` is what the user says it is.

    Raises:
        Unreadable: it is no known kind, or lacks a needed column.
    """
    kinds = [kind] if kind else [known for known in vocabulary.KINDS if known != "notice"]
    fits = [_fit(number, row, one) for number, row in _first_rows(grid) for one in kinds]
    best = max(fits, key=lambda fit: fit.rank, default=None)
    if best is None or best.missing:
        raise Unreadable(_not_recognised(best, kind))
    problems = [*_twice(name, grid, best), *_too_wide(name, grid, best)]
    return _sheet(name, grid, best), problems


def _first_rows(grid: Grid) -> Iterator[tuple[int, Sequence[str]]]:
    filled = ((number, row) for number, row in enumerate(grid.rows) if any(cell.strip() for cell in row))
    return islice(filled, FIRST_ROWS)


def _fit(number: int, row: Sequence[str], kind: str) -> _Fit:
    columns: dict[str, tuple[int, Heading]] = {}
    for position, text in enumerate(row):
        found = vocabulary.meaning(text, kind)
        if found and found[0] not in columns:
            columns[found[0]] = position, Heading(text.strip(), found[1])
    return _Fit(number, kind, columns, tuple(text.strip() for text in row if text.strip()))


def _absent_sides(columns: Mapping[str, object]) -> list[str]:
    return [side for side in ("length_nm", "width_nm", "height_nm") if side not in columns]


def _sheet(name: str, grid: Grid, fit: _Fit) -> Sheet:
    headings = grid.rows[fit.row]
    below = [at for at in range(fit.row + 1, len(grid.rows)) if any(grid.rows[at]) and grid.rows[at] != headings]
    columns = list(zip_longest(*(grid.rows[at] for at in below), fillvalue=""))
    columns += [()] * (len(headings) - len(columns))
    return Sheet(
        file=name,
        kind=fit.kind,
        cells=pd.DataFrame(
            {field: list(map(str.strip, columns[at])) for field, (at, _) in fit.columns.items()},
            index=pd.RangeIndex(len(below)),
            dtype=object,
        ),
        headings={field: heading for field, (_, heading) in fit.columns.items()},
        places=pd.Series([grid.places[at] for at in below], dtype="str"),
        leads=pd.Series([next(filter(None, grid.rows[at])).strip() for at in below], dtype="str"),
        above=(*grid.above, *(" ".join(filter(None, row)) for row in grid.rows[: fit.row])),
    )


def _twice(name: str, grid: Grid, fit: _Fit) -> Iterator[Problem]:
    """Columns that mean a field that another column was taken for."""
    taken = {position for position, _ in fit.columns.values()}
    for position, text in enumerate(grid.rows[fit.row]):
        found = vocabulary.meaning(text, fit.kind)
        if found and position not in taken:
            used = fit.columns[found[0]][1].text
            called = vocabulary.called(found[0], fit.kind)
            message = f"Columns '{used}' and '{text.strip()}' could both be the {called}; '{used}' was taken."
            yield Problem(name, grid.places[fit.row], message, note=True)


def _too_wide(name: str, grid: Grid, fit: _Fit) -> Iterator[Problem]:
    """Rows with more cells than there are headings: what stands in them may have moved to another column."""
    width = len(grid.rows[fit.row])
    for row, place in zip(grid.rows[fit.row + 1 :], grid.places[fit.row + 1 :], strict=True):
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            message = (
                f"This row has {len(row)} cells, but there are {width} headings, so its values may stand in the wrong "
                "columns. A cell with a comma in it needs quotation marks around it. Correct the row and run again."
            )
            yield Problem(name, place, message)


def _not_recognised(best: _Fit | None, kind: str | None) -> str:
    if best is None:
        return "There is nothing in this table. Export it again, or leave it out."
    headings = ", ".join(best.headings[:SHOWN_HEADINGS])
    if kind is None and len(best.columns) < max(LIKE, len(best.missing)):
        known = ", ".join(vocabulary.KINDS)
        return (
            f"What this file is could not be told from its headings. Headings found: {headings}. If it is one of "
            f"yours, say what it is with --as KIND=FILE (kinds: {known}), or leave it out."
        )
    lacking = [_lack(field, best) for field in best.missing]
    advice = " ".join(advice for _, advice in lacking)
    return (
        f"This looks like {vocabulary.KINDS[best.kind]}, but has no column for the "
        f"{' and the '.join(word for word, _ in lacking)}. Headings found: {headings}. {advice}"
    )


def _lack(field: str, fit: _Fit) -> tuple[str, str]:
    """The word for what is missing, and what to do about it."""
    sides = _absent_sides(fit.columns)
    if field == "size" and len(sides) == len(("length", "width", "height")):
        return "size", "Name one 'Size', or three 'Length', 'Width' and 'Height'."
    names = [vocabulary.called(one, fit.kind) for one in (sides if field == "size" else [field])]
    advice = " ".join(f"Name one '{name.capitalize()}'.{_suggestion(name, fit)}" for name in names)
    return " and the ".join(names), advice


def _suggestion(name: str, fit: _Fit) -> str:
    unknown = [text for text in fit.headings if vocabulary.meaning(text, fit.kind) is None]
    found = process.extractOne(name, unknown, scorer=fuzz.ratio, processor=str.casefold, score_cutoff=NEAR)
    return f" If '{found[0]}' is meant, that is the one to rename." if found else ""
