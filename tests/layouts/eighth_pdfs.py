"""Eighth set of statements: three PDFs as a small seller would be mailed, written blind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.eighth_tables import SELLER
from tests.layouts.pdf_layouts import Layout, money
from tests.layouts.seventh_tables import by_charge, centimetres, grouped, kilos
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, total

PRINTOUT_FIELDS = (
    "statement",
    "tracking",
    "charge",
    "amount_cents",
    "shipped_on",
    "service",
    "zone",
    "billed_weight_pg",
)
"""What the printout shows: neither the order nor the size of a parcel."""

SCOTTISH = {
    "freight": "Carriage",
    "fuel": "Fuel surcharge",
    "residential": "Home delivery surcharge",
    "additional handling": "Out of gauge handling",
    "address correction": "Address amendment",
}
PRAIRIE = {
    "freight": "Base\nCharge",
    "fuel": "Fuel\nSurchg",
    "residential": "Resi\nSurchg",
    "additional handling": "Addl\nHandling",
    "address correction": "Address\nCorrection",
}
PRINTOUT = {
    "freight": "TRANSPORTATION",
    "fuel": "FUEL SURCHARGE",
    "residential": "RESIDENTIAL DEL",
    "additional handling": "ADDL HANDLING",
    "address correction": "ADDRESS CORRECTION",
}


def _consignment_blocks(path: Path, them: Sequence[Line]) -> None:
    """A Scottish carrier's invoice: each consignment a small block of facts with its charges and sum below."""
    title = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=16, leading=20)
    plain = ParagraphStyle("plain", fontName="Helvetica", fontSize=9, leading=12)
    facts = Table(
        [
            ["Invoice to", SELLER, "Invoice no.", STATEMENT],
            ["Account no.", "SC 4471", "Invoice date", f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}"],
            ["", "", "Payment due", "30 April 2026"],
        ],
        colWidths=[25 * mm, 75 * mm, 28 * mm, 42 * mm],
        style=[("FONT", (0, 0), (-1, -1), "Helvetica", 9), ("FONT", (2, 0), (2, -1), "Helvetica-Bold", 9)],
    )
    story: list[Flowable] = [Paragraph("Stennacraig Parcels Ltd", title), facts, Spacer(1, 8)]
    story.append(Paragraph("Consignments carried in March 2026. All charges in pounds sterling, net of VAT.", plain))
    story += [KeepTogether([Spacer(1, 5), _block(parcel)]) for parcel in parcels(them)]
    sums = by_charge(them)
    summary = [["Summary of charges", "£"], *([SCOTTISH[charge], grouped(sums[charge])] for charge in sums)]
    summary.append(["Invoice total", grouped(total(them))])
    story.append(
        KeepTogether(
            [
                Spacer(1, 14),
                Table(
                    summary,
                    colWidths=[60 * mm, 28 * mm],
                    hAlign="RIGHT",
                    style=[
                        ("FONT", (0, 0), (-1, -1), "Helvetica", 9),
                        ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 9),
                        ("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 10),
                        ("ALIGN", (1, 0), (1, -1), "RIGHT"),
                        ("BOX", (0, 0), (-1, -1), 0.6, colors.black),
                        ("LINEABOVE", (0, -1), (-1, -1), 0.6, colors.black),
                    ],
                ),
            ]
        )
    )
    document = SimpleDocTemplate(
        str(path),
        pagesize=A4,
        topMargin=20 * mm,
        bottomMargin=18 * mm,
        leftMargin=20 * mm,
        rightMargin=20 * mm,
        title=f"Invoice {STATEMENT}",
        invariant=1,
    )
    document.build(story, onFirstPage=_block_feet, onLaterPages=_block_feet)


def _block(parcel: Sequence[Line]) -> Table:
    """The facts of a consignment in two rows, a row a charge, and their sum."""
    first = parcel[0]
    rows = [
        [f"Consignment {first.tracking}", "", f"Despatched {first.shipped_on:%d/%m/%Y}", f"Order no. {first.order}"],
        [
            f"Service: {first.service}",
            f"Zone: {first.zone}",
            f"Charged weight: {kilos(first, 2)} kg",
            f"Size: {centimetres(first, ' x ')} cm",
        ],
        *(["", SCOTTISH[line.charge], "", grouped(line.amount_cents)] for line in parcel),
        ["", "Consignment total", "", grouped(total(parcel))],
    ]
    style = TableStyle(
        [
            ("FONT", (0, 0), (-1, -1), "Helvetica", 8.5),
            ("FONT", (0, 0), (0, 0), "Helvetica-Bold", 8.5),
            ("FONT", (1, -1), (-1, -1), "Helvetica-Bold", 8.5),
            ("BACKGROUND", (0, 0), (-1, 1), colors.HexColor("#e6eef2")),
            ("SPAN", (0, 0), (1, 0)),
            ("ALIGN", (3, 2), (3, -1), "RIGHT"),
            ("LINEABOVE", (3, -1), (3, -1), 0.4, colors.black),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
    )
    return Table(rows, colWidths=[34 * mm, 48 * mm, 46 * mm, 42 * mm], style=style)


def _block_feet(canvas: Canvas, document: SimpleDocTemplate) -> None:
    """The foot of a page."""
    canvas.saveState()
    canvas.setFont("Helvetica", 7.5)
    canvas.drawString(20 * mm, 11 * mm, "Stennacraig Parcels Ltd, The Pier Store, Stennacraig. Registered in Scotland.")
    canvas.drawRightString(A4[0] - 20 * mm, 11 * mm, f"Invoice {STATEMENT} - page {document.page}")
    canvas.restoreState()


COLUMNS = (
    ("Tracking\nNumber", 38, "L"),
    ("Ship\nDate", 18, "L"),
    ("Your\nOrder #", 18, "L"),
    ("Service", 16, "L"),
    ("Zone", 11, "C"),
    ("Billed\nWeight", 16, "R"),
    ("Package\nDims (in)", 22, "C"),
    *((words, 19, "R") for words in PRAIRIE.values()),
    ("Package\nTotal", 22, "R"),
)


class _PrairiePages(FPDF):  # type: ignore[misc,unused-ignore]
    """Landscape pages with the names of the columns on top of each and shading on every other row."""

    shade = False

    def header(self) -> None:
        """The carrier, the statement, the columns in two lines."""
        self.set_font("Times", "B", 13)
        self.cell(130, 6, "Dunmarrow Delivery Co.")
        self.set_font("Times", "", 10)
        words = f"Statement # {STATEMENT}     Statement Date {STATEMENT_ON.month}/{STATEMENT_ON.day}/{STATEMENT_ON:%y}"
        self.cell(0, 6, words, align="R", new_x="LMARGIN", new_y="NEXT")
        if self.page_no() == 1:
            self.cell(0, 5, f"Shipper: {SELLER}     Shipper # 6620", new_x="LMARGIN", new_y="NEXT")
            self.cell(0, 5, "Packages delivered this period, charges in US dollars", new_x="LMARGIN", new_y="NEXT")
        self.ln(2)
        self.set_font("Times", "B", 9)
        top = self.get_y()
        for place in (0, 1):
            self.set_xy(self.l_margin, top + 4 * place)
            for words, width, side in COLUMNS:
                parts = ["", *words.split("\n")][-2:]
                self.cell(width, 4, parts[place], align=side)
        self.set_y(top + 9)
        self.line(self.l_margin, top + 8.4, self.w - self.r_margin, top + 8.4)

    def footer(self) -> None:
        """Where to pay, which page."""
        self.set_y(-12)
        self.set_font("Times", "I", 8)
        self.cell(120, 4, "Make checks payable to Dunmarrow Delivery Co. Credits appear in parentheses.")
        self.cell(0, 4, f"Page {self.page_no()}/{{nb}}", align="R")

    def row(self, cells: Sequence[str], style: str = "") -> None:
        """A row, shaded or not."""
        self.set_font("Times", style, 9)
        self.set_fill_color(238, 238, 238)
        for (_, width, side), cell in zip(COLUMNS, cells, strict=True):
            self.cell(width, 5, cell, align=side, fill=self.shade)
        self.ln(5)
        self.shade = not self.shade


def _package_columns(path: Path, them: Sequence[Line]) -> None:
    """An American regional carrier's statement: a row a package, a column a charge, credits in parentheses."""
    pdf = _PrairiePages("L", "mm", "Letter")
    pdf.set_margins(8, 10, 8)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()
    for parcel in parcels(them):
        if pdf.get_y() > pdf.h - 22:
            pdf.add_page()
        first, costs = parcel[0], by_charge(parcel)
        facts = [first.tracking, f"{first.shipped_on.month}/{first.shipped_on.day}/{first.shipped_on:%y}"]
        facts += [first.order, first.service, first.zone, f"{first.weight_g} lb", "x".join(map(str, first.sides_mm))]
        amounts = [money(costs[charge]) if charge in costs else "" for charge in CHARGES]
        pdf.row([*facts, *amounts, money(total(parcel))])
    if pdf.get_y() > pdf.h - 26:
        pdf.add_page()
    pdf.shade = False
    pdf.line(pdf.l_margin, pdf.get_y() + 0.8, pdf.w - pdf.r_margin, pdf.get_y() + 0.8)
    pdf.ln(1.5)
    sums = by_charge(them)
    pdf.row(
        ["Statement Total", *[""] * 6, *(money(sums.get(charge, 0)) for charge in CHARGES), money(total(them))], "B"
    )
    pdf.output(str(path))


ON_A_PAGE = 46
RULE = "-" * 94


def _fixed_printout(path: Path, them: Sequence[Line]) -> None:
    """A Canadian carrier's printout in one width of letters: a row a charge, a total on every page, CR for credits."""
    canvas = Canvas(str(path), pagesize=letter, invariant=1)
    canvas.setTitle(f"Statement {STATEMENT}")
    pages = [them[start : start + ON_A_PAGE] for start in range(0, len(them), ON_A_PAGE)]
    for number, page in enumerate(pages, 1):
        text = [
            f"{'LAKETON & NORTHERN PARCEL':<74}PAGE {number:>3} OF {len(pages):>3}",
            "STATEMENT OF PARCEL CHARGES",
            "",
            f"STATEMENT NO. {STATEMENT:<20}DATE {STATEMENT_ON:%d-%b-%Y}".upper(),
            f"CUSTOMER 118-0442    {SELLER.upper()}",
            "",
            _columns("SHIPPED", "PARCEL NO.", "SERVICE", "ZONE", "CHG WT LB", "CHARGE", "AMOUNT CAD"),
            RULE,
            *map(_printed, page),
            RULE,
            _columns("", "", "", "", "", "PAGE TOTAL", _marked(total(page))),
        ]
        if number == len(pages):
            text.append(_columns("", "", "", "", "", "STATEMENT TOTAL", _marked(total(them))))
            text += ["", "PAYABLE ON RECEIPT. CR = CREDIT."]
        lines = canvas.beginText(13 * mm, letter[1] - 16 * mm)
        lines.setFont("Courier", 9.4, leading=12)
        for each in text:
            lines.textLine(each)
        canvas.drawText(lines)
        canvas.showPage()
    canvas.save()


def _printed(line: Line) -> str:
    """One charge."""
    shipped = f"{line.shipped_on:%d-%b-%y}".upper()
    words, amount = PRINTOUT[line.charge], _marked(line.amount_cents)
    return _columns(shipped, line.tracking, line.service, line.zone, str(line.weight_g), words, amount)


def _marked(cents: int) -> str:
    """-1234 → '12.34CR', with room for the mark behind other amounts."""
    return f"{grouped(abs(cents))}{'CR' if cents < 0 else '  '}"


def _columns(shipped: str, number: str, service: str, zone: str, weight: str, charge: str, amount: str) -> str:
    return f"{shipped:<11}{number:<20}{service:<9}{zone:>4}{weight:>11}   {charge:<20}{amount:>16}".rstrip()


LAYOUTS: tuple[Layout, ...] = (
    Layout("eighth_consignment_blocks", _consignment_blocks, FIELDS, metric=True),
    Layout("eighth_package_columns", _package_columns, FIELDS),
    Layout("eighth_fixed_printout", _fixed_printout, PRINTOUT_FIELDS),
)
