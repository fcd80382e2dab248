"""Six statements as PDFs, made like prints that nobody wrote for a machine, without a look at what is read."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from decimal import Decimal
from html import escape
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, PageBreak, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.fourth_tables import ALL, SHOP, kilograms, plain, size, spaced, sum_of
from tests.layouts.pdf_layouts import Layout
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, total

NATIONAL = {
    "freight": "Base\nTransp.",
    "fuel": "Fuel\nSchg.",
    "residential": "Resid.\nDeliv.",
    "additional handling": "Add'l\nHandlg.",
    "address correction": "Addr.\nCorr.",
}
NATIONAL_IN_FULL = {
    "freight": "Base transportation",
    "fuel": "Fuel surcharge",
    "residential": "Residential delivery",
    "additional handling": "Additional handling",
    "address correction": "Address correction",
}
SOUTH_AFRICAN = {
    "freight": "ROAD FREIGHT",
    "fuel": "FUEL LEVY",
    "residential": "RESIDENTIAL AREA SURCH",
    "additional handling": "NON-CONVEYABLE HANDLING",
    "address correction": "WAYBILL ADDRESS AMENDED",
}
POLISH = {
    "freight": "Opłata przewozowa",
    "fuel": "Dopłata paliwowa",
    "residential": "Doręczenie na adres prywatny",
    "additional handling": "Obsługa niestandardowa",
    "address correction": "Korekta adresu",
}
CODES = {
    "freight": ("CAR", "carriage"),
    "fuel": ("FSU", "fuel supplement"),
    "residential": ("HOM", "private household"),
    "additional handling": ("MAN", "two-man or manual handling"),
    "address correction": ("ADD", "address query and correction"),
}
REGIONAL = {
    "freight": "Linehaul & delivery",
    "fuel": "Fuel",
    "residential": "Residential stop",
    "additional handling": "Oversize / odd-shape handling",
    "address correction": "Corrected address",
}
PORTUGUESE = {
    "freight": "Porte",
    "fuel": "Sobretaxa de combustível",
    "residential": "Entrega em residência",
    "additional handling": "Manuseamento especial",
    "address correction": "Retificação de morada",
}


def _batches(them: Sequence[Line], count: int) -> Iterator[list[list[Line]]]:
    """So many parcels at a time."""
    each = parcels(them)
    for start in range(0, len(each), count):
        yield each[start : start + count]


def _minus(cents: int) -> str:
    return f"{'-' if cents < 0 else ''}{plain(cents)}"


def national_invoice(path: Path, them: Sequence[Line]) -> None:
    """An American national carrier: a cover with the account's balance, then two lines a parcel, a sum a page.

    A parcel's second line has the customer's reference and the size; the year of the days stands in the page's head.
    """

    def frame(canvas: Canvas, document: SimpleDocTemplate) -> None:
        width, height = landscape(LETTER)
        canvas.saveState()
        canvas.setFont("Helvetica-Bold", 12)
        canvas.drawString(0.6 * inch, height - 0.5 * inch, "Overland Meridian Parcel Service")
        canvas.setFont("Helvetica", 8)
        for place, words in enumerate(
            (
                f"Invoice number {STATEMENT}",
                f"Invoice date {STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}",
                "Billing period 03/01/2026 - 03/31/2026",
            )
        ):
            canvas.drawRightString(width - 0.6 * inch, height - (0.42 + 0.14 * place) * inch, words)
        canvas.drawString(0.6 * inch, 0.42 * inch, "Remit to: P.O. Box 5510, Cedar Hollow")
        canvas.drawRightString(width - 0.6 * inch, 0.42 * inch, f"Account 0091-7734   Page {document.page}")
        canvas.restoreState()

    previous = 341_208
    ruled: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), "Helvetica", 9),
        ("ALIGN", (1, 0), (-1, -1), "RIGHT"),
        ("LINEABOVE", (0, -1), (-1, -1), 0.8, colors.black),
        ("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 9),
    ]
    balance = [
        ["Previous balance", f"${plain(previous)}"],
        ["Payment received 03/12/2026, thank you", f"-${plain(previous)}"],
        ["New charges, this invoice", f"${plain(total(them))}"],
        ["Amount due by 04/17/2026", f"${plain(total(them))}"],
    ]
    kinds = [["Charges by type", "Count", "Amount"]]
    for charge, words in NATIONAL_IN_FULL.items():
        count = sum(line.charge == charge for line in them)
        kinds.append([words, str(count), f"${plain(sum_of(them, charge))}"])
    kinds.append(["Total new charges", str(len(them)), f"${plain(total(them))}"])
    styles = getSampleStyleSheet()
    story: list[Flowable] = [
        Paragraph("Account summary", styles["Heading2"]),
        Paragraph(f"Billed to: {SHOP}", styles["BodyText"]),
        Spacer(1, 8),
        Table(balance, colWidths=[3.2 * inch, 1.3 * inch], hAlign="LEFT", style=TableStyle(ruled)),
        Spacer(1, 18),
        Table(
            kinds,
            colWidths=[2.4 * inch, 0.8 * inch, 1.3 * inch],
            hAlign="LEFT",
            style=TableStyle([*ruled, ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 9)]),
        ),
        Spacer(1, 18),
        Paragraph(
            "Dispute a charge within 60 days of the invoice date. A minus sign before an amount means a credit.",
            styles["BodyText"],
        ),
    ]

    heading = ["Ship\nDate", "Tracking No. /\nYour Reference", "Svc", "Dest\nZone", "Billed\nWt, lb"]
    heading += [*NATIONAL.values(), "Package\nTotal"]
    widths = [0.55, 1.85, 0.65, 0.5, 0.6, *[0.9] * 5, 0.95]
    done: list[Line] = []
    for batch in _batches(them, 12):
        rows = [heading]
        style: list[tuple[object, ...]] = [
            ("FONT", (0, 0), (-1, -1), "Helvetica", 8),
            ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 8),
            ("ALIGN", (3, 0), (-1, -1), "RIGHT"),
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
            ("TOPPADDING", (0, 1), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 1), (-1, -1), 1),
        ]
        for parcel in batch:
            first, costs = parcel[0], {line.charge: line.amount_cents for line in parcel}
            amounts = [_minus(costs[charge]) if charge in costs else "" for charge in CHARGES]
            lead = [f"{first.shipped_on:%m/%d}", first.tracking, first.service, first.zone, str(first.weight_g)]
            rows.append([*lead, *amounts, _minus(total(parcel))])
            style.append(("TEXTCOLOR", (0, len(rows)), (-1, len(rows)), colors.HexColor("#444444")))
            style.append(("LINEBELOW", (0, len(rows)), (-1, len(rows)), 0.2, colors.lightgrey))
            words = f"Ref {first.order}     Billed dims {size(first, ' x ')} in"
            rows.append(["", words, *[""] * 9])
        page = [line for parcel in batch for line in parcel]
        sums = [_minus(sum_of(page, charge)) for charge in CHARGES]
        rows.append(["", "Page total", "", "", "", *sums, _minus(total(page))])
        done += page
        if len(done) == len(them):
            sums = [_minus(sum_of(them, charge)) for charge in CHARGES]
            rows.append(["", "Total, all pages", "", "", "", *sums, _minus(total(them))])
            style.append(("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 8))
        style.append(("LINEABOVE", (0, 1 + 2 * len(batch)), (-1, 1 + 2 * len(batch)), 0.8, colors.black))
        table = Table(rows, colWidths=[width * inch for width in widths], style=TableStyle(style))
        story += [PageBreak(), Paragraph("Package detail", styles["Heading3"]), table]
    document = SimpleDocTemplate(
        str(path),
        pagesize=landscape(LETTER),
        topMargin=0.8 * inch,
        bottomMargin=0.65 * inch,
        leftMargin=0.6 * inch,
        rightMargin=0.6 * inch,
        title="Invoice",
        invariant=1,
    )
    document.build(story, onFirstPage=frame, onLaterPages=frame)


class _ListingPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages of a line printer: everything in one fixed pitch, 92 letters across."""

    rule = "-" * 92

    def header(self) -> None:
        """Name, number and date of the statement, and the columns' names."""
        self.set_font("Courier", "", 9)
        number = f"STATEMENT NO {STATEMENT}"
        place = f"DATE {STATEMENT_ON:%Y/%m/%d}   PAGE {self.page_no()}"
        self.row(f"{'DRAKENVLEI CLEARING & FORWARDING (PTY) LTD':<56}{number:>36}")
        self.row(f"{f'ACC QUI004  {SHOP.upper()}':<56}{place:>36}")
        self.row(self.rule)
        self.row("WAYBILL             COLLECTED   YOUR REF   SERVICE   ZONE  CHG MASS   DIMS L*W*H")
        self.row(f"{'     DETAIL OF CHARGE':<70}{'RAND ':>22}")
        self.row(self.rule)

    def row(self, words: str) -> None:
        """One line of the listing."""
        self.cell(0, 4.4, words, new_x="LMARGIN", new_y="NEXT")


def waybill_listing(path: Path, them: Sequence[Line]) -> None:
    """A South African forwarder's listing in fixed pitch: charges under each waybill, balances carried over pages."""

    def rand(cents: int) -> str:
        return f"{plain(cents).replace(',', ' ')}{'-' if cents < 0 else ' '}"

    pdf = _ListingPages("P", "mm", "A4")
    pdf.set_margins(17, 15, 17)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()

    def sum_row(words: str, cents: int) -> None:
        pdf.row(f"{words:>70}{rand(cents):>22}")

    done: list[Line] = []
    for parcel in parcels(them):
        if pdf.get_y() > pdf.h - 24 - 4.4 * len(parcel):
            pdf.row(pdf.rule)
            sum_row("BALANCE C/F", total(done))
            pdf.add_page()
            sum_row("BALANCE B/F", total(done))
        first = parcel[0]
        mass, dims = f"{kilograms(first)} KG", f"{size(first, '*', each=10)} CM"
        sent = f"{first.shipped_on:%Y/%m/%d}"
        pdf.row(
            f"{first.tracking:<20}{sent:<12}{first.order:<11}{first.service:<10}{first.zone:<6}{mass:>8}   {dims:<18}"
        )
        for line in parcel:
            pdf.row(f"     {SOUTH_AFRICAN[line.charge]:<65}{rand(line.amount_cents):>22}")
        done += parcel
    if pdf.get_y() > pdf.h - 50:
        pdf.add_page()
    pdf.row(pdf.rule)
    sum_row(f"TOTAL {len(parcels(them))} WAYBILLS  ZAR", total(them))
    pdf.row("=" * 92)
    pdf.row("")
    pdf.row("VAT NOT INCLUDED. A MINUS BEHIND AN AMOUNT IS A CREDIT. CHG MASS IS THE GREATER OF GROSS")
    pdf.row("AND VOLUMETRIC MASS. E&OE. GOODS CARRIED SUBJECT TO OUR STANDARD TRADING CONDITIONS.")
    pdf.output(str(path))


def print_page(html: str, path: Path) -> None:
    """Print a page with Chromium, as a browser's user would."""
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "statement.html"
        page.write_text(html, encoding="utf-8")
        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", f"--user-data-dir={folder}/u"]
        command = [shutil.which("chromium") or "chromium", *flags, f"--print-to-pdf={path.absolute()}", page.as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=120)


def courier_bands(path: Path, them: Sequence[Line]) -> None:
    """A Polish courier: a band across the table for each parcel, its facts in words, its charges numbered below.

    The sum stands above in a sentence and below by kinds of charge, with how often each was made.
    """

    def zloty(cents: int) -> str:
        return f"{spaced(cents).replace(' ', '&nbsp;')}&nbsp;zł"

    bands = []
    for parcel in parcels(them):
        first = parcel[0]
        facts = (
            f"usługa {first.service}",
            f"strefa {first.zone}",
            f"masa rozliczeniowa {kilograms(first).replace('.', ',')} kg",
            f"wymiary {size(first, ' × ', each=10)} cm",
        )
        bands.append(
            f"<tbody><tr class=b><td colspan=3><b>Przesyłka {first.tracking}</b>, "
            f"nadana {first.shipped_on:%d.%m.%Y} r., zamówienie {first.order}<br>{', '.join(facts)}</td></tr>"
        )
        for place, line in enumerate(parcel, 1):
            words = escape(POLISH[line.charge])
            bands.append(f"<tr><td>{place}.</td><td>{words}</td><td class=n>{zloty(line.amount_cents)}</td></tr>")
        bands.append("</tbody>")
    kinds = "".join(
        f"<tr><td>{escape(words)}</td><td class=n>{sum(line.charge == charge for line in them)}</td>"
        f"<td class=n>{zloty(sum_of(them, charge))}</td></tr>"
        for charge, words in POLISH.items()
    )
    print_page(
        f"""<!DOCTYPE html><html lang="pl"><head><meta charset="utf-8"><title>Specyfikacja</title><style>
@page {{ size: A4; margin: 20mm 18mm 18mm;
  @top-left {{ content: "Jodłowa Grań Przesyłki sp. z o.o."; font: 9pt sans-serif }}
  @top-right {{ content: "Specyfikacja nr {STATEMENT}"; font: 9pt sans-serif }}
  @bottom-center {{ content: "strona " counter(page) " / " counter(pages); font: 8pt sans-serif }} }}
body {{ font: 9.5pt sans-serif; margin: 0 }}
table {{ border-collapse: collapse; width: 100% }}
th {{ text-align: left; border-bottom: 1px solid #333 }} th, td {{ padding: 2px 6px }}
.n {{ text-align: right }} .b td {{ background: #f0ead8; padding: 4px 6px; break-after: avoid }}
tbody, .k {{ break-inside: avoid }} .t td {{ border-top: 1px solid #333; font-weight: bold }}
</style></head><body>
<h2>Specyfikacja przesyłek do faktury</h2>
<p>Numer faktury: {STATEMENT}<br>Data wystawienia: {STATEMENT_ON:%d.%m.%Y} r.<br>Nabywca: {SHOP}</p>
<p>Za {len(parcels(them))} przesyłek nadanych w marcu 2026 r. naliczono łącznie <b>{zloty(total(them))}</b> netto.</p>
<table><thead><tr><th>Lp.</th><th>Opłata</th><th class=n>Kwota netto</th></tr></thead>
{chr(10).join(bands)}
</table>
<div class=k><h3>Podsumowanie według opłat</h3>
<table><thead><tr><th>Opłata</th><th class=n>Liczba</th><th class=n>Razem netto</th></tr></thead><tbody>{kinds}
<tr class=t><td>Ogółem</td><td class=n>{len(them)}</td><td class=n>{zloty(total(them))}</td></tr></tbody></table></div>
<p>Do kwot netto doliczany jest podatek VAT 23% (na fakturze).</p>
</body></html>""",
        path,
    )


class _Schedule:
    """The sheets of a schedule of charges: where the next row goes, and what stands on each sheet."""

    left, right = 15 * mm, A4[0] - 15 * mm
    columns = (15, 37, 76, 93, 109, 131, 146, 154, 163, 171)

    def __init__(self, path: Path) -> None:
        self.canvas = Canvas(str(path), pagesize=A4, invariant=1)
        self.canvas.setTitle("Despatch charges")
        self.start()

    def start(self) -> None:
        """What stands on each sheet, the columns' names and the codes among it."""
        canvas, height = self.canvas, A4[1]
        canvas.setFont("Helvetica-Bold", 13)
        canvas.drawString(self.left, height - 17 * mm, "Tallow Street Fulfilment")
        canvas.setFont("Helvetica", 8.5)
        canvas.drawRightString(self.right, height - 14 * mm, f"Charge schedule {STATEMENT}")
        canvas.drawRightString(self.right, height - 18 * mm, f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}")
        canvas.drawString(self.left, height - 23 * mm, f"Client: {SHOP}")
        words = "Despatches of March 2026, ex VAT, pounds sterling. Sizes in mm."
        canvas.drawString(self.left, height - 27 * mm, words)
        names = ("Out", "Consignment", "Order", "Service", "Band", "Grams", "L", "W", "H", "Code")
        self.y = height - 35 * mm
        canvas.setFont("Helvetica-Bold", 8)
        self.row(names, "Amount £")
        canvas.line(self.left, height - 36.5 * mm, self.right, height - 36.5 * mm)
        legend = ",  ".join(f"{code} {words}" for code, words in CODES.values())
        canvas.setFont("Helvetica-Oblique", 7.5)
        canvas.drawString(self.left, 14 * mm, f"Codes:  {legend}")
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(self.left, 10 * mm, "CR after an amount: credited. Band: delivery band of our tariff.")
        canvas.drawRightString(self.right, 10 * mm, f"Sheet {canvas.getPageNumber()}")
        canvas.setFont("Helvetica", 8)
        self.y = height - 41 * mm

    def room(self, deep: float) -> None:
        """A new sheet, unless so much fits on this one."""
        if self.y - deep < 20 * mm:
            self.canvas.showPage()
            self.start()

    def row(self, words: Sequence[str], amount: str) -> None:
        """One row: numbers have their ends under one another, words their beginnings."""
        for place, (x, word) in enumerate(zip(self.columns, words, strict=True)):
            draw = self.canvas.drawRightString if 4 < place < 9 else self.canvas.drawString
            draw(x * mm, self.y, word)
        self.canvas.drawRightString(self.right, self.y, amount)
        self.y -= 4.3 * mm


def coded_charges(path: Path, them: Sequence[Line]) -> None:
    """A British fulfilment house: a row a charge by a code of three letters, explained at each sheet's foot.

    Weights are in grams and sizes in millimetres, as its sorter measures; the total is a sentence after the rows.
    """

    def pounds(cents: int) -> str:
        return f"{plain(cents)}CR" if cents < 0 else plain(cents)

    sheets = _Schedule(path)
    canvas = sheets.canvas
    for number, batch in enumerate(_batches(them, 15), 1):
        for parcel in batch:
            sheets.room(4.3 * mm * len(parcel))
            for line in parcel:
                row = [f"{line.shipped_on:%a %d/%m/%y}", line.tracking, line.order, line.service, line.zone]
                row += [str(line.weight_g), *map(str, line.sides_mm), CODES[line.charge][0]]
                sheets.row(row, pounds(line.amount_cents))
        sheets.room(4 * mm)
        canvas.setFont("Helvetica-Bold", 8)
        canvas.drawString(37 * mm, sheets.y, f"Trailer {number}: {len(batch)} consignments")
        canvas.drawRightString(sheets.right, sheets.y, pounds(sum(total(parcel) for parcel in batch)))
        canvas.setFont("Helvetica", 8)
        sheets.y -= 7 * mm
    sheets.room(16 * mm)
    canvas.setFont("Helvetica-Bold", 9)
    told = f"The {len(parcels(them))} consignments on this schedule come to £{plain(total(them))}."
    canvas.drawString(sheets.left, sheets.y - 3 * mm, told)
    canvas.setFont("Helvetica", 8)
    words = "This is not a VAT invoice. Your invoice follows by post."
    canvas.drawString(sheets.left, sheets.y - 8 * mm, words)
    canvas.save()


class _SlipPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages with the carrier's name above and what the charges have come to below."""

    so_far = 0

    def header(self) -> None:
        """The carrier's name and the number of the page."""
        self.set_font("Helvetica", "B", 11)
        self.cell(120, 6, "BLUESTEM VALLEY DELIVERY, INC.")
        self.set_font("Helvetica", "", 9)
        self.cell(0, 6, f"Page {self.page_no()} of {{nb}}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.line(self.l_margin, self.get_y() + 1, self.w - self.r_margin, self.get_y() + 1)
        self.ln(4)

    def footer(self) -> None:
        """The charges up to here."""
        self.set_y(-14)
        self.set_font("Helvetica", "I", 8)
        self.cell(90, 4, f"Statement {STATEMENT} of {STATEMENT_ON:%d-%b-%Y}")
        self.cell(0, 4, f"Charges through this page: ${plain(self.so_far)}", align="R")


def shipment_slips(path: Path, them: Sequence[Line]) -> None:
    """An American regional carrier: a slip a shipment of names and values, sizes with inch marks, the sum in front."""

    def dollars(cents: int) -> str:
        return f"${plain(cents)}{' CR' if cents < 0 else ''}"

    count = len(parcels(them))
    pdf = _SlipPages("P", "mm", "Letter")
    pdf.set_margins(20, 14, 20)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()
    pdf.set_font("Helvetica", "B", 15)
    pdf.cell(0, 9, "Customer Statement", new_x="LMARGIN", new_y="NEXT")
    for name, value in (
        ("Statement number", STATEMENT),
        ("Statement date", f"{STATEMENT_ON:%A, %B} {STATEMENT_ON.day}, {STATEMENT_ON.year}"),
        ("Customer", SHOP),
        ("Sales rep", "D. Okafor"),
        ("Shipments on this statement", str(count)),
        ("Amount due", dollars(total(them))),
        ("Terms", "Net 10"),
    ):
        pdf.set_font("Helvetica", "", 10)
        pdf.cell(58, 5.2, name)
        pdf.set_font("Helvetica", "B", 10)
        pdf.cell(0, 5.2, value, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(5)

    def pair(name: str, value: str, *, last: bool) -> None:
        pdf.set_font("Helvetica", "", 8)
        pdf.set_text_color(100)
        pdf.cell(26, 4.4, name)
        pdf.set_text_color(0)
        pdf.set_font("Helvetica", "", 9)
        pdf.cell(62, 4.4, value)
        if last:
            pdf.ln(4.4)

    for number, parcel in enumerate(parcels(them), 1):
        if pdf.get_y() + 26 + 4.6 * len(parcel) > pdf.h - 18:
            pdf.add_page()
        first = parcel[0]
        pdf.set_fill_color(226, 234, 240)
        pdf.set_font("Helvetica", "B", 9.5)
        pdf.cell(88, 5.4, f"Shipment {number} of {count}", fill=True)
        pdf.cell(0, 5.4, f"PRO {first.tracking}", fill=True, align="R", new_x="LMARGIN", new_y="NEXT")
        shipped = f"{first.shipped_on:%A, %b} {first.shipped_on.day}, {first.shipped_on.year}"
        pair("Picked up", shipped, last=False)
        pair("Your order", first.order, last=True)
        pair("Service", first.service, last=False)
        pair("Delivery zone", first.zone, last=True)
        pair("Rated weight", f"{first.weight_g} lbs.", last=False)
        pair("Rated size", '" x '.join(map(str, first.sides_mm)) + '"', last=True)
        pair("Terminal", ("Salina", "Abilene", "Emporia")[number % 3], last=False)
        pair("Signed by", ("J. Ortiz", "left at door", "front desk", "M. Bell")[number * 3 % 4], last=True)
        for line in parcel:
            pdf.set_font("Helvetica", "", 9)
            pdf.cell(26, 4.6)
            pdf.cell(110, 4.6, REGIONAL[line.charge])
            pdf.cell(0, 4.6, dollars(line.amount_cents), align="R", new_x="LMARGIN", new_y="NEXT")
        pdf.so_far += total(parcel)
        pdf.ln(3.5)
    pdf.set_font("Helvetica", "B", 11)
    pdf.cell(136, 8, "TOTAL CHARGES", border="T")
    pdf.cell(0, 8, dollars(total(them)), border="T", align="R", new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(path))


def merged_cells(path: Path, them: Sequence[Line]) -> None:
    """A Portuguese haulier: a parcel's cells in the middle of the rows of its charges, sums by service at the end."""

    def weight(line: Line) -> str:
        return f"{Decimal(line.weight_g) / 1000:.3f}".replace(".", ",")

    names = ["Guia n.º", "Data de<br>expedição", "V/ enco-<br>menda", "Serviço", "Zona", "Peso taxado<br>(kg)"]
    names += ["Medidas (cm)<br>C × L × A", "Rubrica", "Valor<br>(EUR)", "Total da<br>guia (EUR)"]
    months = ("jan", "fev", "mar", "abr")
    bodies = []
    for parcel in parcels(them):
        first, down = parcel[0], f"rowspan={len(parcel)}"
        day = first.shipped_on
        lead = (
            first.tracking,
            f"{day.day:02d}/{months[day.month - 1]}/{day.year}",
            first.order,
            first.service,
            first.zone,
            weight(first),
            size(first, " × ", each=10),
        )
        rows = []
        for place, line in enumerate(parcel):
            before = "" if place else "".join(f"<td {down}>{cell}</td>" for cell in lead)
            after = "" if place else f"<td class=n {down}>{comma(total(parcel))}</td>"
            cost = f"<td>{escape(PORTUGUESE[line.charge])}</td><td class=n>{comma(line.amount_cents)}</td>"
            rows.append(f"<tr>{before}{cost}{after}</tr>")
        bodies.append(f"<tbody>{''.join(rows)}</tbody>")
    services = sorted({line.service for line in them})
    sums = []
    for service in services:
        mine = [line for line in them if line.service == service]
        sums.append(
            f"<tr><td>{service}</td><td class=n>{len(parcels(mine))}</td><td class=n>{comma(total(mine))}</td></tr>"
        )
    print_page(
        f"""<!DOCTYPE html><html lang="pt"><head><meta charset="utf-8"><title>Extrato</title><style>
@page {{ size: A4 landscape; margin: 20mm 14mm 16mm;
  @top-left {{ content: "Transportes Alvorada Serrana, Lda."; font: bold 10pt serif }}
  @top-right {{ content: "Extrato n.º {STATEMENT}, {STATEMENT_ON:%d-%m-%Y}"; font: 9pt serif }}
  @bottom-right {{ content: "Pág. " counter(page); font: 8pt serif }}
  @bottom-left {{ content: "Capital social 50.000,00 EUR. Processado por computador."; font: 8pt serif }} }}
body {{ font: 9pt serif; margin: 0 }}
table {{ border-collapse: collapse }} .all {{ width: 100% }}
th, td {{ border: 0.5pt solid #555; padding: 2px 5px }} th {{ background: #e3ecf2; font-weight: bold }}
.n {{ text-align: right; white-space: nowrap }} tbody {{ break-inside: avoid }}
.t td {{ font-weight: bold }}
</style></head><body>
<p>Exmos. Senhores<br><b>{SHOP}</b></p>
<p>Junto enviamos o extrato dos portes do mês de março de 2026. Valores sem IVA.</p>
<table class=all><thead><tr>{"".join(f"<th>{name}</th>" for name in names)}</tr></thead>
{chr(10).join(bodies)}
</table>
<p>Resumo por serviço</p>
<table><tr><th>Serviço</th><th>Guias</th><th>Valor (EUR)</th></tr>
{"".join(sums)}
<tr class=t><td>Total a debitar</td><td class=n>{len(bodies)}</td><td class=n>{comma(total(them))}</td></tr></table>
</body></html>""",
        path,
    )


LAYOUTS: tuple[Layout, ...] = (
    Layout("fourth_national_invoice", national_invoice, ALL),
    Layout("fourth_waybill_listing", waybill_listing, ALL, metric=True),
    Layout("fourth_courier_bands", courier_bands, ALL, browser=True, metric=True),
    Layout("fourth_coded_charges", coded_charges, ALL, metric=True),
    Layout("fourth_shipment_slips", shipment_slips, ALL),
    Layout("fourth_merged_cells", merged_cells, ALL, browser=True, metric=True),
)
