"""A case's files on the disk: tables as text, workbook or web page, by the name they have."""

from __future__ import annotations

import csv
import html
from pathlib import Path

import openpyxl
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from tests.hunt.shops import Files, Rows, Sheet


def write(files: Files, folder: Path) -> None:
    """Write the files into a new folder."""
    folder.mkdir(parents=True)
    for name, sheet in files.items():
        if isinstance(sheet, str):
            (folder / name).write_text(sheet, encoding="utf-8")
        else:
            WRITERS.get(Path(name).suffix, _text)(sheet, folder / name)


def _rows(sheet: Sheet) -> Rows:
    return (sheet.headings, *sheet.rows) if sheet.headed else sheet.rows


def _text(sheet: Sheet, path: Path) -> None:
    with path.open("w", encoding=sheet.encoding, errors="replace", newline="") as file:
        csv.writer(file, delimiter=sheet.delimiter).writerows(_rows(sheet))


def _workbook(sheet: Sheet, path: Path) -> None:
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet()
    for row in _rows(sheet):
        page.append([_number_or_words(cell) for cell in row])
    book.save(path)


def _number_or_words(cell: str) -> float | str:
    return float(cell) if cell.replace(".", "", 1).isdecimal() else ILLEGAL_CHARACTERS_RE.sub("", cell)


def _page(sheet: Sheet, path: Path) -> None:
    rows = "".join(f"<tr>{''.join(f'<td>{html.escape(cell)}</td>' for cell in row)}</tr>" for row in _rows(sheet))
    path.write_text(f"<html><head><title>{path.stem}</title></head><body><table>{rows}</table></body></html>", "utf-8")


WRITERS = {".xlsx": _workbook, ".html": _page}
