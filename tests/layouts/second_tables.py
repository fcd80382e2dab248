"""Five more statements as tables, written without sight of the reader or of the other layouts.

A wallet ledger of a reseller of postage, a Dutch carrier's export, a forwarder's debit note as a workbook, a
marketplace's sheet with a column a charge, and an e-mail. What each prints is plain to a person at a desk.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from email.message import EmailMessage
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

SHOP = "Quillmoor Instruments"
BOLD = Font(bold=True)
SHADED = PatternFill("solid", fgColor="DDE3EA")

WALLET_WORDS = {
    "freight": "Postage",
    "fuel": "Fuel recovery",
    "residential": "Delivered to a home",
    "additional handling": "Extra handling - bulky item",
    "address correction": "Address fixed by carrier",
}
DUTCH_WORDS = {
    "freight": "Vrachtkosten",
    "fuel": "Brandstoftoeslag",
    "residential": "Toeslag particulier adres",
    "additional handling": "Toeslag handmatige behandeling",
    "address correction": "Correctie afleveradres",
}
FORWARDER_WORDS = {
    "freight": "Carriage",
    "fuel": "FSC (fuel)",
    "residential": "Private address delivery",
    "additional handling": "Non-conveyable / manual handling",
    "address correction": "Wrong address - amended",
}
MARKET_WORDS = {
    "freight": "Base rate",
    "fuel": "Fuel",
    "residential": "Home delivery",
    "additional handling": "Add'l handling",
    "address correction": "Addr. correction",
}
EMAIL_WORDS = {
    "freight": "Shipping",
    "fuel": "Fuel levy",
    "residential": "Household delivery fee",
    "additional handling": "Handling fee for awkward parcels",
    "address correction": "Fee for correcting the address",
}


def wallet_ledger(folder: Path, them: Sequence[Line]) -> Path:
    """A reseller's ledger: what was taken and what was given back stand in two columns, the sum on every row."""
    rows = [
        [
            "Entry",
            "Account",
            "Statement Ref",
            "Statement Date",
            "Statement Amount",
            "Sent on",
            "Method",
            "Zn",
            "Label No",
            "Shop order",
            "Reason",
            "Rated Size (in)",
            "Rated Wt (lb)",
            "Debit",
            "Credit",
            "Currency",
        ]
    ]
    for entry, line in enumerate(them, start=1):
        amount = decimal(abs(line.amount_cents))
        rows.append(
            [
                f"E{7000 + entry}",
                "A-2216",
                STATEMENT,
                STATEMENT_ON.isoformat(),
                decimal(total(them)),
                line.shipped_on.isoformat(),
                line.service,
                line.zone,
                line.tracking,
                line.order,
                WALLET_WORDS[line.charge],
                "x".join(map(str, line.sides_mm)),
                str(line.weight_g),
                amount if line.amount_cents > 0 else "",
                amount if line.amount_cents < 0 else "",
                "USD",
            ]
        )
    path = folder / "wallet_ledger.csv"
    path.write_text(delimited(rows, ","), encoding="utf-8", newline="")
    return path


def dutch_export(folder: Path, them: Sequence[Line]) -> Path:
    """A Dutch carrier's export: a few lines on the invoice, the rows, the sum below them."""
    rows = [
        ["Norrhaven Parcel", "Specificatie nacalculatie"],
        ["Factuurnummer", STATEMENT],
        ["Factuurdatum", f"{STATEMENT_ON:%d-%m-%Y}"],
        ["Debiteur", f"30551 {SHOP}"],
        [],
        [
            "Regel",
            "Barcode zending",
            "Uw referentie",
            "Verzonden op",
            "Dienst",
            "Zone",
            "Land",
            "Omschrijving",
            "Aantal",
            "Netto EUR",
            "Gefactureerd gewicht kg",
            "Lengte cm",
            "Breedte cm",
            "Hoogte cm",
        ],
    ]
    for place, line in enumerate(them, start=1):
        rows.append(
            [
                str(place),
                line.tracking,
                line.order,
                f"{line.shipped_on:%d-%m-%Y}",
                line.service,
                line.zone,
                "NL",
                DUTCH_WORDS[line.charge],
                "1",
                comma(line.amount_cents),
                f"{line.weight_g / 1000:.2f}".replace(".", ","),
                *(str(side // 10) for side in line.sides_mm),
            ]
        )
    rows.append(["", "", "", "", "", "", "", "Totaal excl. btw", "", comma(total(them)), "", "", "", ""])
    path = folder / "nacalculatie.csv"
    path.write_text(delimited(rows, ";"), encoding="utf-8-sig", newline="")
    return path


def _heading(sheet: Worksheet, row: int, words: Sequence[str]) -> None:
    for column, word in enumerate(words, start=1):
        cell = sheet.cell(row, column, word)
        cell.font, cell.fill, cell.alignment = BOLD, SHADED, Alignment(wrap_text=True, vertical="top")


def debit_note(folder: Path, them: Sequence[Line]) -> Path:
    """A forwarder's debit note: a block on top with the amount due, numbers and dates as a workbook keeps them."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Debit note"
    sheet["A1"] = "NORRHAVEN PARCEL"
    sheet["A1"].font = Font(bold=True, size=16)
    sheet["A2"] = "Debit note with itemised charges after re-measurement"
    block: tuple[tuple[str, str | date | float], ...] = (
        ("Debit note no.", STATEMENT),
        ("Issued", STATEMENT_ON),
        ("Consignor", f"{SHOP}, account 30551"),
        ("Amount due (EUR)", total(them) / 100),
        ("Payment terms", "21 days net"),
    )
    for row, (name, told) in enumerate(block, start=4):
        sheet.cell(row, 1, name).font = BOLD
        sheet.cell(row, 3, told)
    sheet["C7"].number_format = "#,##0.00"
    heads = [
        "Consignment",
        "Shipper's ref.",
        "Collected",
        "Product",
        "Tariff zone",
        "Pcs",
        "Chargeable kg",
        "L cm",
        "W cm",
        "H cm",
        "Charge description",
        "Net EUR",
        "Remarks",
    ]
    _heading(sheet, 10, heads)
    for row, line in enumerate(them, start=11):
        values = (
            line.tracking,
            line.order,
            line.shipped_on,
            line.service,
            int(line.zone),
            1,
            line.weight_g / 1000,
            *(side / 10 for side in line.sides_mm),
            FORWARDER_WORDS[line.charge],
            line.amount_cents / 100,
            "credit, rate of earlier month" if line.amount_cents < 0 else None,
        )
        for column, value in enumerate(values, start=1):
            sheet.cell(row, column, value)
        sheet.cell(row, 3).number_format = "dd/mm/yyyy"
        sheet.cell(row, 12).number_format = "#,##0.00"
    for letter, width in zip("ABCDEFGHIJKLM", (20, 14, 12, 10, 8, 5, 11, 7, 7, 7, 34, 12, 28), strict=True):
        sheet.column_dimensions[letter].width = width
    path = folder / "debit_note.xlsx"
    book.save(path)
    return path


def parcel_sheet(folder: Path, them: Sequence[Line]) -> Path:
    """A marketplace's sheet: a row a parcel, a column a charge under a common heading, sums to the right and below."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "By parcel"
    sheet["A1"] = f"Seller shipping adjustments - {SHOP}"
    sheet["A2"] = f"Adjustment report {STATEMENT}, closed {STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}"
    heads = ["#", "Order", "Parcel no.", "Ship date", "Service level", "Zone", "Long side", "Mid side", "Short side"]
    heads += ["Billable weight (lb)", *MARKET_WORDS.values(), "Sum"]
    # The sheet's sides and charges each share a heading, as a person would group them.
    for first, last, word in ((7, 9, "Size charged (in)"), (11, 15, "Charges (USD)")):
        sheet.merge_cells(start_row=4, end_row=4, start_column=first, end_column=last)
        sheet.cell(4, first, word).font = BOLD
    _heading(sheet, 5, heads)
    for place, mine in enumerate(parcels(them), start=1):
        one = mine[0]
        amounts = {line.charge: line.amount_cents / 100 for line in mine}
        values = (place, one.order, one.tracking, one.shipped_on, one.service, one.zone, *one.sides_mm, one.weight_g)
        row = (*values, *(amounts.get(charge) for charge in CHARGES), total(mine) / 100)
        for column, value in enumerate(row, start=1):
            sheet.cell(5 + place, column, value)
        sheet.cell(5 + place, 4).number_format = "mm/dd/yyyy"
    below = sheet.max_row + 1
    sheet.cell(below, 2, "All parcels").font = BOLD
    for column, charge in enumerate(CHARGES, start=11):
        sheet.cell(below, column, total([line for line in them if line.charge == charge]) / 100)
    sheet.cell(below, 16, total(them) / 100).font = BOLD
    for row_number in range(6, below + 1):
        for column in range(11, 17):
            sheet.cell(row_number, column).number_format = "#,##0.00;-#,##0.00"
    for column_letter in "BCDEJKLMNOP":
        sheet.column_dimensions[column_letter].width = 15
    sheet.column_dimensions["C"].width = 20
    path = folder / "adjustments_by_parcel.xlsx"
    book.save(path)
    return path


def _dollars(cents: int) -> str:
    """-123456 → '-$1,234.56'."""
    return f"{'-' if cents < 0 else ''}${abs(cents) / 100:,.2f}"


def _email_parcel(mine: Sequence[Line]) -> str:
    """A parcel's rows; what is the parcel's own stands once beside all of its charges."""
    one = mine[0]
    own = (
        f"{one.shipped_on.day} {one.shipped_on:%b %Y}",
        f"<b>{one.tracking}</b>",
        one.order,
        one.service,
        " &times; ".join(map(str, one.sides_mm)) + " in",
        f"{one.weight_g} lb",
    )
    cells = "".join(f'<td rowspan="{len(mine)}">{cell}</td>' for cell in own)
    rows = []
    for line in mine:
        charge = f'<td>{escape(EMAIL_WORDS[line.charge])}</td><td align="right">{_dollars(line.amount_cents)}</td>'
        rows.append(f"<tr>{cells}{charge}</tr>")
        cells = ""
    return "\n".join(rows)


def charges_email(folder: Path, them: Sequence[Line]) -> Path:
    """A carrier's e-mail: a greeting, one table whose parcel cells span the charges, the total, a footer."""
    message = EmailMessage()
    message["From"] = "Larkrise Post Accounts <accounts@larkrise-post.example>"
    message["To"] = "office@quillmoor.example"
    message["Subject"] = f"Your charges summary {STATEMENT}"
    message["Date"] = datetime(2026, 4, 2, 6, 30, tzinfo=UTC)
    count = len(parcels(them))
    message.set_content(f"Your charges summary {STATEMENT} for {count} parcels is shown in the HTML part of this mail.")
    heads = ("Sent", "Parcel", "Your order", "Service", "Size we billed", "Weight we billed", "What for", "Cost")
    body = "\n".join(_email_parcel(mine) for mine in parcels(them))
    message.add_alternative(
        f"""<html><body style="font-family: sans-serif; color: #223">
<table width="100%" cellpadding="12"><tr><td bgcolor="#1f4a5a"><font color="white" size="5">Larkrise Post</font></td>
<td bgcolor="#1f4a5a" align="right"><font color="white">Charges summary<br>{STATEMENT}</font></td></tr></table>
<p>Hello {SHOP},</p>
<p>Here are the charges for {count} parcels, made up on {STATEMENT_ON.day} {STATEMENT_ON:%B %Y}.
We will collect <b>{_dollars(total(them))}</b> from your account in seven days.</p>
<table border="1" cellspacing="0" cellpadding="4">
<thead><tr>{"".join(f"<th>{head}</th>" for head in heads)}</tr></thead>
<tbody>
{body}
</tbody>
<tfoot><tr><td colspan="7" align="right"><b>To be collected</b></td>
<td align="right"><b>{_dollars(total(them))}</b></td></tr></tfoot>
</table>
<p>Something not right? Answer this mail within 30 days and name the parcel.</p>
<p><small>Larkrise Post, 4 Tollgate Yard. You get this mail because you hold account 30551.</small></p>
</body></html>
""",
        subtype="html",
    )
    path = folder / "charges_summary.eml"
    path.write_bytes(message.as_bytes())
    return path


_NO_ZONE = tuple(field for field in FIELDS if field != "zone")

LAYOUTS: tuple[Layout, ...] = (
    Layout("wallet_ledger", "csv", wallet_ledger),
    Layout("dutch_export", "csv", dutch_export, metric=True),
    Layout("debit_note", "openpyxl", debit_note, metric=True),
    Layout("parcel_sheet", "openpyxl", parcel_sheet),
    Layout("charges_email", "email", charges_email, fields=_NO_ZONE, numbers="postal"),
)
