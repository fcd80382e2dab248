"""Five more ordinary statements as tables, written without knowing how they are read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from html import escape
from pathlib import Path

import openpyxl
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

CLIENT = "Pellwick & Daughters"
LOG_FIELDS = (
    "statement",
    "tracking",
    "charge",
    "amount_cents",
    "shipped_on",
    "service",
    "zone",
    "billed_weight_pg",
)
"""What the postage log shows: neither the order nor the size of a parcel."""

POSTAGE = {
    "freight": "Label postage",
    "fuel": "Fuel surcharge",
    "residential": "Residential delivery",
    "additional handling": "Additional handling fee",
    "address correction": "Address correction fee",
}
SPANISH = {
    "freight": "Portes",
    "fuel": "Supl. combustible",
    "residential": "Supl. entrega a particular",
    "additional handling": "Supl. manipulación especial",
    "address correction": "Corrección de dirección",
}
RECHARGE = {
    "freight": "Carriage",
    "fuel": "Fuel",
    "residential": "Resi",
    "additional handling": "Non-conv. handling",
    "address correction": "Addr. corr.",
}
CANADIAN = {
    "freight": "Base Rate",
    "fuel": "Fuel Surch.",
    "residential": "Residential Surch.",
    "additional handling": "Special Handling",
    "address correction": "Addr. Correction",
}
VALLEY = {
    "freight": "Delivery charge",
    "fuel": "Fuel surcharge",
    "residential": "Residential",
    "additional handling": "Add'l handling",
    "address correction": "Address correction",
}


def by_charge(them: Sequence[Line]) -> dict[str, int]:
    """The sum of each charge that occurs in the lines."""
    sums: dict[str, int] = {}
    for line in them:
        sums[line.charge] = sums.get(line.charge, 0) + line.amount_cents
    return sums


def kilos(line: Line, places: int) -> str:
    """12350 g → '12.35' with two places."""
    return f"{Decimal(line.weight_g) / 1000:.{places}f}"


def centimetres(line: Line, between: str) -> str:
    """The sides in whole centimetres."""
    return between.join(str(side // 10) for side in line.sides_mm)


def grouped(cents: int) -> str:
    """-123456 → '-1,234.56'."""
    return f"{Decimal(cents) / 100:,.2f}"


def postage_log(folder: Path, them: Sequence[Line]) -> Path:
    """An American postage desk's download: a row a charge, debits and credits in two columns, ounces, no preamble."""
    rows = [
        [
            "Statement ID",
            "Sent on",
            "Tracking Number",
            "Service",
            "Zone",
            "Billed Weight (oz)",
            "Sent from",
            "What for",
            "Debit (USD)",
            "Credit (USD)",
        ]
    ]
    for line in them:
        amount = decimal(abs(line.amount_cents))
        rows.append(
            [
                STATEMENT,
                f"{line.shipped_on.month}/{line.shipped_on.day}/{line.shipped_on.year}",
                line.tracking,
                line.service,
                line.zone,
                f"{line.weight_g * 16}.0",
                "04401",
                POSTAGE[line.charge],
                *(["", amount] if line.amount_cents < 0 else [amount, ""]),
            ]
        )
    debits = sum(line.amount_cents for line in them if line.amount_cents > 0)
    blank = [""] * 7
    rows.append([*blank, "Totals", decimal(debits), decimal(debits - total(them))])
    rows.append([*blank, "Net charges", decimal(total(them)), ""])
    path = folder / f"postage-activity-{STATEMENT}.csv"
    path.write_text(delimited(rows, ","), encoding="utf-8-sig", newline="")
    return path


def haulier_lines(folder: Path, them: Sequence[Line]) -> Path:
    """A Spanish haulier's file: semicolons, decimal comma, the minus behind the number, a row a charge."""
    rows = [
        ["TRANSPORTES PEÑARROBLE, S.L."],
        ["Detalle de la factura nº", STATEMENT],
        ["Fecha factura", f"{STATEMENT_ON:%d/%m/%Y}"],
        ["Cliente", "004417", CLIENT],
        ["Periodo", "01/03/2026 - 31/03/2026"],
        ["Importes en euros, IVA no incluido"],
        [],
        [
            "Línea",
            "Nº envío",
            "Fecha salida",
            "Ref. pedido",
            "Servicio",
            "Zona",
            "Bultos",
            "Peso facturado (kg)",
            "Largo (cm)",
            "Ancho (cm)",
            "Alto (cm)",
            "Concepto",
            "Importe",
        ],
    ]
    for number, line in enumerate(them, 1):
        amount = comma(abs(line.amount_cents))
        rows.append(
            [
                str(number),
                line.tracking,
                f"{line.shipped_on:%d/%m/%Y}",
                line.order,
                line.service,
                line.zone,
                "1",
                kilos(line, 2).replace(".", ","),
                *(str(side // 10) for side in line.sides_mm),
                SPANISH[line.charge],
                f"{amount}-" if line.amount_cents < 0 else amount,
            ]
        )
    rows.append([*[""] * 11, "Base imponible", comma(total(them))])
    path = folder / f"detalle_{STATEMENT}.csv"
    path.write_text(delimited(rows, ";"), encoding="cp1252", newline="")
    return path


def recharge_text(folder: Path, them: Sequence[Line]) -> Path:
    """A British fulfilment house's text with tabs: a row a parcel, a column a charge left empty without one."""
    rows = [
        [f"Hobbin & Tarn Fulfilment - carriage recharges to {CLIENT}"],
        [f"Invoice: {STATEMENT}", f"Tax point: {STATEMENT_ON:%d %b %Y}", "Terms: 14 days"],
        [],
        [
            "SO no",
            "Despatch date",
            "Consignment",
            "Svc",
            "Zone",
            "Chg wt kg",
            "L mm",
            "W mm",
            "H mm",
            *(f"{words} £" for words in RECHARGE.values()),
            "Total £",
        ],
    ]
    for parcel in parcels(them):
        first, costs = parcel[0], by_charge(parcel)
        rows.append(
            [
                first.order,
                f"{first.shipped_on:%d-%b-%y}",
                first.tracking,
                first.service,
                first.zone,
                kilos(first, 3),
                *map(str, first.sides_mm),
                *(decimal(costs[charge]) if charge in costs else "" for charge in CHARGES),
                decimal(total(parcel)),
            ]
        )
    sums = by_charge(them)
    rows.append([])
    rows.append(["TOTAL", *[""] * 8, *(decimal(sums.get(charge, 0)) for charge in CHARGES), decimal(total(them))])
    path = folder / f"Recharges {STATEMENT}.txt"
    path.write_text(delimited(rows, "\t"), encoding="utf-8", newline="")
    return path


def _summary_sheet(sheet: Worksheet, them: Sequence[Line], depots: Sequence[tuple[str, Sequence[Line]]]) -> None:
    """The invoice at a glance: what each depot shipped, a fee that is waived, tax at nought, what is due."""
    rows: list[tuple[str | Decimal | date, ...]] = [
        ("Sprucelight Parcel Inc.",),
        ("Invoice Summary",),
        (),
        ("Invoice Number", STATEMENT),
        ("Invoice Date", STATEMENT_ON),
        ("Account", "7714-02"),
        ("Bill To", CLIENT),
        (),
        ("Description", "Amount (CAD)"),
        *((f"Shipments - {name}", Decimal(total(mine)) / 100) for name, mine in depots),
        ("Monthly account fee (waived)", Decimal("0.00")),
        ("GST/HST (zero-rated)", Decimal("0.00")),
        ("Total Due", Decimal(total(them)) / 100),
    ]
    for row in rows:
        sheet.append(row)
    sheet["B5"].number_format = "yyyy-mm-dd"
    for place in (1, 2, 9, len(rows)):
        for cell in sheet[place]:
            cell.font = Font(bold=True)
    for place in range(10, len(rows) + 1):
        sheet.cell(place, 2).number_format = "#,##0.00;(#,##0.00)"
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 34, 18


def _depot_sheet(sheet: Worksheet, name: str, them: Sequence[Line]) -> None:
    """One depot's charges, a row each, and their subtotal."""
    sheet.append([f"Origin depot: {name}", None, None, f"Invoice {STATEMENT}"])
    heads = [
        "Ship Date",
        "Parcel / tracking no.",
        "Your ref. (order)",
        "Service",
        "Zone",
        "Billed Wt (kg)",
        "Dims (cm)",
    ]
    sheet.append([*heads, "Charge", "Amount"])
    for cell in sheet[2]:
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="D9E7DC")
    for line in them:
        sheet.append(
            [
                line.shipped_on,
                line.tracking,
                line.order,
                line.service,
                int(line.zone),
                line.weight_g / 1000,
                centimetres(line, "x"),
                CANADIAN[line.charge],
                Decimal(line.amount_cents) / 100,
            ]
        )
    sheet.append([f"Subtotal {name}", *[None] * 7, Decimal(total(them)) / 100])
    for cells in sheet.iter_rows(min_row=3):
        cells[0].number_format, cells[5].number_format = "yyyy-mm-dd", "0.00"
        cells[8].number_format = "#,##0.00;(#,##0.00)"
    for cell in sheet[sheet.max_row]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "A3"
    for place, width in enumerate((18, 22, 20, 10, 7, 15, 14, 20, 12), 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def depot_sheets(folder: Path, them: Sequence[Line]) -> Path:
    """A Canadian carrier's workbook: a summary, then a sheet for each of two depots with a row a charge."""
    shipped = parcels(them)
    half = (len(shipped) + 1) // 2
    depots = [
        (name, [line for parcel in mine for line in parcel])
        for name, mine in (("Brampton", shipped[:half]), ("Lethbridge", shipped[half:]))
    ]
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Summary"
    _summary_sheet(sheet, them, depots)
    for name, mine in depots:
        made = book.create_sheet(name)
        assert isinstance(made, Worksheet)
        _depot_sheet(made, name, mine)
    path = folder / f"Sprucelight_{STATEMENT}.xlsx"
    book.save(path)
    return path


def _credit(cents: int) -> str:
    """-1234 → '$12.34 CR'."""
    return f"${grouped(abs(cents))}{' CR' if cents < 0 else ''}"


def _valley_parcel(parcel: Sequence[Line]) -> str:
    """A bar with what is known of a package, its charges and its subtotal."""
    first = parcel[0]
    facts = (
        ("Tracking #", first.tracking),
        ("Shipped", f"{first.shipped_on:%b} {first.shipped_on.day}, {first.shipped_on.year}"),
        ("Order #", first.order),
        ("Service", first.service),
        ("Zone", first.zone),
        ("Billed weight", f"{first.weight_g} lbs"),
        ("Dimensions", f"{' x '.join(map(str, first.sides_mm))} in"),
    )
    bar = " &nbsp; ".join(f"<b>{label}:</b> {value}" for label, value in facts)
    rows = [f'<tr class="pkg"><td colspan="2">{bar}</td></tr>']
    rows += [
        f'<tr><td>{escape(VALLEY[line.charge])}</td><td class="amt">{_credit(line.amount_cents)}</td></tr>'
        for line in parcel
    ]
    rows.append(f'<tr class="sub"><td>Package subtotal</td><td class="amt">{_credit(total(parcel))}</td></tr>')
    return f"<tbody>\n{chr(10).join(rows)}\n</tbody>"


def package_page(folder: Path, them: Sequence[Line]) -> Path:
    """An American regional carrier's page: a bar for each package, its charges below, credits marked CR."""
    bodies = "\n".join(_valley_parcel(parcel) for parcel in parcels(them))
    page = f"""<!DOCTYPE html>
<html lang="en-US"><head><meta charset="utf-8"><title>Invoice {STATEMENT} - Gristmill Valley Delivery</title>
<style>
body {{ font-family: Arial, sans-serif; font-size: 13px; max-width: 1000px }}
table.detail {{ width: 100%; border-collapse: collapse }}
.detail td, .detail th {{ padding: 3px 8px; text-align: left }}
.pkg td {{ background: #eee7da; border-top: 1px solid #8a7b5c }}
.detail .amt {{ text-align: right }} .sub td {{ font-style: italic }} .due td {{ font-weight: bold }}
</style></head>
<body>
<h1>Gristmill Valley Delivery</h1>
<p>Remit to: P.O. Box 118, Tannersford. Questions? Call 555-0142.</p>
<dl>
<dt>Invoice number</dt><dd>{STATEMENT}</dd>
<dt>Invoice date</dt><dd>{STATEMENT_ON:%B} {STATEMENT_ON.day}, {STATEMENT_ON.year}</dd>
<dt>Customer</dt><dd>{escape(CLIENT)}, account 60331</dd>
<dt>Packages</dt><dd>{len(parcels(them))}</dd>
</dl>
<table class="detail">
<thead><tr><th>Package / description</th><th class="amt">Amount</th></tr></thead>
{bodies}
<tbody><tr class="due"><td>Total this invoice</td><td class="amt">{_credit(total(them))}</td></tr></tbody>
</table>
<p>Billed weight is the greater of actual and dimensional weight. Please pay within 15 days.</p>
</body></html>
"""
    path = folder / f"invoice-{STATEMENT}.html"
    path.write_text(page, encoding="utf-8")
    return path


LAYOUTS: tuple[Layout, ...] = (
    Layout("seventh_postage_log", "Ferncombe Postage Desk", postage_log, LOG_FIELDS),
    Layout("seventh_haulier_lines", "Transportes Peñarroble", haulier_lines, FIELDS, metric=True),
    Layout("seventh_recharge_text", "Hobbin & Tarn Fulfilment", recharge_text, FIELDS, metric=True),
    Layout("seventh_depot_sheets", "Sprucelight Parcel", depot_sheets, FIELDS, metric=True),
    Layout("seventh_package_page", "Gristmill Valley Delivery", package_page, FIELDS),
)
