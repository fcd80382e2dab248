"""A PDF's pages as pictures, with the rows, cells and totals that were found on them drawn in.

What is drawn where is told here; a process of its own draws it (`pdf_drawing.py`).
"""

from __future__ import annotations

import re
import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from auditor.core.sandbox import said_by
from auditor.core.schemas import Problem
from auditor.intake import vocabulary
from auditor.intake.documents import Grid
from auditor.intake.picture_file import OURS, listed
from auditor.intake.readings import CHARGE
from auditor.intake.recognise import Sheet

SCRIPT = Path(__file__).with_name("pdf_drawing.py")
SECONDS_A_PAGE = 20.0
SECONDS = 1_200.0
MOST_STOPS = 3
"""Pages that may stop the process before the rest is given up."""
PLACE = re.compile(r"page (\d+), row (\d+)")
LEGEND = {
    "line": "a row that was read; its number stands to its left",
    "total": "a total of the statement",
    "other": "found, but no line of its own: headings, a sum of other lines, a remark",
    "unknown": "a table that was not recognised, so that it was not read",
    "cell": "a cell; what its column was read as stands above the first",
}
"""What each sort of box means. What has none was not found to be a part of a table."""

Mark = tuple[str, list[float], str]
Rows = Mapping[str, set[tuple[str, str]]]
"""Place and box of the rows of a sort."""


@dataclass(frozen=True)
class Drawn:
    """The files written, one a page, and what was not drawn."""

    files: tuple[Path, ...]
    problems: tuple[Problem, ...]


def draw(
    path: Path,
    folder: Path,
    *,
    sheets: Sequence[Sheet],
    strange: Sequence[Grid],
    rows: Sequence[pd.DataFrame],
    totals: pd.DataFrame,
) -> Drawn:
    """Draw a PDF's pages into a folder, which is made if need be.

    Args:
        path: the PDF.
        folder: for the pictures, called after the PDF and the page.
        sheets: the tables recognised in it.
        strange: the tables found in it that were not.
        rows: the tables of what was read, of any schema with `source_place`.
        totals: those that it prints (PRINTED_TOTALS).

    Raises:
        OSError: the folder cannot be written to.
    """
    folder.mkdir(parents=True, exist_ok=True)
    sorts = {"line": {place for table in rows for place in places(table)}, "total": {*places(totals)}}
    pages: dict[int, list[Mark]] = defaultdict(list)
    for sheet in sheets:
        put(pages, sheet, sorts)
    for grid in strange:
        put(pages, grid, None)
    wanted = {
        "by": OURS,
        "legend": LEGEND,
        "pages": {page: {"title": _title(path.name, page, marks), "marks": marks} for page, marks in pages.items()},
    }
    files, stopped, faults, count = _drawn(path, folder, wanted)
    problems = (
        *_without_rows(
            path.name,
            [*(sheet.grid for sheet in sheets), *strange],
            [page for page in range(1, count + 1) if page not in pages],
        ),
        *(Problem(path.name, f"page {page}", f"This page could not be drawn ({fault}).") for page, fault in faults),
        *_given_up(path.name, stopped),
    )
    return Drawn(tuple(files), problems)


def places(table: pd.DataFrame) -> Iterator[tuple[str, str]]:
    """Place and box of each row of a table; no box where it keeps none."""
    boxes = table["source_box"].fillna("") if "source_box" in table else [""] * len(table)
    yield from zip(table["source_place"], boxes, strict=True)


def put(pages: dict[int, list[Mark]], table: Sheet | Grid, rows: Rows | None) -> None:
    """Add the marks of a table to those of its pages; without `rows` it is one that was not recognised."""
    grid, columns = (table, {}) if isinstance(table, Grid) else (table.grid, _columns(table))
    for page, mark in _marks(grid, columns, rows):
        pages[page].append(mark)


def _marks(grid: Grid, columns: Mapping[int, str], rows: Rows | None) -> Iterator[tuple[int, Mark]]:
    """The boxes of a table's rows and cells, and the words above its columns, each with its page."""
    pages: list[int] = []
    tops: dict[int, float] = {}
    for place, box in zip(grid.places, grid.boxes, strict=False):
        page, number = _numbers(place)
        pages.append(page)
        if not box:  # headings that a block's rows were given
            continue
        corners = [float(edge) for edge in box.split()]
        tops.setdefault(page, corners[1])
        yield page, (_sort(place, box, rows), corners, number)
    lefts: dict[tuple[int, int], float] = {}
    for row, column, *corners in grid.cell_boxes.tolist() if pages and grid.cell_boxes is not None else ():
        page = pages[int(row)]
        yield page, ("cell", corners, "")
        lefts[page, int(column)] = min(corners[0], lefts.get((page, int(column)), corners[0]))
    for (page, column), left in sorted(lefts.items()):
        if column in columns:
            yield page, ("column", [left, tops[page], left, tops[page]], columns[column])


def _numbers(place: str) -> tuple[int, str]:
    found = PLACE.search(place)
    return (int(found[1]), found[2]) if found else (0, "")


def _sort(place: str, box: str, rows: Rows | None) -> str:
    if rows is None:
        return "unknown"
    return next((sort for sort, them in rows.items() if {(place, box), (place, "")} & them), "other")


def _columns(sheet: Sheet) -> dict[int, str]:
    """What each column was read as, by its position."""
    return {at: _meaning(column.field, sheet.kind) for at, column in enumerate(sheet.columns)}


def _meaning(name: str | None, kind: str) -> str:
    if name is None:
        return "not read"
    return "charge" if name == CHARGE and kind == "statement" else vocabulary.called(name, kind)


def _title(name: str, page: int, marks: Sequence[Mark]) -> str:
    words = {"line": "read", "total": "a total", "other": "other", "unknown": "not recognised"}
    counts = {sort: sum(mark[0] == sort for mark in marks) for sort in words}
    return f"{name}, page {page}. Rows: " + ", ".join(
        f"{count} {words[sort]}" for sort, count in counts.items() if count
    )


def _drawn(
    path: Path, folder: Path, wanted: Mapping[str, Any]
) -> tuple[list[Path], list[int], list[tuple[int, str]], int]:
    """The files written, the pages that stopped the process, the faults of others, and how many pages there are."""
    until = time.monotonic() + SECONDS
    files: list[Path] = []
    stopped: list[int] = []
    faults: list[tuple[int, str]] = []
    after = 0
    while True:
        count, said = _said(path, folder, wanted, after, until)
        files += [Path(page["file"]) for page in said if "file" in page]
        faults += [(page["page"], page["fault"]) for page in said if "fault" in page]
        after = said[-1]["page"] if said else after
        if after >= count or len(stopped) >= MOST_STOPS or time.monotonic() > until:
            return files, [*stopped, *range(after + 1, count + 1)], faults, count
        after += 1
        stopped.append(after)


def _said(
    path: Path, folder: Path, wanted: Mapping[str, Any], after: int, until: float
) -> tuple[int, list[dict[str, Any]]]:
    """How many pages there are, and what one process says of each that it came to."""
    arguments = path.resolve(), folder.resolve(), path.stem, SECONDS_A_PAGE, after
    said, _ = said_by(str(SCRIPT), *arguments, seconds=until - time.monotonic(), given=wanted)
    return (said[0]["pages"], said[1:]) if said else (0, [])


def _without_rows(name: str, grids: Sequence[Grid], pages: Sequence[int]) -> Iterator[Problem]:
    """Why nothing is drawn on some pages."""
    recognised = {_numbers(place)[0] for grid in grids if _lost_places(grid) for place in grid.places}
    if scanned := sorted(recognised & set(pages)):
        message = "Read by character recognition, which keeps no places in points, so no boxes are drawn."
        yield Problem(name, listed(scanned), message, note=True)
    if grids and not any(grid.boxes or _lost_places(grid) for grid in grids):
        message = (
            "What was read of this file is the invoice that it carries as XML, so no boxes are drawn on its pages."
        )
        yield Problem(name, "", message, note=True)
    elif empty := sorted(set(pages) - recognised):
        yield Problem(name, listed(empty), "No table was found here, so no boxes are drawn.", note=True)


def _lost_places(grid: Grid) -> bool:
    return grid.by_recognition and not grid.boxes


def _given_up(name: str, stopped: Sequence[int]) -> Iterator[Problem]:
    if stopped:
        message = f"Takes more than {SECONDS_A_PAGE:g} seconds or too much memory to draw, so it was left out."
        yield Problem(name, listed(stopped), message)
