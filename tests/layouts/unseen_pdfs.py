"""Statements as PDFs, written without a look at the package, to tell how well it reads what nobody foresaw.

`by_day` prints one heading a day of shipping, in the order of the lines it is given: lines sorted by day look best.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator, Sequence
from functools import partial
from html import escape
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

import typst
from fpdf import FPDF
from fpdf.enums import Align, XPos, YPos
from reportlab.lib import colors
from reportlab.lib.pagesizes import landscape, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from tests.layouts.pdf_layouts import CARRIER, CHROMIUM, SHOP, WRITTEN, Layout, money, parcels, size
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, total

NORTHERN = "Norrhaven Parcel"


def wording(*words: str) -> dict[str, str]:
    """A layout's own words for the five charges, in the order of CHARGES."""
    return dict(zip(CHARGES, words, strict=True))


def signed(cents: int, minus: str = "-", currency: str = "") -> str:
    """123456 → '1,234.56', -1234 → '-12.34', with the currency's sign behind the minus."""
    return f"{minus if cents < 0 else ''}{currency}{money(abs(cents))}"


# 1: columns aligned by position, without a rule

POSITION_WORDS = wording(
    "Carriage",
    "Energy & fuel adjustment",
    "Private dwelling stop",
    "Non-conveyable item, handled by hand",
    "Consignee address amended",
)
POSITION_HEADING = (
    (40, False, "", "Sent"),
    (78, False, "Consignment", "number"),
    (176, False, "Your", "mark"),
    (226, False, "", "Product"),
    (284, True, "", "Band"),
    (336, True, "Chargeable", "lbs"),
    (374, True, "Length", "in"),
    (410, True, "Width", "in"),
    (446, True, "Height", "in"),
    (470, False, "", "Item of charge"),
    (752, True, "Amount", "US $"),
)
"""Where a column stands, whether that is its right edge, and the two lines of its heading."""
POSITION_ROWS = 31


def by_position(path: Path, them: Sequence[Line]) -> None:
    """Landscape, a parcel's particulars on its first line only, sums carried from page to page."""
    canvas = Canvas(str(path), pagesize=landscape(letter), invariant=1)
    canvas.setTitle(f"Statement {STATEMENT}")
    rows = [(line, place == 0) for mine in parcels(them) for place, line in enumerate(mine)]
    pages = [rows[start : start + POSITION_ROWS] for start in range(0, len(rows), POSITION_ROWS)]
    forward = 0
    for number, page in enumerate(pages, start=1):
        _position_furniture(canvas, number, len(pages))
        height = 466.0
        if number > 1:
            _position_sum(canvas, height, f"Brought forward from page {number - 1}", forward)
            height -= 14
        for place, (line, first) in enumerate(page):
            height -= 3 if first and place else 0
            _position_row(canvas, height, line, first=first, continued=place == 0 and not first)
            height -= 10.2
        forward += total([line for line, _ in page])
        if number < len(pages):
            _position_sum(canvas, 48, f"continued overleaf – carried forward to page {number + 1}", forward)
        else:
            canvas.setFont("Helvetica-Bold", 10)
            canvas.drawRightString(690, height - 12, f"Amount now due, all {len(list(parcels(them)))} consignments")
            canvas.drawRightString(752, height - 12, money(forward))
        canvas.showPage()
    canvas.save()


def _position_furniture(canvas: Canvas, number: int, of: int) -> None:
    canvas.setFillColor(colors.HexColor("#1f3d5a"))
    canvas.setFont("Helvetica-Bold", 20)
    canvas.drawString(40, 566, CARRIER)
    canvas.setFont("Helvetica", 8)
    canvas.drawString(40, 553, "Lantern Quay 7, Port Ansel  ·  accounts@larkrise.example  ·  Tel. 555 0142")
    canvas.setFillColor(colors.black)
    canvas.setFont("Helvetica-Bold", 11)
    canvas.drawRightString(752, 570, f"Statement of charges no. {STATEMENT}")
    canvas.setFont("Helvetica", 9)
    canvas.drawRightString(752, 557, f"dated {STATEMENT_ON.day} {STATEMENT_ON:%B %Y}")
    canvas.drawRightString(752, 545, "for consignments sent 1 to 31 March 2026")
    canvas.drawString(40, 528, f"To: {SHOP}, Goods Inwards Yard 3, Quillmoor")
    canvas.drawString(40, 516, "Customer 3081172     Terms: 14 days net")
    canvas.setFont("Helvetica-Bold", 8)
    for across, right, above, below in POSITION_HEADING:
        draw = canvas.drawRightString if right else canvas.drawString
        draw(across, 492, above)
        draw(across, 482, below)
    canvas.setFont("Helvetica", 7)
    canvas.drawString(40, 28, "Queries within 30 days of the above date, please, quoting the consignment number.")
    canvas.drawRightString(752, 28, f"Page {number} of {of}")


def _position_row(canvas: Canvas, height: float, line: Line, *, first: bool, continued: bool) -> None:
    particulars: tuple[str, ...] = ("",) * 9
    if first:
        sides = map(str, line.sides_mm)
        sent = f"{line.shipped_on:%d-%b}"
        particulars = (sent, line.tracking, line.order, line.service, line.zone, str(line.weight_g), *sides)
    elif continued:
        particulars = ("", f"{line.tracking} (continued)", *particulars[2:])
    canvas.setFont("Helvetica", 8)
    cells = (*particulars, POSITION_WORDS[line.charge], money(line.amount_cents))
    for (across, right, _, _), cell in zip(POSITION_HEADING, cells, strict=True):
        (canvas.drawRightString if right else canvas.drawString)(across, height, cell)


def _position_sum(canvas: Canvas, height: float, words: str, cents: int) -> None:
    canvas.setFont("Helvetica-Oblique", 8)
    canvas.drawRightString(690, height, words)
    canvas.drawRightString(752, height, money(cents))


# 2: a ruled and shaded table with wrapped cells

RULED_WORDS = wording(
    "Base rate for collection, line-haul and delivery",
    "Diesel price supplement, changing by the month",
    "Drop-off at a private household",
    "Item unfit for the sorting belt, moved by hand",
    "Destination address put right by our staff",
)
RULED_HEADING = ("Waybill", "Ship date", "Service level", "Zone", "Billed on", "What for", "Net (USD)")


def ruled(path: Path, them: Sequence[Line]) -> None:
    """Every second row shaded, weight and size in one narrow cell, names of charges over several lines."""
    small = ParagraphStyle("small", fontName="Times-Roman", fontSize=8, leading=9)
    head = ParagraphStyle("head", parent=small, fontName="Times-Bold", textColor=colors.white)
    rows: list[list[Paragraph | str]] = [[Paragraph(words, head) for words in RULED_HEADING]]
    rows += [
        [
            line.tracking,
            line.shipped_on.isoformat(),
            line.service,
            line.zone,
            Paragraph(f"{line.weight_g} lb<br/>{line.sides_mm[0]}×{line.sides_mm[1]}×{line.sides_mm[2]} in", small),
            Paragraph(RULED_WORDS[line.charge], small),
            signed(line.amount_cents, currency="$"),
        ]
        for line in them
    ]
    rows.append([f"Invoice total for {len(them)} items", "", "", "", "", "", signed(total(them), currency="$")])
    style = [
        ("FONT", (0, 1), (-1, -1), "Times-Roman", 8.5),
        ("GRID", (0, 0), (-1, -1), 0.4, colors.HexColor("#8a8a8a")),
        ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor("#5b2c4f")),
        ("ROWBACKGROUNDS", (0, 1), (-1, -2), (colors.white, colors.HexColor("#efe6ed"))),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("ALIGN", (3, 1), (3, -1), "CENTER"),
        ("ALIGN", (6, 1), (6, -1), "RIGHT"),
        ("SPAN", (0, -1), (5, -1)),
        ("FONT", (0, -1), (-1, -1), "Times-Bold", 9),
        ("LINEABOVE", (0, -1), (-1, -1), 1.2, colors.black),
    ]
    table = Table(rows, colWidths=(86, 58, 50, 32, 62, 128, 64), repeatRows=1, style=TableStyle(style))
    title = ParagraphStyle("title", fontName="Times-Bold", fontSize=17, leading=22)
    text = ParagraphStyle("text", fontName="Times-Roman", fontSize=10, leading=13)
    story = [
        Paragraph(f"{NORTHERN} – Invoice", title),
        Paragraph(f"Billed to: {SHOP}, Quillmoor. Invoice {STATEMENT}, issued {STATEMENT_ON.isoformat()}.", text),
        Paragraph("One row for each thing we charged. Credits to you carry a minus.", text),
        Spacer(0, 10),
        table,
        Spacer(0, 8),
        Paragraph("Please pay within 21 days to the account you know. No tax is charged on these services.", text),
    ]
    document = SimpleDocTemplate(str(path), pagesize=letter, invariant=1, title=STATEMENT, topMargin=48)
    document.build(story, onFirstPage=_ruled_foot, onLaterPages=_ruled_foot)


def _ruled_foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
    canvas.setFont("Times-Italic", 8)
    canvas.drawString(72, 40, f"{NORTHERN}, Depot Road 1, Norrhaven – billing@norrhaven.example")
    canvas.drawRightString(540, 40, f"{STATEMENT} / {document.page}")


# 3: a block a parcel, with dotted leaders

BLOCK_WORDS = wording(
    "Base shipping rate",
    "Fuel levy",
    "Home delivery fee",
    "Hand-sorted piece (too long, heavy or bulky for the machine)",
    "Wrong address, corrected and forwarded",
)


class _Bill(FPDF):
    """Pages with the bill's number above and their own below."""

    def header(self) -> None:
        """The bill's number and date."""
        self.set_font("Helvetica", "", 9)
        self.set_text_color(110)
        self.cell(0, 5, f"{CARRIER}, customer billing", align=Align.L)
        self.cell(0, 5, f"Bill no. {STATEMENT} of {STATEMENT_ON:%m/%d/%Y}", align=Align.R)
        self.ln(9)
        self.set_text_color(0)

    def footer(self) -> None:
        """The page's number, in the middle."""
        self.set_y(-14)
        self.set_font("Helvetica", "", 8)
        self.cell(0, 5, f"- {self.page_no()} / {{nb}} -", align=Align.C)


def blocks(path: Path, them: Sequence[Line]) -> None:
    """A bold line a parcel, its charges indented below it with dots up to the amount, then its sum."""
    bill = _Bill(format="A4")
    bill.set_creation_date(WRITTEN)
    bill.set_margins(22, 14)
    bill.set_auto_page_break(auto=True, margin=20)
    bill.add_page()
    bill.set_font("Helvetica", "B", 18)
    _below(bill, 12, "Your parcels in March")
    bill.set_font("Helvetica", "", 10)
    bill.multi_cell(
        0,
        5,
        f"Dear {SHOP}, below is what we carried for you and what it costs, in US dollars. "
        "Weight and size are as our scanner measured them, where they differ from what you told us.",
        new_x=XPos.LMARGIN,
        new_y=YPos.NEXT,
    )
    bill.ln(4)
    for mine in parcels(them):
        _block(bill, mine)
    bill.ln(2)
    bill.set_font("Helvetica", "B", 12)
    bill.cell(0, 9, f"To pay for all parcels on this bill: $ {money(total(them))}", border="TB", align=Align.R)
    bill.output(str(path))


def _block(bill: _Bill, mine: Sequence[Line]) -> None:
    first = mine[0]
    # A block is never torn apart by the end of a page.
    if bill.will_page_break(6 + 5 + 5 * len(mine) + 8):
        bill.add_page()
    bill.set_font("Helvetica", "B", 10)
    sent = f"{first.shipped_on:%m/%d/%Y}"
    _below(bill, 6, f"{first.tracking}   handed over {sent}   {first.service}, zone {first.zone}")
    bill.set_font("Helvetica", "", 8.5)
    told = f"You told us {first.weight_g - 1} lb, we charge {first.weight_g} lb and {size(first)} in."
    _below(bill, 5, f"Your order {first.order}. {told}")
    bill.set_font("Helvetica", "", 10)
    for line in mine:
        words = BLOCK_WORDS[line.charge] + (", given back" if line.amount_cents < 0 else "")
        _leader(bill, words, signed(line.amount_cents))
    bill.set_font("Helvetica", "B", 10)
    _below(bill, 5, f"This parcel {signed(total(mine))}", Align.R)
    bill.ln(3)


def _below(bill: _Bill, height: float, words: str, align: Align = Align.L) -> None:
    bill.cell(0, height, words, align=align, new_x=XPos.LMARGIN, new_y=YPos.NEXT)


def _leader(bill: _Bill, words: str, amount: str) -> None:
    indent = 8
    room = bill.epw - indent - bill.get_string_width(f"{words}  {amount}") - 3
    dots = "." * int(room / bill.get_string_width("."))
    bill.set_x(bill.l_margin + indent)
    bill.cell(0, 5, f"{words} {dots}", align=Align.L)
    bill.set_x(bill.l_margin)
    _below(bill, 5, amount, Align.R)


# 4: a print-out as from an old mainframe

PRINTOUT_WORDS = wording(
    "T10 BASIC TRANSPORT",
    "T14 FUEL ESCALATOR",
    "D31 RESI DLVY",
    "H52 ADDL HNDLG",
    "A07 ADDR CORR",
)
PRINTOUT_WIDTH, PRINTOUT_LINES = 97, 50
PRINTOUT_ROW = "{:<8} {:<15} {:<8} {:>2} {:>4}  {:>2} {:>2} {:>2}  {:<28} {:>13}{:2}"


def printout(path: Path, them: Sequence[Line]) -> None:
    """Courier on paper with green bars, every column filled on every line, credits with CR behind."""
    body = list(_printout_body(them))
    pages = [body[start : start + PRINTOUT_LINES] for start in range(0, len(body), PRINTOUT_LINES)]
    paper = FPDF(orientation="landscape", unit="pt", format="letter")
    paper.set_creation_date(WRITTEN)
    paper.set_margin(0)
    paper.set_auto_page_break(auto=False)
    for number, page in enumerate(pages, start=1):
        paper.add_page()
        paper.set_fill_color(226, 241, 226)
        for bar in range(0, 60, 6):
            paper.rect(30, 24 + bar * 9.5, 732, 28.5, style="F")
        paper.set_font("Courier", "", 10)
        for place, words in enumerate([*_printout_heading(number, len(pages)), *page]):
            paper.text(105, 31 + place * 9.5, words)
    paper.output(str(path))


def _printout_heading(number: int, of: int) -> Iterator[str]:
    program, run = "PRG LBR220-4", "RUN DATE 04/03/26 02:41"
    yield program + "LARKRISE POST - REVENUE ACCOUNTING".center(PRINTOUT_WIDTH - len(program + run)) + run
    page = f"PAGE {number:>4} OF {of:>4}"
    yield f"CUST 3081172 {SHOP.upper()}".ljust(PRINTOUT_WIDTH - len(page)) + page
    yield f"STMT NBR {STATEMENT}    STMT DATE {STATEMENT_ON:%d%b%y}    ALL AMOUNTS USD, CR = CREDIT".upper()
    yield ""
    # One heading over the three columns of a size.
    above = PRINTOUT_ROW.format("SHIP", "TRACER", "CUST", "", "BLD", "L_", "W_", "H_", "CHARGE", "", "")
    yield above.replace("L_ W_ H_", "SIZE, IN")
    yield PRINTOUT_ROW.format("DATE", "NUMBER", "REF", "ZN", "LBS", "L", "W", "H", "CODE/DESCRIPTION", "AMOUNT", "")
    yield "=" * PRINTOUT_WIDTH


def _printout_body(them: Sequence[Line]) -> Iterator[str]:
    for mine in parcels(them):
        for line in mine:
            sent = f"{line.shipped_on:%d%b%y}".upper()
            cells = (sent, line.tracking, line.order, line.zone, line.weight_g, *line.sides_mm)
            yield PRINTOUT_ROW.format(*cells, PRINTOUT_WORDS[line.charge], *_credit(line.amount_cents))
        if len(mine) > 1:
            yield from _printout_sum("-", f"SUM TRACER {mine[0].tracking}", total(mine))
        yield ""
    yield from _printout_sum("=", f"*** STATEMENT TOTAL   {len(them)} CHARGES ***", total(them))
    yield ""
    yield "END OF REPORT LBR220-4".center(PRINTOUT_WIDTH)


def _printout_sum(dash: str, words: str, cents: int) -> Iterator[str]:
    blank = ("",) * 8
    yield PRINTOUT_ROW.format(*blank, "", dash * 13, "")
    amount, credit = _credit(cents)
    # The words are longer than a column, so that they end where the amount's column begins.
    width = len(PRINTOUT_ROW.format(*blank, "", "", "")) - 15
    yield f"{words + ' ':>{width}}{amount:>13}{credit}".rstrip()


def _credit(cents: int) -> tuple[str, str]:
    """-1234 → ('12.34', 'CR')."""
    return money(abs(cents)), "CR" if cents < 0 else ""


# 5: a summary by charge, then details by day

DAY_WORDS = wording(
    "Haulage",
    "Fuel index uplift",
    "Householder delivery",
    "Awkward piece, special care",
    "Faulty address, redirected",
)
DAY_SOURCE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.statement, date: datetime(year: 2026, month: 4, day: 2))
#set page(paper: "us-letter", margin: (x: 0.75in, y: 0.8in), footer: context [
  #set text(8pt, fill: luma(40%))
  #data.carrier · statement #data.statement #h(1fr) sheet #counter(page).display() / #counter(page).final().first()
])
#set text(10pt)
#text(20pt, weight: "bold")[#data.carrier]
#v(1em)
#grid(columns: (1fr, auto), [
  #data.shop \\ Goods Inwards Yard 3 \\ Quillmoor
], align(right)[
  *Account statement #data.statement* \\ Drawn up on #data.date \\ Account 77-20931
])
#v(2em)
#text(14pt)[Overview of the month]
#table(columns: (1fr, auto, auto), align: (left, right, right), stroke: none, inset: 6pt,
  table.hline(), [Kind of charge], [How many], [Sum in dollars], table.hline(),
  ..data.summary.flatten(),
  table.hline(), [*Balance of this statement*], [*#data.count*], [*#data.total*], table.hline(stroke: 1.5pt))
#v(1em)
The sheets that follow list every parcel under the day on which it left your dock. A parcel's charges stand beside its
number, one below another. Amounts with a minus are in your favor.
#pagebreak()
#text(14pt)[Details by day]
#set text(9pt)
#for day in data.days {
  block(sticky: true, above: 1.4em, below: 0.6em, text(11pt, weight: "bold", day.name))
  table(columns: (1.4fr, 0.8fr, 0.7fr, 0.5fr, 1.1fr, 1.9fr, 0.8fr), stroke: none, inset: 3.5pt,
    align: (col, row) => if col == 6 { right } else { left } + horizon,
    table.header([_Parcel_], [_Reference_], [_Class_], [_Area_], [_Charged weight_], [_Charge_], [_Dollars_]),
    table.hline(stroke: 0.5pt),
    ..for parcel in day.parcels {
      let count = parcel.charges.len()
      for cell in parcel.cells { (table.cell(rowspan: count, breakable: false, cell),) }
      for charge in parcel.charges { charge }
      (table.hline(stroke: 0.3pt + luma(60%)),)
    },
    table.cell(colspan: 6, align: right)[Subtotal #day.short], [*#day.sum*])
}
#v(1em)
#align(right, text(11pt)[*Sum of all days: #data.total dollars*])
"""
"""Cells that reach over a parcel's charges hold its particulars, in the middle of their height."""


def by_day(path: Path, them: Sequence[Line]) -> None:
    """A first page of sums that are no lines; then a table a day, which alone tells when a parcel was shipped."""
    amount = partial(signed, minus="−")
    summary = []
    for charge in CHARGES:
        mine = [line for line in them if line.charge == charge]
        summary.append((DAY_WORDS[charge], str(len(mine)), amount(total(mine))))
    data = {
        "carrier": NORTHERN,
        "shop": SHOP,
        "statement": STATEMENT,
        "date": f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}",
        "summary": summary,
        "count": str(len(them)),
        "total": amount(total(them)),
        "days": [
            {
                "name": f"{day:%A}, {day.day} {day:%B %Y}",
                "short": f"{day.day} {day:%B}",
                "sum": amount(total(mine)),
                "parcels": [
                    {
                        "cells": [one[0].tracking, one[0].order, one[0].service, one[0].zone, f"{one[0].weight_g} lb"],
                        "charges": [(DAY_WORDS[line.charge], amount(line.amount_cents)) for line in one],
                    }
                    for one in parcels(mine)
                ],
            }
            for day, mine in ((day, list(group)) for day, group in groupby(them, key=lambda line: line.shipped_on))
        ],
    }
    # Through a file, as the text of a source would be taken for its path.
    with TemporaryDirectory() as folder:
        source = Path(folder) / "statement.typ"
        source.write_text(DAY_SOURCE, encoding="utf-8")
        typst.compile(
            source,
            output=path,
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            timestamp=int(WRITTEN.timestamp()),
        )


# 6: an account's page in a browser, printed

ACCOUNT_WORDS = wording("Base tariff", "Fuel clause", "Doorstep (private home)", "Irregular piece", "Address fix")
ACCOUNT_STYLE = """
@page { size: letter; margin: 12mm 10mm }
body { font: 9pt sans-serif; color: #222; margin: 0 }
nav { border-bottom: 2px solid #0a6b5e; padding: 4px 0 8px; color: #0a6b5e }
nav b { font-size: 14pt; margin-right: 24px }
nav span { margin-right: 16px }
.cards { display: flex; gap: 12px; margin: 12px 0 }
.cards div { border: 1px solid #ccc; border-radius: 6px; padding: 8px 14px; flex: 1 }
.cards strong { display: block; font-size: 13pt }
table { border-collapse: collapse; width: 100% }
th { text-align: left; font-size: 8pt; border-bottom: 1px solid #888; vertical-align: bottom; padding: 4px }
td { border-bottom: 1px solid #e2e2e2; padding: 4px; vertical-align: top }
tr { break-inside: avoid }
td { white-space: nowrap }
.money { text-align: right }
small { color: #777; display: block }
.credit { color: #b00020 }
tfoot { display: table-row-group; font-weight: bold }
"""


def account(path: Path, them: Sequence[Line]) -> None:
    """A row a parcel with a column a charge, several particulars to a cell, and sums below each column."""
    if CHROMIUM is None:
        raise FileNotFoundError("no Chromium to print with")
    with TemporaryDirectory() as folder:
        page = Path(folder) / "account.html"
        page.write_text(_account_page(them), encoding="utf-8")
        options = ("--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer")
        command = [CHROMIUM, *options, f"--print-to-pdf={path}", page.as_uri()]
        subprocess.run(command, check=True, capture_output=True)


def _account_page(them: Sequence[Line]) -> str:
    count = len(list(parcels(them)))
    names = "".join(f'<th class="money">{escape(words)}</th>' for words in ACCOUNT_WORDS.values())
    rows = "\n".join(_account_row(mine) for mine in parcels(them))
    sums = "".join(_account_cell(total([line for line in them if line.charge == charge])) for charge in CHARGES)
    day = f"{STATEMENT_ON:%b} {STATEMENT_ON.day}, {STATEMENT_ON.year}"
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Statement {STATEMENT}</title><style>{ACCOUNT_STYLE}</style></head>
<body>
<nav><b>{CARRIER}</b><span>Home</span><span>Send</span><span>Track</span><span>Billing</span><span>Help</span></nav>
<h2>Statement #{STATEMENT}</h2>
<div class="cards">
<div>Statement date<strong>{day}</strong></div>
<div>Account holder<strong>{escape(SHOP)}</strong></div>
<div>Charged on this statement<strong>${money(total(them))}</strong></div>
</div>
<p>Showing 1–{count} of {count} parcels. Amounts in US dollars.</p>
<table><thead><tr><th>Parcel ID<small>Order</small></th><th>Sent</th><th>Service</th><th>Rated at</th>
{names}<th class="money">Parcel total</th></tr></thead>
<tbody>
{rows}
</tbody>
<tfoot><tr><td colspan="4">All parcels</td>{sums}{_account_cell(total(them))}</tr></tfoot></table>
<p>Something not right? Open a case under Help within 30 days. – means not charged.</p>
</body></html>
"""


def _account_cell(cents: int | None) -> str:
    """An amount, in red where it is a credit; a dash where nothing was charged."""
    if cents is None:
        return '<td class="money">–</td>'
    kind = "money credit" if cents < 0 else "money"
    return f'<td class="{kind}">{signed(cents)}</td>'


def _account_row(mine: Sequence[Line]) -> str:
    first = mine[0]
    charged = {line.charge: line.amount_cents for line in mine}
    cells = "".join(_account_cell(charged.get(charge)) for charge in CHARGES)
    sides = "×".join(map(str, first.sides_mm))
    return (
        f"<tr><td>{first.tracking}<small>{first.order}</small></td>"
        f"<td>{first.shipped_on:%b} {first.shipped_on.day}, {first.shipped_on.year}</td>"
        f"<td>{first.service}<small>Zone {first.zone}</small></td>"
        f"<td>{first.weight_g} lb<small>{sides} in</small></td>"
        f"{cells}{_account_cell(total(mine))}</tr>"
    )


def _but(*left_out: str) -> tuple[str, ...]:
    """FIELDS without those that a layout does not print."""
    return tuple(name for name in FIELDS if name not in left_out)


LAYOUTS: tuple[Layout, ...] = (
    Layout("columns by position", by_position),
    Layout("ruled and shaded", ruled, _but("order")),
    Layout("blocks with leaders", blocks),
    Layout("mainframe print-out", printout, _but("service")),
    Layout("details by day", by_day, _but("billed_length_nm", "billed_width_nm", "billed_height_nm")),
    Layout("account in a browser", account, browser=True),
)
