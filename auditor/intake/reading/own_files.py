"""All files together: which tables are the shop's records and lists of cartons, with the statements as evidence."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
import pandas as pd

from auditor.core.schemas import CARTONS, LINES, SHIPMENTS, Problem, empty, joined
from auditor.intake.arrangement import parcels_apart
from auditor.intake.by_column import Columns
from auditor.intake.documents import Grid
from auditor.intake.headings import Heading
from auditor.intake.notice import has_figures
from auditor.intake.reading.billed import Billed, billed_of
from auditor.intake.reading.carton_list import MOST_ROWS, CartonList, carton_list, plain, unit_of
from auditor.intake.reading.cells import parcel_of
from auditor.intake.reading.choice import Printed
from auditor.intake.reading.known import bare
from auditor.intake.reading.record_rows import first_parcel
from auditor.intake.reading.records import Records, better, records_of
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import complete, tidied
from auditor.intake.vocabulary import unit_named

LEAST = 2
"""Names of a list that stand in the records: one may stand there for another reason. Chosen."""
MOST_LINES = 200_000
"""Of more lines than these records that words could read are not read again: it would take seconds."""
MOSTLY = 0.5
"""So many of a table's numbers stand where it is about the same parcels. Chosen."""


class Part(Protocol):
    """What one file gave (`auditor.intake.Part`)."""

    @property
    def name(self) -> str:
        """The file's name."""

    @property
    def tables(self) -> Mapping[str, pd.DataFrame]:
        """What was read, by name."""

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What there is to say."""

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The tables that were recognised."""

    @property
    def strange(self) -> tuple[Grid, ...]:
        """Those that were not."""

    @property
    def grids(self) -> tuple[Grid, ...]:
        """All tables as they stand in the file."""

    @property
    def lists(self) -> tuple[Grid, ...]:
        """Its letters line by line."""

    @property
    def printed(self) -> Printed | None:
        """The pages that it stands on."""

    @property
    def picture(self) -> bool:
        """Whether it is a picture."""


@dataclass(frozen=True)
class Mended:
    """What a file gives instead: all of these replace what its part has."""

    tables: Mapping[str, pd.DataFrame]
    problems: tuple[Problem, ...]
    sheets: tuple[Sheet, ...]
    strange: tuple[Grid, ...]


@dataclass
class _Found:
    """What was found in one file: sheets beside those that it has, or in place of them."""

    added: list[tuple[Sheet, tuple[Problem, ...], Grid]] = field(default_factory=list)
    instead: list[tuple[Sheet, Sheet, tuple[Problem, ...]]] = field(default_factory=list)


def mended(parts: Sequence[Part]) -> dict[int, Mended]:
    """The files, by place, in which the shop's records or lists of cartons are otherwise than words have them."""
    if not _is_any_open(parts):
        return {}
    lines = _lines(parts)
    if len(lines) > MOST_LINES and not any(map(_open_grids, parts)):
        return {}
    billed = billed_of(lines)
    recorded = _numbers_recorded(parts)
    lists = {(at, nth): one for at, part in enumerate(parts) for nth, one in _lists(part, billed, recorded)}
    cells = _cells(parts, billed)
    lists = {key: one for key, one in lists.items() if len(one.names.keys() & cells) >= LEAST}
    cartons = _cartons(parts, list(lists.values()))
    found: dict[int, _Found] = {}
    records: list[Records] = []
    for at in range(len(parts)):
        for one in _records_in(at, parts, billed, cartons, {nth for of, nth in lists if of == at}):
            records.append(one[0])
            found.setdefault(at, _Found())
            if one[1] is None:
                found[at].added.append((one[0].sheet, tuple(one[0].problems), one[0].sheet.grid))
            else:
                found[at].instead.append((one[1], one[0].sheet, tuple(one[0].problems)))
    for (at, _), listed in lists.items():
        grid = listed.grid
        sheet = _sheet_of(parts[at].name, grid, listed, records, billed)
        found.setdefault(at, _Found()).added.append((sheet, (), grid))
    return {at: _mended(parts[at], one) for at, one in found.items()}


def _is_any_open(parts: Sequence[Part]) -> bool:
    """Whether a table may be the shop's own that words did not read, or read otherwise."""
    named = {name for part in parts for name in part.tables}
    statements = sum("lines" in part.tables for part in parts)
    open_grids = any(_open_grids(part) or part.lists or _sheets(part, "shipments") for part in parts)
    return open_grids or statements > 1 or (bool(statements) and "cartons" in named and "shipments" not in named)


def _lines(parts: Sequence[Part]) -> pd.DataFrame:
    return joined((part.tables["lines"] for part in parts if "lines" in part.tables), LINES)


def _sheets(part: Part, kind: str) -> list[Sheet]:
    """The tables of that kind that no user told how to read."""
    return [sheet for sheet in part.sheets if sheet.kind == kind and not sheet.told]


def _open_grids(part: Part) -> list[Grid]:
    """The tables of which words made nothing."""
    read = [sheet.grid for sheet in part.sheets]
    if part.strange:
        return list(part.strange)
    return [grid for grid in part.grids if not read and not _is_read(part) and grid.rows]


def _is_read(part: Part) -> bool:
    """Whether words made anything of the file: letters that say nothing but numbers are none."""
    if {*part.tables} - {"notices"}:
        return True
    return "notices" in part.tables and bool(has_figures(part.tables["notices"]).any())


def _candidates(part: Part, billed: Billed) -> list[Grid]:
    """What may be a list of cartons: such tables, letters line by line, and what stands above parcels' rows."""
    tables = [*_open_grids(part), *(sheet.grid for sheet in _sheets(part, "shipments"))]
    above = [_above(grid, billed) for grid in tables if not isinstance(grid.rows, Columns)]
    return [*_open_grids(part), *part.lists, *(grid for grid in above if grid.rows)]


def _above(grid: Grid, billed: Billed) -> Grid:
    """The rows above the first parcel; none where there is no parcel."""
    numbers = billed.known.numbers

    def is_number(text: str) -> bool:
        return bare(text) in numbers

    with_number = [at for at, row in enumerate(grid.rows) if any(map(is_number, row))]
    first = first_parcel(grid.rows, with_number, is_number) if with_number else 0
    return replace(grid, rows=grid.rows[:first], places=grid.places[:first], boxes=(), cell_boxes=None)


def _lists(part: Part, billed: Billed, recorded: Collection[str]) -> Iterator[tuple[int, CartonList]]:
    """What has the shape of a list of cartons, and no number of a parcel, billed or recorded."""
    for nth, grid in enumerate(_candidates(part, billed)):
        cells = [cell for row in grid.rows[:MOST_ROWS] for cell in row]
        of_parcels = any(bare(cell) in recorded or parcel_of(cell, billed.known) is not None for cell in cells)
        found = None if of_parcels else carton_list(grid)
        if found is not None:
            yield nth, found


def _cells(parts: Sequence[Part], billed: Billed) -> set[str]:
    """What stands in the cells of tables that have parcels' numbers, and in the records' columns of cartons."""
    grids = [grid for part in parts for grid in _open_grids(part)]
    numbers = billed.known.numbers
    with_parcels = [grid for grid in grids if _is_of_parcels(grid, numbers)]
    grids = with_parcels or [grid for grid in grids if carton_list(grid) is None]
    words = {plain(cell) for grid in grids for row in grid.rows for cell in row}
    sheets = [sheet for part in parts for sheet in (*_sheets(part, "shipments"), *_sheets(part, "statement"))]
    for sheet in sheets:
        rows = [cell for row in sheet.grid.rows for cell in row] if not isinstance(sheet.grid.rows, Columns) else []
        words |= {plain(cell) for cell in rows}
    return words - {""}


def _is_of_parcels(grid: Grid, numbers: Mapping[str, int]) -> bool:
    return any(bare(cell) in numbers for row in grid.rows for cell in row)


def _cartons(parts: Sequence[Part], lists: Sequence[CartonList]) -> dict[str, int | None]:
    """Names in all lists of cartons, with the usual weight where a list that was read has it."""
    read = joined((part.tables["cartons"] for part in parts if "cartons" in part.tables), CARTONS)
    weights = zip(read["carton"], read["usual_weight_pg"], strict=True)
    known = {plain(name): None if pd.isna(weight) else int(weight) for name, weight in weights}
    return {name: None for listed in lists for name in listed.names} | known


# Records


def _records_in(
    at: int, parts: Sequence[Part], billed: Billed, cartons: Mapping[str, int | None], lists: set[int]
) -> Iterator[tuple[Records, Sheet | None]]:
    """The tables of a part that are records, each with the sheet that it takes the place of.

    What stands beside a statement in its file is the carrier's, but where the shop's cartons stand in it.
    """
    part, others = parts[at], [one for nth, one in enumerate(parts) if nth != at]
    for nth, grid in enumerate(_open_grids(part)):
        found = records_of(part.name, grid, billed, cartons) if nth not in lists else None
        own = "lines" not in part.tables or (found is not None and found.odds.get("carton", 0.0) > 0)
        if found and own and not _recorded(found, parts):
            yield found, None
    for sheet in _sheets(part, "shipments"):
        found = records_of(part.name, sheet.grid, billed, cartons)
        if found and (read := better(found, sheet)):
            yield read, sheet
    for sheet in _sheets(part, "statement"):
        yield from _of_statement(part, sheet, others, cartons)


def _recorded(found: Records, parts: Sequence[Part]) -> bool:
    """Whether most of the parcels stand in records that were read already."""
    known = _numbers_recorded(parts)
    numbers = {bare(number) for number in found.sheet.cells["tracking"]} - {""}
    return len(numbers & known) > MOSTLY * len(numbers)


def _numbers_recorded(parts: Sequence[Part]) -> set[str]:
    """The parcels' numbers in records that were read already."""
    recorded = joined((part.tables["shipments"] for part in parts if "shipments" in part.tables), SHIPMENTS)
    return {bare(str(number)) for number in recorded["tracking"].dropna()} - {""}


def _of_statement(
    part: Part, sheet: Sheet, others: Sequence[Part], cartons: Mapping[str, int | None]
) -> Iterator[tuple[Records, Sheet | None]]:
    """Records that words took for a statement, or that a statement holds beside its charges."""
    if isinstance(sheet.grid.rows, Columns):
        return
    totals = part.tables["printed_totals"]
    others_lines = _lines([one for one in others if "lines" in one.tables and len(one.tables["printed_totals"])])
    grid = next((one for one in part.grids if one.part == sheet.grid.part), sheet.grid)
    if totals.empty and len(part.sheets) == 1 and _is_of(part.tables["lines"], others_lines):
        found = records_of(part.name, grid, billed_of(others_lines), cartons)
        if found and not _recorded(found, others):
            yield replace(found, said=(*found.said, RECORDS_AFTER_ALL)), sheet
    elif "carton" not in sheet.cells and _names_cartons(sheet.grid, cartons):
        found = records_of(part.name, sheet.grid, billed_of(part.tables["lines"]), cartons, billing=True)
        if found and found.odds.get("carton", 0.0) > 0 and not _recorded(found, others):
            yield replace(found, said=(*found.said, BOTH)), None


def _names_cartons(grid: Grid, cartons: Mapping[str, int | None]) -> bool:
    """Whether names of several cartons stand in a table's cells."""
    return len({plain(cell) for row in grid.rows for cell in row} & cartons.keys()) >= LEAST


RECORDS_AFTER_ALL = (
    "This looks like a statement, but a statement that prints its total bills the same parcels, so it was read as your "
    "shipping records."
)
BOTH = "This is a statement with your own records in it, the cartons of your list among them, so it was read as both."


def _is_of(lines: pd.DataFrame, others: pd.DataFrame) -> bool:
    """Whether most numbers of lines stand on other statements too."""
    numbers = {bare(str(text)) for text in lines["tracking"].dropna().unique()}
    known = {bare(str(text)) for text in others["tracking"].dropna().unique()}
    return bool(numbers) and len(numbers & known) > MOSTLY * len(numbers)


# Lists of cartons


def _sheet_of(file: str, grid: Grid, listed: CartonList, records: Sequence[Records], billed: Billed) -> Sheet:
    """A list of cartons as a recognised table."""
    names = [name for one in records for name in one.carton]
    places = np.concatenate([one.numbers for one in records if one.carton] or [np.empty(0, dtype=np.intp)])
    unit = unit_of(listed, names, places, billed.known)
    cells = {"carton": [one.name for one in listed.cartons], "size": [one.size for one in listed.cartons]}
    cells |= {name: [one.more.get(name, "") for one in listed.cartons] for name in listed.headings}
    headings = {"carton": Heading("carton"), "size": Heading("size", unit)}
    headings |= {name: Heading(text, unit_named(text, name)) for name, text in listed.headings.items()}
    frame = pd.DataFrame(cells, dtype=object)
    leads = pd.Series(cells["carton"], dtype="str")
    placed = pd.Series([one.place for one in listed.cartons], dtype="str")
    return Sheet(file, "cartons", frame, headings, placed, leads, grid.above, grid=grid)


# What a file gives instead


def _mended(part: Part, found: _Found) -> Mended:
    """The part's tables with those that were found, and without what was said of tables that had not been read."""
    instead = {id(old): new for old, new, _ in found.instead}
    sheets = tuple(instead.get(id(sheet), sheet) for sheet in part.sheets)
    tables = dict(part.tables) if _is_read(part) else {}
    said: list[Problem] = []
    if any(old.kind == "statement" for old, _, _ in found.instead):
        tables = {name: table for name, table in tables.items() if name not in {"lines", "printed_totals", "reissues"}}
    if found.instead:
        again = [_read(new) for new in sheets if new.kind == "shipments"]
        tables["shipments"] = joined([frame for frame, _ in again], SHIPMENTS)
        said += [problem for _, problems in again for problem in problems]
        said += [problem for _, _, problems in found.instead for problem in problems]
    for sheet, problems, _ in found.added:
        frame, faults = _read(sheet)
        schema = {"shipments": SHIPMENTS, "cartons": CARTONS}[sheet.kind]
        tables[sheet.kind] = joined([tables.get(sheet.kind, empty(schema)), frame], schema)
        said += [*problems, *faults]
    taken = [grid for _, _, grid in found.added]
    strange = tuple(grid for grid in part.strange if not any(grid is one for one in taken))
    kept = tuple(one for one in part.problems if not _of_unread(one, part, taken, again=bool(found.instead)))
    return Mended(tables, (*kept, *said), (*sheets, *(sheet for sheet, _, _ in found.added)), strange)


def _read(sheet: Sheet) -> tuple[pd.DataFrame, list[Problem]]:
    sheet, notes = parcels_apart(sheet) if sheet.kind == "shipments" else (sheet, [])
    frame, problems = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    return frame, [*notes, *problems, *gaps]


def _of_unread(problem: Problem, part: Part, taken: Sequence[Grid], *, again: bool) -> bool:
    """Whether a problem says that a table was not read that was, or is of a reading that another took the place of."""
    if again and len(part.sheets) == 1:
        return True
    places = {f"sheet {grid.part}" for grid in taken if grid.part}
    return bool(taken) and (problem.place in places if places else not _is_read(part))


__all__ = ["Mended", "mended"]
