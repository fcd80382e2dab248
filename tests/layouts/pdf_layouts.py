"""Statements as PDFs in layouts and words that the package's vocabulary was not written from, by several writers."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet
from fpdf import FPDF
from fpdf.enums import TableBordersLayout, XPos, YPos
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Table, TableStyle

from tests.layouts.table_truth import FIELDS, STATEMENT, STATEMENT_ON, Line, decimal, total

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
SHOP, CARRIER = "Quillmoor Instruments", "Larkrise Post"
WRITTEN = datetime(2026, 4, 2, tzinfo=UTC)


@dataclass(frozen=True)
class Layout:
    """A way to print a statement: who writes it, and which cells of a line it prints."""

    name: str
    write: Callable[[Path, Sequence[Line]], None]
    fields: tuple[str, ...] = FIELDS
    browser: bool = False
    metric: bool = False


def as_parameters(layouts: Iterable[Layout]) -> list[ParameterSet]:
    """Layouts as a test's parameters; those that need a browser are skipped without one."""
    without = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no Chromium")]
    return [pytest.param(layout, id=layout.name, marks=without if layout.browser else []) for layout in layouts]


def money(cents: int) -> str:
    """123456 → '1,234.56', -1234 → '(12.34)'."""
    plain = f"{abs(cents) // 100:,}.{abs(cents) % 100:02d}"
    return f"({plain})" if cents < 0 else plain


def size(line: Line) -> str:
    """'48 x 20 x 8'."""
    return " x ".join(map(str, line.sides_mm))


def parcels(lines: Sequence[Line]) -> Iterator[list[Line]]:
    """The lines of each parcel."""
    for _, mine in groupby(lines, key=lambda line: line.tracking):
        yield list(mine)


PLAIN_WORDS = {
    "freight": "Transportation",
    "fuel": "Fuel supplement",
    "residential": "Residential area",
    "additional handling": "Extra handling",
    "address correction": "Address change",
}


def ruled_with_wrapped_cells(path: Path, lines: Sequence[Line]) -> None:
    """Every cell in lines of its own; long words run over two or three lines of their cell."""
    style = ParagraphStyle("cell", fontName="Times-Roman", fontSize=8, leading=9.5)
    heads = [
        "Shipment no.",
        "Tendered",
        "Product",
        "Zn",
        "Narrative",
        "Rated lb",
        "L x W x H (in)",
        "Client ref",
        "Net",
    ]
    widths = [92, 50, 40, 24, 72, 36, 62, 50, 58]
    body = [
        [
            line.tracking,
            f"{line.shipped_on:%m/%d/%Y}",
            line.service,
            line.zone,
            Paragraph(f"{PLAIN_WORDS[line.charge]} charge", style),
            str(line.weight_g),
            size(line),
            line.order,
            money(line.amount_cents),
        ]
        for line in lines
    ]
    table = Table([heads, *body, ["Grand total", *[""] * 7, money(total(lines))]], colWidths=widths, repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("GRID", (0, 0), (-1, -1), 0.4, colors.grey),
                ("SPAN", (0, -1), (-2, -1)),
                ("FONT", (0, 0), (-1, -1), "Times-Roman", 8),
                ("ALIGN", (-1, 0), (-1, -1), "RIGHT"),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ]
        )
    )
    head = [
        Paragraph(f"{CARRIER}: what was carried for {SHOP}", style),
        Paragraph(f"Invoice no: {STATEMENT}", style),
        Paragraph(f"Invoice date: {STATEMENT_ON:%d %B %Y}", style),
    ]
    SimpleDocTemplate(str(path), pagesize=letter, invariant=True, leftMargin=40, rightMargin=40).build([*head, table])


def columns_with_page_sums(path: Path, lines: Sequence[Line]) -> None:
    """No rulings; headings in two storeys; sums of pages, carried forward and brought forward; a head on each page."""
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    left = {"tracking": 36, "date": 142, "service": 200, "words": 292, "ref": 500}
    right = {"zone": 262, "weight": 410, "size": 478, "amount": 588}
    carried, page, y = 0, 0, 0.0

    def start() -> None:
        nonlocal page, y
        page += 1
        canvas.setFont("Helvetica-Bold", 11)
        canvas.drawString(36, 806, CARRIER)
        canvas.setFont("Helvetica", 8)
        canvas.drawString(36, 794, f"Bill number {STATEMENT}     Bill date {STATEMENT_ON:%Y-%m-%d}     Sheet {page}")
        canvas.setFont("Helvetica-Bold", 7.5)
        for place, one, two in (
            (36, "Consignment", "number"),
            (142, "Day", "mailed"),
            (200, "Service", "class"),
            (292, "Charge", "detail"),
            (500, "Your", "order"),
        ):
            canvas.drawString(place, 770, one)
            canvas.drawString(place, 761, two)
        for place, one, two in (
            (262, "", "Zone"),
            (410, "Billable", "lb"),
            (478, "Billed size", "inches"),
            (588, "Amount", "billed"),
        ):
            canvas.drawRightString(place, 770, one)
            canvas.drawRightString(place, 761, two)
        canvas.setFont("Helvetica", 7.5)
        y = 748

    start()
    on_page = 0
    for number, line in enumerate(lines):
        if number and number % 40 == 0:
            carried += on_page
            canvas.drawString(292, y - 6, "Page total")
            canvas.drawRightString(588, y - 6, money(on_page))
            canvas.drawString(292, y - 20, "Carried forward")
            canvas.drawRightString(588, y - 20, money(carried))
            canvas.showPage()
            start()
            canvas.drawString(292, y, "Brought forward")
            canvas.drawRightString(588, y, money(carried))
            y -= 14
            on_page = 0
        on_page += line.amount_cents
        canvas.drawString(left["tracking"], y, line.tracking)
        canvas.drawString(left["date"], y, f"{line.shipped_on:%d %b %Y}")
        canvas.drawString(left["service"], y, line.service)
        canvas.drawRightString(right["zone"], y, line.zone)
        canvas.drawString(left["words"], y, PLAIN_WORDS[line.charge])
        canvas.drawRightString(right["weight"], y, str(line.weight_g))
        canvas.drawRightString(right["size"], y, size(line))
        canvas.drawString(left["ref"], y, line.order)
        canvas.drawRightString(right["amount"], y, money(line.amount_cents))
        y -= 15
    canvas.drawString(292, y - 20, "Amount due")
    canvas.drawRightString(588, y - 20, "$" + money(total(lines)))
    canvas.save()


def lines_between_rows(path: Path, lines: Sequence[Line]) -> None:
    """Rulings between the rows only, cells of several lines, and the total in words above the table."""
    pdf = FPDF(orientation="landscape", format="letter")
    pdf.set_creation_date(WRITTEN)
    pdf.add_page()
    pdf.set_font("Helvetica", size=9)
    for text in (CARRIER, f"Statement no. {STATEMENT}", f"Statement date {STATEMENT_ON:%B %d, %Y}"):
        pdf.cell(0, 6, text, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    pdf.cell(0, 6, f"Amount due: ${money(total(lines))} for {len(lines)} charges", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    heads = ("Waybill", "Posted on", "Method", "Zn.", "Particulars", "Chargeable weight", "Billed dims", "PO", "Value")
    with pdf.table(
        borders_layout=TableBordersLayout.HORIZONTAL_LINES,
        col_widths=(42, 24, 20, 10, 44, 28, 34, 22, 26),
        text_align=("LEFT", "LEFT", "LEFT", "CENTER", "LEFT", "RIGHT", "LEFT", "LEFT", "RIGHT"),
        line_height=5,
        padding=1,
    ) as table:
        table.row(heads)
        for line in lines:
            table.row(
                (
                    line.tracking,
                    line.shipped_on.isoformat(),
                    line.service,
                    line.zone,
                    PLAIN_WORDS[line.charge],
                    f"{line.weight_g} lb",
                    f"{size(line)} in",
                    line.order,
                    decimal(line.amount_cents),
                )
            )
    pdf.output(str(path))


def blocks_with_sentences(path: Path, lines: Sequence[Line]) -> None:
    """A parcel's line, its charges further in, what was audited and entered in a sentence, and a sum of each parcel."""
    pdf = FPDF(format="letter")
    pdf.set_creation_date(WRITTEN)
    pdf.set_auto_page_break(auto=True, margin=22)

    def text(x: float, words: str, amount: str = "") -> None:
        pdf.set_x(x)
        pdf.cell(120, 4.6, words)
        pdf.set_x(150)
        pdf.cell(40, 4.6, amount, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    pdf.add_page()
    pdf.set_font("Courier", size=8)
    for words in (CARRIER, f"Invoice {STATEMENT}", f"Invoice date {STATEMENT_ON:%m/%d/%Y}", f"For {SHOP}", ""):
        text(10, words)
    for number, mine in enumerate(parcels(lines)):
        if number and number % 7 == 0:
            pdf.set_y(-15)
            text(10, f"{CARRIER} - invoice {STATEMENT} - sheet {pdf.page_no()}")
            pdf.add_page()
            text(10, f"{CARRIER}          Charges by parcel, continued")
        first = mine[0]
        text(
            12,
            f"{first.tracking}  {first.shipped_on:%m/%d/%Y}  {first.service}  Zone {first.zone}  Order {first.order}",
        )
        text(
            18,
            f"Audited {size(first)} in, {first.weight_g} lb; entered 12 x 9 x 4 in, 2 lb",
        )
        for line in mine:
            text(18, PLAIN_WORDS[line.charge], money(line.amount_cents))
        text(18, "Total for this parcel", money(total(mine)))
        pdf.ln(2)
    text(10, "Invoice total", money(total(lines)))
    text(10, f"{len(lines)} charges")
    pdf.output(str(path))


def blocks_with_labels(path: Path, lines: Sequence[Line]) -> None:
    """What is known of a parcel behind labels on two lines, dots before amounts, sums carried from page to page."""
    canvas = Canvas(str(path), pagesize=letter, invariant=1)
    y, page, sum_so_far = 0.0, 0, 0

    def start() -> None:
        nonlocal y, page
        page += 1
        canvas.setFont("Times-Bold", 12)
        canvas.drawString(50, 750, CARRIER)
        canvas.setFont("Times-Roman", 9)
        canvas.drawString(50, 736, f"Statement number: {STATEMENT}")
        canvas.drawString(300, 736, f"Statement date: {STATEMENT_ON:%Y-%m-%d}")
        canvas.drawString(500, 736, f"Page {page}")
        y = 710

    start()
    for mine in parcels(lines):
        if y < 150:
            canvas.drawString(60, 60, "Balance carried forward")
            canvas.drawRightString(560, 60, money(sum_so_far))
            canvas.drawCentredString(306, 30, "Questions? billing@larkrise.example")
            canvas.showPage()
            start()
            canvas.drawString(60, y, "Balance brought forward")
            canvas.drawRightString(560, y, money(sum_so_far))
            y -= 18
        first = mine[0]
        canvas.drawString(50, y, f"Shipment {first.tracking}")
        canvas.drawString(240, y, f"Mailed: {first.shipped_on:%d %B %Y}")
        canvas.drawString(390, y, f"Service: {first.service}")
        canvas.drawString(490, y, f"Zone: {first.zone}")
        canvas.drawString(
            62, y - 11, f"Your order {first.order} | billed as {size(first)} in | rated {first.weight_g} lb"
        )
        y -= 23
        for line in mine:
            words = PLAIN_WORDS[line.charge]
            canvas.drawString(74, y, words + " " + "." * (100 - len(words)))
            canvas.drawRightString(560, y, money(line.amount_cents))
            sum_so_far += line.amount_cents
            y -= 11
        canvas.drawString(74, y, "Subtotal")
        canvas.drawRightString(560, y, money(total(mine)))
        y -= 20
    canvas.setFont("Times-Bold", 10)
    canvas.drawString(50, y - 10, "Total amount due")
    canvas.drawRightString(560, y - 10, "$" + money(total(lines)))
    canvas.save()


def typed_report(path: Path, lines: Sequence[Line]) -> None:
    """Letters of one width, a single blank between some cells, dashes under the headings."""
    widths = (20, 12, 9, 6, 17, 8, 13, 9)
    heads = ("Trk. no", "Shipped", "Service", "Zone", "Fee", "Wgt lb", "Dims in", "Order", "Billed amt")
    canvas = Canvas(str(path), pagesize=A4, invariant=1)

    def row(y: float, cells: Sequence[str]) -> None:
        canvas.drawString(30, y, "".join(map(str.ljust, cells, widths)) + cells[-1].rjust(10))

    for nth, line in enumerate(lines):
        at = nth % 55
        if at == 0:
            if nth:
                canvas.showPage()
            canvas.setFont("Courier", 7.5)
            canvas.drawString(30, 810, f"LARKRISE POST     STATEMENT {STATEMENT}     STATEMENT DATE {STATEMENT_ON}")
            row(790, heads)
            row(781, ["-" * (width - 2) for width in (*widths, 12)])
        cells = (line.tracking, str(line.shipped_on), line.service, line.zone, PLAIN_WORDS[line.charge])
        row(770 - 9 * at, (*cells, str(line.weight_g), size(line), line.order, money(line.amount_cents)))
    row(770 - 9 * 57, ("GRAND TOTAL", *[""] * 7, money(total(lines))))
    canvas.save()


def parcels_as_tall_cells(path: Path, lines: Sequence[Line]) -> None:
    """What is known of a parcel stands once, in the middle of a cell as high as its charges."""
    rows: list[list[str]] = [["Package", "Date sent", "Svc", "Zone", "Size (in)", "Lb", "Your ref", "Surcharge", "USD"]]
    style: list[tuple[object, ...]] = [("GRID", (0, 0), (-1, -1), 0.5, colors.black), ("FONTSIZE", (0, 0), (-1, -1), 7)]
    for mine in parcels(lines):
        style += [("SPAN", (column, len(rows)), (column, len(rows) + len(mine) - 1)) for column in range(7)]
        for line in mine:
            about = [line.tracking, f"{line.shipped_on:%d.%m.%Y}", line.service, line.zone, size(line)]
            known = [*about, str(line.weight_g), line.order] if line is mine[0] else [""] * 7
            rows.append([*known, PLAIN_WORDS[line.charge], money(line.amount_cents)])
    rows.append(["Total", *[""] * 7, money(total(lines))])
    style.append(("VALIGN", (0, 0), (-1, -1), "MIDDLE"))
    above = Paragraph(f"{CARRIER}, invoice {STATEMENT}, invoice date {STATEMENT_ON}", ParagraphStyle("plain"))
    table = Table(rows, repeatRows=1, style=TableStyle(style))
    SimpleDocTemplate(str(path), pagesize=letter, invariant=True).build([above, table])


def blocks_under_headings(path: Path, lines: Sequence[Line]) -> None:
    """Parcels in columns with their sums, their charges further in and in a column of amounts of their own."""
    places = (40, 160, 220, 280, 320, 380, 460)
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    y = 0.0
    for nth, mine in enumerate(parcels(lines)):
        if nth % 9 == 0:
            if nth:
                canvas.showPage()
            canvas.setFont("Helvetica", 8)
            canvas.drawString(40, 800, f"{CARRIER}  Statement {STATEMENT}")
            canvas.drawString(300, 800, f"Statement date {STATEMENT_ON}")
            heads = ("Shipment", "Date", "Product", "Zone", "Order", "Size", "Weight")
            for x, text in zip(places, heads, strict=True):
                canvas.drawString(x, 780, text)
            canvas.drawRightString(560, 780, "Total")
            y = 766
        first = mine[0]
        known = (first.tracking, str(first.shipped_on), first.service, f"Zone {first.zone}", first.order)
        for x, text in zip(places, (*known, f"{size(first)} in", f"{first.weight_g} lb"), strict=True):
            canvas.drawString(x, y, text)
        canvas.drawRightString(560, y, money(total(mine)))
        for line in mine:
            y -= 11
            canvas.drawString(60, y, PLAIN_WORDS[line.charge])
            canvas.drawRightString(500, y, money(line.amount_cents))
        y -= 18
    canvas.drawString(40, y, "Grand total")
    canvas.drawRightString(560, y, money(total(lines)))
    canvas.save()


PAGE = """<!doctype html><meta charset="utf-8"><title>{title}</title><style>
@page {{ size: letter; margin: 15mm }} body {{ font: 9pt sans-serif }}
table {{ border-collapse: collapse; width: 100% }}
th, td {{ padding: 3px 5px; text-align: left }} {style}
</style><body><h1>{carrier}</h1><p>Statement {number}, statement date {day:%d %b %Y}</p>{body}"""


def print_html(path: Path, style: str, body: str) -> None:
    """A page as a browser prints it."""
    assert CHROMIUM
    html = path.with_suffix(".html")
    html.write_text(
        PAGE.format(title=CARRIER, style=style, carrier=CARRIER, number=STATEMENT, day=STATEMENT_ON, body=body),
        encoding="utf-8",
    )
    command = [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [*command, f"--user-data-dir={path.parent / 'profile'}", f"--print-to-pdf={path}", html.as_uri()],
        check=True,
        capture_output=True,
        timeout=120,
    )


def printed_table(path: Path, lines: Sequence[Line]) -> None:
    """A browser's print: a line under each row, cells wrapped in narrow columns and set in the middle of their row."""
    heads = (
        "Item barcode",
        "Sent",
        "Product",
        "Zone",
        "Detail of charge",
        "Rated weight",
        "Rated dimensions",
        "Ref.",
        "Sum",
    )
    rows = "".join(
        "<tr>"
        + "".join(
            f"<td>{cell}</td>"
            for cell in (
                line.tracking,
                f"{line.shipped_on:%d %b %Y}",
                line.service,
                line.zone,
                PLAIN_WORDS[line.charge],
                f"{line.weight_g} lb",
                f"{size(line)} in",
                line.order,
            )
        )
        + f"<td class=n>{money(line.amount_cents)}</td></tr>"
        for line in lines
    )
    head = "".join(f"<th>{one}</th>" for one in heads)
    body = (
        f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        f"<p>Total due: <b>${money(total(lines))}</b></p>"
    )
    style = (
        "td { border-bottom: 1px solid #999 } .n { text-align: right } td:nth-child(5), td:nth-child(7) { width: 3em }"
    )
    print_html(path, style, body)


def printed_blocks(path: Path, lines: Sequence[Line]) -> None:
    """A browser's print of a box for each parcel, its charges in a small table without rulings."""
    style = (
        "section { break-inside: avoid; margin-left: 4mm } table { margin-left: 8mm; width: 80% } "
        ".n { text-align: right }"
    )
    body = "".join(map(printed_block, parcels(lines)))
    print_html(path, style, f"{body}<p>Statement total ${money(total(lines))} in {len(lines)} charges</p>")


def printed_block(mine: Sequence[Line]) -> str:
    """A parcel's box."""
    first = mine[0]
    rows = "".join(
        f"<tr><td>{PLAIN_WORDS[line.charge]}</td><td class=n>${money(line.amount_cents)}</td></tr>" for line in mine
    )
    return (
        f"<section><h3>{first.tracking}</h3>"
        f"<p>{first.service} · zone {first.zone} · {first.shipped_on:%Y-%m-%d} · {first.order}</p>"
        f"<p>We measured {size(first)} in and {first.weight_g} lb, you declared 10 x 9 x 8 in.</p>"
        f"<table>{rows}<tr><th>Parcel total</th><th class=n>${money(total(mine))}</th></tr></table></section>"
    )


LAYOUTS = (
    Layout("ruled with wrapped cells (reportlab)", ruled_with_wrapped_cells),
    Layout("columns with page sums (reportlab)", columns_with_page_sums),
    Layout("lines between rows (fpdf2)", lines_between_rows),
    Layout("blocks with sentences (fpdf2)", blocks_with_sentences),
    Layout("blocks with labels (reportlab)", blocks_with_labels),
    Layout("typed report (reportlab)", typed_report),
    Layout("parcels as tall cells (reportlab)", parcels_as_tall_cells),
    Layout("blocks under headings (reportlab)", blocks_under_headings),
    Layout("browser's table (Chromium)", printed_table, browser=True),
    Layout("browser's blocks (Chromium)", printed_blocks, browser=True),
)
