"""Statements as tables, written by someone who had not seen the package's reader, its vocabulary or its tests.

They tell how well layouts are read that nobody foresaw; so words and arrangements here are not changed to suit the
reader, nor may it be widened by looking at them.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import jinja2
import openpyxl
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.table_layouts import Layout, parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, comma, total

WRITER = "unseen"
AMOUNT = "#,##0.00;(#,##0.00)"
BOLD = Font(bold=True)
GREY = PatternFill("solid", fgColor="DDE3EA")


def _money(cents: int) -> Decimal:
    return Decimal(cents) / 100


def _brackets(cents: int) -> str:
    """-123456 → '(1,234.56)'."""
    figure = f"{abs(_money(cents)):,.2f}"
    return f"({figure})" if cents < 0 else figure


def _of_charge(them: Sequence[Line], charge: str) -> list[Line]:
    return [line for line in them if line.charge == charge]


# 1. A postage reseller's export, one row a charge.

RESELLER = {
    "freight": "Label purchase (base postage)",
    "fuel": "Fuel recovery",
    "residential": "Home address delivery",
    "additional handling": "Non-standard package handling",
    "address correction": "Corrected recipient address",
}
RESELLER_HEADINGS = (
    "Entry",
    "Posted",
    "Statement no.",
    "Bought by",
    "Means",
    "Collection",
    "Desk",
    "Label no.",
    "Shop order",
    "Mailed",
    "Carrier",
    "Service",
    "Zone",
    "Weight rated (lb)",
    "Parcel length (in)",
    "Parcel width (in)",
    "Parcel height (in)",
    "What For",
    "Value of goods",
    "Money",
    "Debit",
    "Balance left",
)


def reseller_export(folder: Path, them: Sequence[Line]) -> Path:
    """Separated by bars: much about who paid and how, and a running balance beside what was debited."""
    rows: list[list[str]] = [list(RESELLER_HEADINGS)]
    balance = max(total(them), 0) + 40_000
    for place, line in enumerate(them):
        balance -= line.amount_cents
        rows.append(
            [
                f"E{7_310_400 + place}",
                (line.shipped_on + timedelta(days=place % 3)).strftime("%m/%d/%Y"),
                STATEMENT,
                ("P. Averell", "Dispatch Desk 2", "M. Osei")[place % 3],
                "Purse" if place % 4 else "Bank draft",
                f"PU-{3_300 + line.shipped_on.day}",
                ("4100 Workshop", "4200 Retail")[place % 2],
                line.tracking,
                line.order,
                line.shipped_on.strftime("%m/%d/%Y"),
                "Larkrise Post",
                line.service,
                line.zone,
                str(line.weight_g),
                *map(str, line.sides_mm),
                RESELLER[line.charge],
                f"{50 * (1 + place % 6)}.00" if line.charge == "freight" else "",
                "USD",
                _brackets(line.amount_cents),
                f"{_money(balance):.2f}",
            ]
        )
    closing = [""] * len(RESELLER_HEADINGS)
    closing[RESELLER_HEADINGS.index("What For")] = f"All debits, {len(them)} entries"
    closing[RESELLER_HEADINGS.index("Money")] = "USD"
    closing[RESELLER_HEADINGS.index("Debit")] = _brackets(total(them))
    path = folder / "postage_history.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter="|").writerows([*rows, closing])
    return path


# 2. A workbook for people: title block, two rows of headings, a subtotal after each parcel.

CONSIGNMENT = {
    "freight": "Carriage",
    "fuel": "Energy & fuel levy",
    "residential": "Private dwelling supplement",
    "additional handling": "Manual handling supplement",
    "address correction": "Re-addressing fee",
}
CONSIGNMENT_HEADINGS = (
    ("Consignment", "Parcel No."),
    ("", "Sender's ref."),
    ("", "Collected on"),
    ("", "Product"),
    ("", "Zone"),
    ("", "Depot"),
    ("Weight charged", "lb"),
    ("Size charged (inches)", "Length"),
    ("", "Width"),
    ("", "Height"),
    ("Charge", "Description"),
    ("", "Tariff price"),
    ("", "Payable (USD)"),
)
HIDDEN = ("Depot", "Tariff price")
PAYABLE = len(CONSIGNMENT_HEADINGS)


def consignment_workbook(folder: Path, them: Sequence[Line]) -> Path:
    """A parcel's own cells stand once, at its first charge; its subtotal follows its last."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Account detail"
    sheet["A1"] = "NORRHAVEN PARCEL"
    sheet["A1"].font = Font(bold=True, size=20, color="20506B")
    sheet.merge_cells("A1:D2")
    sheet["F3"] = "internal"
    for row, (name, value) in enumerate(_account_block(them), start=1):
        sheet.cell(row, 9, name).font = BOLD
        cell = sheet.cell(row, 11, value)
        cell.alignment = Alignment(horizontal="left")
        if isinstance(value, datetime):
            cell.number_format = "d mmmm yyyy"
    sheet["A4"] = "Later adjustments and charges to your consignments"
    sheet["A4"].font = Font(italic=True)
    _two_rows_of_headings(sheet, 7)
    row = 9
    for parcel in parcels(them):
        for place, line in enumerate(parcel):
            _consignment_row(sheet, row, line, first=place == 0)
            row += 1
        _sum_row(sheet, row, f"Subtotal parcel {parcel[0].tracking}", total(parcel))
        row += 1
    _sum_row(sheet, row + 1, "Grand total", total(them))
    sheet.cell(
        row + 3, 1, "Queries within 30 days to accounts@norrhaven.example, quoting the account statement number."
    )
    for column, (_, name) in enumerate(CONSIGNMENT_HEADINGS, start=1):
        dimension = sheet.column_dimensions[get_column_letter(column)]
        dimension.width = {"Parcel No.": 20, "Description": 30}.get(name, 13)
        dimension.hidden = name in HIDDEN
    path = folder / "account_detail.xlsx"
    book.save(path)
    return path


def _account_block(them: Sequence[Line]) -> Iterator[tuple[str, str | datetime | int]]:
    yield "Account holder", "Quillmoor Instruments"
    yield "Account statement", STATEMENT
    yield "Drawn up on", datetime.combine(STATEMENT_ON, datetime.min.time())
    yield "Parcels", len(parcels(them))


def _two_rows_of_headings(sheet: Worksheet, row: int) -> None:
    """The upper row names groups, each merged across its columns."""
    starts = [column for column, (group, _) in enumerate(CONSIGNMENT_HEADINGS, start=1) if group]
    for column, (group, name) in enumerate(CONSIGNMENT_HEADINGS, start=1):
        for cell, text in ((sheet.cell(row, column), group), (sheet.cell(row + 1, column), name)):
            cell.value = text or None
            cell.font, cell.fill = BOLD, GREY
    for start, after in zip(starts, [*starts[1:], len(CONSIGNMENT_HEADINGS) + 1], strict=True):
        if after - start > 1:
            sheet.merge_cells(start_row=row, end_row=row, start_column=start, end_column=after - 1)


def _consignment_row(sheet: Worksheet, row: int, line: Line, *, first: bool) -> None:
    if first:
        collected = datetime.combine(line.shipped_on, datetime.min.time())
        depot = f"D{line.shipped_on.day % 4 + 1}"
        own: list[str | datetime | int] = [line.tracking, line.order, collected, line.service, int(line.zone), depot]
        own += [line.weight_g, *line.sides_mm]
        for column, value in enumerate(own, start=1):
            sheet.cell(row, column, value)
        sheet.cell(row, 3).number_format = "dd-mmm-yy"
    sheet.cell(row, PAYABLE - 2, CONSIGNMENT[line.charge])
    # The hidden tariff price is what the shop would pay without its contract.
    tariff = (_money(line.amount_cents) * Decimal("1.25")).quantize(Decimal("0.01"))
    for column, amount in ((PAYABLE - 1, tariff), (PAYABLE, _money(line.amount_cents))):
        sheet.cell(row, column, amount).number_format = AMOUNT


def _sum_row(sheet: Worksheet, row: int, text: str, cents: int) -> None:
    sheet.cell(row, PAYABLE - 2, text).font = BOLD
    cell = sheet.cell(row, PAYABLE, _money(cents))
    cell.font, cell.number_format = BOLD, AMOUNT


# 3. A workbook of several sheets: the summary first, then one row a parcel with a column a charge.

MATRIX = {
    "freight": "Basic rate",
    "fuel": "Fuel index add-on",
    "residential": "To private household",
    "additional handling": "Special handling",
    "address correction": "Wrong address put right",
}


def summary_then_parcels(folder: Path, them: Sequence[Line]) -> Path:
    """The number stands on the summary alone; the parcels' sheet has sides by size, and what was not charged empty."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Overview"
    for row in _overview(them):
        sheet.append(row)
    sheet.column_dimensions["A"].width = 34
    _by_product(book.create_sheet("By product"), them)
    _by_parcel(book.create_sheet("By parcel"), them)
    notes = book.create_sheet("Explanations")
    for text, meaning in (
        ("Term", "Meaning"),
        ("Fuel index add-on", "Follows the monthly index of diesel prices; a credit is shown as a negative."),
        ("To private household", "The place of delivery is a home, not a business."),
        ("Special handling", "The parcel cannot run on the sorting belt because of its length, weight or packing."),
        ("Wrong address put right", "We had to find the right street, number or postcode ourselves."),
    ):
        notes.append((text, meaning))
    path = folder / "charges_march.xlsx"
    book.save(path)
    return path


def _overview(them: Sequence[Line]) -> Iterator[tuple[str | date | int | Decimal | None, ...]]:
    yield ("Larkrise Post - Business customers",)
    yield (None,)
    yield "Summary of charges no.", STATEMENT
    yield "Date", STATEMENT_ON
    yield "Customer", "Quillmoor Instruments"
    yield "Currency", "US dollars"
    yield (None,)
    yield "Kind of charge", "How many", "Sum"
    for charge in CHARGES:
        of_charge = _of_charge(them, charge)
        yield MATRIX[charge], len(of_charge), _money(total(of_charge))
    yield "Everything together", len(them), _money(total(them))
    yield (None,)
    yield ("We collect the amount by direct debit on 16 April 2026.",)


def _by_product(sheet: Worksheet, them: Sequence[Line]) -> None:
    sheet.append(("Product", "Parcels", "Sum"))
    for service in sorted({line.service for line in them}):
        of_service = [line for line in them if line.service == service]
        sheet.append((service, len(parcels(of_service)), _money(total(of_service))))


def _by_parcel(sheet: Worksheet, them: Sequence[Line]) -> None:
    before = ("#", "Item number", "Customer's own ref", "Posting date", "Product", "Distance zone")
    sides = ("Rated weight, lb", "Longest side, in", "Middle side, in", "Shortest side, in")
    sheet.append((*before, *sides, *(MATRIX[charge] for charge in CHARGES), "Parcel altogether"))
    for place, parcel in enumerate(parcels(them), start=1):
        line = parcel[0]
        charged = {one.charge: _money(one.amount_cents) for one in parcel}
        sheet.append(
            (
                place,
                line.tracking,
                line.order,
                line.shipped_on,
                line.service,
                int(line.zone),
                line.weight_g,
                *sorted(line.sides_mm, reverse=True),
                *(charged.get(charge) for charge in CHARGES),
                _money(total(parcel)),
            )
        )
    sums = [_money(total(_of_charge(them, charge))) for charge in CHARGES]
    sheet.append((None, "Sum of all parcels", *[None] * 8, *sums, _money(total(them))))
    for row in sheet.iter_rows(min_row=2, min_col=11):
        for cell in row:
            cell.number_format = "0.00"
    for row in sheet.iter_rows(min_row=2, min_col=4, max_col=4):
        row[0].number_format = "yyyy-mm-dd"
    for cell in sheet[1]:
        cell.font = BOLD
    sheet.freeze_panes = "C2"


# 4. A carrier's Italian file, separated by tabs.

ITALIAN = {
    "freight": "Trasporto",
    "fuel": "Supplemento carburante",
    "residential": "Consegna a domicilio privato",
    "additional handling": "Movimentazione supplementare collo",
    "address correction": "Rettifica indirizzo destinatario",
}


def _trailing(cents: int) -> str:
    """-123456 → '1.234,56-'."""
    return f"{comma(abs(cents))}{'-' if cents < 0 else ''}"


def italian_tabs(folder: Path, them: Sequence[Line]) -> Path:
    """A preamble of names and values, then the charges; the size in one column of text, minus signs behind."""
    rows: list[tuple[str, ...]] = [
        ("Norrhaven Parcel", "Riepilogo addebiti"),
        ("Riepilogo n.", STATEMENT),
        ("Emesso il", STATEMENT_ON.strftime("%d/%m/%Y")),
        ("Cliente", "Quillmoor Instruments"),
        ("Modalità di pagamento", "Bonifico a 30 giorni"),
        (),
        (
            "Riga",
            "N. collo",
            "Vs. riferimento",
            "Spedito il",
            "Servizio",
            "Zona",
            "Colli",
            "Peso tassato kg",
            "Misure rilevate cm (lungh. x largh. x alt.)",
            "Voce di addebito",
            "Importo EUR",
            "Annotazioni",
        ),
    ]
    for place, line in enumerate(them, start=1):
        rows.append(
            (
                str(place),
                line.tracking,
                line.order,
                line.shipped_on.strftime("%d/%m/%Y"),
                line.service,
                line.zone,
                "1",
                f"{Decimal(line.weight_g) / 1000:.2f}".replace(".", ","),
                " x ".join(f"{Decimal(side) / 10:.1f}".replace(".", ",") for side in line.sides_mm),
                ITALIAN[line.charge],
                _trailing(line.amount_cents),
                "Storno a Vs. favore" if line.amount_cents < 0 else "",
            )
        )
    rows += [
        (),
        (*[""] * 9, "Totale addebiti", _trailing(total(them)), ""),
        ("Eventuali reclami entro 15 giorni dalla data di emissione.",),
    ]
    path = folder / "riepilogo_addebiti.txt"
    # Older systems in Europe write their files in the code page of the desk they are opened at.
    path.write_bytes("".join("\t".join(row) + "\r\n" for row in rows).encode("cp1252"))
    return path


# 5. A page of the carrier's web site, saved from the browser.

PAGE_WORDS = {
    "freight": "Shipping",
    "fuel": "Fuel cost adjustment",
    "residential": "Delivery to a residence",
    "additional handling": "Extra handling (bulky or heavy)",
    "address correction": "Address change by us",
}
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>My billing - Larkrise Post</title>
<style>.r { text-align: right } .credit { color: green } table { border-collapse: collapse } td, th { padding: 3px }
</style><script>document.documentElement.className = "js";</script></head>
<body>
<table class="bar"><tbody><tr><td><a href="#">Home</a></td><td><a href="#">Ship</a></td><td><a href="#">My billing</a>
</td><td><span>Signed in as <span><b>Quillmoor&nbsp;Instruments</b></span></span></td></tr></tbody></table>
<h1><span>Billing activity <span class="soft">#&nbsp;<span>{{ statement }}</span></span></span></h1>
<table class="facts"><tbody>
<tr><th>Activity&nbsp;no.</th><td><span><span>{{ statement }}</span></span></td><th>Status</th><td>Open</td></tr>
<tr><th>Issued</th><td>{{ day(issued) }}</td><th>Amount&nbsp;due</th><td><b>{{ money(all) }}</b></td></tr>
</tbody></table>
<h2>At a glance</h2>
<table class="glance"><thead><tr><th>Type</th><th>Items</th><th>Amount</th></tr></thead><tbody>
{% for charge, lines in kinds %}<tr><td>{{ words[charge] }}</td><td class="r">{{ lines | length }}</td>
<td class="r">{{ money(total(lines)) }}</td></tr>
{% endfor %}</tbody></table>
<h2>All items</h2>
<table id="items"><thead><tr>
<th><span>Tracking&nbsp;ID</span></th><th><span>Your&nbsp;reference</span></th><th><span>Sent</span></th>
<th><span>Shipping&nbsp;option</span></th><th><span>Measured&nbsp;size</span></th>
<th><span>Charged&nbsp;weight</span></th><th><span>Item</span></th><th class="r"><span>Amount</span></th><th>&nbsp;</th>
</tr></thead><tbody>
{% for line in them %}<tr>
<td><span class="t"><a href="#t{{ loop.index }}"><span>{{ line.tracking }}</span></a></span></td>
<td><span>{{ line.order }}</span></td><td><span><time>{{ day(line.shipped_on) }}</time></span></td>
<td><span>{{ line.service }}</span></td>
<td><span>{{ line.sides_mm | join("&nbsp;×&nbsp;" | safe) }}<span>&nbsp;in</span></span></td>
<td class="r"><span>{{ line.weight_g }}<span>&nbsp;lb</span></span></td>
<td><span><span>{{ words[line.charge] }}</span></span></td>
<td class="r"><span{% if line.amount_cents < 0 %} class="credit"{% endif %}>{{ money(line.amount_cents) }}</span></td>
<td><a href="#d{{ loop.index }}">Dispute</a></td></tr>
{% endfor %}</tbody><tfoot><tr><td colspan="7"><b>Total&nbsp;of&nbsp;{{ them | length }}&nbsp;items</b></td>
<td class="r"><b>{{ money(all) }}</b></td><td>&nbsp;</td></tr></tfoot></table>
<h2>Payments</h2>
<table class="payments"><thead><tr><th>Date</th><th>Activity&nbsp;no.</th><th>Method</th><th>Amount</th></tr></thead>
<tbody>
<tr><td>Mar&nbsp;12,&nbsp;2026</td><td>QM-40533</td><td>Bank&nbsp;transfer</td><td class="r">$1,208.44</td></tr>
<tr><td>Feb&nbsp;11,&nbsp;2026</td><td>QM-40271</td><td>Bank&nbsp;transfer</td><td class="r">$986.10</td></tr>
</tbody></table>
<p><small>Questions? Write to billing@larkrise.example.&nbsp;&nbsp;Page&nbsp;1&nbsp;of&nbsp;1</small></p>
</body></html>
"""


def saved_page(folder: Path, them: Sequence[Line]) -> Path:
    """Tables before and after the charges, earlier statements' numbers among them; credits marked CR."""
    page = jinja2.Environment(autoescape=True).from_string(PAGE)
    text = page.render(
        statement=STATEMENT,
        issued=STATEMENT_ON,
        them=them,
        all=total(them),
        total=total,
        kinds=[(charge, _of_charge(them, charge)) for charge in CHARGES],
        words=PAGE_WORDS,
        money=_credit,
        day=_american_day,
    )
    path = folder / "my_billing.html"
    path.write_text(text, encoding="utf-8")
    return path


def _credit(cents: int) -> str:
    """-123456 → '$1,234.56 CR', its blank a fixed one."""
    return f"${abs(_money(cents)):,.2f}{chr(0xA0) + 'CR' if cents < 0 else ''}"


def _american_day(day: date) -> str:
    """'Mar 4, 2026', its blanks fixed ones."""
    return f"{day:%b} {day.day}, {day.year}".replace(" ", chr(0xA0))


# 6. A warehouse's extract of a freight audit: declared beside audited.

AUDIT = {
    "freight": "LINEHAUL",
    "fuel": "FUEL SURCH",
    "residential": "RESI DELIVERY",
    "additional handling": "ADDL HANDLING",
    "address correction": "ADDR CORR",
}
AUDIT_HEADINGS = (
    "extract_date",
    "site",
    "carrier",
    "stmt_no",
    "trk_no",
    "ord_ref",
    "ship_dt",
    "audit_dt",
    "svc_lvl",
    "zn",
    "declared_L",
    "declared_W",
    "declared_H",
    "audited_L",
    "audited_W",
    "audited_H",
    "dim_uom",
    "declared_wt",
    "audited_wt",
    "wt_uom",
    "billed_on",
    "chg_desc",
    "billed",
    "tax",
    "net",
    "gl_code",
    "audit_result",
)


def audit_extract(folder: Path, them: Sequence[Line]) -> Path:
    """No sum at the end; units in columns of their own; what the shop declared is smaller than what was billed."""
    path = folder / "freight_audit_extract.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(AUDIT_HEADINGS)
        for line in them:
            audited = [side // 10 for side in line.sides_mm]
            amount = f"{_money(line.amount_cents):.2f}"
            writer.writerow(
                (
                    f"{STATEMENT_ON:%Y%m%d}",
                    "WH03",
                    "NORRHAVEN PARCEL",
                    STATEMENT,
                    line.tracking,
                    line.order,
                    f"{line.shipped_on:%Y%m%d}",
                    f"{line.shipped_on + timedelta(days=2):%Y%m%d}",
                    line.service,
                    line.zone,
                    *(side - 3 for side in audited),
                    *audited,
                    "CM",
                    f"{Decimal(line.weight_g) * 8 / 10_000:.3f}",
                    f"{Decimal(line.weight_g) / 1000:.3f}",
                    "KG",
                    "AUDITED",
                    AUDIT[line.charge],
                    amount,
                    "0.00",
                    amount,
                    "6150-20" if line.charge == "freight" else "6150-35",
                    "CREDIT" if line.amount_cents < 0 else "DIM/WT DIFF",
                )
            )
    return path


NO_ZONE = tuple(field for field in FIELDS if field != "zone")

LAYOUTS: tuple[Layout, ...] = (
    Layout("reseller export, bars", WRITER, reseller_export),
    Layout("consignment workbook, subtotals", WRITER, consignment_workbook),
    Layout("summary sheet, then parcels", WRITER, summary_then_parcels),
    Layout("Italian, tabs", WRITER, italian_tabs, metric=True, numbers="postal"),
    Layout("saved page", WRITER, saved_page, NO_ZONE, numbers="postal"),
    Layout("freight audit extract", WRITER, audit_extract, metric=True),
)
