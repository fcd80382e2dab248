"""Eighth set of statements: five tables as a small seller would download or be mailed, written blind."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.seventh_tables import by_charge, centimetres, grouped, kilos
from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

SELLER = "Ottilie Marsh Paper Goods"
NO_ZONE = tuple(field for field in FIELDS if field != "zone")
"""What the Dutch file shows: at home there are no zones."""

DUTCH = {
    "freight": "Vrachtkosten",
    "fuel": "Brandstoftoeslag",
    "residential": "Toeslag particulier adres",
    "additional handling": "Toeslag handmatige verwerking",
    "address correction": "Adrescorrectie",
}
LABELS = {
    "freight": "Postage",
    "fuel": "Fuel Surcharge",
    "residential": "Residential Fee",
    "additional handling": "Addl Handling",
    "address correction": "Address Correction",
}
CON_NOTE = {
    "freight": "Base freight",
    "fuel": "Fuel levy",
    "residential": "Residential delivery fee",
    "additional handling": "Manual handling fee",
    "address correction": "Incorrect address surcharge",
}
WAYBILL = {
    "freight": "Courier fee",
    "fuel": "Fuel levy",
    "residential": "Residential",
    "additional handling": "Special handling",
    "address correction": "Address change",
}
BUREAU = {
    "freight": "FRT CHG",
    "fuel": "FUEL SCHG",
    "residential": "RESI DLVY",
    "additional handling": "ADDL HNDLG",
    "address correction": "ADDR CORR",
}


def _dutch_specification(folder: Path, them: Sequence[Line]) -> Path:
    """A Dutch carrier's file: semicolons, decimal comma, a row a charge, the size as one text, subtotals at the end."""
    rows = [
        ["Zandwerve Pakketvervoer B.V.", "", "Specificatie bij factuur"],
        ["Debiteurnummer", "208815", SELLER],
        ["Factuurnummer", STATEMENT],
        ["Factuurdatum", f"{STATEMENT_ON:%d-%m-%Y}"],
        [],
        [
            "Datum verzending",
            "Barcode",
            "Uw referentie",
            "Product",
            "Land",
            "Gewicht (kg)",
            "Afm. LxBxH (cm)",
            "Omschrijving",
            "Btw",
            "Bedrag excl. btw",
        ],
    ]
    rows += [
        [
            f"{line.shipped_on:%d-%m-%Y}",
            line.tracking,
            line.order,
            line.service,
            "NL",
            kilos(line, 3).replace(".", ","),
            centimetres(line, "x"),
            DUTCH[line.charge],
            "V",
            comma(line.amount_cents),
        ]
        for line in them
    ]
    rows.append([])
    for charge, cents in by_charge(them).items():
        rows.append([*[""] * 7, f"Subtotaal {DUTCH[charge].lower()}", "", comma(cents)])
    rows.append([*[""] * 7, "Btw verlegd", "", "0,00"])
    rows.append([*[""] * 7, "Totaal te betalen", "", comma(total(them))])
    path = folder / f"specificatie_{STATEMENT}.csv"
    path.write_text(delimited(rows, ";"), encoding="utf-8", newline="")
    return path


def _label_account(folder: Path, them: Sequence[Line]) -> Path:
    """An American label reseller's file, all quoted: a row a label, a column a charge, pounds and ounces apart."""
    head = ["Order Number", "Ship Date", "Service", "Tracking", "Ship To", "Zone", "Billed Lbs", "Billed Oz"]
    head += ["Length (in)", "Width (in)", "Height (in)", *LABELS.values(), "Label Total", "Statement No."]
    rows = [head]
    for parcel in parcels(them):
        first, costs = parcel[0], by_charge(parcel)
        rows.append(
            [
                first.order,
                f"{first.shipped_on:%m/%d/%Y}",
                first.service,
                first.tracking,
                "OH",
                first.zone,
                str(first.weight_g),
                "0",
                *map(str, first.sides_mm),
                *(_dollars(costs.get(charge, 0)) for charge in CHARGES),
                _dollars(total(parcel)),
                STATEMENT,
            ]
        )
    sums = by_charge(them)
    sums_row = [_dollars(sums.get(charge, 0)) for charge in CHARGES]
    rows.append(["Total", *[""] * 10, *sums_row, _dollars(total(them)), ""])
    path = folder / f"label-charges-{STATEMENT_ON:%Y-%m}.csv"
    path.write_text(delimited(rows, ",", csv.QUOTE_ALL), encoding="utf-8", newline="")
    return path


def _con_note_workbook(folder: Path, them: Sequence[Line]) -> Path:
    """An Australian carrier's workbook: invoice, con notes with their facts on the first row only, and terms."""
    book = openpyxl.Workbook()
    front = book.active
    assert isinstance(front, Worksheet)
    front.title = "Tax Invoice"
    _invoice_sheet(front, them)
    detail = book.create_sheet("Con Notes")
    assert isinstance(detail, Worksheet)
    _con_note_sheet(detail, them)
    terms = book.create_sheet("Terms")
    assert isinstance(terms, Worksheet)
    for text in (
        "Trading terms",
        "Payment is due 21 days from the date of invoice.",
        "Charge weight is the higher of dead weight and cubic weight at 250 kg per cubic metre.",
        "Credits are shown as negative amounts.",
    ):
        terms.append([text])
    terms.column_dimensions["A"].width = 90
    path = folder / f"Wirrabilla Invoice {STATEMENT}.xlsx"
    book.save(path)
    return path


def _invoice_sheet(sheet: Worksheet, them: Sequence[Line]) -> None:
    """The first sheet: who, when and how much by kind of charge."""
    rows: list[tuple[str | Decimal | date | None, ...]] = [
        ("Wirrabilla Carriers Pty Ltd", None, "TAX INVOICE"),
        ("Depot 3, Saltbush Road",),
        (None,),
        ("Bill to", SELLER, "Invoice No", STATEMENT),
        ("Debtor code", "OTT0027", "Invoice date", STATEMENT_ON),
        ("Period", "March 2026", "Due date", date(2026, 4, 23)),
        (None,),
        ("Summary", None, None, "AUD"),
        *((CON_NOTE[charge], None, None, Decimal(cents) / 100) for charge, cents in by_charge(them).items()),
        ("GST (export freight, GST free)", None, None, Decimal("0.00")),
        ("TOTAL AMOUNT PAYABLE", None, None, Decimal(total(them)) / 100),
    ]
    for row in rows:
        sheet.append(row)
    sheet["A1"].font = sheet["C1"].font = Font(bold=True, size=14)
    sheet["D5"].number_format = sheet["D6"].number_format = "dd/mm/yyyy"
    for place in range(9, len(rows) + 1):
        sheet.cell(place, 4).number_format = "#,##0.00;-#,##0.00"
    for place in (8, len(rows)):
        for cell in sheet[place]:
            cell.font = Font(bold=True)
    for letter, width in zip("ABCD", (34, 28, 14, 16), strict=True):
        sheet.column_dimensions[letter].width = width


def _con_note_sheet(sheet: Worksheet, them: Sequence[Line]) -> None:
    """A row a charge; what is known of a con note stands on its first row."""
    sheet.append(["Con Note", "Desp Date", "Your Order No", "Svc", "Zone", "Items", "Dead Wt (kg)", "Charge Wt (kg)"])
    for place, head in enumerate(("L (cm)", "W (cm)", "H (cm)", "Charge Type", "Ex GST $"), 9):
        sheet.cell(1, place, head)
    for cell in sheet[1]:
        cell.font, cell.border = Font(bold=True), Border(bottom=Side(style="medium"))
        cell.alignment = Alignment(wrap_text=True, vertical="center")
    for parcel in parcels(them):
        for place, line in enumerate(parcel):
            billed = Decimal(line.weight_g) / 1000
            facts: list[str | int | Decimal | date | None] = [None] * 11
            if place == 0:
                facts = [line.tracking, line.shipped_on, line.order, line.service, int(line.zone), 1]
                facts += [(billed * Decimal("0.9")).quantize(Decimal("0.01")), billed]
                facts += [side // 10 for side in line.sides_mm]
            sheet.append([*facts, CON_NOTE[line.charge], Decimal(line.amount_cents) / 100])
    sheet.append([None] * 11 + ["Invoice total", Decimal(total(them)) / 100])
    for cells in sheet.iter_rows(min_row=2):
        cells[1].number_format, cells[12].number_format = "d/mm/yyyy", "#,##0.00;[Red]-#,##0.00"
        cells[6].number_format = cells[7].number_format = "0.00"
    for cell in sheet[sheet.max_row]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "B2"
    for place, width in enumerate((21, 12, 14, 9, 6, 6, 9, 9, 7, 7, 7, 28, 12), 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def _waybill_page(folder: Path, them: Sequence[Line]) -> Path:
    """A South African courier's page: a row a waybill, heads of two rows, a dash where nothing was charged."""
    body = "\n".join(_waybill_row(parcel) for parcel in parcels(them))
    sums = by_charge(them)
    feet = "".join(f"<td class=r>{_spaced(sums.get(charge, 0))}</td>" for charge in CHARGES)
    heads = "".join(f"<th>{words}</th>" for words in WAYBILL.values())
    single = ("Waybill", "Date", "Service", "Zone", "Customer order", "Chargeable mass (kg)")
    page = f"""<html lang="en-ZA">
<head><meta charset="utf-8"><title>Kransdal Couriers - monthly account</title>
<style>
body {{ font: 12px Verdana, sans-serif }} table {{ border-collapse: collapse }}
.w td, .w th {{ border: 1px solid #bbb; padding: 2px 6px }} .r {{ text-align: right }}
</style></head>
<body>
<h2>Kransdal Couriers (Pty) Ltd</h2>
<table>
<tr><td>Account holder</td><td>{escape(SELLER)}</td></tr>
<tr><td>Account</td><td>KD-5518</td></tr>
<tr><td>Invoice no.</td><td>{STATEMENT}</td></tr>
<tr><td>Invoice date</td><td>{STATEMENT_ON:%d %B %Y}</td></tr>
<tr><td>Amount due</td><td>R {_spaced(total(them))}</td></tr>
</table>
<h3>Waybills invoiced</h3>
<table class="w">
<thead>
<tr>{"".join(f'<th rowspan="2">{name}</th>' for name in single)}<th colspan="3">Dimensions (cm)</th>
<th colspan="5">Charges (ZAR)</th><th rowspan="2">Waybill total</th></tr>
<tr><th>L</th><th>B</th><th>H</th>{heads}</tr>
</thead>
<tbody>
{body}
</tbody>
<tfoot><tr><th colspan="9">Total ({len(parcels(them))} waybills)</th>{feet}
<td class=r><b>{_spaced(total(them))}</b></td></tr></tfoot>
</table>
<p>Zero-rated for VAT. Volumetric mass: L x B x H / 5000. Queries within 7 days, please.</p>
</body>
</html>
"""
    path = folder / f"kransdal_{STATEMENT}.html"
    path.write_text(page, encoding="utf-8")
    return path


def _waybill_row(parcel: Sequence[Line]) -> str:
    """One waybill's row."""
    first, costs = parcel[0], by_charge(parcel)
    facts = [first.tracking, f"{first.shipped_on:%d-%b-%Y}", first.service, first.zone, first.order]
    numbers = [kilos(first, 2), *(str(side // 10) for side in first.sides_mm)]
    numbers += [_spaced(costs[charge]) if charge in costs else "-" for charge in CHARGES]
    numbers.append(_spaced(total(parcel)))
    cells = [f"<td>{fact}</td>" for fact in facts] + [f"<td class=r>{number}</td>" for number in numbers]
    return f"<tr>{''.join(cells)}</tr>"


def _bureau_text(folder: Path, them: Sequence[Line]) -> Path:
    """An American billing office's text with tabs: a row a charge, the sign as DR or CR in a column of its own."""
    rows = [
        ["TOLLHAVEN PARCEL BILLING OFFICE"],
        ["MONTHLY CHARGE DETAIL"],
        ["STMT NO:", STATEMENT, "STMT DATE:", f"{STATEMENT_ON:%Y%m%d}"],
        ["ACCT:", "0031-8846", "NAME:", SELLER.upper()],
        [],
        [
            "SEQ",
            "TRK NO",
            "SHIP DT",
            "SVC",
            "ZN",
            "CUST REF",
            "BILL WT",
            "DIMS (IN)",
            "CHG DESC",
            "CHG AMT",
            "DR/CR",
        ],
    ]
    for number, line in enumerate(them, 1):
        rows.append(
            [
                f"{number:05d}",
                line.tracking,
                f"{line.shipped_on:%Y%m%d}",
                line.service,
                line.zone,
                line.order,
                f"{line.weight_g} lb 0 oz",
                "X".join(map(str, line.sides_mm)),
                BUREAU[line.charge],
                decimal(abs(line.amount_cents)),
                "CR" if line.amount_cents < 0 else "DR",
            ]
        )
    debits = sum(line.amount_cents for line in them if line.amount_cents > 0)
    credited = debits - total(them)
    for words, cents, side in (
        ("TOTAL DEBITS", debits, "DR"),
        ("TOTAL CREDITS", credited, "CR"),
        ("NET AMOUNT DUE", total(them), "DR"),
    ):
        rows.append([*[""] * 8, words, decimal(cents), side])
    rows.append(["*** END OF STATEMENT ***"])
    path = folder / f"CHGDTL_{STATEMENT}.txt"
    path.write_text(delimited(rows, "\t"), encoding="ascii", newline="")
    return path


def _dollars(cents: int) -> str:
    """-123456 → '-$1,234.56'."""
    return f"{'-' if cents < 0 else ''}${grouped(abs(cents))}"


def _spaced(cents: int) -> str:
    """123456 → '1 234.56'."""
    return grouped(cents).replace(",", " ")


LAYOUTS: tuple[Layout, ...] = (
    Layout(
        "eighth_dutch_specification",
        "Zandwerve Pakketvervoer",
        _dutch_specification,
        NO_ZONE,
        metric=True,
        numbers="postal",
    ),
    Layout("eighth_label_account", "Thimbleton Labels", _label_account, FIELDS),
    Layout("eighth_con_note_workbook", "Wirrabilla Carriers", _con_note_workbook, FIELDS, metric=True),
    Layout("eighth_waybill_page", "Kransdal Couriers", _waybill_page, FIELDS, metric=True),
    Layout("eighth_bureau_text", "Tollhaven Parcel Billing Office", _bureau_text, FIELDS),
)
