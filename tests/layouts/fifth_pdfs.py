"""Six statements as PDFs, three ordinary and three awkward, made without a look at what is read."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from html import escape
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.fifth_tables import american, costs_of, dollars, place_of
from tests.layouts.fourth_pdfs import print_page
from tests.layouts.fourth_tables import ALL, SHOP, kilograms, plain, size, sum_of
from tests.layouts.pdf_layouts import Layout
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, total

SWISS = {
    "freight": "Beförderung",
    "fuel": "Treibstoffzuschlag",
    "residential": "Zuschlag Privatadresse",
    "additional handling": "Zuschlag manuelle Verarbeitung",
    "address correction": "Adresskorrektur",
}
RESELLER = {
    "freight": "Shipping",
    "fuel": "Fuel surcharge",
    "residential": "Residential delivery",
    "additional handling": "Non-standard handling",
    "address correction": "Address correction",
}
BASIN = {
    "freight": "Delivery\nCharge",
    "fuel": "Fuel\nSurcharge",
    "residential": "Residential\nSurcharge",
    "additional handling": "Additional\nHandling",
    "address correction": "Address\nCorrection",
}
MEXICAN = {
    "freight": "Flete",
    "fuel": "Cargo por combustible",
    "residential": "Entrega en domicilio particular",
    "additional handling": "Maniobras especiales",
    "address correction": "Corrección de domicilio",
}
TALLGRASS = {
    "freight": "Transport",
    "fuel": "Fuel surchg.",
    "residential": "Resid. dlvry.",
    "additional handling": "Addl. handling",
    "address correction": "Addr. correction",
}
ISLAND = {
    "freight": "carriage",
    "fuel": "fuel supplement",
    "residential": "house delivery",
    "additional handling": "special handling",
    "address correction": "address corrected",
}


def swiss_detail(path: Path, them: Sequence[Line]) -> None:
    """Ordinary: a Swiss carrier's detail of an invoice, a row a charge, apostrophes in thousands, tax after the sum."""

    def francs(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}{plain(cents).replace(',', '’')}"

    def frame(canvas: Canvas, document: SimpleDocTemplate) -> None:
        width, height = A4
        canvas.saveState()
        canvas.setFont("Helvetica-Bold", 12)
        canvas.drawString(8 * mm, height - 15 * mm, "Lauchmatt Paketdienst AG")
        canvas.setFont("Helvetica", 8)
        canvas.drawRightString(width - 8 * mm, height - 15 * mm, f"Beilage zur Rechnung {STATEMENT}")
        canvas.drawString(8 * mm, 10 * mm, "Lauchmatt Paketdienst AG, Industriestrasse 8, 4410 Oberlauch")
        canvas.drawRightString(width - 8 * mm, 10 * mm, f"Seite {document.page}")
        canvas.restoreState()

    head = [
        ["Rechnungsnummer", STATEMENT],
        ["Rechnungsdatum", f"{STATEMENT_ON:%d.%m.%Y}"],
        ["Kunde", SHOP],
        ["Leistungszeitraum", "01.03.2026 - 31.03.2026"],
        ["Währung", "CHF"],
    ]
    heading = ["Pos.", "Versand-\ndatum", "Sendungsnummer", "Auftrags-\nnummer", "Produkt", "Zone"]
    rows = [[*heading, "Gewicht\n(kg)", "L x B x H\n(cm)", "Leistung", "Betrag\n(CHF)"]]
    for number, line in enumerate(them, 1):
        rows.append(
            [
                str(number),
                f"{line.shipped_on:%d.%m.%y}",
                line.tracking,
                line.order,
                line.service,
                line.zone,
                kilograms(line),
                size(line, " x ", each=10),
                SWISS[line.charge],
                francs(line.amount_cents),
            ]
        )
    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), "Helvetica", 7.5),
        ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 7.5),
        ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor("#f3d9d9")),
        ("LINEBELOW", (0, 0), (-1, -1), 0.2, colors.lightgrey),
        ("ALIGN", (5, 0), (6, -1), "RIGHT"),
        ("ALIGN", (7, 0), (7, -1), "CENTER"),
        ("ALIGN", (9, 0), (9, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("TOPPADDING", (0, 1), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 1.5),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ]
    net = total(them)
    tax = round(net * 81 / 1000)
    sums = [
        ["Total exkl. MWST", francs(net)],
        ["MWST 8.1 %", francs(tax)],
        ["Total inkl. MWST CHF", francs(net + tax)],
    ]
    widths = [9, 15, 34, 16, 14, 10, 14, 25, 43, 17]
    styles = getSampleStyleSheet()
    story: list[Flowable] = [
        Paragraph("Sendungsdetails", styles["Heading2"]),
        Table(head, colWidths=[38 * mm, 60 * mm], hAlign="LEFT", style=[("FONT", (0, 0), (-1, -1), "Helvetica", 9)]),
        Spacer(1, 8),
        Table(rows, colWidths=[each * mm for each in widths], repeatRows=1, style=TableStyle(style)),
        Spacer(1, 8),
        KeepTogether(
            Table(
                sums,
                colWidths=[45 * mm, 28 * mm],
                hAlign="RIGHT",
                style=[
                    ("FONT", (0, 0), (-1, -1), "Helvetica", 9),
                    ("FONT", (0, 2), (-1, 2), "Helvetica-Bold", 9),
                    ("ALIGN", (1, 0), (1, -1), "RIGHT"),
                    ("LINEABOVE", (0, 2), (-1, 2), 0.6, colors.black),
                ],
            )
        ),
    ]
    document = SimpleDocTemplate(
        str(path),
        pagesize=A4,
        topMargin=20 * mm,
        bottomMargin=18 * mm,
        leftMargin=7 * mm,
        rightMargin=7 * mm,
        title="Sendungsdetails",
        invariant=1,
    )
    document.build(story, onFirstPage=frame, onLaterPages=frame)


def reseller_bill(path: Path, them: Sequence[Line]) -> None:
    """Ordinary: a British label reseller's backing sheet, a consignment's row with its first charge, others below."""

    def pounds(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}{plain(cents)}"

    bodies = []
    for parcel in parcels(them):
        first, rows = parcel[0], []
        lead = (
            f"{first.shipped_on:%d %b %Y}",
            first.tracking,
            first.order,
            first.service,
            first.zone,
            kilograms(first),
            size(first, " x ", each=10),
        )
        for place, line in enumerate(parcel):
            before = "".join(f"<td>{'' if place else cell}</td>" for cell in lead)
            cost = f"<td>{escape(RESELLER[line.charge])}</td><td class=n>{pounds(line.amount_cents)}</td>"
            rows.append(f"<tr>{before}{cost}</tr>")
        rows.append(f"<tr class=s><td colspan=8>Consignment total</td><td class=n>{pounds(total(parcel))}</td></tr>")
        bodies.append(f"<tbody>{''.join(rows)}</tbody>")
    heads = ("Date sent", "Consignment no.", "Your order", "Service", "Zone", "Charged<br>weight (kg)")
    shown = "".join(f"<th>{words}</th>" for words in (*heads, "Dimensions<br>(cm)", "Charge", "Net (£)"))
    net = total(them)
    vat = round(net / 5)
    print_page(
        f"""<!DOCTYPE html><html lang="en-GB"><head><meta charset="utf-8"><title>Backing sheet</title><style>
@page {{ size: A4; margin: 18mm 12mm 16mm;
  @top-left {{ content: "Dunnock & Rigg Despatch Ltd"; font: bold 10pt Arial, sans-serif; color: #1d3f72 }}
  @top-right {{ content: "Invoice {STATEMENT} - backing sheet"; font: 8pt Arial, sans-serif }}
  @bottom-left {{ content: "VAT reg. no. GB 000 4417 88"; font: 7.5pt Arial, sans-serif }}
  @bottom-right {{ content: "Page " counter(page) " of " counter(pages); font: 7.5pt Arial, sans-serif }} }}
body {{ font: 8pt Arial, sans-serif; margin: 0 }}
table {{ border-collapse: collapse }} .all {{ width: 100% }}
th {{ text-align: left; vertical-align: bottom; background: #dfe7f2; padding: 4px }}
td {{ padding: 2px 4px; white-space: nowrap }} .all th:last-child, .n {{ text-align: right }}
tbody {{ break-inside: avoid }} .s td {{ font-weight: bold; text-align: right; border-bottom: 0.5pt solid #999 }}
.sum {{ margin: 14px 0 0 auto; break-inside: avoid; font-size: 9.5pt }} .sum tr:last-child {{ font-weight: bold }}
</style></head><body>
<p>Invoice number: <b>{STATEMENT}</b><br>Invoice date: <b>{STATEMENT_ON:%d %B %Y}</b><br>Customer: {SHOP}<br>
Account: QUI-0031<br>Consignments sent in March 2026: {len(bodies)}</p>
<table class=all><thead><tr>{shown}</tr></thead>
{chr(10).join(bodies)}
</table>
<table class=sum><tr><td>Net total</td><td class=n>£{pounds(net)}</td></tr>
<tr><td>VAT at 20%</td><td class=n>£{pounds(vat)}</td></tr>
<tr><td>Invoice total</td><td class=n>£{pounds(net + vat)}</td></tr></table>
</body></html>""",
        path,
    )


class _BasinPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages with the carrier's and the customer's names above, the number of the page below."""

    def header(self) -> None:
        """Name, number and date of the invoice."""
        self.set_font("Helvetica", "B", 13)
        self.cell(150, 6, "Cottonwood Basin Parcel Co.")
        self.set_font("Helvetica", "", 9)
        self.cell(0, 6, f"Invoice Number: {STATEMENT}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.cell(150, 5, f"Bill to: {SHOP}")
        self.cell(
            0,
            5,
            f"Invoice Date: {STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}",
            align="R",
            new_x="LMARGIN",
            new_y="NEXT",
        )
        self.ln(4)

    def footer(self) -> None:
        """Whom to ask, and the number of the page."""
        self.set_y(-12)
        self.set_font("Helvetica", "", 8)
        self.cell(150, 4, "Billing questions: 555-0119, weekdays 8 a.m. to 5 p.m.")
        self.cell(0, 4, f"Page {self.page_no()} of {{nb}}", align="R")


def regional_invoice(path: Path, them: Sequence[Line]) -> None:
    """Ordinary: an American regional carrier, a row a package, a column a charge, sums by service after the total."""

    def amount(cents: int | None) -> str:
        return "-" if cents is None else f"{'-' if cents < 0 else ''}{plain(cents)}"

    heads = ("Ship\nDate", "Tracking\nNumber", "Order\nNumber", "Service", "Zone", "Weight\n(lbs)", "Dimensions\n(in)")
    columns = (*heads, *BASIN.values(), "Total")
    widths = (17, 38, 18, 16, 11, 14, 26, 20, 19, 21, 20, 20, 19.4)
    aligned = "LLLLCRCRRRRRR"
    pdf = _BasinPages("L", "mm", "Letter")
    pdf.set_margins(10, 12, 10)
    pdf.set_auto_page_break(auto=False)

    def row(cells: Sequence[str], *, bold: bool = False, deep: float = 5.6, edge: str = "", fill: bool = False) -> None:
        pdf.set_font("Helvetica", "B" if bold else "", 8)
        for cell, width, align in zip(cells, widths, aligned, strict=True):
            pdf.cell(width, deep, cell, align=align, border=edge, fill=fill)
        pdf.ln(deep)

    def start() -> None:
        pdf.add_page()
        pdf.set_fill_color(224, 232, 220)
        pdf.set_line_width(0.1)
        for part in (0, 1):
            # A name of one line stands on the lower one.
            parts = [words.split("\n") for words in columns]
            row([("", each[0])[part] if len(each) == 1 else each[part] for each in parts], bold=True, fill=True, deep=4)
        pdf.ln(1)

    start()
    for parcel in parcels(them):
        if pdf.get_y() > pdf.h - 22:
            start()
        first, costs = parcel[0], costs_of(parcel)
        lead = [f"{first.shipped_on:%m/%d/%y}", first.tracking, first.order, first.service, first.zone]
        lead += [str(first.weight_g), size(first, "x")]
        row([*lead, *(amount(costs.get(charge)) for charge in CHARGES), amount(total(parcel))], edge="B")
    if pdf.get_y() > pdf.h - 52:
        start()
    sums = [*(amount(sum_of(them, charge)) for charge in CHARGES), amount(total(them))]
    pdf.ln(1)
    row(["", "TOTAL", *[""] * 5, *sums], bold=True)
    pdf.ln(5)
    pdf.set_font("Helvetica", "B", 9)
    pdf.cell(0, 6, "Summary by service", new_x="LMARGIN", new_y="NEXT")
    for service in sorted({line.service for line in them}):
        mine = [line for line in them if line.service == service]
        pdf.set_font("Helvetica", "", 9)
        pdf.cell(40, 5, service)
        pdf.cell(35, 5, f"{len(parcels(mine))} packages")
        pdf.cell(30, 5, dollars(total(mine)), align="R", new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Helvetica", "B", 9)
    pdf.cell(40, 6, "Amount due")
    pdf.cell(35, 6, f"{len(parcels(them))} packages")
    pdf.cell(30, 6, dollars(total(them)), align="R", new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(path))


class _Account:
    """The pages of a statement with debits and credits apart, both carried from page to page."""

    left, right = 14 * mm, A4[1] - 14 * mm
    columns = (14, 36, 75, 95, 110, 131, 152, 167, 200)
    ends = (4, 5)

    def __init__(self, path: Path) -> None:
        self.canvas = Canvas(str(path), pagesize=(A4[1], A4[0]), invariant=1)
        self.canvas.setTitle("Estado de cuenta")
        self.debit = self.credit = 0
        self.start()

    def start(self) -> None:
        """What stands on every page; what has come to here from the second on."""
        canvas, height = self.canvas, A4[0]
        canvas.setFont("Times-Bold", 14)
        canvas.drawString(self.left, height - 16 * mm, "Mensajería Cerro Pinto, S.A. de C.V.")
        canvas.setFont("Times-Roman", 9)
        canvas.drawString(self.left, height - 21 * mm, f"Cliente: 03318  {SHOP}")
        day = f"{STATEMENT_ON.day} de abril de {STATEMENT_ON.year}"
        canvas.drawRightString(self.right, height - 16 * mm, f"Estado de cuenta núm. {STATEMENT}")
        canvas.drawRightString(self.right, height - 21 * mm, f"Fecha de corte: {day}     Hoja {canvas.getPageNumber()}")
        self.y = height - 30 * mm
        canvas.setFont("Times-Bold", 9)
        self.row(("Fecha", "Guía", "Pedido", "Serv.", "Peso", "Peso", "Tarifa", "Medidas", ""), "", "")
        self.row(("de envío", "", "", "", "en báscula", "cobrado", "zona", "l × a × h", "Concepto"), "Cargos", "Abonos")
        canvas.line(self.left, self.y + 2 * mm, self.right, self.y + 2 * mm)
        canvas.setFont("Times-Italic", 8)
        note = "Pesos en gramos y medidas en milímetros. Importes en pesos (M.N.) sin IVA. Conserve esta hoja."
        canvas.drawString(self.left, 9 * mm, note)
        canvas.setFont("Times-Roman", 9)
        self.y -= 2 * mm
        if canvas.getPageNumber() > 1:
            self.carried("Vienen de la hoja anterior")

    def row(self, words: Sequence[str], debit: str, credit: str) -> None:
        """One row: weights and amounts have their ends under one another."""
        for place, (x, word) in enumerate(zip(self.columns, words, strict=True)):
            draw = self.canvas.drawRightString if place in self.ends else self.canvas.drawString
            # The columns of weights begin where the numbers of `columns` say and are 16 mm wide.
            draw((x + 16 if place in self.ends else x) * mm, self.y, word)
        self.canvas.drawRightString(self.right - 25 * mm, self.y, debit)
        self.canvas.drawRightString(self.right, self.y, credit)
        self.y -= 4.5 * mm

    def carried(self, words: str) -> None:
        """What the debits and the credits have come to."""
        self.canvas.setFont("Times-Italic", 9)
        self.row(("", "", "", "", "", "", "", "", words), plain(self.debit), plain(self.credit))
        self.canvas.setFont("Times-Roman", 9)

    def room(self, deep: float) -> None:
        """A new page, unless so much fits on this one."""
        if self.y - deep < 20 * mm:
            self.carried("Van a la hoja siguiente")
            self.canvas.showPage()
            self.start()


def debits_and_credits(path: Path, them: Sequence[Line]) -> None:
    """Awkward: a Mexican messenger's account, debits and credits apart, units in a note, sums carried over pages.

    What the parcel is stands at its first charge only, the number of its waybill at each.
    """
    months = ("ene", "feb", "mar", "abr")
    pages = _Account(path)
    canvas = pages.canvas
    for parcel in parcels(them):
        pages.room(4.5 * mm * len(parcel))
        for place, line in enumerate(parcel):
            day = f"{line.shipped_on.day:02d}-{months[line.shipped_on.month - 1]}-{line.shipped_on:%y}"
            # The scale shows a little less than what is charged, which is rounded up.
            weights = (f"{line.weight_g - 7 * (place_of(line) % 6):,}", f"{line.weight_g:,}")
            facts = (line.order, line.service, *weights, line.zone, size(line, " × "))
            shown = (*([""] * 6 if place else facts), MEXICAN[line.charge])
            amount = plain(line.amount_cents)
            money = ("", amount) if line.amount_cents < 0 else (amount, "")
            pages.row(("" if place else day, line.tracking, *shown), *money)
            if line.amount_cents < 0:
                pages.credit -= line.amount_cents
            else:
                pages.debit += line.amount_cents
        pages.y -= 1 * mm
    pages.room(16 * mm)
    pages.y -= 2 * mm
    canvas.line(200 * mm, pages.y + 4 * mm, pages.right, pages.y + 4 * mm)
    canvas.setFont("Times-Bold", 9)
    blank = [""] * 8
    pages.row((*blank, "Sumas"), plain(pages.debit), plain(pages.credit))
    pages.row((*blank, "Saldo a su cargo"), plain(total(them)), "")
    canvas.save()


class _Columns:
    """Pages of two columns: where the next line goes."""

    wide = 3.35 * inch
    starts = (0.75 * inch, 4.4 * inch)
    deep = 11

    def __init__(self, path: Path) -> None:
        self.canvas = Canvas(str(path), pagesize=LETTER, invariant=1)
        self.canvas.setTitle("Member statement")
        self.column = 0
        self.start()

    @property
    def x(self) -> float:
        """Where the column begins."""
        return float(self.starts[self.column])

    def start(self) -> None:
        """What stands on every page."""
        canvas, (width, height) = self.canvas, LETTER
        right = self.starts[1] + self.wide
        canvas.setFont("Helvetica-Bold", 12)
        canvas.drawString(self.starts[0], height - 0.6 * inch, "TALLGRASS DELIVERY COOPERATIVE")
        canvas.setFont("Helvetica", 8.5)
        canvas.drawRightString(right, height - 0.6 * inch, f"Member statement no. {STATEMENT}")
        canvas.drawString(self.starts[0], height - 0.77 * inch, f"Member 212: {SHOP}")
        words = f"Statement date {american(STATEMENT_ON)}"
        canvas.drawRightString(right, height - 0.77 * inch, words)
        canvas.line(self.starts[0], height - 0.86 * inch, right, height - 0.86 * inch)
        canvas.setLineWidth(0.3)
        canvas.line(width / 2, height - 1.0 * inch, width / 2, 0.85 * inch)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawCentredString(width / 2, 0.5 * inch, f"Page {canvas.getPageNumber()}")
        self.y, self.column = height - 1.12 * inch, 0

    def room(self, lines: int) -> None:
        """The next column or page, unless so many lines fit under this one."""
        if self.y - self.deep * lines > 0.85 * inch:
            return
        if self.column == 0:
            self.y, self.column = LETTER[1] - 1.12 * inch, 1
        else:
            self.canvas.showPage()
            self.start()

    def line(self, words: str, end: str = "", *, bold: bool = False, indent: float = 0) -> None:
        """A line of the column: words, and what stands at its right edge."""
        self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", 8.5)
        self.canvas.drawString(self.x + indent, self.y, words)
        self.canvas.drawRightString(self.x + self.wide, self.y, end)
        self.y -= self.deep


def two_columns(path: Path, them: Sequence[Line]) -> None:
    """Awkward: an American cooperative's print in two columns a page, a block a package, a recap by charge at the end.

    Sizes are told with "by"; a credit has CR behind it.
    """

    def amount(cents: int) -> str:
        return f"{plain(cents)}{' CR' if cents < 0 else ''}"

    pages = _Columns(path)
    for parcel in parcels(them):
        pages.room(len(parcel) + 4)
        first = parcel[0]
        pages.line(f"Pkg. {first.tracking}", f"Shipped {american(first.shipped_on)}", bold=True)
        pages.line(f"Order {first.order}", f"{first.service}, zone {first.zone}")
        pages.line(f"Billed weight {first.weight_g} lbs.", f"Billed size {size(first, ' by ')} in.")
        for line in parcel:
            pages.line(TALLGRASS[line.charge], amount(line.amount_cents), indent=14)
        pages.line("Package total", amount(total(parcel)), indent=14)
        pages.y -= 0.7 * pages.deep
    pages.room(len(CHARGES) + 4)
    pages.canvas.line(pages.x, pages.y + pages.deep, pages.x + pages.wide, pages.y + pages.deep)
    pages.line("RECAP OF CHARGES", "US dollars", bold=True)
    for charge in CHARGES:
        count = sum(line.charge == charge for line in them)
        pages.line(f"{TALLGRASS[charge]} ({count})", amount(sum_of(them, charge)))
    pages.line(f"TOTAL DUE, {len(parcels(them))} packages", f"${amount(total(them))}", bold=True)
    pages.canvas.save()


def _ordinal(number: int) -> str:
    ending = "th" if 10 < number < 14 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def island_freight(path: Path, them: Sequence[Line]) -> None:
    """Awkward: a Scottish island haulier's letter, each parcel two lines of words, its charges in a sentence.

    Parcels are told cage by cage with the cage's sum; the total is in the letter.
    """

    def pounds(cents: int) -> str:
        return f"{'−' if cents < 0 else ''}£{plain(cents)}"

    each = parcels(them)
    cages = []
    for number, start in enumerate(range(0, len(each), 10), 1):
        cage = each[start : start + 10]
        items = []
        for parcel in cage:
            first = parcel[0]
            sent = f"{_ordinal(first.shipped_on.day)} {first.shipped_on:%B %Y}"
            kilos = f"{(Decimal(first.weight_g) / 1000).normalize():f}"
            told = ", ".join(f"{ISLAND[line.charge]} {pounds(line.amount_cents)}" for line in parcel)
            items.append(
                f"<li><b>{first.tracking}</b>, your order {first.order}, sent {sent}, {first.service}, "
                f"zone {first.zone}, {kilos} kg, {size(first, ' by ', each=10)} cm<br>"
                f"{told}. <span>Together {pounds(total(parcel))}</span></li>"
            )
        cages.append(
            f"<h3>Cage {number}</h3><ol start={start + 1}>{chr(10).join(items)}</ol>"
            f"<p class=s>Cage {number}, {len(cage)} parcels: {pounds(sum(total(parcel) for parcel in cage))}</p>"
        )
    print_page(
        f"""<!DOCTYPE html><html lang="en-GB"><head><meta charset="utf-8"><title>Account</title><style>
@page {{ size: A4; margin: 20mm 20mm 18mm;
  @bottom-left {{ content: "Fulmar Sound Island Freight, The Pier, Skerravoe"; font: italic 8pt Georgia, serif }}
  @bottom-right {{ content: "Account {STATEMENT}, page " counter(page); font: italic 8pt Georgia, serif }} }}
body {{ font: 9.5pt/1.35 Georgia, serif; margin: 0 }}
h1 {{ font-size: 17pt; margin: 0 }} h3 {{ margin: 14px 0 4px; break-after: avoid }}
li {{ margin-bottom: 5px; break-inside: avoid }} .s {{ text-align: right; font-weight: bold; margin: 2px 0 }}
ol {{ margin: 0; padding-left: 26px }} .r {{ text-align: right }}
</style></head><body>
<h1>Fulmar Sound Island Freight</h1>
<p class=r>{_ordinal(STATEMENT_ON.day)} {STATEMENT_ON:%B %Y}<br>Account no. {STATEMENT}</p>
<p>Messrs {SHOP}</p>
<p>We enclose our account for the {len(each)} parcels that we carried for you in March, in {len(cages)} cages. It comes
to <b>{pounds(total(them))}</b>, no VAT being due on carriage to the isles. Kindly settle within a month.</p>
<p>A minus sign before a figure is money back to you. Weights and sizes are those we charged by.</p>
{chr(10).join(cages)}
<p>With thanks for your custom,<br>M. Isbister, accounts</p>
</body></html>""",
        path,
    )


LAYOUTS: tuple[Layout, ...] = (
    Layout("fifth_swiss_detail", swiss_detail, ALL, metric=True),
    Layout("fifth_reseller_bill", reseller_bill, ALL, browser=True, metric=True),
    Layout("fifth_regional_invoice", regional_invoice, ALL),
    Layout("fifth_debits_and_credits", debits_and_credits, ALL, metric=True),
    Layout("fifth_two_columns", two_columns, ALL),
    Layout("fifth_island_freight", island_freight, ALL, browser=True, metric=True),
)
