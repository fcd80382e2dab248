"""Four ordinary statements as tables, made without a look at what is read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from email.message import EmailMessage
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.fifth_tables import costs_of, place_of
from tests.layouts.fourth_tables import ALL, SHOP, kilograms, size, sum_of
from tests.layouts.pdf_layouts import money
from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

SOUTH_AFRICAN = {
    "freight": "Basic charge",
    "fuel": "Fuel surcharge",
    "residential": "Residential area surcharge",
    "additional handling": "Non-standard parcel handling",
    "address correction": "Incorrect address fee",
}
COPPERKETTLE = {
    "freight": "Carrier Rate",
    "fuel": "Fuel",
    "residential": "Residential",
    "additional handling": "Addl. Handling",
    "address correction": "Addr. Correction",
}
ITALIAN = {
    "freight": "Nolo base",
    "fuel": "Supplemento carburante",
    "residential": "Consegna a indirizzo privato",
    "additional handling": "Movimentazione aggiuntiva",
    "address correction": "Correzione indirizzo",
}
INDIAN = {
    "freight": "Outward freight",
    "fuel": "Fuel Surcharge",
    "residential": "Residential Delivery",
    "additional handling": "Special Handling",
    "address correction": "Address Change",
}


def grams(line: Line) -> int:
    """What the scale may have shown: a little under the weight that is charged."""
    return line.weight_g - 10 * (place_of(line) % 4)


def courier_lines(folder: Path, them: Sequence[Line]) -> Path:
    """A South African courier's file: a head, a row a charge with the waybill in each, the total below, masses."""
    head = [
        ["Bushwillow Couriers (Pty) Ltd"],
        ["Statement no", STATEMENT],
        ["Statement date", f"{STATEMENT_ON:%Y/%m/%d}"],
        ["Account", "BW20714", SHOP],
        ["Currency", "ZAR"],
        [],
    ]
    heading = [
        "Waybill no",
        "Waybill date",
        "Customer ref (order no)",
        "From hub",
        "To hub",
        "Service",
        "Rate zone",
        "Actual mass (kg)",
        "Chargeable mass (kg)",
        "Length (cm)",
        "Breadth (cm)",
        "Height (cm)",
        "Charge description",
        "Amount (R)",
    ]
    rows = [
        [
            line.tracking,
            f"{line.shipped_on:%Y/%m/%d}",
            line.order,
            "JNB",
            ("CPT", "DUR", "PLZ", "BFN")[place_of(line) % 4],
            line.service,
            line.zone,
            f"{Decimal(grams(line)) / 1000:.2f}",
            kilograms(line),
            *(str(side // 10) for side in line.sides_mm),
            SOUTH_AFRICAN[line.charge],
            decimal(line.amount_cents),
        ]
        for line in them
    ]
    last = [*[""] * 12, "Total", decimal(total(them))]
    path = folder / f"BW20714_{STATEMENT}.csv"
    path.write_text(delimited([*head, heading, *rows, last]), encoding="utf-8", newline="")
    return path


def _dollars(cents: int) -> Decimal:
    return Decimal(cents) / 100


def _book_rows(sheet: Worksheet, them: Sequence[Line]) -> None:
    """The packages, each with its charges side by side, and the sums of the columns."""
    for parcel in parcels(them):
        first, costs = parcel[0], costs_of(parcel)
        sheet.append(
            [
                first.order,
                first.shipped_on,
                first.tracking,
                first.service,
                int(first.zone),
                ("A. Boyd", "K. Tran", "L. Ortiz")[place_of(first) * 5 % 3],
                first.weight_g,
                *first.sides_mm,
                *(_dollars(costs[charge]) if charge in costs else None for charge in CHARGES),
                _dollars(total(parcel)),
            ]
        )
    sums = [_dollars(sum_of(them, charge)) for charge in CHARGES]
    sheet.append(["Total", *[None] * 9, *sums, _dollars(total(them))])


def fulfilment_book(folder: Path, them: Sequence[Line]) -> Path:
    """An American fulfilment house's workbook: a row a package, a column a charge, sums in the last row."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Shipping Detail"
    bold = Font(bold=True)
    head: list[tuple[str, str | date | None]] = [
        ("Copperkettle Fulfillment LLC", None),
        ("Shipping charges for March 2026", None),
        ("Client:", SHOP),
        ("Invoice #:", STATEMENT),
        ("Invoice date:", STATEMENT_ON),
    ]
    for row in head:
        sheet.append(row)
    sheet["B5"].number_format, sheet["B5"].alignment = "mm/dd/yyyy", Alignment(horizontal="left")
    sheet.append([])
    names = ["Order #", "Ship date", "Tracking #", "Service", "Zone", "Packer", "Billable weight (lb)"]
    sheet.append([*names, "L (in)", "W (in)", "H (in)", *COPPERKETTLE.values(), "Total"])
    start = sheet.max_row
    _book_rows(sheet, them)
    for cells in sheet.iter_rows(min_row=start + 1):
        cells[1].number_format = "mm/dd/yyyy"
        for cell in cells[10:]:
            cell.number_format = '"$"#,##0.00;-"$"#,##0.00'
    for cell in sheet[start]:
        cell.font, cell.fill = bold, PatternFill("solid", fgColor="F4DCC4")
        cell.alignment = Alignment(wrap_text=True, vertical="center")
    for cell in (sheet["A1"], *sheet[sheet.max_row]):
        cell.font = bold
    for cell in sheet[sheet.max_row]:
        cell.border = Border(top=Side(style="thin"))
    sheet.freeze_panes = f"A{start + 1}"
    for place, width in enumerate((14, 24, 21, 9, 6, 10, 10, 7, 7, 7, *[13] * 6), 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    path = folder / f"Copperkettle {STATEMENT} shipping detail.xlsx"
    book.save(path)
    return path


def post_page(folder: Path, them: Sequence[Line]) -> Path:
    """An Italian post's page: an item's cells stand at its first charge, the others below it, the total at last."""
    rows = []
    for parcel in parcels(them):
        first = parcel[0]
        lead = (
            first.tracking,
            f"{first.shipped_on:%d/%m/%Y}",
            first.order,
            first.service,
            first.zone,
            kilograms(first).replace(".", ","),
            size(first, " x ", each=10),
        )
        for place, line in enumerate(parcel):
            cells = [*([""] * 7 if place else lead), escape(ITALIAN[line.charge]), comma(line.amount_cents)]
            rows.append(f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>")
    heads = ("Codice invio", "Data accettazione", "Rif. ordine", "Prodotto", "Zona tariffaria", "Peso tassato (kg)")
    shown = "".join(f"<th>{words}</th>" for words in (*heads, "Dimensioni (cm)", "Descrizione", "Importo (EUR)"))
    page = f"""<!DOCTYPE html>
<html lang="it"><head><meta charset="utf-8"><title>Dettaglio invii {STATEMENT}</title>
<style>
body {{ font-family: Verdana, sans-serif; font-size: 12px }}
.dettaglio td, .dettaglio th {{ border: 1px solid #b9c4d0; padding: 3px 6px }}
.dettaglio th {{ background: #e9eef4 }} td:last-child {{ text-align: right }}
</style></head>
<body>
<h1>Poste della Valbruna</h1>
<h2>Dettaglio degli invii fatturati</h2>
<table>
<tr><td>Fattura n.</td><td>{STATEMENT}</td></tr>
<tr><td>Data fattura</td><td>{STATEMENT_ON:%d/%m/%Y}</td></tr>
<tr><td>Cliente</td><td>{SHOP}</td></tr>
<tr><td>Codice contratto</td><td>30091877</td></tr>
</table>
<table class="dettaglio" cellspacing="0">
<thead><tr>{shown}</tr></thead>
<tbody>
{chr(10).join(rows)}
</tbody>
<tfoot><tr><td colspan="8"><b>Totale fattura</b></td><td><b>{comma(total(them))}</b></td></tr></tfoot>
</table>
<p>Gli importi negativi sono a favore del cliente. Operazioni esenti da IVA.</p>
</body></html>
"""
    path = folder / f"dettaglio_invii_{STATEMENT}.html"
    path.write_text(page, encoding="utf-8")
    return path


def _seller_rows(them: Sequence[Line]) -> list[str]:
    """The shipments as rows of a page, a column a charge."""
    rows = []
    for number, parcel in enumerate(parcels(them), 1):
        first, costs = parcel[0], costs_of(parcel)
        cells = (
            str(number),
            first.order,
            first.tracking,
            f"{first.shipped_on:%d-%b-%Y}",
            first.service,
            first.zone,
            f"{first.weight_g}",
            size(first, " x ", each=10),
        )
        amounts = (*(money(costs.get(charge, 0)) for charge in CHARGES), money(total(parcel)))
        shown = "".join(f"<td>{cell}</td>" for cell in cells)
        costing = "".join(f'<td align="right">{amount}</td>' for amount in amounts)
        rows.append(f"<tr>{shown}{costing}</tr>")
    return rows


def seller_mail(folder: Path, them: Sequence[Line]) -> Path:
    """An Indian marketplace's mail: a row a shipment, a column a charge with 0.00 where there is none, grams."""
    heads = ("S. No.", "Order ID", "Waybill no.", "Dispatch Date", "Service", "Zone", "Charged Weight (g)")
    columns = (*heads, "L x B x H (cm)", *INDIAN.values(), "Total (Rs.)")
    sums = (*(money(sum_of(them, charge)) for charge in CHARGES), money(total(them)))
    last = "".join(f'<td align="right"><b>{each}</b></td>' for each in sums)
    rows = _seller_rows(them)
    page = f"""<html><body style="font-family: Tahoma, sans-serif; font-size: 13px">
<h2>Neemtala Bazaar</h2>
<p>Dear Seller ({SHOP}),</p>
<p>Please find below the shipping charges for orders dispatched in March 2026. The total amount will be
adjusted in your next settlement.</p>
<p>Statement No.: <b>{STATEMENT}</b><br>
Statement Date: <b>{STATEMENT_ON:%d-%b-%Y}</b><br>
No. of shipments: {len(rows)}</p>
<table border="1" cellspacing="0" cellpadding="4">
<tr bgcolor="#fbe3b5">{"".join(f"<th>{words}</th>" for words in columns)}</tr>
{chr(10).join(rows)}
<tr><td colspan="8"><b>Grand Total</b></td>{last}</tr>
</table>
<p>Note: All amounts are in Indian Rupees. Amounts in brackets are credits to the seller.</p>
<p>For any dispute, kindly raise a ticket within 15 days.</p>
<p>Regards,<br>Seller Accounts Team, Neemtala Bazaar</p>
</body></html>
"""
    mail = EmailMessage()
    mail["From"] = "Neemtala Bazaar Seller Accounts <accounts@neemtala-bazaar.example>"
    mail["To"] = "finance@quillmoor.example"
    mail["Date"] = f"{STATEMENT_ON:%a, %d %b %Y} 10:40:00 +0530"
    mail["Subject"] = f"Shipping charges statement {STATEMENT}"
    mail.set_content("Your statement is in the HTML part of this mail.\n")
    mail.add_alternative(page, subtype="html")
    path = folder / f"Shipping charges statement {STATEMENT}.eml"
    path.write_bytes(mail.as_bytes())
    return path


LAYOUTS: tuple[Layout, ...] = (
    Layout("sixth_courier_lines", "Bushwillow Couriers", courier_lines, ALL, metric=True),
    Layout("sixth_fulfilment_book", "Copperkettle Fulfillment", fulfilment_book, ALL),
    Layout("sixth_post_page", "Poste della Valbruna", post_page, ALL, metric=True, numbers="postal"),
    Layout("sixth_seller_mail", "Neemtala Bazaar", seller_mail, ALL, metric=True),
)
