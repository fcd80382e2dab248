"""Larkrise Post's statement: a ruled table over several pages, its heading row repeated on each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.colors import black, whitesmoke
from reportlab.lib.pagesizes import letter
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Table

from tests.months.billing import Line

HEADINGS = ("Tracking", "Shipped", "Service", "Zone", "Description", "Weight lb", "Size in", "Reference", "Amount")
WIDTHS = (108, 50, 40, 28, 114, 44, 62, 46, 52)
WORDS = {
    "freight": "Freight",
    "additional handling": "Additional handling",
    "large parcel": "Large parcel",
    "residential": "Residential",
    "fuel": "Fuel",
    "address correction": "Address correction",
    "correction fee": "Correction fee",
}
"""Larkrise Post's words for the charges; unknown words stand as they are."""

FONT, BOLD, FONT_SIZE, PADDING, ROW_HEIGHT = "Helvetica", "Helvetica-Bold", 7, 3, 13
ROWS_ON_FIRST_PAGE, ROWS_ON_A_PAGE = 45, 51
LEFT, TOP, BOTTOM = 34, 744, 34
RULES = (
    ("GRID", (0, 0), (-1, -1), 0.5, black),
    ("BACKGROUND", (0, 0), (-1, 0), whitesmoke),
    ("FONT", (0, 0), (-1, 0), BOLD, FONT_SIZE),
    ("FONT", (0, 1), (-1, -1), FONT, FONT_SIZE),
    ("LEFTPADDING", (0, 0), (-1, -1), PADDING),
    ("RIGHTPADDING", (0, 0), (-1, -1), PADDING),
    ("ALIGN", (-1, 0), (-1, -1), "RIGHT"),
    ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
)

Row = tuple[str, ...]


def write_pdf(path: Path, above: Sequence[str], lines: Sequence[Line]) -> None:
    """The statement, with `above` as lines of text over the table; the same lines give the same bytes."""
    rows = [_row(line) for line in lines]
    rows.append(("Statement total", *[""] * 7, _money(sum(line.cents for line in lines))))
    for row in rows:
        _fits(row)
    pages = [rows[:ROWS_ON_FIRST_PAGE]]
    rest = rows[ROWS_ON_FIRST_PAGE:]
    pages += [rest[start : start + ROWS_ON_A_PAGE] for start in range(0, len(rest), ROWS_ON_A_PAGE)]
    canvas = Canvas(str(path), pagesize=letter, invariant=1)
    canvas.setTitle(" ".join(above[:2]))
    canvas.setAuthor(above[0])
    canvas.setCreator(above[0])
    canvas.setProducer("tests.months")
    for number, page in enumerate(pages, 1):
        top = _draw_above(canvas, above) if number == 1 else TOP
        _draw_table(canvas, page, top)
        canvas.setFont(FONT, FONT_SIZE)
        canvas.drawCentredString(letter[0] / 2, BOTTOM, f"Page {number} of {len(pages)}")
        canvas.showPage()
    canvas.save()


def _row(line: Line) -> Row:
    words = WORDS.get(line.charge, line.charge)
    if line.kind in {"credit", "adjustment"}:
        words = f"{'Credit' if line.kind == 'credit' else 'Adjusted'} {words.lower()}"
    size = " x ".join(map(str, line.sides or ()))
    shipped = line.shipped_on.isoformat()
    weight = str(line.weight or "")
    return line.number, shipped, line.service, line.zone, words, weight, size, line.order, _money(line.cents)


def _money(cents: int) -> str:
    """123456 → '1,234.56', -1234 → '(12.34)'."""
    plain = f"{abs(cents) // 100:,}.{abs(cents) % 100:02d}"
    return f"({plain})" if cents < 0 else plain


def _fits(row: Row) -> None:
    for text, width in zip(row, WIDTHS, strict=True):
        if stringWidth(text, FONT, FONT_SIZE) > width - 2 * PADDING:
            raise ValueError(f"{text!r} is wider than its column")


def _draw_above(canvas: Canvas, above: Sequence[str]) -> int:
    """The lines of text over the table; where the table may begin."""
    for number, text in enumerate(above):
        canvas.setFont(BOLD if number == 0 else FONT, 15 if number == 0 else 9)
        canvas.drawString(LEFT, TOP - 14 * number, text)
    return TOP - 14 * len(above) - 6


def _draw_table(canvas: Canvas, rows: Sequence[Row], top: int) -> None:
    table = Table([HEADINGS, *rows], colWidths=WIDTHS, rowHeights=ROW_HEIGHT, style=RULES)
    _, height = table.wrapOn(canvas, sum(WIDTHS), top)
    table.drawOn(canvas, LEFT, top - height)
