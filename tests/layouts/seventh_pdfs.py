"""Three more ordinary statements as PDFs, written without knowing how they are read."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.pdf_layouts import Layout
from tests.layouts.seventh_tables import CLIENT, by_charge, centimetres, grouped, kilos
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, total

MANIFEST_FIELDS = (
    "statement",
    "tracking",
    "charge",
    "amount_cents",
    "shipped_on",
    "service",
    "zone",
    "order",
    "billed_weight_pg",
)
"""What the Irish carrier's analysis shows: all but the size of a parcel."""
ON_A_MANIFEST = 9

IRISH = {
    "freight": "Carriage",
    "fuel": "Fuel\nsurcharge",
    "residential": "Private\naddress",
    "additional handling": "Manual\nhandling",
    "address correction": "Address\namendment",
}
NET = {
    "freight": "Transportation",
    "fuel": "Fuel Surcharge",
    "residential": "Residential Dlvry",
    "additional handling": "Addl Handling",
    "address correction": "Address Corr",
}
TICKETS = {
    "freight": "Freight",
    "fuel": "Fuel adjustment factor",
    "residential": "Residential delivery",
    "additional handling": "Irregular item handling",
    "address correction": "Incorrect address fee",
}


def _behind(cents: int) -> str:
    """-1234 → '12.34-'."""
    return f"{grouped(abs(cents))}{'-' if cents < 0 else ''}"


def _analysis_frame(canvas: Canvas, document: SimpleDocTemplate) -> None:
    width, height = landscape(A4)
    canvas.saveState()
    canvas.setFont("Times-Bold", 13)
    canvas.drawString(14 * mm, height - 13 * mm, "Ballymorrin Carriers DAC")
    canvas.setFont("Times-Roman", 9)
    canvas.drawRightString(width - 14 * mm, height - 13 * mm, f"Invoice {STATEMENT}   Account P0093")
    canvas.line(14 * mm, height - 15 * mm, width - 14 * mm, height - 15 * mm)
    canvas.drawCentredString(width / 2, 8 * mm, f"Ballymorrin Carriers DAC - consignment analysis - {document.page}")
    canvas.restoreState()


def _sums(them: Sequence[Line]) -> list[str]:
    sums = by_charge(them)
    return [*(_behind(sums.get(charge, 0)) for charge in CHARGES), _behind(total(them))]


def _analysis_rows(them: Sequence[Line]) -> tuple[list[list[str]], list[int]]:
    """The consignments under their manifests, and at which rows the manifests' subtotals stand."""
    heads = ["Consignment", "Coll. date", "Your ref.", "Service", "Zone", "Items", "Chargeable\nkgs"]
    rows, subtotals = [[*heads, *IRISH.values(), "Total €"]], []
    shipped = parcels(them)
    for start in range(0, len(shipped), ON_A_MANIFEST):
        manifest = shipped[start : start + ON_A_MANIFEST]
        for parcel in manifest:
            first, costs = parcel[0], by_charge(parcel)
            rows.append(
                [
                    first.tracking,
                    f"{first.shipped_on:%d/%m/%Y}",
                    first.order,
                    first.service,
                    first.zone,
                    "1",
                    kilos(first, 2),
                    *(_behind(costs[charge]) if charge in costs else "" for charge in CHARGES),
                    _behind(total(parcel)),
                ]
            )
        subtotals.append(len(rows))
        number = 1187 + start // ON_A_MANIFEST
        rows.append([f"Manifest {number} subtotal", *[""] * 6, *_sums([line for each in manifest for line in each])])
    rows.append(["Invoice total", *[""] * 6, *_sums(them)])
    return rows, subtotals


def manifest_analysis(path: Path, them: Sequence[Line]) -> None:
    """An Irish carrier's analysis: a row a consignment, a column a charge, a subtotal after each manifest."""
    rows, subtotals = _analysis_rows(them)
    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), "Times-Roman", 9),
        ("FONT", (0, 0), (-1, 0), "Times-Bold", 9),
        ("FONT", (0, -1), (-1, -1), "Times-Bold", 9.5),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
        ("LINEABOVE", (0, -1), (-1, -1), 0.8, colors.black),
        ("LINEBELOW", (0, -1), (-1, -1), 0.8, colors.black),
        ("ALIGN", (5, 0), (-1, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("TOPPADDING", (0, 1), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 2),
    ]
    for place in subtotals:
        style.append(("FONT", (0, place), (-1, place), "Times-Italic", 9))
        style.append(("BACKGROUND", (0, place), (-1, place), colors.whitesmoke))
    styles = getSampleStyleSheet()
    told = f"Invoice date: {STATEMENT_ON:%d/%m/%Y}<br/>Customer: {escape(CLIENT)}<br/>Currency: EUR, excl. VAT"
    widths = [40, 21, 19, 17, 12, 12, 21, 21, 20, 20, 20, 23, 23]
    story: list[Flowable] = [
        Paragraph("Consignment analysis", styles["Heading3"]),
        Paragraph(told, styles["BodyText"]),
        Spacer(1, 6),
        Table(rows, colWidths=[each * mm for each in widths], repeatRows=1, style=TableStyle(style)),
    ]
    document = SimpleDocTemplate(
        str(path),
        pagesize=landscape(A4),
        topMargin=18 * mm,
        bottomMargin=15 * mm,
        leftMargin=14 * mm,
        rightMargin=14 * mm,
        title="Consignment analysis",
        invariant=1,
    )
    document.build(story, onFirstPage=_analysis_frame, onLaterPages=_analysis_frame)


NET_COLUMNS = (
    ("Ship Date", 20, "L"),
    ("Tracking Number", 40, "L"),
    ("Service", 18, "L"),
    ("Zone", 12, "C"),
    ("Bill Wt", 16, "L"),
    ("Charge Description", 36, "L"),
    ("List", 18, "R"),
    ("Discount", 18, "R"),
    ("Net", 18, "R"),
)


class _NetPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages headed by the carrier, the invoice and the names of the columns."""

    def header(self) -> None:
        """The carrier's name, the invoice's facts, the columns."""
        self.set_font("Helvetica", "B", 14)
        self.cell(120, 7, "Cindergate Parcel Lines")
        self.set_font("Helvetica", "", 9)
        self.multi_cell(
            0,
            4.5,
            f"Invoice Number  {STATEMENT}\nInvoice Date  {STATEMENT_ON:%b %d, %Y}\n"
            f"Account Number  A4-77120\nPage  {self.page_no()} of {{nb}}",
            align="R",
            new_x="LMARGIN",
            new_y="NEXT",
        )
        if self.page_no() == 1:
            self.cell(0, 5, f"Bill to: {CLIENT}", new_x="LMARGIN", new_y="NEXT")
        self.set_font("Helvetica", "B", 10)
        self.cell(0, 7, "Outbound Shipment Detail", new_x="LMARGIN", new_y="NEXT")
        self.set_fill_color(225, 225, 232)
        self.set_font("Helvetica", "B", 8)
        for name, width, side in NET_COLUMNS:
            self.cell(width, 6, name, align=side, fill=True)
        self.ln(7)

    def footer(self) -> None:
        """How to dispute."""
        self.set_y(-11)
        self.set_font("Helvetica", "I", 7)
        self.cell(0, 4, "Billing disputes must be submitted within 30 days of the invoice date. Amounts in USD.")

    def row(self, cells: Sequence[str], style: str = "") -> None:
        """One row of the table."""
        self.set_font("Helvetica", style, 8)
        for (_, width, side), cell in zip(NET_COLUMNS, cells, strict=True):
            self.cell(width, 4.5, cell, align=side)
        self.ln(4.5)


def _list_price(line: Line) -> int:
    """What the charge would be without the customer's discount: only transportation has one."""
    return line.amount_cents + (line.amount_cents * 18 // 100 if line.charge == "freight" else 0)


def _prices(them: Sequence[Line]) -> tuple[str, str, str]:
    listed, net = sum(map(_list_price, them)), total(them)
    return grouped(listed), grouped(net - listed), grouped(net)


def net_listing(path: Path, them: Sequence[Line]) -> None:
    """An American carrier's invoice: list price, discount and net; reference and size below the tracking number."""
    pdf = _NetPages("P", "mm", "Letter")
    pdf.set_margins(10, 10, 10)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()
    for parcel in parcels(them):
        height = max(len(parcel), 3) + 1
        if pdf.get_y() + 4.5 * height > pdf.h - 15:
            pdf.add_page()
        first = parcel[0]
        sides = " x ".join(map(str, first.sides_mm))
        weight = f"{first.weight_g} lb"
        lead = (f"{first.shipped_on:%m/%d/%y}", first.tracking, first.service, first.zone, weight)
        below = [lead, ("", f"Ref: {first.order}", "", "", ""), ("", f"Dims: {sides} in", "", "", "")]
        for place in range(max(len(parcel), 3)):
            facts = below[place] if place < 3 else [""] * 5
            costs = (
                (NET[parcel[place].charge], *_prices(parcel[place : place + 1])) if place < len(parcel) else [""] * 4
            )
            pdf.row((*facts, *costs))
        pdf.row(("", "", "", "", "", "Shipment Total", *_prices(parcel)), "B")
        pdf.line(10, pdf.get_y() + 0.4, pdf.w - 10, pdf.get_y() + 0.4)
        pdf.ln(1.2)
    if pdf.get_y() + 12 > pdf.h - 15:
        pdf.add_page()
    pdf.ln(2)
    pdf.row(("", "", "", "", "", "Total Charges", *_prices(them)), "B")
    pdf.output(str(path))


class _Tickets:
    """The pages of a courier's statement; a page's sum is carried to the next."""

    left, right = 10 * mm, A4[0] - 10 * mm
    starts = (10, 29, 66, 84, 101, 120, 144)
    heads = ("Date", "Ticket number", "Order ref", "Service", "Zone", "Size cm", "Details")
    weight_ends = 117 * mm

    def __init__(self, path: Path) -> None:
        self.canvas = Canvas(str(path), pagesize=A4, invariant=1)
        self.canvas.setTitle("Statement of ticket charges")
        self.so_far = 0
        self.start()

    def start(self) -> None:
        """The head of a page, the customer on the first, the sum brought forward on the others."""
        canvas, height = self.canvas, A4[1]
        first = canvas.getPageNumber() == 1
        canvas.setFont("Helvetica-Bold", 15 if first else 10)
        canvas.drawString(self.left, height - 16 * mm, "Kowhai Ridge Couriers Limited")
        canvas.setFont("Helvetica", 8.5)
        canvas.drawRightString(self.right, height - 16 * mm, f"Statement No. {STATEMENT}")
        if first:
            canvas.drawString(self.left, height - 22 * mm, f"To: {CLIENT}")
            canvas.drawString(self.left, height - 26 * mm, "Customer code: PEL004")
            canvas.drawRightString(self.right, height - 22 * mm, f"Statement date {STATEMENT_ON:%d/%m/%Y}")
            canvas.drawRightString(self.right, height - 26 * mm, "All amounts NZD, GST zero-rated")
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(self.left, 9 * mm, "Please quote your statement number with all payments")
        canvas.drawRightString(self.right, 9 * mm, f"Page {canvas.getPageNumber()}")
        self.y = height - (36 if first else 26) * mm
        self.row(self.heads, "Kg", "Charge $", bold=True)
        canvas.line(self.left, self.y + 2.6 * mm, self.right, self.y + 2.6 * mm)
        self.y -= 1.5 * mm
        if not first:
            self.sum_row("Brought forward")

    def row(self, cells: Sequence[str], weight: str, amount: str, *, bold: bool = False) -> None:
        """One row; weight and amount end under one another."""
        self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", 8)
        for x, cell in zip(self.starts, cells, strict=True):
            self.canvas.drawString(x * mm, self.y, cell)
        self.canvas.drawRightString(self.weight_ends, self.y, weight)
        self.canvas.drawRightString(self.right, self.y, amount)
        self.y -= 4.4 * mm

    def sum_row(self, words: str) -> None:
        """What all charges so far come to."""
        self.row((*[""] * 6, words), "", grouped(self.so_far), bold=True)


def ticket_charges(path: Path, them: Sequence[Line]) -> None:
    """A New Zealand courier's statement without rules: a row a charge, sums carried and brought forward."""
    pages = _Tickets(path)
    for line in them:
        if pages.y < 24 * mm:
            pages.sum_row("Carried forward")
            pages.canvas.showPage()
            pages.start()
        facts = (f"{line.shipped_on:%d/%m/%y}", line.tracking, line.order, line.service, line.zone)
        words = (*facts, centimetres(line, "x"), TICKETS[line.charge])
        pages.row(words, kilos(line, 2), grouped(line.amount_cents))
        pages.so_far += line.amount_cents
    pages.canvas.line(pages.left, pages.y + 2.6 * mm, pages.right, pages.y + 2.6 * mm)
    pages.y -= 1.5 * mm
    pages.sum_row("Total charges")
    pages.canvas.save()


LAYOUTS: tuple[Layout, ...] = (
    Layout("seventh_manifest_analysis", manifest_analysis, MANIFEST_FIELDS, metric=True),
    Layout("seventh_net_listing", net_listing, FIELDS),
    Layout("seventh_ticket_charges", ticket_charges, FIELDS, metric=True),
)
