"""Six statements as tables, three ordinary and three awkward, made without a look at what is read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from email.message import EmailMessage
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.fourth_tables import ALL, SHOP, kilograms, plain, size
from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

CROSSING = {
    "freight": "Base Rate",
    "fuel": "Fuel Surcharge",
    "residential": "Residential supplement",
    "additional handling": "Handling by hand",
    "address correction": "Address put right",
}
NEW_ZEALAND = {
    "freight": "Delivery charge",
    "fuel": "Fuel adjustment",
    "residential": "Residential delivery",
    "additional handling": "Manual handling fee",
    "address correction": "Address correction",
}
DANISH = {
    "freight": "Fragt",
    "fuel": "Brændstoftillæg",
    "residential": "Levering til privatadresse",
    "additional handling": "Tillæg for specialhåndtering",
    "address correction": "Adresserettelse",
}
MARKET = {
    "freight": "Label price",
    "fuel": "Fuel pass-through",
    "residential": "Residential drop-off",
    "additional handling": "Hand-sort fee",
    "address correction": "Wrong address fee",
}
STRAITS = {
    "freight": "FREIGHT CHARGES",
    "fuel": "FUEL SURCHARGE (FSC)",
    "residential": "RESIDENTIAL DELIVERY",
    "additional handling": "EXTRA HANDLING",
    "address correction": "ADDRESS AMENDMENT",
}
CONSOLIDATED = {
    "freight": ("PARCEL DELIVERY", "6100-10"),
    "fuel": ("FUEL INDEX", "6100-20"),
    "residential": ("RESIDENTIAL", "6100-30"),
    "additional handling": ("NON-CONVEYABLE HANDLING", "6100-40"),
    "address correction": ("ADDRESS CORRECTED", "6100-90"),
}


def place_of(line: Line) -> int:
    """A number that is the parcel's own, to choose by it what means nothing here."""
    return int(line.order.partition("-")[2])


def costs_of(parcel: Sequence[Line]) -> dict[str, int]:
    """What each charge of a parcel came to."""
    return {line.charge: line.amount_cents for line in parcel}


def american(when: date) -> str:
    """'3/2/2026'."""
    return f"{when.month}/{when.day}/{when.year}"


def dollars(cents: int) -> str:
    """-123456 → '-$1,234.56'."""
    return f"{'-' if cents < 0 else ''}${plain(cents)}"


def _money(cents: int) -> Decimal:
    return Decimal(cents) / 100


def _widths(sheet: Worksheet, widths: Sequence[float]) -> None:
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def carrier_export(folder: Path, them: Sequence[Line]) -> Path:
    """Ordinary: an American carrier's download, a row a package and a column a charge, zeros where there is none.

    It is the one without a total: the carrier prints that on the invoice, which is another document.
    """
    heading = [
        "Invoice Number",
        "Invoice Date",
        "Account no.",
        "Parcel no.",
        "Collected",
        "Promised for",
        "Your order",
        "Service",
        "To state",
        "Zone",
        "Weight you gave (lb)",
        "Weight billed (lb)",
        "Length (in)",
        "Width (in)",
        "Height (in)",
        *CROSSING.values(),
        "Parcel in all",
    ]
    rows = []
    for parcel in parcels(them):
        first, place, costs = parcel[0], place_of(parcel[0]), costs_of(parcel)
        rows.append(
            [
                STATEMENT,
                american(STATEMENT_ON),
                "0044817",
                first.tracking,
                american(first.shipped_on),
                american(first.shipped_on + timedelta(days=1 + place % 4)),
                first.order,
                first.service,
                ("CO", "NE", "KS", "UT", "NM")[place * 3 % 5],
                first.zone,
                # What the shipper keyed in, at times a pound short of what was charged.
                str(first.weight_g - place % 2),
                str(first.weight_g),
                *map(str, first.sides_mm),
                *(decimal(costs.get(charge, 0)) for charge in CHARGES),
                decimal(total(parcel)),
            ]
        )
    path = folder / f"invoice_detail_{STATEMENT}.csv"
    path.write_text(delimited([heading, *rows], ","), encoding="utf-8", newline="")
    return path


def freight_on_charge(folder: Path, them: Sequence[Line]) -> Path:
    """Ordinary: a New Zealand fulfilment house's workbook, a row a charge, the tax below the total."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Freight March 2026"
    bold, top = Font(bold=True), Border(top=Side(style="thin"))
    head: list[tuple[str, str | date]] = [
        ("Tussock & Tide Fulfilment Ltd", ""),
        ("Freight on-charge", ""),
        ("Customer", SHOP),
        ("Invoice no.", STATEMENT),
        ("Invoice date", STATEMENT_ON),
        ("GST no.", "112-877-041"),
    ]
    for name, value in head:
        sheet.append([name, value or None])
    sheet["B5"].number_format = "d mmmm yyyy"
    sheet["B5"].alignment = Alignment(horizontal="left")
    sheet.append([])
    sheet.append(
        [
            "Line",
            "Dispatched",
            "Order",
            "Ticket no.",
            "Depot",
            "Service",
            "Zone",
            "Charged weight (kg)",
            "Length (cm)",
            "Width (cm)",
            "Height (cm)",
            "Packed by",
            "Charge",
            "Amount excl. GST (NZ$)",
        ]
    )
    start = sheet.max_row
    for number, line in enumerate(them, 1):
        place = place_of(line)
        sheet.append(
            [
                number,
                line.shipped_on,
                line.order,
                line.tracking,
                ("Penrose", "Hornby")[place % 2],
                line.service,
                int(line.zone),
                float(kilograms(line)),
                *(side / 10 for side in line.sides_mm),
                ("Mere", "Tavita", "Jo", "Ngaio")[place * 3 % 4],
                NEW_ZEALAND[line.charge],
                _money(line.amount_cents),
            ]
        )
    net = total(them)
    gst = round(net * 15 / 100)
    for words, cents in (("Total excl. GST", net), ("GST 15%", gst), ("Total incl. GST", net + gst)):
        sheet.append([*[None] * 12, words, _money(cents)])
    for row in sheet.iter_rows(min_row=start + 1):
        row[1].number_format = "dd/mm/yyyy"
        row[7].number_format = "0.00"
        row[13].number_format = "#,##0.00"
    for cell in (sheet["A1"], sheet["A2"], *sheet[start], *sheet[sheet.max_row - 2], *sheet[sheet.max_row]):
        cell.font = bold
    for cell in sheet[start]:
        cell.fill = PatternFill("solid", fgColor="D6E9E4")
        cell.alignment = Alignment(wrap_text=True, vertical="center")
    for cell in sheet[sheet.max_row - 2][12:]:
        cell.border = top
    sheet.freeze_panes = f"A{start + 1}"
    _widths(sheet, (13, 24, 11, 21, 10, 9, 7, 10, 9, 9, 9, 10, 24, 14))
    path = folder / f"Freight on-charge {STATEMENT}.xlsx"
    book.save(path)
    return path


def parcel_file(folder: Path, them: Sequence[Line]) -> Path:
    """Ordinary: a Danish post's file, semicolons and commas, a row a charge with the invoice in each, a sum at last."""
    heading = [
        "Fakturanr.",
        "Fakturadato",
        "Kundenr.",
        "Indleveret",
        "Pakkenr.",
        "Ordrenr.",
        "Produkt",
        "Takstzone",
        "Faktureret vægt (kg)",
        "Længde (cm)",
        "Bredde (cm)",
        "Højde (cm)",
        "Ydelse",
        "Momskode",
        "Beløb ekskl. moms (DKK)",
    ]
    invoice = [STATEMENT, f"{STATEMENT_ON:%d-%m-%Y}", "70 18 44 02"]
    rows = [
        [
            *invoice,
            f"{line.shipped_on:%d-%m-%Y}",
            line.tracking,
            line.order,
            line.service,
            line.zone,
            kilograms(line).replace(".", ","),
            *(str(side // 10) for side in line.sides_mm),
            DANISH[line.charge],
            "U25",
            comma(line.amount_cents),
        ]
        for line in them
    ]
    last = [*[""] * 12, "I alt", "", comma(total(them))]
    path = folder / f"fakturaspecifikation_{STATEMENT}.csv"
    path.write_bytes(delimited([heading, *rows, last], ";").encode("utf-8-sig"))
    return path


def shop_mail(folder: Path, them: Sequence[Line]) -> Path:
    """Awkward: an American marketplace's mail, two facts in a cell, a parcel's charges one under another in one row.

    The year of the days stands in the sentence above; what an order came to is a column of its own.
    """
    rows = []
    for parcel in parcels(them):
        first = parcel[0]
        cells = (
            f"{first.shipped_on:%a}, {first.shipped_on:%b} {first.shipped_on.day}",
            f"{first.order}<br><small>{first.tracking}</small>",
            f"{first.service}<br>zone {first.zone}",
            f"{first.weight_g} lb<br>{size(first, ' &times; ')} in",
            "<br>".join(escape(MARKET[line.charge]) for line in parcel),
        )
        amounts = "<br>".join(dollars(line.amount_cents) for line in parcel)
        shown = "".join(f'<td valign="top">{cell}</td>' for cell in cells)
        rows.append(
            f'<tr>{shown}<td align="right" valign="top">{amounts}</td>'
            f'<td align="right" valign="top"><b>{dollars(total(parcel))}</b></td></tr>'
        )
    heads = ("Shipped", "Order<br>Tracking", "Service", "Billed as", "What for", "Amount", "Order total")
    told = f"{len(rows)} orders that shipped between March 1 and March 31, 2026"
    page = f"""<html><head><style>
.d td, .d th {{ border-bottom: 1px solid #e2d4c2; padding: 5px 9px; font: 13px Helvetica, sans-serif }}
</style></head><body>
<table width="100%"><tr><td style="font: bold 20px Helvetica">Pumpkinvine Market</td>
<td align="right">Shipping statement <b>{STATEMENT}</b><br>{STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}
</td></tr></table>
<p>Hello {SHOP},</p>
<p>Here is what we paid to carriers for you on {told}. We took
<b>{dollars(total(them))}</b> out of your shop balance; there is nothing left for you to pay.</p>
<table class="d" cellspacing="0">
<thead><tr>{"".join(f'<th align="left">{words}</th>' for words in heads)}</tr></thead>
<tbody>
{chr(10).join(rows)}
</tbody>
</table>
<p><b>What the words mean.</b> Label price: what the label cost. Fuel pass-through: the carrier's fuel surcharge.
Hand-sort fee: the carrier's fee for a box that does not go through its machines. A minus means you got it back.</p>
<p style="color: #888">Pumpkinvine Market, 40 Gristmill Lane. Change which mails you get in your shop settings.</p>
</body></html>
"""
    mail = EmailMessage()
    mail["From"] = "Pumpkinvine Market <shops@pumpkinvine-market.example>"
    mail["To"] = "orders@quillmoor.example"
    mail["Date"] = f"{STATEMENT_ON:%a, %d %b %Y} 03:05:00 -0500"
    mail["Subject"] = f"Shipping statement {STATEMENT}"
    mail.set_content("Your shipping statement is ready. Please turn on HTML to see it.\n")
    mail.add_alternative(page, subtype="html")
    path = folder / f"shipping statement {STATEMENT}.eml"
    path.write_bytes(mail.as_bytes())
    return path


class _Report:
    """A printed report that was saved as a workbook: its pages, with what stands on top of each, in one sheet."""

    heads = (
        (1, "HAWB NO.", None),
        (3, "SHIP", "DATE"),
        (4, "CUSTOMER", "ORDER"),
        (6, "SVC", None),
        (7, "TARIFF", "ZONE"),
        (9, "GROSS", "KGS"),
        (10, "CHG WT", "KGS"),
        (11, "DIMENSIONS IN CM", "L"),
        (12, None, "W"),
        (13, None, "H"),
        (15, "AMOUNT", "S$"),
    )

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet, self.at, self.page, self.bold = sheet, 0, 0, Font(name="Courier New", size=9, bold=True)

    def put(self, *, bold: bool = False, **cells: str | float | Decimal) -> None:
        """A row of so many cells, named by their letters."""
        self.at += 1
        for letter, value in cells.items():
            cell = self.sheet[f"{letter}{self.at}"]
            cell.value = value
            cell.font = self.bold if bold else Font(name="Courier New", size=9)
            if isinstance(value, Decimal):
                cell.number_format = "#,##0.00_);(#,##0.00)"
            elif isinstance(value, float):
                cell.number_format = "0.00"

    def start(self) -> None:
        """The top of a page: who, what and for whom, and the columns' names on two floors."""
        self.page += 1
        self.put(bold=True, A="KENANGA STRAITS FORWARDING PTE LTD", M="PAGE :", O=str(self.page))
        self.put(bold=True, A="DETAILED STATEMENT OF PARCEL CHARGES", M="STMT NO :", O=STATEMENT)
        self.put(A=f"BILL TO : {SHOP.upper()}", M="DATE :", O=f"{STATEMENT_ON:%d %b %Y}".upper())
        for row in range(self.at - 2, self.at + 1):
            self.sheet.merge_cells(f"A{row}:H{row}")
            self.sheet.merge_cells(f"M{row}:N{row}")
        self.put()
        line = Side(style="thin")
        for floor in (1, 2):
            self.at += 1
            for head in self.heads:
                cell = self.sheet.cell(self.at, head[0], head[floor])
                cell.font = self.bold
            for cell in self.sheet[f"A{self.at}:O{self.at}"][0]:
                cell.border = Border(top=line) if floor == 1 else Border(bottom=line)
        self.sheet.merge_cells(f"K{self.at - 1}:M{self.at - 1}")


def report_dump(folder: Path, them: Sequence[Line]) -> Path:
    """Awkward: a Singapore forwarder's report saved as a workbook, page tops within, charges under a waybill's row.

    Columns are merged and left blank as the report's print wanted it; sums are carried over from page to page.
    """
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "rptStmtDtl"
    report = _Report(sheet)
    done: list[Line] = []
    report.start()
    for number, parcel in enumerate(parcels(them)):
        if number and number % 10 == 0:
            report.put(bold=True, K="CARRIED FORWARD", O=_money(total(done)))
            report.put()
            report.start()
            report.put(bold=True, K="BROUGHT FORWARD", O=_money(total(done)))
        first = parcel[0]
        length, width, height = (side / 10 for side in first.sides_mm)
        report.put(
            A=first.tracking,
            C=f"{first.shipped_on:%d %b %Y}".upper(),
            D=first.order,
            F=first.service,
            G=first.zone,
            I=round(first.weight_g / 1000 - 0.05 * (number % 4), 2),
            J=first.weight_g / 1000,
            K=f"{length:g}",
            L=f"{width:g}",
            M=f"{height:g}",
        )
        sheet.merge_cells(f"A{report.at}:B{report.at}")
        sheet.merge_cells(f"D{report.at}:E{report.at}")
        for line in parcel:
            report.put(C=STRAITS[line.charge], O=_money(line.amount_cents))
            sheet.merge_cells(f"C{report.at}:H{report.at}")
        report.put(K="HAWB TOTAL", O=_money(total(parcel)))
        done += parcel
    report.put()
    report.put(bold=True, K=f"GRAND TOTAL ({len(parcels(them))} HAWB)", O=_money(total(them)))
    report.put()
    report.put(A="CHG WT = CHARGEABLE WEIGHT, GROSS OR VOLUMETRIC WEIGHT WHICHEVER IS HIGHER. GST ZERO-RATED.")
    report.put(A="FIGURES IN BRACKETS ARE CREDITS. THIS IS A COMPUTER GENERATED STATEMENT, NO SIGNATURE IS REQUIRED.")
    _widths(sheet, (14, 8, 13, 8, 4, 9, 8, 2, 8, 8, 7, 7, 7, 4, 13))
    path = folder / f"rptStmtDtl_{STATEMENT}.xlsx"
    book.save(path)
    return path


def record_file(folder: Path, them: Sequence[Line]) -> Path:
    """Awkward: an American consolidator's file of records: a package's record, then a record for each of its charges.

    What the fields of each kind of record are called stands in front of all records; tabs part the fields.
    """

    def behind(cents: int) -> str:
        return f"{decimal(abs(cents))}{'-' if cents < 0 else ''}"

    names = [
        ["#HDR", "STATEMENT NO", "STATEMENT DATE", "BILL TO", "CURRENCY"],
        ["#PKG", "TRACKING NO", "SHIP DATE", "ORDER NO", "SERVICE", "ZONE", "INDUCTION HUB", "BARCODE TYPE"],
        ["#CHG", "CHARGE", "GL CODE", "AMOUNT"],
        ["#TRL", "PACKAGES", "CHARGES", "TOTAL AMOUNT"],
    ]
    names[1] += ["BILLED WT", "WT UNIT", "LENGTH", "WIDTH", "HEIGHT", "DIM UNIT"]
    records = [["HDR", STATEMENT, f"{STATEMENT_ON:%Y%m%d}", SHOP.upper(), "USD"]]
    for parcel in parcels(them):
        first, place = parcel[0], place_of(parcel[0])
        records.append(
            [
                "PKG",
                first.tracking,
                f"{first.shipped_on:%Y%m%d}",
                first.order,
                first.service,
                first.zone,
                ("RENO", "JOLIET", "MACON")[place % 3],
                "C128",
                f"{first.weight_g}.00",
                "LB",
                *(f"{side}.0" for side in first.sides_mm),
                "IN",
            ]
        )
        records += [["CHG", *CONSOLIDATED[line.charge], behind(line.amount_cents)] for line in parcel]
    records.append(["TRL", str(len(parcels(them))), str(len(them)), behind(total(them))])
    path = folder / f"HMPC_{STATEMENT}.txt"
    path.write_text(delimited([*names, *records], "\t"), encoding="ascii", newline="")
    return path


LAYOUTS: tuple[Layout, ...] = (
    Layout("fifth_carrier_export", "Sandhill Crossing Express", carrier_export, ALL),
    Layout("fifth_freight_on_charge", "Tussock & Tide Fulfilment", freight_on_charge, ALL, metric=True),
    Layout("fifth_parcel_file", "Klitvejens Pakkepost", parcel_file, ALL, metric=True, numbers="postal"),
    Layout("fifth_shop_mail", "Pumpkinvine Market", shop_mail, ALL),
    Layout("fifth_report_dump", "Kenanga Straits Forwarding", report_dump, ALL, metric=True),
    Layout("fifth_record_file", "Halfmoon Parcel Consolidators", record_file, ALL),
)
