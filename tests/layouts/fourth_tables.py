"""Six statements as tables, made like exports that nobody wrote for a machine, without a look at what is read."""

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

from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, total

SHOP = "Quillmoor Instruments"

WALLET = {
    "freight": "Label charge",
    "fuel": "Fuel adj.",
    "residential": "Resi surcharge",
    "additional handling": "Non-machinable",
    "address correction": "Addr corr. adj.",
}
AUSTRALIAN = {
    "freight": "Cartage",
    "fuel": "FAF (fuel adjustment factor)",
    "residential": "Resi delivery surcharge",
    "additional handling": "Oversize/manual handling",
    "address correction": "Readdressing fee",
}
INDIAN = {
    "freight": "Basic Frt.",
    "fuel": "FSC",
    "residential": "Resi. Dely.",
    "additional handling": "Spl. Hdlg.",
    "address correction": "Addr. Corrn.",
}
RETURNS = {
    "freight": "Return carriage",
    "fuel": "Fuel contribution",
    "residential": "Pick-up from a private house",
    "additional handling": "Awkward parcel handling",
    "address correction": "Address put right",
}
SWEDISH = {
    "freight": "Porto",
    "fuel": "Drivmedelstillägg",
    "residential": "Utdelning privatadress",
    "additional handling": "Specialhantering",
    "address correction": "Adressrättelse",
}
MARKET = {
    "freight": "Postage & shipping",
    "fuel": "Fuel recovery",
    "residential": "Residence surcharge",
    "additional handling": "Bulky item handling",
    "address correction": "Address fix",
}


def plain(cents: int) -> str:
    """-123456 → '1,234.56': the sign is left to each sender's habit."""
    return f"{Decimal(abs(cents)) / 100:,.2f}"


def spaced(cents: int) -> str:
    """123456 → '1 234,56'."""
    return f"{'-' if cents < 0 else ''}{plain(cents).replace(',', ' ').replace('.', ',')}"


def kilograms(line: Line) -> str:
    """'17.35'."""
    return f"{Decimal(line.weight_g) / 1000:.2f}"


def size(line: Line, between: str, *, each: int = 1) -> str:
    """The three sides with a sign between them; `each` 10 makes centimetres of millimetres."""
    return between.join(str(side // each) for side in line.sides_mm)


def sum_of(them: Sequence[Line], charge: str) -> int:
    """The sum of one kind of charge."""
    return total([line for line in them if line.charge == charge])


def _place(line: Line) -> int:
    """A number that is the parcel's own, to choose by it what means nothing here."""
    return int(line.order.partition("-")[2])


def wallet_ledger(folder: Path, them: Sequence[Line]) -> Path:
    """An American label reseller's ledger of a prepaid wallet: bars, times of day, a balance that runs down."""
    balance = 2_500_000
    head = [
        ["PENNYROLL POSTAGE CO. - PURSE BOOK"],
        ["Statement", STATEMENT],
        ["Issued", f"{STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}"],
        ["Purse of", SHOP],
        [],
    ]
    heading = [
        "Entry",
        "Mailed On",
        "Should arrive",
        "Sent from",
        "Order Ref",
        "Label no.",
        "Svc",
        "Zn",
        "Rated Wt",
        "Rated Dims",
        "What for",
        "Charged USD",
        "Left USD",
    ]
    rows = [[*[""] * 10, "Balance brought forward", "", plain(balance)]]
    for entry, line in enumerate(them, 88_301):
        balance -= line.amount_cents
        place = _place(line)
        rows.append(
            [
                str(entry),
                f"{line.shipped_on} {9 + place % 8:02d}:{place * 7 % 60:02d}",
                str(line.shipped_on + timedelta(days=2 + place % 4)),
                ("Dock A", "Dock C", "Front Office")[place % 3],
                line.order,
                line.tracking,
                line.service,
                line.zone,
                f"{line.weight_g} lb 0 oz",
                f"{size(line, 'x')} in",
                WALLET[line.charge],
                f"{'-' if line.amount_cents < 0 else ''}{plain(line.amount_cents)}",
                plain(balance),
            ]
        )
    rows.append([*[""] * 10, "Total charged this period", plain(total(them)), ""])
    rows.append([*[""] * 10, "Balance carried forward", "", plain(balance)])
    path = folder / f"wallet_activity_{STATEMENT}.txt"
    path.write_text(delimited([*head, heading, *rows], "|"), encoding="ascii", newline="")
    return path


def _widths(sheet: Worksheet, widths: Sequence[float]) -> None:
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def _dollars(cents: int) -> Decimal:
    return Decimal(cents) / 100


def purchase_journal(folder: Path, them: Sequence[Line]) -> Path:
    """An Australian warehouse's purchase journal: ledger codes around a carrier's lines, a sheet that sums accounts."""
    accounts = dict(zip(CHARGES, ("5-2110", "5-2115", "5-2120", "5-2130", "5-2190"), strict=True))
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "PJ Mar-26"
    bold, top = Font(bold=True), Border(top=Side(style="thin"), bottom=Side(style="double"))
    sheet.append(["Bandicoot Lane Warehousing Pty Ltd"])
    sheet.append([f"Purchase journal - parcel freight recharged to {SHOP}"])
    sheet.append(["Creditor: BUSH01 Saltbush Road Express. All figures AUD excluding GST."])
    sheet.append([])
    sheet.append(
        [
            "Jnl line",
            "Creditor inv. no.",
            "Inv. date",
            "GL acct",
            "Cost centre",
            "Despatched",
            "Con note",
            "Sales order",
            "Service",
            "Dest. zone",
            "Charge kg",
            "Charge dims (mm)",
            "Narration",
            "Amount ex GST",
            "GST code",
            "Keyed by",
        ]
    )
    for place, line in enumerate(them, 1):
        cells: list[str | int | float | Decimal | date] = [
            place,
            STATEMENT,
            STATEMENT_ON,
            accounts[line.charge],
            ("WHS-N", "WHS-S")[_place(line) % 2],
            line.shipped_on,
            line.tracking,
            line.order,
            line.service,
            int(line.zone),
            float(kilograms(line)),
            size(line, "x"),
            AUSTRALIAN[line.charge],
            _dollars(line.amount_cents),
            "CAP" if line.charge == "address correction" else "GST",
            ("KT", "MJW")[_place(line) % 5 == 0],
        ]
        sheet.append(cells)
    sheet.append([*[None] * 12, "Journal total", _dollars(total(them))])
    for row in sheet.iter_rows(min_row=6):
        row[2].number_format = row[5].number_format = "d/mm/yyyy"
        row[10].number_format = "0.00"
        row[13].number_format = '#,##0.00;[Red]"("#,##0.00")"'
    for cell in (sheet["A1"], sheet["A2"], *sheet[5], *sheet[sheet.max_row]):
        cell.font = bold
    for cell in sheet[5]:
        cell.alignment = Alignment(wrap_text=True, vertical="bottom")
    for cell in sheet[sheet.max_row][12:14]:
        cell.border = top
    sheet.freeze_panes = "A6"
    sheet.auto_filter.ref = f"A5:P{sheet.max_row - 1}"
    _widths(sheet, (8, 12, 11, 9, 9, 12, 21, 11, 9, 8, 9, 16, 29, 13, 8, 8))

    summary = book.create_sheet("GL summary")
    summary.append(["GL acct", "Description", "Lines", "Amount"])
    for charge, account in accounts.items():
        count = sum(line.charge == charge for line in them)
        summary.append([account, AUSTRALIAN[charge], count, _dollars(sum_of(them, charge))])
    summary.append([None, "Total to creditor", len(them), _dollars(total(them))])
    for cell in (*summary[1], *summary[summary.max_row]):
        cell.font = bold
    for row in summary.iter_rows(min_row=2):
        row[3].number_format = "#,##0.00"
    _widths(summary, (10, 30, 8, 13))
    path = folder / "PJ Mar-26 parcel freight.xlsx"
    book.save(path)
    return path


def bill_annexure(folder: Path, them: Sequence[Line]) -> Path:
    """An Indian consolidator's annexure as a page: headings on two floors, breadth for width, Cr behind credits."""

    def rupees(cents: int | None) -> str:
        if cents is None:
            return "-"
        return f"{plain(cents)} Cr" if cents < 0 else plain(cents)

    rows = []
    for place, parcel in enumerate(parcels(them), 1):
        first, costs = parcel[0], {line.charge: line.amount_cents for line in parcel}
        # The parcel was weighed lighter than it is charged, as where volume or a rounded slab counts.
        weighed = f"{Decimal(first.weight_g - 50 * (1 + place % 4)) / 1000:.2f}"
        cells = [
            str(place),
            first.tracking,
            f"{first.shipped_on:%d-%b-%y}",
            first.order,
            ("CJB", "MAA", "BLR", "HYD")[place * 3 % 4],
            first.service,
            first.zone,
            weighed,
            kilograms(first),
            *(str(side // 10) for side in first.sides_mm),
        ]
        amounts = [*(rupees(costs.get(charge)) for charge in CHARGES), rupees(total(parcel))]
        shown = "".join(f"<td>{cell}</td>" for cell in cells)
        rows.append(f"<tr>{shown}{''.join(f'<td class=r>{amount}</td>' for amount in amounts)}</tr>")
    sums = [*(rupees(sum_of(them, charge)) for charge in CHARGES), rupees(total(them))]
    tall = ("Sl. No.", "Docket No.", "Bkg. Date", "Party Order No.", "Dest.", "Product", "Zone")
    page = f"""<html>
<head>
<meta http-equiv="Content-Type" content="text/html; charset=utf-8">
<title>Bill Annexure</title>
<style>
body {{ font: 12px Verdana, sans-serif }}
table.d {{ border-collapse: collapse }} .d th, .d td {{ border: 1px solid #000; padding: 2px 5px }}
td {{ white-space: nowrap }} .r {{ text-align: right }}
</style>
</head>
<body>
<center><b>NILGAI PARCEL CONSOLIDATORS PVT. LTD.</b><br>Regd. Office: 14, Mill Road, Coimbatore<br><br>
<u>ANNEXURE TO BILL</u></center>
<table width="100%"><tr><td>Bill No. : <b>{STATEMENT}</b></td><td align="right">Bill Date :
<b>{STATEMENT_ON:%d-%b-%Y}</b></td></tr><tr><td>Party : {SHOP}</td><td align="right">SAC : 996812</td></tr></table>
<table class="d">
<thead>
<tr>{"".join(f'<th rowspan="2">{words}</th>' for words in tall)}
<th colspan="2">Weight (kg)</th><th colspan="3">Dimensions (cm)</th><th colspan="5">Charges (Rs.)</th>
<th rowspan="2">Total<br>(Rs.)</th></tr>
<tr><th>Act.</th><th>Chgd.</th><th>L</th><th>B</th><th>H</th>
{"".join(f"<th>{words}</th>" for words in INDIAN.values())}</tr>
</thead>
<tbody>
{chr(10).join(rows)}
<tr><td colspan="12" align="right"><b>GRAND TOTAL</b></td>
{"".join(f"<td class=r><b>{amount}</b></td>" for amount in sums)}</tr>
</tbody>
</table>
<p>Total dockets : {len(rows)}. FSC = Fuel Surcharge. Chgd. = chargeable weight (higher of actual and volumetric).<br>
GST as applicable is shown on the face of the Bill. E. &amp; O. E. Subject to Coimbatore jurisdiction.</p>
</body>
</html>
"""
    path = folder / f"annexure_{STATEMENT}.html"
    path.write_text(page, encoding="utf-8")
    return path


def returns_mail(folder: Path, them: Sequence[Line]) -> Path:
    """An Irish returns desk's mail: a parcel's row with its sum, what makes the sum under it, the total in a sentence.

    The rows under a parcel are the only ones that add up; the mail's total stands above the table.
    """

    def euro(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}€{plain(cents)}"

    rows = []
    for parcel in parcels(them):
        first = parcel[0]
        cells = (
            first.tracking,
            first.order,
            f"{first.shipped_on:%a} {first.shipped_on.day} {first.shipped_on:%b %Y}",
            f"{kilograms(first)}kg, {size(first, '×', each=10)}cm",
        )
        shown = "".join(f"<td><b>{cell}</b></td>" for cell in cells)
        rows.append(f'<tr bgcolor="#eef4ee">{shown}<td align="right"><b>{euro(total(parcel))}</b></td></tr>')
        for line in parcel:
            words, amount = escape(RETURNS[line.charge]), euro(line.amount_cents)
            rows.append(
                f'<tr><td>&nbsp;</td><td colspan="3"><i>{words}</i></td><td align="right"><i>{amount}</i></td></tr>'
            )
    count = len(parcels(them))
    day = f"{STATEMENT_ON.day} {STATEMENT_ON:%B %Y}"
    told = f"Your returns statement {STATEMENT} of {day} comes to {euro(total(them))} for {count} parcels."
    heads = ("Return parcel", "Your order", "Sent back on", "Charged weight and size", "Cost")
    page = f"""<html><body style="font-family: Georgia, serif; font-size: 14px">
<p>Hi Aoife,</p>
<p>{told} We will take it by direct debit on 20 April. All prices are before VAT.</p>
<p>In each shaded row is what a return cost you, with the make-up of it underneath.</p>
<table cellspacing="0" cellpadding="4" border="0">
<tr>{"".join(f'<th align="left">{words}</th>' for words in heads)}</tr>
{chr(10).join(rows)}
</table>
<p>Any queries on the above, give me a shout before Friday week.</p>
<p>Declan<br>Ballyfinch Returns Desk<br>Unit 4, Canal Business Park<br>(021) 555 0177</p>
</body></html>
"""
    mail = EmailMessage()
    mail["From"] = "Declan at Ballyfinch Returns <desk@ballyfinch-returns.example>"
    mail["To"] = "accounts@quillmoor.example"
    mail["Date"] = f"{STATEMENT_ON:%a, %d %b %Y} 16:40:00 +0100"
    mail["Subject"] = "March returns"
    mail.set_content(f"Hi Aoife,\n\n{told}\n\nThe parcels are in the table of the HTML part of this mail.\n\nDeclan\n")
    mail.add_alternative(page, subtype="html")
    path = folder / "March returns.eml"
    path.write_bytes(mail.as_bytes())
    return path


def postal_rows(folder: Path, them: Sequence[Line]) -> Path:
    """A Swedish post's file: headings at once, units in the cells, who and what it is only below the rows."""
    heading = [
        "Rad",
        "Kolli-ID",
        "Inlämningsdatum",
        "Ert ordernr",
        "Terminal",
        "Tjänst",
        "Zon",
        "Debiterad vikt",
        "Debiterade mått L×B×H",
        "Avgift",
        "Belopp SEK",
        "Momskod",
    ]
    rows = [
        [
            str(place),
            line.tracking,
            f"{line.shipped_on:%Y%m%d}",
            line.order,
            ("Luleå", "Umeå", "Gävle")[_place(line) % 3],
            line.service,
            line.zone,
            f"{kilograms(line).replace('.', ',')} kg",
            f"{size(line, '×', each=10)} cm",
            SWEDISH[line.charge],
            spaced(line.amount_cents),
            "S25",
        ]
        for place, line in enumerate(them, 1)
    ]
    ends = [
        [],
        ["Antal kolli", str(len(parcels(them)))],
        ["Antal rader", str(len(them))],
        ["Summa exkl. moms SEK", spaced(total(them))],
        [],
        ["Norrskärs Paketpost AB"],
        ["Specifikation till faktura nr", STATEMENT],
        ["Fakturadatum", f"{STATEMENT_ON:%Y-%m-%d}"],
        ["Förfallodatum", f"{STATEMENT_ON + timedelta(days=30):%Y-%m-%d}"],
        ["Kund", SHOP],
    ]
    path = folder / f"spec{STATEMENT}.skv"
    path.write_bytes(delimited([heading, *rows, *ends], ";").encode("cp1252"))
    return path


def settlement(folder: Path, them: Sequence[Line]) -> Path:
    """An American marketplace's workbook: a row an order, its fees side by side as names and amounts, no total.

    The number of the settlement stands on the first sheet only.
    """
    book = openpyxl.Workbook()
    about = book.active
    assert isinstance(about, Worksheet)
    about.title = "Read me first"
    for words in (
        ["Copperfinch Bazaar - seller settlement"],
        [],
        ["Settlement ID", STATEMENT],
        ["Settlement date", f"{STATEMENT_ON.month}/{STATEMENT_ON.day}/{STATEMENT_ON.year}"],
        ["Storefront", SHOP],
        ["Currency", "US dollars"],
        [],
        ["The sheet 'Shipping fees' has one row for each order that shipped with a label bought from us."],
        ["Weights and box sizes are the ones the fees were figured on. Weights are in ounces, sizes in inches."],
        ["A fee with a minus sign was given back to you."],
    ):
        about.append(words)
    about["A1"].font = Font(bold=True, size=14)
    _widths(about, (18, 26))

    sheet = book.create_sheet("Shipping fees")
    upper = [None, "Order", None, None, "Shipment", *[None] * 3, "Billed at", *[None] * 3, None]
    most = max(len(parcel) for parcel in parcels(them))
    for place in range(1, most + 1):
        upper += [f"Fee {place}", None]
    sheet.append(upper)
    lower = [None, "Order ID", "Buyer state", "SKU count", "Ship date", "Tracking ID", "Ship method", "Zone"]
    lower += ["Weight (oz)", "Length", "Width", "Height", None, *["Fee type", "Fee amount"] * most]
    sheet.append(lower)
    for parcel in parcels(them):
        first, place = parcel[0], _place(parcel[0])
        fees = [cell for line in parcel for cell in (MARKET[line.charge], _dollars(line.amount_cents))]
        sheet.append(
            [
                None,
                first.order,
                ("OH", "TX", "MN", "GA", "WA")[place * 3 % 5],
                1 + place % 3,
                f"{first.shipped_on.month}/{first.shipped_on.day}/{first.shipped_on.year}",
                first.tracking,
                first.service,
                first.zone,
                first.weight_g * 16,
                *first.sides_mm,
                None,
                *fees,
            ]
        )
    for left, right in ((2, 4), (5, 8), (9, 12), *((at, at + 1) for at in range(14, 14 + 2 * most, 2))):
        sheet.merge_cells(start_row=1, end_row=1, start_column=left, end_column=right)
    for cell in (*sheet[1], *sheet[2]):
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="F6E3D3")
        cell.alignment = Alignment(horizontal="center")
    for row in sheet.iter_rows(min_row=3):
        for cell in row[14::2]:
            cell.number_format = "$#,##0.00;[Red]-$#,##0.00"
    sheet.freeze_panes = "C3"
    _widths(sheet, (3, 11, 11, 10, 11, 21, 12, 7, 11, 8, 8, 8, 3, *[20, 12] * most))
    path = folder / f"settlement-{STATEMENT}.xlsx"
    book.save(path)
    return path


BASE = ("statement", "tracking", "charge", "amount_cents", "shipped_on", "order")
RATED = ("service", "zone")
BILLED = ("billed_weight_pg", "billed_length_nm", "billed_width_nm", "billed_height_nm")
ALL = (*BASE, *RATED, *BILLED)

LAYOUTS: tuple[Layout, ...] = (
    Layout("fourth_wallet_ledger", "Pennyroll Postage Co.", wallet_ledger, ALL),
    Layout("fourth_purchase_journal", "Bandicoot Lane Warehousing", purchase_journal, ALL, metric=True),
    Layout("fourth_bill_annexure", "Nilgai Parcel Consolidators", bill_annexure, ALL, metric=True),
    Layout("fourth_returns_mail", "Ballyfinch Returns Desk", returns_mail, (*BASE, *BILLED), metric=True),
    Layout("fourth_postal_rows", "Norrskärs Paketpost", postal_rows, ALL, metric=True, numbers="postal"),
    Layout("fourth_settlement", "Copperfinch Bazaar", settlement, ALL),
)
