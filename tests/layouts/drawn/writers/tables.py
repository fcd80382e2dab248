"""Delimited text and workbooks."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Literal

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.drawn.page import Cell, Document, Row

DELIMITERS = (",", ",", ",", ";", ";", "\t", "|")
ENCODINGS = ("utf-8", "utf-8", "utf-8-sig", "cp1252")


def csv_file(document: Document, folder: Path, chance: Random) -> Path:
    """Delimited text; rows are filled up to one width, or not."""
    out = io.StringIO()
    quoting: Literal[0, 1] = csv.QUOTE_ALL if chance.random() < 0.3 else csv.QUOTE_MINIMAL
    writer = csv.writer(out, delimiter=chance.choice(DELIMITERS), quoting=quoting)
    width = max(len(row.cells) for row in document.rows) if chance.random() < 0.5 else 0
    for row in document.rows:
        texts = [cell.text for cell in row.cells]
        writer.writerow([*texts, *[""] * (width - len(texts))])
    path = folder / "statement.csv"
    path.write_bytes(out.getvalue().encode(chance.choice(ENCODINGS), errors="replace"))
    return path


def workbook(document: Document, folder: Path, chance: Random) -> Path:
    """A workbook with figures as such or as text, and headings over several columns merged."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    figures, apart = chance.random() < 0.7, chance.random() < 0.5
    for number, part in enumerate(_parts(document) if apart else [document], 1):
        _fill(book.create_sheet(f"{document.title[:28]} {number}"), part, figures=figures)
    path, whole = folder / "statement.xlsx", io.BytesIO()
    book.save(whole)
    path.write_bytes(_undated(whole))
    return path


def _parts(document: Document) -> list[Document]:
    """A document for each table, with what stands before the first and after the last."""
    parts = [replace(document, tables=(table,), before=(), after=()) for table in document.tables]
    parts[0] = replace(parts[0], before=document.before)
    return [*parts[:-1], replace(parts[-1], after=document.after)]


def _fill(sheet: Worksheet, document: Document, *, figures: bool) -> None:
    for number, row in enumerate(document.rows, 1):
        for place, cell in enumerate(row.cells, 1):
            if cell.text:
                _put(sheet, number, place, cell, figures=figures)
        if row.role == "over":
            _merge(sheet, number, row)


def _put(sheet: Worksheet, number: int, place: int, cell: Cell, *, figures: bool) -> None:
    where = sheet.cell(number, place)
    if figures and cell.value is not None:
        where.value = cell.value
    else:
        where.value, where.number_format = cell.text, "@"


def _merge(sheet: Worksheet, number: int, row: Row) -> None:
    starts = [place for place, cell in enumerate(row.cells, 1) if cell.text]
    for start, end in zip(starts, [*(start - 1 for start in starts[1:]), len(row.cells)], strict=True):
        if end > start:
            sheet.merge_cells(start_row=number, end_row=number, start_column=start, end_column=end)


def _undated(whole: io.BytesIO) -> bytes:
    """The same without the moment at which it was saved, so that the same seed gives the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(whole) as read, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as written:
        for name in read.namelist():
            part = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-01-01T00:00:00Z", read.read(name))
            written.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), part)
    return out.getvalue()
