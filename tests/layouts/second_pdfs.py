"""Three more statements as PDFs, written without sight of the reader or of the other layouts.

A ruled table, columns that are only aligned, and a block a parcel. What each prints is plain to a person at a desk.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, landscape, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import inch
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.pdf_layouts import Layout
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import STATEMENT, STATEMENT_ON, Line, total

SHOP = "Quillmoor Instruments"
WRITTEN = datetime(2026, 4, 2, tzinfo=UTC)

RULED_WORDS = {
    "freight": "Conveyance",
    "fuel": "Fuel index charge",
    "residential": "Residence delivery",
    "additional handling": "Handling, awkward item",
    "address correction": "Corrected address",
}
ALIGNED_WORDS = {
    "freight": "PARCEL CHARGE",
    "fuel": "FUEL SURCHG",
    "residential": "RESI DELIVERY",
    "additional handling": "ADDL HANDLING",
    "address correction": "ADDR CORRECTION",
}
BLOCK_WORDS = {
    "freight": "Delivery charge",
    "fuel": "Fuel cost contribution",
    "residential": "Supplement, private household",
    "additional handling": "Supplement, handled by hand",
    "address correction": "Incorrect address, put right by us",
}


def _money(cents: int) -> str:
    """-123456 → '-1,234.56'."""
    return f"{cents / 100:,.2f}"


def _trailing(cents: int) -> str:
    """-1234 → '12.34-', 1234 → '12.34 '."""
    return f"{abs(cents) / 100:,.2f}{'-' if cents < 0 else ' '}"


def _foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
    """The line at the foot of each page of the ruled table."""
    canvas.setFont("Helvetica", 7)
    canvas.drawString(0.5 * inch, 0.35 * inch, f"Larkrise Post - supplementary invoice {STATEMENT} - {SHOP}")
    canvas.drawRightString(10.5 * inch, 0.35 * inch, f"Sheet {document.page}")


def ruled_invoice(path: Path, them: Sequence[Line]) -> None:
    """A ruled table over several pages in landscape, its headings on each, the amount payable boxed above it."""
    normal = ParagraphStyle("normal", fontName="Helvetica", fontSize=9, leading=12)
    title = ParagraphStyle("title", parent=normal, fontName="Helvetica-Bold", fontSize=15, leading=20)
    box = Table(
        [
            ["Invoice ref.", "Drawn up", "Parcels", "Entries", "Payable (USD)"],
            [
                STATEMENT,
                f"{STATEMENT_ON:%d %B %Y}",
                str(len(parcels(them))),
                str(len(them)),
                _money(total(them)),
            ],
        ],
        colWidths=[1.3 * inch] * 5,
        hAlign="LEFT",
    )
    box.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 1, colors.black),
                ("FONT", (0, 0), (-1, 0), "Helvetica", 7),
                ("FONT", (0, 1), (-1, 1), "Helvetica-Bold", 10),
            ]
        )
    )
    rows = [
        [
            "Item",
            "Mailed",
            "Article number",
            "Sender's\norder",
            "Product",
            "Zone",
            "Dimensions\napplied (in)",
            "Weight\napplied (lb)",
            "Nature of charge",
            "USD",
        ]
    ]
    for place, line in enumerate(them, start=1):
        rows.append(
            [
                str(place),
                f"{line.shipped_on:%d-%b-%y}",
                line.tracking,
                line.order,
                line.service,
                line.zone,
                "/".join(map(str, line.sides_mm)),
                str(line.weight_g),
                RULED_WORDS[line.charge],
                _money(line.amount_cents),
            ]
        )
    widths = [0.5, 0.9, 1.7, 0.8, 0.8, 0.5, 1.1, 0.9, 1.7, 1.0]
    table = Table(rows, colWidths=[width * inch for width in widths], repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("GRID", (0, 0), (-1, -1), 0.4, colors.grey),
                ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor("#e4e9d8")),
                ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 8),
                ("FONT", (0, 1), (-1, -1), "Helvetica", 8),
                ("ALIGN", (0, 0), (0, -1), "RIGHT"),
                ("ALIGN", (5, 0), (7, -1), "CENTER"),
                ("ALIGN", (9, 0), (9, -1), "RIGHT"),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ]
        )
    )
    margin = 0.5 * inch
    document = SimpleDocTemplate(
        str(path),
        pagesize=landscape(letter),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=0.7 * inch,
        invariant=1,
    )
    intro = "Charges found due after your parcels were weighed and measured at our depots. Dates are day-month-year."
    end = "Entries marked with a minus are in your favour. Objections in writing within 45 days of this invoice."
    document.build(
        [
            Paragraph("Larkrise Post: supplementary invoice", title),
            Paragraph(f"To {SHOP}, Weighhouse Lane 9", normal),
            Spacer(0, 8),
            box,
            Spacer(0, 8),
            Paragraph(intro, normal),
            Spacer(0, 6),
            table,
            Spacer(0, 8),
            Paragraph(end, normal),
        ],
        onFirstPage=_foot,
        onLaterPages=_foot,
    )


ALIGNED = (
    ("TRACKING NO", 37, "L"),
    ("ORDER", 18, "L"),
    ("SHIPPED", 20, "L"),
    ("SVC", 16, "L"),
    ("ZN", 8, "R"),
    ("LBS", 10, "R"),
    ("LEN", 10, "R"),
    ("WID", 10, "R"),
    ("HGT", 10, "R"),
    ("", 4, "L"),
    ("CHARGE TYPE", 34, "L"),
    ("AMOUNT", 21, "R"),
)
"""Heading, width in mm and side of each column; the nameless one is room between figures and words."""


class _Listing(FPDF):
    """Pages with the same head and no rulings."""

    def header(self) -> None:
        self.set_font("Helvetica", "B", 11)
        self.cell(120, 6, "NORRHAVEN PARCEL   CHARGE DETAIL LISTING")
        self.set_font("Helvetica", "", 8)
        self.cell(78, 6, f"PAGE {self.page_no()}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.cell(120, 5, f"CUSTOMER 30551 {SHOP.upper()}", new_x="LMARGIN", new_y="NEXT")
        self.cell(120, 5, f"BILL NO {STATEMENT}   BILL DATE {STATEMENT_ON:%m/%d/%Y}", new_x="LMARGIN", new_y="NEXT")
        self.ln(3)
        self.set_font("Helvetica", "B", 7.5)
        self.row([name for name, _, _ in ALIGNED])
        self.ln(1)
        self.set_font("Helvetica", "", 7.5)

    def row(self, cells: Sequence[str]) -> None:
        """One line of the listing."""
        for (_, width, side), cell in zip(ALIGNED, cells, strict=True):
            self.cell(width, 4.6, cell, align=side)
        self.ln(4.6)


def aligned_listing(path: Path, them: Sequence[Line]) -> None:
    """Aligned columns in capitals, minus signs behind the figures, each page's sum carried over to the next."""
    pdf = _Listing(format="letter")
    pdf.set_creation_date(WRITTEN)
    pdf.set_margins(9, 10)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()
    on_page, blank = 46, [""] * 9
    for place, line in enumerate(them):
        if place and place % on_page == 0:
            carried = _trailing(total(them[:place]))
            pdf.ln(2)
            pdf.row([*blank, "", "CARRIED FORWARD", carried])
            pdf.add_page()
            pdf.row([*blank, "", "BROUGHT FORWARD", carried])
            pdf.ln(2)
        pdf.row(
            [
                line.tracking,
                line.order,
                f"{line.shipped_on:%m/%d/%Y}",
                line.service,
                line.zone,
                str(line.weight_g),
                *map(str, line.sides_mm),
                "",
                ALIGNED_WORDS[line.charge],
                _trailing(line.amount_cents),
            ]
        )
    pdf.ln(3)
    pdf.set_font("Helvetica", "B", 7.5)
    pdf.row([*blank, "", "TOTAL THIS BILL USD", _trailing(total(them))])
    pdf.set_font("Helvetica", "", 7)
    pdf.ln(2)
    pdf.cell(0, 4, "LBS AND INCHES AS CHARGED. DATES MONTH/DAY/YEAR. A MINUS BEHIND AN AMOUNT IS A CREDIT.")
    pdf.output(str(path))


def _block(canvas: Canvas, top: float, mine: Sequence[Line]) -> float:
    """A parcel's block from `top` downwards; returns where the next one begins."""
    one = mine[0]
    left, right = 60.0, 535.0
    canvas.setFont("Times-Bold", 10)
    canvas.drawString(left, top, f"Parcel {one.tracking}")
    canvas.setFont("Times-Roman", 10)
    canvas.drawRightString(right, top, f"your order {one.order}")
    sides = " by ".join(map(str, one.sides_mm))
    sent = f"{one.shipped_on.day} {one.shipped_on:%B %Y}"
    told = f"Sent {sent}, service {one.service}, zone {one.zone}; charged as {one.weight_g} lb and {sides} in"
    canvas.setFont("Times-Italic", 9)
    canvas.drawString(left, top - 12, told)
    down = top - 25
    canvas.setFont("Times-Roman", 10)
    for line in mine:
        words, amount = BLOCK_WORDS[line.charge], _money(line.amount_cents)
        canvas.drawString(left + 24, down, words)
        canvas.drawRightString(right, down, amount)
        down -= 12.5
    return down - 9


def parcel_blocks(path: Path, them: Sequence[Line]) -> None:
    """A letter with a block a parcel: a heading, a sentence on what was charged as what, the charges indented."""
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    canvas.setFont("Times-Bold", 16)
    canvas.drawString(60, 780, "Larkrise Post")
    canvas.setFont("Times-Roman", 10)
    for place, words in enumerate(
        (
            f"{SHOP}, Weighhouse Lane 9",
            f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}",
            f"Our charge advice {STATEMENT}",
            "",
            f"The parcels below come to USD {_money(total(them))} in all. Each is listed with what we charged for it.",
        )
    ):
        canvas.drawString(60, 758 - 13 * place, words)
    page = 1
    down = 672.0
    for mine in parcels(them):
        if down - 25 - 12.5 * len(mine) < 70:
            page = _turn(canvas, page)
            down = 780.0
        down = _block(canvas, down, mine)
    if down < 90:
        page = _turn(canvas, page)
        down = 780.0
    canvas.setFont("Times-Bold", 11)
    canvas.drawString(60, down - 6, f"Advice {STATEMENT} in all, USD")
    canvas.drawRightString(535, down - 6, _money(total(them)))
    _turn(canvas, page)
    canvas.save()


def _turn(canvas: Canvas, page: int) -> int:
    """Finish a page; returns the next one's number."""
    canvas.setFont("Times-Roman", 8)
    canvas.drawCentredString(297, 40, f"Charge advice {STATEMENT}, page {page}")
    canvas.showPage()
    return page + 1


LAYOUTS: tuple[Layout, ...] = (
    Layout("ruled_invoice", ruled_invoice),
    Layout("aligned_listing", aligned_listing),
    Layout("parcel_blocks", parcel_blocks),
)
