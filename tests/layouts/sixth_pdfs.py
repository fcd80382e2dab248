"""Four ordinary statements as PDFs, made without a look at what is read."""

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

from tests.layouts.fifth_tables import costs_of, dollars, place_of
from tests.layouts.fourth_pdfs import print_page
from tests.layouts.fourth_tables import ALL, SHOP, kilograms, plain, size, sum_of
from tests.layouts.pdf_layouts import Layout
from tests.layouts.table_layouts import parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, total

CONSOLIDATOR = {
    "freight": "Parcel rate",
    "fuel": "Fuel surcharge",
    "residential": "Residential supplement",
    "additional handling": "Non-machinable handling",
    "address correction": "Address correction charge",
}
LANTERN = {
    "freight": "Package delivery",
    "fuel": "Fuel surcharge",
    "residential": "Residential stop",
    "additional handling": "Additional handling",
    "address correction": "Address correction",
}
FLEMISH = {
    "freight": "Vracht",
    "fuel": "Dieseltoeslag",
    "residential": "Levering particulier",
    "additional handling": "Extra behandeling",
    "address correction": "Adreswijziging",
}
AUSTRALIAN = {
    "freight": "Freight",
    "fuel": "Fuel levy",
    "residential": "Residential delivery fee",
    "additional handling": "Manual handling surcharge",
    "address correction": "Readdressing fee",
}


def _consolidator_frame(canvas: Canvas, document: SimpleDocTemplate) -> None:
    width, height = landscape(A4)
    canvas.saveState()
    canvas.setFont("Helvetica-Bold", 11)
    canvas.drawString(12 * mm, height - 12 * mm, "Thornwick Parcel Consolidation Ltd")
    canvas.setFont("Helvetica", 8)
    canvas.drawRightString(width - 12 * mm, height - 12 * mm, f"Schedule to invoice {STATEMENT}")
    canvas.drawString(12 * mm, 8 * mm, "Unit 6, Saltergate Trading Estate, Thornwick. Accounts: 01632 960 217")
    canvas.drawRightString(width - 12 * mm, 8 * mm, f"Page {document.page}")
    canvas.restoreState()


def _consolidator_rows(them: Sequence[Line]) -> list[list[str]]:
    """The charges, each with all that is known of its parcel, and their total."""
    heads = ["Item", "Date\ncollected", "Barcode", "Your order", "Service", "Zone", "Depot", "Charged\nweight (kg)"]
    rows = [[*heads, "Length\n(mm)", "Width\n(mm)", "Height\n(mm)", "Charge", "Amount\n(£)"]]
    for number, line in enumerate(them, 1):
        rows.append(
            [
                str(number),
                f"{line.shipped_on:%d/%m/%Y}",
                line.tracking,
                line.order,
                line.service,
                line.zone,
                ("Leeds", "Corby")[place_of(line) % 2],
                kilograms(line),
                *map(str, line.sides_mm),
                CONSOLIDATOR[line.charge],
                _minus(line.amount_cents),
            ]
        )
    return [*rows, ["Total charges", *[""] * 11, _minus(total(them))]]


def _minus(cents: int) -> str:
    """-123456 → '-1,234.56'."""
    return f"{'-' if cents < 0 else ''}{plain(cents)}"


def consolidator_sheet(path: Path, them: Sequence[Line]) -> None:
    """A British consolidator's schedule: a ruled table, a row a charge, sizes in three columns of millimetres."""
    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), "Helvetica", 8),
        ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", 8),
        ("FONT", (0, -1), (-1, -1), "Helvetica-Bold", 9),
        ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor("#dfe9df")),
        ("GRID", (0, 0), (-1, -1), 0.25, colors.grey),
        ("SPAN", (0, -1), (11, -1)),
        ("ALIGN", (7, 0), (10, -1), "RIGHT"),
        ("ALIGN", (12, 0), (12, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("TOPPADDING", (0, 1), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 2),
    ]
    styles = getSampleStyleSheet()
    told = f"Invoice no: {STATEMENT}<br/>Invoice date: {STATEMENT_ON.day} {STATEMENT_ON:%B %Y}<br/>Customer: {SHOP}"
    widths = [11, 22, 38, 20, 17, 12, 16, 20, 16, 15, 15, 44, 24]
    story: list[Flowable] = [
        Paragraph("Schedule of parcel charges", styles["Heading2"]),
        Paragraph(f"{told}<br/>Parcels collected in March 2026", styles["BodyText"]),
        Spacer(1, 8),
        Table(
            _consolidator_rows(them),
            colWidths=[each * mm for each in widths],
            repeatRows=1,
            style=TableStyle(style),
        ),
    ]
    document = SimpleDocTemplate(
        str(path),
        pagesize=landscape(A4),
        topMargin=18 * mm,
        bottomMargin=15 * mm,
        leftMargin=12 * mm,
        rightMargin=12 * mm,
        title="Schedule of parcel charges",
        invariant=1,
    )
    document.build(story, onFirstPage=_consolidator_frame, onLaterPages=_consolidator_frame)


class _LanternPages(FPDF):  # type: ignore[misc,unused-ignore]
    """Pages with the carrier's name and the invoice's number above, a number below."""

    def header(self) -> None:
        """Name, number and date of the invoice, and whose it is."""
        self.set_font("Helvetica", "B", 13)
        self.cell(110, 6, "Prairie Lantern Delivery, Inc.")
        self.set_font("Helvetica", "", 9)
        self.cell(0, 6, f"Invoice No. {STATEMENT}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.cell(110, 5, f"Customer: {SHOP} (Acct. 51-2208)")
        self.cell(0, 5, f"Invoice Date {STATEMENT_ON:%m/%d/%Y}", align="R", new_x="LMARGIN", new_y="NEXT")
        self.ln(3)

    def footer(self) -> None:
        """The number of the page."""
        self.set_y(-12)
        self.set_font("Helvetica", "", 8)
        self.cell(0, 4, f"Page {self.page_no()} of {{nb}}", align="C")


LANTERN_COLUMNS = (
    ("Tracking No.", 40),
    ("Order No.", 22),
    ("Ship Date", 24),
    ("Service", 20),
    ("Zone", 14),
    ("Billed Wt.", 24),
    ("Dimensions (in.)", 32),
    ("Amount", 19.9),
)


def _lantern_row(pdf: FPDF, cells: Sequence[str], style: str = "", edge: str = "") -> None:
    pdf.set_font("Helvetica", style, 9)
    for (name, width), cell in zip(LANTERN_COLUMNS, cells, strict=True):
        pdf.cell(width, 5, cell, border=edge, align="R" if name == "Amount" else "L")
    pdf.ln(5)


def _lantern_charge(pdf: FPDF, words: str, cents: int, style: str = "") -> None:
    pdf.set_font("Helvetica", style, 9)
    pdf.cell(8, 5)
    pdf.cell(sum(width for _, width in LANTERN_COLUMNS[:-1]) - 8, 5, words)
    pdf.cell(LANTERN_COLUMNS[-1][1], 5, dollars(cents), align="R", new_x="LMARGIN", new_y="NEXT")


def package_blocks(path: Path, them: Sequence[Line]) -> None:
    """An American regional carrier: a package's row, its charges and its total under it, a recap after the last."""
    pdf = _LanternPages("P", "mm", "Letter")
    pdf.set_margins(10, 12, 10)
    pdf.set_auto_page_break(auto=False)
    names = [name for name, _ in LANTERN_COLUMNS]

    def start() -> None:
        pdf.add_page()
        _lantern_row(pdf, names, "B", "B")
        pdf.ln(2)

    start()
    for parcel in parcels(them):
        if pdf.get_y() + 5 * (len(parcel) + 2) > pdf.h - 18:
            start()
        first = parcel[0]
        facts = (first.tracking, first.order, f"{first.shipped_on:%m/%d/%Y}", first.service, first.zone)
        _lantern_row(pdf, (*facts, f"{first.weight_g} lb", size(first, " x "), ""), "B")
        for line in parcel:
            _lantern_charge(pdf, LANTERN[line.charge], line.amount_cents)
        _lantern_charge(pdf, "Package total", total(parcel), "I")
        pdf.ln(2)
    if pdf.get_y() + 50 > pdf.h - 18:
        start()
    pdf.ln(3)
    pdf.set_font("Helvetica", "B", 10)
    pdf.cell(0, 6, "Summary of charges", new_x="LMARGIN", new_y="NEXT")
    for charge, words in LANTERN.items():
        _lantern_charge(pdf, words, sum_of(them, charge))
    _lantern_charge(pdf, "Invoice total", total(them), "B")
    pdf.output(str(path))


def _flemish_body(them: Sequence[Line]) -> str:
    """The parcels as rows of a page, a column a charge and a dash where there is none."""
    rows = []
    for parcel in parcels(them):
        first, costs = parcel[0], costs_of(parcel)
        cells = (
            f"{first.shipped_on:%d/%m/%Y}",
            first.tracking,
            first.order,
            first.service,
            first.zone,
            kilograms(first).replace(".", ","),
            size(first, " x ", each=10),
        )
        amounts = (*(comma(costs[charge]) if charge in costs else "-" for charge in CHARGES), comma(total(parcel)))
        shown = "".join(f"<td>{cell}</td>" for cell in cells)
        rows.append(f"<tr>{shown}{''.join(f'<td class=n>{amount}</td>' for amount in amounts)}</tr>")
    return "\n".join(rows)


def parcel_columns(path: Path, them: Sequence[Line]) -> None:
    """A Flemish carrier's annex to its invoice: a row a parcel, a column a charge, sums in the last row."""
    facts = ("Verzenddatum", "Zendingnummer", "Uw bestelnr.", "Dienst", "Zone", "Getaxeerd gewicht (kg)")
    heads = "".join(f"<th>{words}</th>" for words in (*facts, "Afmetingen (cm)"))
    costs = "".join(f"<th class=n>{escape(words)}</th>" for words in (*FLEMISH.values(), "Totaal (EUR)"))
    sums = (*(comma(sum_of(them, charge)) for charge in CHARGES), comma(total(them)))
    print_page(
        f"""<!DOCTYPE html><html lang="nl-BE"><head><meta charset="utf-8"><title>Bijlage {STATEMENT}</title><style>
@page {{ size: A4 landscape; margin: 18mm 12mm 16mm;
  @top-left {{ content: "Scheldedijk Pakketvervoer NV"; font: bold 11pt sans-serif; color: #6b1f3a }}
  @top-right {{ content: "Bijlage bij factuur {STATEMENT}"; font: 8.5pt sans-serif }}
  @bottom-right {{ content: "Blz. " counter(page) " van " counter(pages); font: 8pt sans-serif }} }}
body {{ font: 8.5pt sans-serif; margin: 0 }}
table {{ border-collapse: collapse; width: 100% }}
th {{ text-align: left; vertical-align: bottom; border-bottom: 1pt solid #6b1f3a; padding: 3px 5px }}
td {{ padding: 3px 5px; white-space: nowrap; border-bottom: 0.4pt solid #ccc }}
th.n, td.n {{ text-align: right }} tr {{ break-inside: avoid }}
.t td {{ font-weight: bold; border-top: 1pt solid #6b1f3a; border-bottom: none }}
</style></head><body>
<h2>Overzicht van uw zendingen</h2>
<p>Factuurnummer: {STATEMENT}<br>Factuurdatum: {STATEMENT_ON:%d/%m/%Y}<br>Klant: {SHOP}<br>
Klantnummer: 118.402<br>Alle bedragen in euro, exclusief btw</p>
<table><thead><tr>{heads}{costs}</tr></thead><tbody>
{_flemish_body(them)}
<tr class=t><td colspan=7>Totaal</td>{"".join(f"<td class=n>{amount}</td>" for amount in sums)}</tr>
</tbody></table></body></html>""",
        path,
    )


class _Recovery:
    """The pages of a warehouse's report: texts begin and numbers end under one another."""

    left, right = 12 * mm, A4[1] - 12 * mm
    starts = (12, 35, 75, 96, 117, 134, 150, 168, 205)
    heads = (
        "Despatched",
        "Con note",
        "Order no.",
        "Service",
        "Zone",
        "Cost ctr",
        "Weight",
        "Dimensions (cm)",
        "Charge type",
    )

    def __init__(self, path: Path) -> None:
        self.canvas = Canvas(str(path), pagesize=landscape(A4), invariant=1)
        self.canvas.setTitle("Freight recovery statement")
        self.start()

    def start(self) -> None:
        """What stands on every page."""
        canvas, height = self.canvas, A4[0]
        canvas.setFont("Helvetica-Bold", 12)
        canvas.drawString(self.left, height - 14 * mm, "Wattlebird Warehousing Pty Ltd")
        canvas.setFont("Helvetica", 9)
        canvas.drawString(self.left, height - 19 * mm, f"Freight recovery statement for {SHOP}")
        canvas.drawRightString(self.right, height - 14 * mm, f"Statement number: {STATEMENT}")
        day = f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}"
        canvas.drawRightString(self.right, height - 19 * mm, f"Statement date: {day}")
        canvas.setFont("Helvetica", 8)
        canvas.drawString(self.left, 8 * mm, "All amounts in Australian dollars, excluding GST")
        canvas.drawRightString(self.right, 8 * mm, f"Page {canvas.getPageNumber()}")
        self.y = height - 29 * mm
        self.row(self.heads, "Amount", bold=True)
        canvas.line(self.left, self.y + 3 * mm, self.right, self.y + 3 * mm)
        self.y -= 1.5 * mm

    def row(self, cells: Sequence[str], amount: str, *, bold: bool = False) -> None:
        """One row, its amount at the right edge."""
        self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", 9)
        for x, cell in zip(self.starts, cells, strict=True):
            self.canvas.drawString(x * mm, self.y, cell)
        self.canvas.drawRightString(self.right, self.y, amount)
        self.y -= 5 * mm


def freight_recovery(path: Path, them: Sequence[Line]) -> None:
    """An Australian warehouse's report without rules: a consignment's facts at its first charge, the rest below."""
    pages = _Recovery(path)
    for parcel in parcels(them):
        if pages.y - 5 * mm * len(parcel) < 16 * mm:
            pages.canvas.showPage()
            pages.start()
        first = parcel[0]
        facts = (
            f"{first.shipped_on:%d-%b-%Y}",
            first.tracking,
            first.order,
            first.service,
            first.zone,
            ("4100", "4120")[place_of(first) % 2],
            f"{kilograms(first)} kg",
            size(first, " x ", each=10),
        )
        for place, line in enumerate(parcel):
            pages.row((*([""] * 8 if place else facts), AUSTRALIAN[line.charge]), dollars(line.amount_cents))
        pages.y -= 1.2 * mm
    if pages.y < 26 * mm:
        pages.canvas.showPage()
        pages.start()
    pages.canvas.line(pages.left, pages.y + 3.5 * mm, pages.right, pages.y + 3.5 * mm)
    pages.y -= 1.5 * mm
    pages.row((f"Total for {len(parcels(them))} consignments", *[""] * 8), dollars(total(them)), bold=True)
    pages.canvas.save()


LAYOUTS: tuple[Layout, ...] = (
    Layout("sixth_consolidator_sheet", consolidator_sheet, ALL, metric=True),
    Layout("sixth_package_blocks", package_blocks, ALL),
    Layout("sixth_parcel_columns", parcel_columns, ALL, browser=True, metric=True),
    Layout("sixth_freight_recovery", freight_recovery, ALL, metric=True),
)
