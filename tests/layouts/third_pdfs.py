"""Six statements as PDFs, written by someone who did not know what the package reads.

Those of continental senders print neither weights nor sizes: their lines are planted in inches and pounds.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from decimal import Decimal
from html import escape
from pathlib import Path

from fpdf import FPDF
from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER, landscape
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.lib.units import inch
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.pdf_layouts import Layout
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, total

SHOP = "Quillmoor Instruments"

REGIONAL = {
    "freight": "Transportation Chg",
    "fuel": "Fuel Surchg",
    "residential": "Residential Dlvy",
    "additional handling": "Addl Handling",
    "address correction": "Addr Correction",
}
BILINGUAL = {
    "freight": "Shipping charge / Frais d'expédition",
    "fuel": "Fuel / Carburant",
    "residential": "Residential address / Adresse résidentielle",
    "additional handling": "Special handling / Manutention spéciale",
    "address correction": "Incorrect address / Adresse erronée",
}
IRISH = {
    "freight": "Delivery",
    "fuel": "Diesel surcharge",
    "residential": "Private address",
    "additional handling": "Extra handling",
    "address correction": "Wrong address",
}
AUSTRIAN = {
    "freight": "Paketbeförderung",
    "fuel": "Treibstoffbeitrag",
    "residential": "Zustellung an Privatperson",
    "additional handling": "Mehraufwand Handling",
    "address correction": "Anschriftenkorrektur",
}
ITALIAN = {
    "freight": "Trasporto",
    "fuel": "Adeguamento carburante",
    "residential": "Consegna a privato",
    "additional handling": "Gestione manuale del collo",
    "address correction": "Rettifica indirizzo",
}
MARKETPLACE = {
    "freight": "Shipping label",
    "fuel": "Fuel fee",
    "residential": "Home delivery fee",
    "additional handling": "Extra handling fee",
    "address correction": "Address update fee",
}


def _plain(cents: int) -> str:
    return f"{Decimal(abs(cents)) / 100:,.2f}"


def _sum_of(them: Sequence[Line], charge: str) -> int:
    return total([line for line in them if line.charge == charge])


def regional_carrier(path: Path, them: Sequence[Line]) -> None:
    """An American regional carrier: a ruled table, a parcel's cells once above its charges, credits marked CR."""

    def amount(cents: int) -> str:
        return f"{_plain(cents)} CR" if cents < 0 else _plain(cents)

    def frame(canvas: Canvas, document: SimpleDocTemplate) -> None:
        width, height = landscape(LETTER)
        canvas.saveState()
        canvas.setFont("Helvetica-Bold", 11)
        canvas.drawString(0.6 * inch, height - 0.5 * inch, "LAKEBRIDGE PARCEL EXPRESS")
        canvas.setFont("Helvetica", 8)
        canvas.drawRightString(width - 0.6 * inch, height - 0.5 * inch, f"Statement No. {STATEMENT}")
        canvas.drawRightString(width - 0.6 * inch, height - 0.64 * inch, f"Statement Date {STATEMENT_ON:%m/%d/%Y}")
        canvas.drawString(0.6 * inch, 0.4 * inch, "Questions about this statement? Call Customer Accounts, 555-0142.")
        canvas.drawRightString(width - 0.6 * inch, 0.4 * inch, f"Page {document.page}")
        canvas.restoreState()

    rows = [["Ship\nDate", "Tracking Number", "Order", "Svc", "Zn", "Billed Wt\n(lb)", "Billed Dims\nL x W x H (in)"]]
    rows[0] += ["Charge", "Amount\n(USD)"]
    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), "Helvetica", 8),
        ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 8),
        ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor("#d9e2ec")),
        ("BOX", (0, 0), (-1, -1), 0.6, colors.black),
        ("LINEAFTER", (0, 0), (-2, -1), 0.25, colors.grey),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, colors.black),
        ("ALIGN", (4, 0), (6, -1), "CENTER"),
        ("ALIGN", (8, 0), (8, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("TOPPADDING", (0, 1), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 2),
    ]
    for parcel in parcels(them):
        style.append(("NOSPLIT", (0, len(rows)), (-1, len(rows) + len(parcel) - 1)))
        for place, line in enumerate(parcel):
            lead = [
                f"{line.shipped_on:%m/%d/%y}",
                line.tracking,
                line.order,
                line.service,
                line.zone,
                str(line.weight_g),
                " x ".join(map(str, line.sides_mm)),
            ]
            rows.append([*([""] * 7 if place else lead), REGIONAL[line.charge], amount(line.amount_cents)])
        style.append(("LINEBELOW", (0, len(rows) - 1), (-1, len(rows) - 1), 0.25, colors.grey))
    rows.append(["TOTAL CHARGES THIS STATEMENT", *[""] * 7, amount(total(them))])
    style += [("SPAN", (0, -1), (7, -1)), ("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 9)]
    widths = [0.75, 1.65, 0.75, 0.7, 0.4, 0.8, 1.25, 1.8, 1.15]
    sheet = getSampleStyleSheet()
    document = SimpleDocTemplate(
        str(path),
        pagesize=landscape(LETTER),
        topMargin=0.85 * inch,
        bottomMargin=0.7 * inch,
        title="Statement of parcel charges",
        invariant=1,
    )
    story = [
        Paragraph("Statement of Parcel Charges", sheet["Heading2"]),
        Paragraph(f"Bill to: {SHOP}. Shipments of March 2026. Terms: net 15 days.", sheet["BodyText"]),
        Spacer(1, 8),
        Table(rows, colWidths=[width * inch for width in widths], repeatRows=1, style=TableStyle(style)),
    ]
    document.build(story, onFirstPage=frame, onLaterPages=frame)


def bilingual_courier(path: Path, them: Sequence[Line]) -> None:
    """A Canadian courier in two languages: a block a parcel, its facts in a line, its charges with leaders of dots."""

    def amount(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}${_plain(cents)}"

    width, height = LETTER
    left, right = 0.8 * inch, width - 0.8 * inch
    canvas = Canvas(str(path), pagesize=LETTER, invariant=1)
    canvas.setTitle("Statement / Relevé")

    def top() -> float:
        canvas.setFont("Times-Bold", 13)
        canvas.drawString(left, height - 0.7 * inch, "Trois-Pins Courier / Messagerie Trois-Pins")
        canvas.setFont("Times-Roman", 9)
        canvas.drawString(left, height - 0.9 * inch, f"Statement no. / Relevé n° : {STATEMENT}")
        canvas.drawRightString(right, height - 0.9 * inch, f"Date : {STATEMENT_ON:%Y-%m-%d}")
        canvas.line(left, height - 0.98 * inch, right, height - 0.98 * inch)
        canvas.setFont("Times-Roman", 8.5)
        canvas.drawCentredString(
            width / 2, 0.5 * inch, f"Page {canvas.getPageNumber()}  -  Amounts in CAD / Montants en CAD"
        )
        return float(9.75 * inch)

    def dotted(y: float, words: str, cents: int, font: str = "Times-Roman") -> None:
        indent, money = left + 0.3 * inch, amount(cents)
        canvas.setFont(font, 10)
        canvas.drawString(indent, y, words)
        canvas.drawRightString(right, y, money)
        start = indent + canvas.stringWidth(words, font, 10) + 5
        dots = int((right - canvas.stringWidth(money, font, 10) - 5 - start) / canvas.stringWidth(".", font, 10))
        canvas.drawString(start, y, "." * dots)

    y = top()
    canvas.drawString(left, y, f"Customer / Client : {SHOP}")
    canvas.drawString(left, y - 13, "Period / Période : 2026-03-01 - 2026-03-31")
    y -= 40
    for parcel in parcels(them):
        if y - 13 * (len(parcel) + 2) < 0.9 * inch:
            canvas.showPage()
            y = top()
        first = parcel[0]
        canvas.setFont("Times-Bold", 10)
        canvas.drawString(left, y, f"Tracking no. / N° de suivi : {first.tracking}")
        canvas.drawRightString(right, y, f"Order / Commande : {first.order}")
        canvas.setFont("Times-Roman", 8.5)
        facts = (
            f"Shipped / Expédié : {first.shipped_on:%Y-%m-%d}",
            f"Zone : {first.zone}",
            f"Billed weight / Poids facturé : {first.weight_g} lb",
            f"Billed size / Dimensions facturées : {' x '.join(map(str, first.sides_mm))} in",
        )
        canvas.drawString(left, y - 12, "     ".join(facts))
        y -= 26
        for line in parcel:
            dotted(y, BILINGUAL[line.charge], line.amount_cents)
            y -= 13
        dotted(y, "Parcel total / Total du colis", total(parcel), "Times-Italic")
        y -= 26
    if y < 1.4 * inch:
        canvas.showPage()
        y = top()
    canvas.line(left, y + 6, right, y + 6)
    canvas.setFont("Times-Bold", 12)
    canvas.drawString(left, y - 10, "TOTAL OF ALL PARCELS / TOTAL DE TOUS LES COLIS")
    canvas.drawRightString(right, y - 10, amount(total(them)))
    canvas.save()


class _IrishPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages with the depot's name above and a number below."""

    def header(self) -> None:
        """Name, number and date of the statement."""
        self.set_font("Helvetica", "B", 12)
        self.cell(140, 6, "Corrib Vale Deliveries")
        self.set_font("Helvetica", "", 9)
        self.cell(0, 6, f"Statement no. {STATEMENT}, dated 2 April 2026", align="R", new_x="LMARGIN", new_y="NEXT")
        self.ln(3)

    def footer(self) -> None:
        """The number of the page."""
        self.set_y(-12)
        self.set_font("Helvetica", "", 8)
        self.cell(0, 5, f"Page {self.page_no()} of {{nb}}", align="C")


def _bracketed(cents: int | None) -> str:
    if cents is None:
        return "-"
    return f"({_plain(cents)})" if cents < 0 else _plain(cents)


def delivery_depot(path: Path, them: Sequence[Line]) -> None:
    """An Irish depot: no rules, a row a parcel, a column a charge, sums carried forward, credits in brackets."""
    widths = (22, 24, 44, 22, 28, 28, 28, 28, 26, 27)
    names = ("Date\nsent", "Your\norder", "Parcel\nnumber", "Service")
    heads = (*names, *(words.replace(" ", "\n") for words in IRISH.values()), "Total\nEUR")
    pdf = _IrishPages("L", "mm", "A4")
    pdf.set_margins(10, 10, 10)
    pdf.set_auto_page_break(auto=False)

    def row(cells: Sequence[str], bold: str = "", deep: float = 7) -> None:
        pdf.set_font("Helvetica", bold, 9)
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True)):
            pdf.cell(width, deep, cell, align="R" if place > 3 else "L")
        pdf.ln(deep)

    def carried(words: str, so_far: Sequence[Line]) -> None:
        pdf.set_font("Helvetica", "I", 9)
        pdf.cell(sum(widths[:-1]), 7, words, align="R")
        pdf.cell(widths[-1], 7, _bracketed(total(so_far)), align="R", new_x="LMARGIN", new_y="NEXT")

    def start() -> None:
        pdf.add_page()
        if pdf.page_no() == 1:
            pdf.set_font("Helvetica", "", 10)
            pdf.cell(0, 5, f"Account: {SHOP}", new_x="LMARGIN", new_y="NEXT")
            pdf.cell(0, 5, "Parcels sent 1 to 31 March 2026. All amounts in euro before VAT; credits in brackets.")
            pdf.ln(9)
        for part in (0, 1):
            row([(*head.split("\n"), "")[part] for head in heads], "B", 4.5)
        pdf.ln(1.5)

    start()
    done: list[Line] = []
    for parcel in parcels(them):
        if pdf.get_y() > pdf.h - 45:
            carried("Carried forward", done)
            start()
            carried("Brought forward", done)
        first, costs = parcel[0], {line.charge: line.amount_cents for line in parcel}
        lead = (f"{first.shipped_on:%d/%m/%y}", first.order, first.tracking, first.service)
        row((*lead, *(_bracketed(costs.get(charge)) for charge in CHARGES), _bracketed(total(parcel))))
        done += parcel
    pdf.ln(2)
    sums = (_bracketed(_sum_of(them, charge)) for charge in CHARGES)
    row(("Statement total", "", "", "", *sums, _bracketed(total(them))), "B")
    pdf.output(str(path))


class _AustrianPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages with the sender's name and the columns' names above."""

    def header(self) -> None:
        """Name, number and date of the statement, and the columns' names."""
        self.set_font("Times", "B", 14)
        self.cell(0, 7, "Steinfeld Paketlogistik", new_x="LMARGIN", new_y="NEXT")
        self.set_font("Times", "", 10)
        self.cell(95, 5, f"Abrechnung Nr. {STATEMENT} vom {STATEMENT_ON:%d.%m.%Y}")
        self.cell(0, 5, f"Kunde: {SHOP}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.ln(4)
        self.set_font("Times", "B", 10)
        self.cell(14, 6, "Pos.", border="B")
        self.cell(116, 6, "Leistung / Sendung", border="B")
        self.cell(0, 6, "Betrag EUR", border="B", align="R", new_x="LMARGIN", new_y="NEXT")
        self.ln(1.5)

    def footer(self) -> None:
        """Where to write, and the number of the page."""
        self.set_y(-14)
        self.set_font("Times", "I", 8)
        self.cell(0, 4, f"Abrechnung {STATEMENT} - Seite {self.page_no()}/{{nb}}", align="C")


def two_line_items(path: Path, them: Sequence[Line]) -> None:
    """An Austrian forwarder: two lines a charge, what it was and then the parcel, the minus behind the number."""

    def amount(cents: int) -> str:
        return comma(-cents) + "-" if cents < 0 else comma(cents)

    pdf = _AustrianPages("P", "mm", "A4")
    pdf.set_margins(22, 16, 22)
    pdf.set_auto_page_break(auto=False)
    pdf.add_page()
    for place, line in enumerate(them, 1):
        if pdf.get_y() > pdf.h - 32:
            pdf.add_page()
        pdf.set_font("Times", "", 10.5)
        pdf.cell(14, 4.6, str(place))
        pdf.cell(116, 4.6, AUSTRIAN[line.charge])
        pdf.cell(0, 4.6, amount(line.amount_cents), align="R", new_x="LMARGIN", new_y="NEXT")
        pdf.set_font("Times", "", 8.5)
        pdf.set_text_color(90)
        facts = (
            f"Sendung {line.tracking}",
            f"Auftrag {line.order}",
            f"versandt am {line.shipped_on:%d.%m.%Y}",
            f"Zone {line.zone}",
        )
        pdf.cell(14, 4)
        pdf.cell(0, 4, ", ".join(facts), new_x="LMARGIN", new_y="NEXT")
        pdf.set_text_color(0)
        pdf.ln(1.4)
    if pdf.get_y() > pdf.h - 46:
        pdf.add_page()
    pdf.ln(2)
    pdf.set_font("Times", "B", 11)
    pdf.cell(130, 7, "Summe aller Positionen (netto)", border="T")
    pdf.cell(0, 7, amount(total(them)), border="T", align="R", new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Times", "", 9)
    pdf.multi_cell(0, 5, "Die Umsatzsteuer wird mit der Monatsrechnung gesondert verrechnet. Zahlbar binnen 14 Tagen.")
    pdf.output(str(path))


def _print(html: str, path: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "statement.html"
        page.write_text(html, encoding="utf-8")
        flags = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
            f"--user-data-dir={folder}/at",
        ]
        command = [shutil.which("chromium") or "chromium", *flags, f"--print-to-pdf={path.absolute()}", page.as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=120)


def manifests(path: Path, them: Sequence[Line]) -> None:
    """An Italian courier: a summary by kind of charge, then lines under each pick-up list with the list's sum."""

    def amount(cents: int) -> str:
        return comma(cents).replace("-", "−")

    summary = "".join(
        f"<tr><td>{escape(words)}</td><td class=n>{amount(_sum_of(them, charge))}</td></tr>"
        for charge, words in ITALIAN.items()
    )
    body = []
    all_of_them = parcels(them)
    for number, start in enumerate(range(0, len(all_of_them), 12), 1):
        batch = all_of_them[start : start + 12]
        body.append(f"<tr class=g><td colspan=6>Distinta di ritiro n. {number}</td></tr>")
        for line in (line for parcel in batch for line in parcel):
            cells = (f"{line.shipped_on:%d/%m/%Y}", line.tracking, line.order, line.zone, ITALIAN[line.charge])
            shown = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
            body.append(f"<tr>{shown}<td class=n>{amount(line.amount_cents)}</td></tr>")
        of = amount(sum(total(parcel) for parcel in batch))
        body.append(f"<tr class=s><td colspan=5>Subtotale distinta n. {number}</td><td class=n>{of}</td></tr>")
    heads = ("Data spedizione", "Codice spedizione", "N. ordine", "Zona", "Voce di addebito", "Importo €")
    _print(
        f"""<!DOCTYPE html><html lang="it"><head><meta charset="utf-8"><title>Estratto conto {STATEMENT}</title><style>
@page {{ size: A4; margin: 22mm 16mm 20mm;
  @top-left {{ content: "Corriere Val Serena"; font: bold 10pt sans-serif; color: #24513c }}
  @top-right {{ content: "Estratto conto {STATEMENT}"; font: 9pt sans-serif }}
  @bottom-right {{ content: "Pagina " counter(page) " di " counter(pages); font: 8pt sans-serif }}
  @bottom-left {{ content: "Servizio clienti: lun-ven 9-18"; font: 8pt sans-serif }} }}
body {{ font: 9.5pt sans-serif; margin: 0 }}
table {{ border-collapse: collapse; width: 100% }}
th {{ text-align: left; border-bottom: 1.5px solid #24513c; padding: 3px 5px }}
td {{ padding: 2px 5px }} .n, th:last-child {{ text-align: right }}
.g td {{ background: #e6efe9; font-weight: bold; padding-top: 5px; break-after: avoid }}
.s td {{ border-top: 1px solid #999; font-style: italic; padding-bottom: 9px }}
.t td {{ border-top: 2px solid #24513c; font-weight: bold; font-size: 11pt; padding-top: 6px }}
.short {{ width: 45%; margin: 8px 0 20px }} tr {{ break-inside: avoid }}
</style></head><body>
<h2>Estratto conto spedizioni</h2>
<p>Numero: <b>{STATEMENT}</b><br>Data: <b>{STATEMENT_ON:%d/%m/%Y}</b><br>Cliente: {SHOP}<br>
Periodo: marzo 2026 &ndash; importi al netto dell'IVA</p>
<h4>Riepilogo per voce</h4>
<table class=short><tbody>{summary}
<tr class=t><td>Totale</td><td class=n>{amount(total(them))}</td></tr></tbody></table>
<h4>Dettaglio</h4>
<table><thead><tr>{"".join(f"<th>{head}</th>" for head in heads)}</tr></thead><tbody>
{chr(10).join(body)}
<tr class=t><td colspan=5>Totale estratto conto</td><td class=n>{amount(total(them))}</td></tr>
</tbody></table></body></html>""",
        path,
    )


def seller_statement(path: Path, them: Sequence[Line]) -> None:
    """An American marketplace: a card-like row a parcel, its facts in words, its charges listed within the row."""

    def amount(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}${_plain(cents)}"

    rows = []
    for parcel in parcels(them):
        first = parcel[0]
        size = " × ".join(map(str, first.sides_mm))
        listed = "".join(
            f"<div class=c><span>{MARKETPLACE[line.charge]}</span><span>{amount(line.amount_cents)}</span></div>"
            for line in parcel
        )
        rows.append(
            f"""<tr><td><b>{first.tracking}</b><br>Order {first.order}</td>
<td>Shipped {first.shipped_on:%b} {first.shipped_on.day}, {first.shipped_on.year}<br>
{first.service}, zone {first.zone}<br>
Billed weight {first.weight_g} lb<br>Billed size {size} in</td>
<td class=w>{listed}</td><td class=n>{amount(total(parcel))}</td></tr>"""
        )
    _print(
        f"""<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Shipping statement</title><style>
@page {{ size: letter; margin: 0.9in 0.7in 0.8in;
  @top-left {{ content: "Tallybarn Marketplace"; font: 700 11pt serif; color: #7a3b12 }}
  @top-right {{ content: "Shipping statement {STATEMENT}"; font: 9pt serif; color: #555 }}
  @bottom-center {{ content: "Page " counter(page) " of " counter(pages); font: 8pt serif; color: #555 }} }}
body {{ font: 10pt serif; margin: 0 }}
h1 {{ font-size: 18pt; margin: 0 0 6px }}
table {{ border-collapse: collapse; width: 100%; margin-top: 14px }}
th {{ text-align: left; color: #7a3b12; padding: 6px 8px; border-bottom: 2px solid #7a3b12 }}
td {{ padding: 8px; vertical-align: top; border-bottom: 1px solid #ddd }} tr {{ break-inside: avoid }}
.c {{ display: flex; justify-content: space-between }} .w {{ width: 2.6in }}
.n, th:last-child {{ text-align: right; white-space: nowrap }}
.t td {{ font-weight: 700; font-size: 12pt; border-bottom: none; border-top: 2px solid #7a3b12 }}
</style></head><body>
<h1>Your shipping charges for March 2026</h1>
<p>Seller: {SHOP}<br>Statement number: {STATEMENT}<br>Statement date: April {STATEMENT_ON.day}, {STATEMENT_ON.year}</p>
<p>We take this amount from your next payout. You don't need to do anything.</p>
<table><thead><tr><th>Tracking number</th><th>Shipment</th><th>Charges</th><th>Parcel total</th></tr></thead><tbody>
{chr(10).join(rows)}
<tr class=t><td colspan=3>Total shipping charges ({len(rows)} parcels)</td><td class=n>{amount(total(them))}</td></tr>
</tbody></table></body></html>""",
        path,
    )


BASE = ("statement", "tracking", "charge", "amount_cents", "shipped_on", "order")
BILLED = ("billed_weight_pg", "billed_length_nm", "billed_width_nm", "billed_height_nm")

LAYOUTS: list[Layout] = [
    Layout("third_regional_carrier", regional_carrier, (*BASE, "service", "zone", *BILLED)),
    Layout("third_bilingual_courier", bilingual_courier, (*BASE, "zone", *BILLED)),
    Layout("third_delivery_depot", delivery_depot, (*BASE, "service")),
    Layout("third_two_line_items", two_line_items, (*BASE, "zone")),
    Layout("third_manifests", manifests, (*BASE, "zone"), browser=True),
    Layout("third_seller_statement", seller_statement, (*BASE, "service", "zone", *BILLED), browser=True),
]
