"""Pages as another library sees them: pdfplumber's tables, by the lines drawn on a page or by how its text stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from auditor.core.sandbox import said_by
from auditor.intake import plumbed_pages
from auditor.intake.documents import Grid, Page

BY = ("lines", "text")
MOST_PAGES = 40
"""That library takes up to a second for a page."""
SECONDS = 60.0

Row = tuple[list[str], str, str]
"""A row's texts, its place and its box."""


def plumbed(path: Path, by: str, pages: Sequence[Page]) -> list[Grid]:
    """The tables of those pages; all that have as many columns are one, as tables run on over pages.

    Args:
        path: the PDF.
        by: what parts the cells, one of `BY`.
        pages: those asked for; too many give none.
    """
    if len(pages) > MOST_PAGES:
        return []
    numbers = [page.number for page in pages]
    said, _ = said_by(plumbed_pages.__file__, path.resolve(), by, *numbers, seconds=SECONDS)
    found: dict[int, list[Row]] = {}
    for row in (row for page in said for row in _rows(page)):
        found.setdefault(len(row[0]), []).append(row)
    return [_grid(rows) for width, rows in found.items() if width > 1]


def _rows(page: dict[str, Any]) -> Iterator[Row]:
    rows = ((texts, box) for table in page["tables"] for texts, box in zip(table["rows"], table["boxes"], strict=True))
    for nth, (texts, box) in enumerate(rows, 1):
        yield texts, f"page {page['page']}, row {nth}", " ".join(f"{edge:.1f}" for edge in box)


def _grid(rows: Sequence[Row]) -> Grid:
    texts, places, boxes = (list(column) for column in zip(*rows, strict=True))
    return Grid(texts, places, boxes=boxes)
