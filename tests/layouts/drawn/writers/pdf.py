"""The same paper drawn by two libraries."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import fpdf
from reportlab.pdfgen.canvas import Canvas

from tests.layouts.drawn.page import Cell, Document, Row
from tests.layouts.drawn.writers.paper import Paper, laid_out


def by_reportlab(document: Document, folder: Path, chance: Random) -> Path:
    """Drawn by reportlab."""
    paper, path = laid_out(document, chance), folder / "statement.pdf"
    canvas = Canvas(str(path), pagesize=(paper.width, paper.height), invariant=1)
    for page in paper.pages:
        for text in page.texts:
            canvas.setFont("Helvetica-Bold" if text.bold else "Helvetica", paper.size)
            canvas.drawString(text.x, paper.height - text.y, text.text)
        canvas.setLineWidth(0.4)
        for x0, y0, x1, y1 in page.rulings:
            canvas.line(x0, paper.height - y0, x1, paper.height - y1)
        canvas.showPage()
    canvas.save()
    return path


def by_fpdf2(document: Document, folder: Path, chance: Random) -> Path:
    """Drawn by fpdf2, whose own letters have no euro sign."""
    paper, path = laid_out(_without_euro(document), chance), folder / "statement.pdf"
    drawn = _opened(paper)
    for page in paper.pages:
        drawn.add_page()
        for text in page.texts:
            drawn.set_font("Helvetica", "B" if text.bold else "", paper.size)
            drawn.text(text.x, text.y, text.text)
        drawn.set_line_width(0.4)
        for ruling in page.rulings:
            drawn.line(*ruling)
    drawn.output(str(path))
    return path


def _without_euro(document: Document) -> Document:
    """With letters in place of that sign before it is known how much room they take."""
    return replace(
        document,
        before=tuple(map(_row_without, document.before)),
        tables=tuple(replace(table, rows=tuple(map(_row_without, table.rows))) for table in document.tables),
        after=tuple(map(_row_without, document.after)),
        page_total=document.page_total and (lambda cents: _foot_without(document, cents)),
    )


def _row_without(row: Row) -> Row:
    return replace(row, cells=tuple(map(_cell_without, row.cells)))


def _cell_without(cell: Cell) -> Cell:
    return replace(cell, text=cell.text.replace("€", "EUR"))


def _foot_without(document: Document, cents: int) -> tuple[Cell, Cell]:
    assert document.page_total is not None
    words, amount = document.page_total(cents)
    return words, _cell_without(amount)


def _opened(paper: Paper) -> fpdf.FPDF:
    drawn = fpdf.FPDF(unit="pt", format=(paper.width, paper.height))
    drawn.set_auto_page_break(auto=False)
    drawn.set_creation_date(datetime(2026, 10, 5, tzinfo=UTC))
    return drawn
