"""Ninth set of statements: three tables as a part-time seller would be sent or download monthly, written blind."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.seventh_tables import by_charge, centimetres, kilos
from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, decimal, total

SELLER = "Bramwell & Oat Candles"
IN_A_DOCKET = 10
"""Items on one of the Irish post's posting dockets."""

ACTIVITY = {
    "freight": "Postage - label purchased",
    "fuel": "Fuel adj.",
    "residential": "Residential delivery area",
    "additional handling": "Non-machinable / addl. handling",
    "address correction": "Addr. correction fee",
}
DOCKET = {
    "freight": "Postage",
    "fuel": "Fuel",
    "residential": "Private House",
    "additional handling": "Bulky Item",
    "address correction": "Address Amended",
}
PARTICULARS = {
    "freight": "Basic freight",
    "fuel": "Fuel surcharge (FSC)",
    "residential": "Residential delivery charge",
    "additional handling": "Special handling charge",
    "address correction": "Address correction charge",
}


def _postage_account(folder: Path, them: Sequence[Line]) -> Path:
    """An American label seller's file: a row a charge, weights in ounces, charges and credits in columns apart."""
    charged = sum(line.amount_cents for line in them if line.amount_cents > 0)
    rows = [
        ["Pennyfold Postage"],
        ["Account activity"],
        ["Account", "PF-77120", SELLER],
        ["Statement #", STATEMENT],
        ["Statement closed", f"{STATEMENT_ON.month}/{STATEMENT_ON.day}/{STATEMENT_ON.year}"],
        ["Activity", "3/1/2026 - 3/31/2026"],
        [],
        [
            "Sent on",
            "Activity",
            "Method",
            "Order ID",
            "Tracking #",
            "Zone",
            "Rated Wt. (oz)",
            "Pkg L (in)",
            "Pkg W (in)",
            "Pkg H (in)",
            "Charge",
            "Credit",
        ],
    ]
    for line in them:
        amount = decimal(abs(line.amount_cents))
        rows.append(
            [
                f"{line.shipped_on.month}/{line.shipped_on.day}/{line.shipped_on.year}",
                ACTIVITY[line.charge],
                line.service,
                line.order,
                line.tracking,
                line.zone,
                str(line.weight_g * 16),
                *map(str, line.sides_mm),
                *(("", amount) if line.amount_cents < 0 else (amount, "")),
            ]
        )
    rows.append(["", "Totals", *[""] * 8, decimal(charged), decimal(charged - total(them))])
    rows.append(["", "Net charges, this statement", *[""] * 8, decimal(total(them)), ""])
    rows.append([])
    rows.append(["Questions? Open a ticket from the Help tab within 30 days."])
    path = folder / f"activity-{STATEMENT}.csv"
    path.write_text(delimited(rows), encoding="utf-8", newline="")
    return path


def _docket_workbook(folder: Path, them: Sequence[Line]) -> Path:
    """An Irish post's workbook: one sheet, a row an item, a subtotal below each posting docket."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "March 2026"
    top: list[tuple[str | date | None, ...]] = [
        ("Carrowmoyle Post & Parcel",),
        ("Mill Lane Sorting Office, Co. Carrowmoyle",),
        (None,),
        ("Customer:", SELLER, None, None, "Bill No.:", None, STATEMENT),
        ("Licence no.:", "CM 3094", None, None, "Bill date:", None, STATEMENT_ON),
        ("Terms:", "14 days", None, None, "All amounts in euro, VAT exempt"),
        (None,),
    ]
    for row in top:
        sheet.append(row)
    sheet["A1"].font = Font(bold=True, size=15, color="1F5F3A")
    sheet["G5"].number_format = "d mmm yyyy"
    heads = ["Date Posted", "Item Barcode", "Your Ref.", "Product", "Zone", "Wt. Kg", "Lgth cm", "Wdth cm", "Hght cm"]
    sheet.append([*heads, *DOCKET.values(), "Item Total"])
    for cell in sheet[sheet.max_row]:
        cell.font, cell.fill = Font(bold=True, color="FFFFFF"), PatternFill("solid", start_color="1F5F3A")
        cell.alignment = Alignment(wrap_text=True, horizontal="center", vertical="center")
    items = parcels(them)
    for start in range(0, len(items), IN_A_DOCKET):
        docket = items[start : start + IN_A_DOCKET]
        for item in docket:
            _item_row(sheet, item)
        _sums_row(
            sheet,
            f"Docket {start // IN_A_DOCKET + 1} subtotal ({len(docket)} items)",
            [x for item in docket for x in item],
        )
    _sums_row(sheet, "TOTAL DUE", them)
    sheet.append([None])
    sheet.append(["Please quote the bill number with your payment. Minus amounts are refunds."])
    for place, width in enumerate((13, 18, 11, 10, 7, 8, 7, 7, 7, 11, 10, 10, 10, 10, 12), 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    path = folder / f"Bill {STATEMENT}.xlsx"
    book.save(path)
    return path


def _item_row(sheet: Worksheet, item: Sequence[Line]) -> None:
    """One item, empty cells where nothing was charged."""
    first, costs = item[0], by_charge(item)
    sheet.append(
        [
            first.shipped_on,
            first.tracking,
            first.order,
            first.service,
            int(first.zone),
            Decimal(first.weight_g) / 1000,
            *(side // 10 for side in first.sides_mm),
            *(Decimal(costs[charge]) / 100 if charge in costs else None for charge in CHARGES),
            Decimal(total(item)) / 100,
        ]
    )
    _formats(sheet)


def _sums_row(sheet: Worksheet, words: str, them: Sequence[Line]) -> None:
    """A row of sums in heavy letters."""
    sums = by_charge(them)
    amounts = [Decimal(sums.get(charge, 0)) / 100 for charge in CHARGES]
    sheet.append([words, *[None] * 8, *amounts, Decimal(total(them)) / 100])
    _formats(sheet)
    for cell in sheet[sheet.max_row]:
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", start_color="E3EFE7")


def _formats(sheet: Worksheet) -> None:
    """How the numbers of the last row are shown."""
    cells = sheet[sheet.max_row]
    cells[0].number_format, cells[5].number_format = "dd/mm/yy", "0.00"
    for cell in cells[9:]:
        cell.number_format = '"€"#,##0.00;-"€"#,##0.00'


def _docket_page(folder: Path, them: Sequence[Line]) -> Path:
    """An Indian courier's bill as a page: a docket's facts in cells over several rows, a row a charge, sub totals."""
    body = "\n".join(_docket_rows(number, parcel) for number, parcel in enumerate(parcels(them), 1))
    heads = ("Sl. No.", "Booking Dt.", "Docket No.", "Order Ref.", "Mode", "Zone", "Ch. Wt. (Kgs)", "Size (cms) LxBxH")
    abstract = "".join(
        f"<tr><td>{PARTICULARS[charge]}</td><td align=right>{_lakhs(cents)}</td></tr>"
        for charge, cents in by_charge(them).items()
    )
    page = f"""<!DOCTYPE html>
<html lang="en-IN">
<head><meta charset="utf-8"><title>Bill {STATEMENT}</title>
<style>body{{font-family:Arial;font-size:12px}} td,th{{padding:3px}} .sub{{background:#f3ead8;font-weight:bold}}</style>
</head>
<body>
<center><big><b>DHANAVELLI COURIER SERVICE</b></big><br>14, Old Tank Road, Dhanavelli<br>
<b>CREDIT BILL</b></center>
<p>To,<br><b>M/s. {escape(SELLER)}</b><br>Client code: BOC/112</p>
<p>Bill No.: <b>{STATEMENT}</b> &nbsp; Bill Date: <b>{STATEMENT_ON:%d.%m.%Y}</b> &nbsp;
Billing period: 01.03.2026 to 31.03.2026</p>
<table border="1" cellspacing="0">
<tr bgcolor="#8a2b0e" style="color:white">{"".join(f"<th>{head}</th>" for head in heads)}
<th>Particulars</th><th>Amount (Rs.)</th></tr>
{body}
<tr class="sub"><td colspan="9" align="right">Grand Total</td><td align="right">{_lakhs(total(them))}</td></tr>
</table>
<h4>Abstract</h4>
<table border="1" cellspacing="0">{abstract}
<tr class="sub"><td>Net payable Rs.</td><td align="right">{_lakhs(total(them))}</td></tr></table>
<p>E. &amp; O. E. Cheques in favour of Dhanavelli Courier Service. Authorised Signatory</p>
</body>
</html>
"""
    path = folder / f"credit_bill_{STATEMENT}.htm"
    path.write_text(page, encoding="utf-8")
    return path


def _docket_rows(number: int, parcel: Sequence[Line]) -> str:
    """A docket: its facts once, its charges below one another, its sub total."""
    first = parcel[0]
    facts = [str(number), f"{first.shipped_on:%d.%m.%Y}", first.tracking, first.order, first.service, first.zone]
    facts += [kilos(first, 3), centimetres(first, "x")]
    rows = []
    for place, line in enumerate(parcel):
        before = "".join(f'<td rowspan="{len(parcel)}">{fact}</td>' for fact in facts) if place == 0 else ""
        words = PARTICULARS[line.charge]
        rows.append(f'<tr>{before}<td>{words}</td><td align="right">{_lakhs(line.amount_cents)}</td></tr>')
    rows.append(
        '<tr class="sub"><td colspan="9" align="right">Sub Total</td>'
        f'<td align="right">{_lakhs(total(parcel))}</td></tr>'
    )
    return "\n".join(rows)


def _lakhs(cents: int) -> str:
    """12345678 → '1,23,456.78', -1234 → '(-) 12.34'."""
    whole, part = divmod(abs(cents), 100)
    words = str(whole)
    head, tail = words[:-3], words[-3:]
    groups = [tail]
    while head:
        groups.insert(0, head[-2:])
        head = head[:-2]
    return f"{'(-) ' if cents < 0 else ''}{','.join(groups)}.{part:02d}"


LAYOUTS: tuple[Layout, ...] = (
    Layout("ninth_postage_account", "Pennyfold Postage", _postage_account, FIELDS),
    Layout("ninth_docket_workbook", "Carrowmoyle Post", _docket_workbook, FIELDS, metric=True, numbers="postal"),
    Layout("ninth_docket_page", "Dhanavelli Courier Service", _docket_page, FIELDS, metric=True),
)
