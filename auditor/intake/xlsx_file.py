"""A workbook (.xlsx) → a grid for each visible sheet, every value as the text it shows."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from auditor.core.schemas import Problem
from auditor.intake.documents import Damaged, Grid, Opened, Unreadable, megabytes, refuse_over

LARGEST = 50 * 2**20
LARGEST_UNPACKED = 200 * 2**20
HIGHEST_RATIO = 100
"""Packed workbooks unpack to 5 to 30 times their size; one that claims more is made to fill the memory."""
SMALL_ENOUGH = 10 * 2**20
MOST_CELLS, MOST_ROWS = 10_000_000, 1_048_576
SURE_DIGITS = 15
"""A number in a workbook keeps so many digits (IEC 60559 double precision)."""


def read(name: str, content: bytes) -> Opened:
    """Read the visible sheets of a workbook. Formulas are not computed: their stored results are read.

    Raises:
        Unreadable: it is too large, damaged, or no workbook.
    """
    import openpyxl

    refuse_over(LARGEST, len(content))
    formulas = _checked(content)
    grids: list[Grid] = []
    problems: list[Problem] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of openpyxl, about styles
        try:
            for sheet in openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True):
                if sheet.sheet_state != "visible":
                    message = "This sheet is hidden, so it was not read. Show it and save the file if it matters."
                    problems.append(Problem(name, f"sheet {sheet.title}", message, note=True))
                    continue
                grids.append(_grid(name, sheet, problems))
            if formulas:
                problems += _uncomputed(name, content, grids)
        except Unreadable:
            raise
        except Exception as error:
            raise Damaged(
                f"This workbook is damaged ({type(error).__name__}). Open it in a spreadsheet program, save it anew as "
                ".xlsx or CSV, and give that."
            ) from error
    return Opened(tuple(grid for grid in grids if grid.rows), tuple(problems))


def _checked(content: bytes) -> bool:
    """Whether the workbook has formulas; raises Unreadable where it is damaged or unpacks to too much."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            _refuse_bomb(packed.infolist(), len(content))
            names = set(packed.namelist())
            _refuse_other(names)
            sheets = [name for name in names if re.fullmatch(r"xl/worksheets/[^/]+\.xml", name)]
            return any(re.search(rb"<f[ >]", packed.read(sheet)) for sheet in sheets)
    except Unreadable:
        raise
    except Exception as error:  # a damaged archive fails in many ways: BadZipFile, zlib.error, a negative seek
        raise Damaged(
            "This workbook is damaged or cut off: its packing cannot be opened. Save or download it again, or export "
            "it as CSV."
        ) from error


def _refuse_other(names: set[str]) -> None:
    if "xl/workbook.xml" not in names:
        raise Unreadable("This is a zip archive and not a workbook. Unpack it and give the files in it.")


def _refuse_bomb(members: list[zipfile.ZipInfo], packed: int) -> None:
    unpacked = sum(member.file_size for member in members)
    if unpacked > LARGEST_UNPACKED or (unpacked > SMALL_ENOUGH and unpacked > HIGHEST_RATIO * packed):
        raise Unreadable(
            f"This workbook would unpack to {megabytes(unpacked)}, far more than a workbook of its size holds, so it "
            "was not opened. If you trust it, open it in a spreadsheet program and export it as CSV."
        )


def _grid(name: str, sheet: Any, problems: list[Problem]) -> Grid:
    """The sheet as text. The dimensions it claims are not believed; its cells are counted."""
    sheet.reset_dimensions()
    rows: list[list[str]] = []
    cells = 0
    for number, row in enumerate(sheet.iter_rows(), start=1):
        cells += len(row)
        if cells > MOST_CELLS or number > MOST_ROWS:
            raise Unreadable(f"Sheet {sheet.title} has more cells than are read ({MOST_CELLS:,}). Export it as CSV.")
        rows.append([_text(cell) for cell in row])
        problems += _lost_digits(name, f"sheet {sheet.title}, row {number}", row)
    while rows and not any(rows[-1]):
        rows.pop()
    places = [f"sheet {sheet.title}, row {number}" for number in range(1, len(rows) + 1)]
    return Grid(rows, places, part=sheet.title)


def _text(cell: Any) -> str:
    """The value as it shows; a number in full and not as 1.2E+17."""
    value = cell.value
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ", "seconds")
    if isinstance(value, (int, float)):
        return _number(value, cell.number_format)
    return value.isoformat() if isinstance(value, date) else str(value)


def _number(value: float, form: str) -> str:
    if "%" in form:
        return f"{_plain(Decimal(f'{value:.{SURE_DIGITS}g}') * 100)}%"
    if isinstance(value, int):
        return str(value).zfill(len(form) if re.fullmatch("0+", form) else 1)
    return _plain(Decimal(f"{value:.{SURE_DIGITS}g}"))


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _lost_digits(name: str, place: str, row: tuple[Any, ...]) -> Iterator[Problem]:
    for cell in row:
        if isinstance(cell.value, float) and abs(cell.value) >= 10**SURE_DIGITS:
            yield Problem(
                name,
                place,
                f"The number {_text(cell)} is stored as a number of more than {SURE_DIGITS} digits, of which a "
                "workbook keeps only the first. Format that column as text, enter the number again, and run again.",
            )


def _uncomputed(name: str, content: bytes, grids: list[Grid]) -> Iterator[Problem]:
    """Formulas without a stored result: their cells are empty, and that must be said."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True)
    for grid in grids:
        book[grid.part].reset_dimensions()
        for row, texts, place in zip(book[grid.part].iter_rows(), grid.rows, grid.places, strict=False):
            for cell, text in zip(row, texts, strict=False):
                if cell.data_type == "f" and not text:
                    yield Problem(
                        name,
                        place,
                        f"The formula {str(cell.value)[:40]!r} has no stored result, so its cell was read as empty. "
                        "Open the file in a spreadsheet program, save it, and run again.",
                    )
