"""Ninth set of statements: four PDFs as a part-time seller would be mailed monthly, written blind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.ninth_tables import SELLER
from tests.layouts.pdf_layouts import Layout
from tests.layouts.seventh_tables import by_charge, centimetres, grouped, kilos
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, total

WITHOUT_SIZE = tuple(
    field for field in FIELDS if field not in ("billed_length_nm", "billed_width_nm", "billed_height_nm")
)
"""What the British account shows: weights but no sizes."""

RULED = {
    "freight": "Transportation",
    "fuel": "Fuel surcharge",
    "residential": "Residential delivery surcharge",
    "additional handling": "Additional handling, irregular package",
    "address correction": "Address correction by driver",
}
FRENCH = {
    "freight": ("Frais", "de port"),
    "fuel": ("Surch.", "carburant"),
    "residential": ("Livr.", "particulier"),
    "additional handling": ("Manut.", "spéciale"),
    "address correction": ("Correction", "d'adresse"),
}
RECEIPT = {
    "freight": "Shipping label",
    "fuel": "Carrier fuel surcharge",
    "residential": "Residential address fee",
    "additional handling": "Extra handling fee",
    "address correction": "Address correction fee",
}
COLLECTIONS = {
    "freight": "Postage",
    "fuel": "Fuel supplement",
    "residential": "Residential supplement",
    "additional handling": "Non-standard item",
    "address correction": "Address correction",
}

RULED_WIDTHS = tuple(part * inch for part in (0.72, 1.4, 0.75, 0.62, 0.4, 0.55, 0.85, 1.5, 0.8))


def _ruled_invoice(path: Path, them: Sequence[Line]) -> None:
    """An American carrier's invoice: every cell ruled, words wrapped in their cell, a slip to cut off at the end."""
    cell = ParagraphStyle("cell", fontName="Helvetica", fontSize=8, leading=9.4)
    name = ParagraphStyle("name", fontName="Times-BoldItalic", fontSize=18, leading=22)
    address = ParagraphStyle("address", fontName="Helvetica", fontSize=9, leading=11.5)
    facts = [
        ["Invoice Number", STATEMENT],
        ["Invoice Date", f"{STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}"],
        ["Account Number", "5507-21"],
        ["Amount Due", f"${grouped(total(them))}"],
    ]
    box = [("GRID", (0, 0), (-1, -1), 0.5, colors.grey), ("FONT", (0, 0), (-1, -1), "Helvetica", 9)]
    top = Table(
        [
            [
                Paragraph(f"BILL TO:<br/>{SELLER.replace('&', '&amp;')}<br/>218 Cooper Street<br/>Unit B", address),
                Table(facts, colWidths=[1.3 * inch, 1.5 * inch], style=box),
            ]
        ],
        colWidths=[4.5 * inch, 3 * inch],
        style=[("VALIGN", (0, 0), (-1, -1), "TOP")],
    )
    heads = ["Pickup\nDate", "Tracking ID", "Reference", "Service", "Zone", "Billed\nWt (lb)", "Dims (in)"]
    rows: list[list[str | Paragraph]] = [[*heads, "Charge Description", "Net\nCharge"]]
    rows += [
        [
            f"{line.shipped_on:%m/%d/%y}",
            line.tracking,
            line.order,
            line.service,
            line.zone,
            str(line.weight_g),
            " x ".join(map(str, line.sides_mm)),
            Paragraph(RULED[line.charge], cell),
            grouped(line.amount_cents),
        ]
        for line in them
    ]
    rows.append(["Total Charges", *[""] * 7, f"${grouped(total(them))}"])
    style = TableStyle(
        [
            ("GRID", (0, 0), (-1, -1), 0.4, colors.black),
            ("FONT", (0, 0), (-1, -1), "Helvetica", 8),
            ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 8),
            ("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 8.5),
            ("SPAN", (0, -1), (7, -1)),
            ("ALIGN", (4, 0), (5, -1), "CENTER"),
            ("ALIGN", (8, 1), (8, -1), "RIGHT"),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ]
    )
    slip = Table(
        [
            ["REMITTANCE SLIP", "", "", ""],
            ["Customer", SELLER, "Account Number", "5507-21"],
            ["Invoice Number", STATEMENT, "Amount Due", f"${grouped(total(them))}"],
            ["Check No.", "", "Amount Enclosed", "$"],
        ],
        colWidths=[1.2 * inch, 2.5 * inch, 1.4 * inch, 1.6 * inch],
        style=[*box, ("SPAN", (0, 0), (-1, 0)), ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 10)],
    )
    story: list[Flowable] = [
        Paragraph("Tamarack Hollow Express", name),
        Paragraph("Parcel pickup &amp; delivery across the tri-county area<br/>P.O. Box 61, Tamarack Hollow", address),
        Spacer(1, 12),
        top,
        Spacer(1, 14),
        Table(rows, colWidths=RULED_WIDTHS, repeatRows=1, style=style),
        KeepTogether(
            [
                Spacer(1, 20),
                Paragraph("- " * 40 + "<br/>Please detach and mail this portion with your check.", address),
                Spacer(1, 6),
                slip,
            ]
        ),
    ]
    document = SimpleDocTemplate(
        str(path),
        pagesize=letter,
        topMargin=0.6 * inch,
        bottomMargin=0.7 * inch,
        leftMargin=0.4 * inch,
        rightMargin=0.4 * inch,
        title=f"Invoice {STATEMENT}",
        invariant=1,
    )
    document.build(story, onFirstPage=_ruled_feet, onLaterPages=_ruled_feet)


def _ruled_feet(canvas: Canvas, document: SimpleDocTemplate) -> None:
    """The foot of a page."""
    canvas.saveState()
    canvas.setFont("Helvetica", 7.5)
    canvas.drawString(
        0.5 * inch, 0.42 * inch, "Net 15 days. A late fee of 1.5% per month may apply to past due balances."
    )
    canvas.drawRightString(letter[0] - 0.5 * inch, 0.42 * inch, f"Page {document.page}")
    canvas.restoreState()


FRENCH_COLUMNS = (
    (("Date", "d'envoi"), 19, "L"),
    (("N° de", "suivi"), 35, "L"),
    (("Votre", "commande"), 20, "L"),
    (("", "Service"), 16, "L"),
    (("", "Zone"), 11, "C"),
    (("Poids", "taxé (kg)"), 17, "R"),
    (("Dimensions", "L x l x h (cm)"), 25, "C"),
    *((words, 21, "R") for words in FRENCH.values()),
    (("Total", "HT"), 23, "R"),
)


class _FrenchPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Landscape pages: the carrier's name and the invoice on top of each, the columns on a dark ground."""

    def header(self) -> None:
        """The name, on the first page also the addresses, then the columns."""
        self.set_text_color(20, 50, 110)
        self.set_font("Helvetica", "B", 14)
        self.cell(140, 7, "MESSAGERIES ORVELLINES")
        self.set_text_color(0)
        self.set_font("Helvetica", "", 9)
        self.cell(0, 7, f"Facture n° {STATEMENT} du {STATEMENT_ON:%d/%m/%Y}", align="R", new_x="LMARGIN", new_y="NEXT")
        if self.page_no() == 1:
            for left, right in (
                ("12, quai des Tanneurs", SELLER),
                ("Service facturation clients", "3, rue du Four à Chaux"),
                ("Code client : 80 442", "Période : du 01/03/2026 au 31/03/2026"),
            ):
                self.cell(170, 5, left)
                self.cell(0, 5, right, new_x="LMARGIN", new_y="NEXT")
            self.ln(3)
            self.cell(0, 5, "Détail de vos expéditions (montants en euros hors taxes)", new_x="LMARGIN", new_y="NEXT")
        self.ln(2)
        self.set_font("Helvetica", "B", 8)
        self.set_fill_color(20, 50, 110)
        self.set_text_color(255)
        for place in (0, 1):
            for words, width, side in FRENCH_COLUMNS:
                self.cell(width, 4.5, words[place], align=side, fill=True)
            self.ln(4.5)
        self.set_text_color(0)

    def footer(self) -> None:
        """Terms and the page's number."""
        self.set_y(-12)
        self.set_font("Helvetica", "", 7)
        self.cell(200, 4, "Paiement à 30 jours. Pas d'escompte pour règlement anticipé. Exonération de TVA, export.")
        self.cell(0, 4, f"Page {self.page_no()} sur {{nb}}", align="R")

    def row(self, cells: Sequence[str], style: str = "") -> None:
        """A row with a thin line below."""
        self.set_font("Helvetica", style, 8)
        for (_, width, side), text in zip(FRENCH_COLUMNS, cells, strict=True):
            self.cell(width, 5.2, text, align=side, border="B")
        self.ln(5.2)


def _french_columns(path: Path, them: Sequence[Line]) -> None:
    """A French carrier's invoice: a row a parcel, a column a charge, decimal comma, a payment slip at the end."""
    pdf = _FrenchPages("L", "mm", "A4")
    pdf.set_margins(12, 10, 12)
    pdf.set_auto_page_break(auto=False)
    pdf.set_draw_color(170)
    pdf.add_page()
    for parcel in parcels(them):
        if pdf.get_y() > pdf.h - 21:
            pdf.add_page()
        first, costs = parcel[0], by_charge(parcel)
        facts = [f"{first.shipped_on:%d/%m/%Y}", first.tracking, first.order, first.service, first.zone]
        facts += [kilos(first, 2).replace(".", ","), centimetres(first, " x ")]
        amounts = [_french(costs[charge]) if charge in costs else "" for charge in CHARGES]
        pdf.row([*facts, *amounts, _french(total(parcel))])
    if pdf.get_y() > pdf.h - 62:
        pdf.add_page()
    sums = by_charge(them)
    amounts = [_french(sums.get(charge, 0)) for charge in CHARGES]
    pdf.row(["", "Total de la facture", *[""] * 5, *amounts, _french(total(them))], "B")
    pdf.ln(6)
    pdf.set_font("Helvetica", "", 9)
    for words in (
        "Talon à joindre à votre règlement",
        f"Code client : 80 442     Facture n° {STATEMENT}",
        f"Net à payer : {_french(total(them))} EUR     Échéance : 02/05/2026",
    ):
        pdf.cell(150, 6, words, border="LR" if words.startswith("Code") else 1, new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(path))


def _french(cents: int) -> str:
    """-123456 → '-1 234,56'."""
    return grouped(cents).replace(",", " ").replace(".", ",")


class _ReceiptPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Upright pages of a label seller, with four columns under a shaded head."""

    def header(self) -> None:
        """The seller of labels, on later pages only its name and the statement."""
        self.set_font("Helvetica", "B", 15 if self.page_no() == 1 else 10)
        self.cell(100, 8, "kettlewick labels")
        self.set_font("Helvetica", "", 9)
        self.cell(0, 8, f"Statement {STATEMENT}", align="R", new_x="LMARGIN", new_y="NEXT")
        if self.page_no() == 1:
            closed = f"{STATEMENT_ON:%b} {STATEMENT_ON.day}, {STATEMENT_ON.year}"
            for left, right in (
                (SELLER, f"Statement date: {closed}"),
                ("Member since 2021", "Billing period: Mar 1 - Mar 31, 2026"),
                ("", "Payment method: card ending 0142"),
            ):
                self.cell(100, 5, left)
                self.cell(0, 5, right, align="R", new_x="LMARGIN", new_y="NEXT")
            self.ln(4)
        self.set_font("Helvetica", "B", 9)
        self.set_fill_color(222, 230, 240)
        self.cell(26, 7, "Ship date", fill=True)
        self.cell(46, 7, "Tracking / Order", fill=True)
        self.cell(88, 7, "Description", fill=True)
        self.cell(0, 7, "Amount", align="R", fill=True, new_x="LMARGIN", new_y="NEXT")
        self.ln(1)

    def footer(self) -> None:
        """Where to ask, which page."""
        self.set_y(-13)
        self.set_font("Helvetica", "I", 8)
        self.cell(
            0, 4, f"Need help? Write to billing, quoting your statement number.   {self.page_no()} / {{nb}}", align="C"
        )

    def charge(self, line: Line, *, first: bool) -> None:
        """One charge; the label's own line has a second one below with the order and what was shipped."""
        self.set_font("Helvetica", "", 9)
        self.cell(26, 4.6, f"{line.shipped_on:%b} {line.shipped_on.day}, {line.shipped_on.year}")
        self.cell(46, 4.6, line.tracking)
        self.cell(88, 4.6, RECEIPT[line.charge])
        amount = f"{'-' if line.amount_cents < 0 else ''}${grouped(abs(line.amount_cents))}"
        self.cell(0, 4.6, amount, align="R", new_x="LMARGIN", new_y="NEXT")
        if first:
            self.set_font("Helvetica", "", 7.5)
            self.set_text_color(90)
            sides = " x ".join(map(str, line.sides_mm))
            self.cell(26, 4, "")
            self.cell(46, 4, f"Order {line.order}")
            words = f"{line.service}, Zone {line.zone}, {line.weight_g} lb 0 oz, {sides} in"
            self.cell(0, 4, words, new_x="LMARGIN", new_y="NEXT")
            self.set_text_color(0)


def _label_receipts(path: Path, them: Sequence[Line]) -> None:
    """A label seller's monthly statement: a row a charge, a small second line under each label, sums at the end."""
    pdf = _ReceiptPages("P", "mm", "Letter")
    pdf.set_margins(16, 14, 16)
    pdf.set_auto_page_break(auto=False)
    pdf.set_draw_color(200)
    pdf.add_page()
    for parcel in parcels(them):
        if pdf.get_y() + 10 + 4.6 * len(parcel) > pdf.h - 18:
            pdf.add_page()
        for place, line in enumerate(parcel):
            pdf.charge(line, first=place == 0)
        pdf.line(pdf.l_margin, pdf.get_y() + 0.7, pdf.w - pdf.r_margin, pdf.get_y() + 0.7)
        pdf.ln(1.8)
    if pdf.get_y() > pdf.h - 46:
        pdf.add_page()
    pdf.ln(3)
    surcharges = total([line for line in them if line.charge != "freight"])
    for words, cents, style in (
        ("Shipping labels", total(them) - surcharges, ""),
        ("Surcharges and adjustments", surcharges, ""),
        ("Statement total", total(them), "B"),
        ("Charged to card ending 0142", total(them), ""),
    ):
        pdf.set_font("Helvetica", style, 10)
        pdf.cell(90, 6, "")
        pdf.cell(64, 6, words)
        pdf.cell(0, 6, f"${grouped(cents)}", align="R", new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(path))


LEFT: float = 18 * mm
STOPS: tuple[float, ...] = tuple(LEFT + at * mm for at in (0, 20, 58, 76, 92, 115, 121, 174))
"""Where the columns of the British account stand; those of weights and amounts are the right edges."""
ON_A_PAGE = 40


def _carried_forward(path: Path, them: Sequence[Line]) -> None:
    """A British mail collector's account: a row a charge, sums carried over the pages, credits with a minus behind."""
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    canvas.setTitle(f"Account {STATEMENT}")
    pages = [them[start : start + ON_A_PAGE] for start in range(0, len(them), ON_A_PAGE)]
    running = 0
    for number, page in enumerate(pages, 1):
        y = _account_head(canvas, number, len(pages))
        if number > 1:
            y = _account_row(canvas, y, ["", "", "", "", "", "", "Brought forward", _behind(running)], "Oblique")
        for line in page:
            facts = [f"{line.shipped_on:%d %b}", line.tracking, line.order, line.service, line.zone]
            y = _account_row(
                canvas, y, [*facts, kilos(line, 2), COLLECTIONS[line.charge], _behind(line.amount_cents)], ""
            )
        running += total(page)
        if number < len(pages):
            _account_row(canvas, y, ["", "", "", "", "", "", "Carried forward", _behind(running)], "Oblique")
        else:
            canvas.line(STOPS[6], y + 3.4 * mm, STOPS[7], y + 3.4 * mm)
            _account_row(canvas, y - 1 * mm, ["", "", "", "", "", "", "Total due", _behind(running)], "Bold")
            _advice(canvas, running)
        canvas.showPage()
    canvas.save()


def _account_head(canvas: Canvas, number: int, of: int) -> float:
    """The top and foot of a page; where its rows begin."""
    canvas.setFont("Helvetica-Bold", 15)
    canvas.drawString(LEFT, A4[1] - 20 * mm, "HARROWMERE MAIL COLLECTIONS")
    canvas.setFont("Helvetica", 9)
    canvas.drawRightString(STOPS[7], A4[1] - 20 * mm, f"Sheet {number} of {of}")
    pairs = (
        (SELLER, "Account statement no.", STATEMENT),
        ("The Old Dairy, Church Road", "Date", f"{STATEMENT_ON.day} {STATEMENT_ON:%b %Y}"),
        ("Nether Wexcombe", "Customer no.", "HMC 2290"),
        ("", "For items posted in", "March 2026"),
    )
    y: float = A4[1] - 29 * mm
    for left, name, fact in pairs:
        canvas.drawString(LEFT, y, left)
        canvas.drawString(STOPS[5] - 8 * mm, y, name)
        canvas.drawRightString(STOPS[7], y, fact)
        y -= 4.4 * mm
    y -= 3 * mm
    canvas.setFillGray(0.86)
    canvas.rect(LEFT - 1 * mm, y - 1.6 * mm, STOPS[7] - LEFT + 2 * mm, 6 * mm, stroke=0, fill=1)
    canvas.setFillGray(0)
    heads = ["Posted", "Item number", "Your ref", "Service", "Zone", "Wt (kg)", "Details", "£"]
    y = _account_row(canvas, y, heads, "Bold") - 4
    canvas.setFont("Helvetica", 7.5)
    canvas.drawCentredString(
        A4[0] / 2, 9 * mm, "Harrowmere Mail Collections, Unit 4, Tithe Barn Yard. Amounts are VAT exempt."
    )
    return y


def _account_row(canvas: Canvas, y: float, cells: Sequence[str], style: str) -> float:
    """Write a row; where the next one stands."""
    canvas.setFont(f"Helvetica-{style}" if style else "Helvetica", 8.5)
    for place, (stop, text) in enumerate(zip(STOPS, cells, strict=True)):
        (canvas.drawRightString if place in (5, 7) else canvas.drawString)(
            stop - (4 * mm if place == 5 else 0), y, text
        )
    below: float = y - 4.1 * mm
    return below


def _advice(canvas: Canvas, due: int) -> None:
    """The remittance advice at the foot of the last page."""
    canvas.setDash(3, 2)
    canvas.line(10 * mm, 40 * mm, A4[0] - 10 * mm, 40 * mm)
    canvas.setDash()
    canvas.setFont("Helvetica-Bold", 10)
    canvas.drawString(LEFT, 34 * mm, "REMITTANCE ADVICE")
    canvas.setFont("Helvetica", 9)
    for place, (name, fact) in enumerate(
        (("Customer no.", "HMC 2290"), ("Statement no.", STATEMENT), ("Amount payable", f"£{grouped(due)}"))
    ):
        canvas.drawString(LEFT, (29 - 5 * place) * mm, name)
        canvas.drawString(LEFT + 35 * mm, (29 - 5 * place) * mm, fact)
    canvas.drawString(STOPS[5], 29 * mm, "Please pay by 30 Apr 2026")


def _behind(cents: int) -> str:
    """-1234 → '12.34-'."""
    return f"{grouped(abs(cents))}{'-' if cents < 0 else ''}"


LAYOUTS: tuple[Layout, ...] = (
    Layout("ninth_ruled_invoice", _ruled_invoice, FIELDS),
    Layout("ninth_french_columns", _french_columns, FIELDS, metric=True),
    Layout("ninth_label_receipts", _label_receipts, FIELDS),
    Layout("ninth_carried_forward", _carried_forward, WITHOUT_SIZE, metric=True),
)
