"""Six statements as tables, written by someone who did not know what the package reads."""

from __future__ import annotations

import csv
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

from tests.layouts.table_layouts import Layout, delimited, parcels
from tests.layouts.table_truth import CHARGES, STATEMENT, STATEMENT_ON, Line, comma, total

SHOP = "Quillmoor Instruments"
SIZE = ("billed_length_nm", "billed_width_nm", "billed_height_nm")

AMERICAN = {
    "freight": "Postage",
    "fuel": "Fuel Adjustment",
    "residential": "Residential Delivery",
    "additional handling": "Nonstandard Handling Fee",
    "address correction": "Corrected Address Fee",
}
GERMAN = {
    "freight": "Paketporto",
    "fuel": "Dieselzuschlag",
    "residential": "Privatzustellung",
    "additional handling": "Manuelle Bearbeitung",
    "address correction": "Adressberichtigung",
}
BRITISH = {
    "freight": "Carriage",
    "fuel": "Fuel levy",
    "residential": "Home address supplement",
    "additional handling": "Manual handling",
    "address correction": "Address amendment",
}
DUTCH = {
    "freight": "Verzendkosten",
    "fuel": "Brandstoftoeslag",
    "residential": "Toeslag particulier adres",
    "additional handling": "Toeslag handmatige verwerking",
    "address correction": "Adrescorrectie",
}
FRENCH = {
    "freight": "Transport",
    "fuel": "Indexation gazole",
    "residential": "Livraison chez un particulier",
    "additional handling": "Manutention supplémentaire",
    "address correction": "Rectification d'adresse",
}
SPANISH = {
    "freight": "Portes",
    "fuel": "Recargo por combustible",
    "residential": "Entrega en domicilio particular",
    "additional handling": "Manipulación especial",
    "address correction": "Corrección de dirección",
}


def _euros(cents: int) -> Decimal:
    return Decimal(cents) / 100


def _kilograms(grams: int, places: int = 2) -> str:
    return f"{Decimal(grams) / 1000:.{places}f}"


def _centimetres(line: Line) -> list[str]:
    return [str(side // 10) for side in line.sides_mm]


def postage_reseller(folder: Path, them: Sequence[Line]) -> Path:
    """An American reseller's label history: a row a charge, all in every row, quoted, dollars with their sign."""

    def dollars(cents: int) -> str:
        return f"{'-' if cents < 0 else ''}${Decimal(abs(cents)) / 100:,.2f}"

    heading = [
        "Invoice #",
        "Invoice Date",
        "Account",
        "Ship Date",
        "Order #",
        "Tracking #",
        "Service",
        "Zone",
        "Weight billed (lb)",
        "Length billed (in)",
        "Width billed (in)",
        "Height billed (in)",
        "Fee",
        "Amount (USD)",
    ]
    invoice = [STATEMENT, f"{STATEMENT_ON:%m/%d/%Y}", SHOP]
    rows = [
        [
            *invoice,
            f"{line.shipped_on:%m/%d/%Y}",
            line.order,
            line.tracking,
            line.service,
            line.zone,
            str(line.weight_g),
            *map(str, line.sides_mm),
            AMERICAN[line.charge],
            dollars(line.amount_cents),
        ]
        for line in them
    ]
    last = [*invoice, *[""] * 9, "Invoice Total", dollars(total(them))]
    path = folder / f"brightstamp_invoice_{STATEMENT}.csv"
    path.write_bytes(delimited([heading, *rows, last], delimiter=",", quoting=csv.QUOTE_ALL).encode("utf-8-sig"))
    return path


def parcel_post(folder: Path, them: Sequence[Line]) -> Path:
    """A German post's proof of single items: semicolons, Windows letters, a head of its own, decimal commas."""
    head = [
        ["Nordweg Paketpost – Einzelnachweis zur Rechnung"],
        ["Rechnungsnummer:", STATEMENT],
        ["Rechnungsdatum:", f"{STATEMENT_ON:%d.%m.%Y}"],
        ["Kunde:", SHOP],
        ["Abrechnungszeitraum:", "01.03.2026 – 31.03.2026"],
        ["Alle Beträge in EUR, netto; die Umsatzsteuer weist die Rechnung aus."],
        [],
    ]
    heading = [
        "lfd. Nr.",
        "Sendungsnummer",
        "Einlieferung am",
        "Bestellnr.",
        "Zone",
        "abgerechnetes Gewicht (kg)",
        "abgerechnete Länge (cm)",
        "abgerechnete Breite (cm)",
        "abgerechnete Höhe (cm)",
        "Leistung",
        "Betrag (EUR)",
    ]
    rows = [
        [
            str(place),
            line.tracking,
            f"{line.shipped_on:%d.%m.%Y}",
            line.order,
            line.zone,
            _kilograms(line.weight_g, 3).replace(".", ","),
            *_centimetres(line),
            GERMAN[line.charge],
            comma(line.amount_cents),
        ]
        for place, line in enumerate(them, 1)
    ]
    last = [*[""] * 9, "Gesamtsumme", comma(total(them))]
    path = folder / f"Einzelnachweis_{STATEMENT}.csv"
    path.write_bytes(delimited([*head, heading, *rows, last], delimiter=";").encode("cp1252"))
    return path


def _widths(sheet: Worksheet, widths: Sequence[float]) -> None:
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def fulfilment_house(folder: Path, them: Sequence[Line]) -> Path:
    """A British warehouse's workbook: a cover sheet, then a row a parcel, a column a charge and the parcel's sum."""
    book = openpyxl.Workbook()
    cover = book.active
    assert isinstance(cover, Worksheet)
    cover.title = "Summary"
    bold, grey = Font(bold=True), PatternFill("solid", fgColor="DDE3EA")
    sums: list[list[str | int | Decimal | date]] = [
        [words, _euros(total([line for line in them if line.charge == charge]))] for charge, words in BRITISH.items()
    ]
    rows: list[list[str | int | Decimal | date]] = [
        ["Harrow & Vale Fulfilment"],
        ["Monthly carriage statement"],
        [],
        ["Client", SHOP],
        ["Statement no.", STATEMENT],
        ["Statement date", STATEMENT_ON],
        ["Period", "March 2026"],
        ["Parcels despatched", len(parcels(them))],
        [],
        ["Charge", "£"],
        *sums,
        ["Total charges (£, excl. VAT)", _euros(total(them))],
    ]
    for row in rows:
        cover.append(row)
    for cell in (cover["A1"], cover["A10"], cover["B10"], cover["A16"], cover["B16"]):
        cell.font = bold
    cover["B6"].number_format = "dd mmmm yyyy"
    for place in range(11, 17):
        cover.cell(place, 2).number_format = "#,##0.00"
    _widths(cover, (32, 26))

    sheet = book.create_sheet("Parcels")
    sheet.append(
        [
            "Order no.",
            "Service",
            "Tracking no.",
            "Despatched",
            "Chargeable weight (kg)",
            "Chargeable size L x W x H (cm)",
            *(f"{BRITISH[charge]} (£)" for charge in CHARGES),
            "Parcel total (£)",
        ]
    )
    for parcel in parcels(them):
        first = parcel[0]
        costs = {line.charge: line.amount_cents for line in parcel}
        sheet.append(
            [
                first.order,
                first.service,
                first.tracking,
                first.shipped_on,
                float(_kilograms(first.weight_g)),
                " x ".join(_centimetres(first)),
                *(_euros(costs[charge]) if charge in costs else None for charge in CHARGES),
                _euros(total(parcel)),
            ]
        )
    sheet.append(["Total all parcels", *[None] * 5, *(amount for _, amount in sums), _euros(total(them))])
    for cells in sheet.iter_rows(min_row=2):
        cells[3].number_format = "dd/mm/yyyy"
        cells[4].number_format = "0.00"
        for cell in cells[6:]:
            cell.number_format = "#,##0.00;[Red]-#,##0.00"
    for cell in (*sheet[1], *sheet[sheet.max_row]):
        cell.font, cell.fill = bold, grey
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "A2"
    _widths(sheet, (17, 10, 23, 12, 12, 18, *[14] * 6))
    path = folder / "Carriage statement March 2026.xlsx"
    book.save(path)
    return path


def _dutch_day(day: date) -> str:
    return f"{day.day} {('jan', 'feb', 'mrt', 'apr', 'mei', 'jun')[day.month - 1]} {day.year}"


def marketplace_mail(folder: Path, them: Sequence[Line]) -> Path:
    """A Dutch marketplace's mail: frames within frames, a parcel's cells reaching down over its charges."""

    def money(cents: int) -> str:
        return f"€&nbsp;{comma(cents)}"

    rows = []
    for parcel in parcels(them):
        down = f' rowspan="{len(parcel)}" valign="top"'
        for place, line in enumerate(parcel):
            shared = (
                line.order,
                line.tracking,
                _dutch_day(line.shipped_on),
                _kilograms(line.weight_g).replace(".", ","),
            )
            lead = "" if place else "".join(f"<td{down}>{escape(cell)}</td>" for cell in shared)
            cost = f'<td>{escape(DUTCH[line.charge])}</td><td align="right">{money(line.amount_cents)}</td>'
            rows.append(f"<tr>{lead}{cost}</tr>")
    names = ("Bestelnummer", "Track &amp; trace", "Verzonden op", "Berekend gewicht (kg)", "Omschrijving", "Bedrag")
    body = f"""<!DOCTYPE html>
<html lang="nl"><head><meta charset="utf-8"><title>Verzendoverzicht {STATEMENT}</title></head>
<body style="font-family: Arial, sans-serif; background: #f2f2f2">
<table width="100%" role="presentation"><tr><td align="center">
<table width="760" role="presentation" style="background: #fff"><tr><td style="padding: 24px">
<h2>Marktplein Noord</h2>
<p>Beste {SHOP},</p>
<p>Hieronder vind je de verzendkosten die we in maart voor je hebben betaald. We verrekenen het totaal met je
volgende uitbetaling.</p>
<p><b>Overzichtsnummer:</b> {STATEMENT}<br>
<b>Datum overzicht:</b> {STATEMENT_ON.day} april {STATEMENT_ON.year}<br>
<b>Aantal pakketten:</b> {len(parcels(them))}</p>
<table border="1" cellpadding="6" style="border-collapse: collapse; font-size: 13px">
<thead><tr>{"".join(f"<th>{name}</th>" for name in names)}</tr></thead>
<tbody>
{chr(10).join(rows)}
</tbody>
<tfoot><tr><td colspan="5"><b>Totaal verzendkosten en toeslagen</b></td>
<td align="right"><b>{money(total(them))}</b></td></tr></tfoot>
</table>
<p>Vragen? Antwoord op deze mail en vermeld je overzichtsnummer.</p>
<p style="color: #777; font-size: 11px">Je ontvangt dit bericht omdat je verkoopt via Marktplein Noord.</p>
</td></tr></table>
</td></tr></table>
</body></html>
"""
    mail = EmailMessage()
    mail["From"] = "Marktplein Noord <verkopers@marktplein-noord.example>"
    mail["To"] = "boekhouding@quillmoor.example"
    mail["Date"] = f"{STATEMENT_ON:%a, %d %b %Y} 07:12:00 +0200"
    mail["Subject"] = f"Je verzendoverzicht {STATEMENT} staat klaar"
    mail.set_content(f"Je verzendoverzicht {STATEMENT} is alleen in HTML te lezen.\n")
    mail.add_alternative(body, subtype="html")
    path = folder / "verzendoverzicht.eml"
    path.write_bytes(mail.as_bytes())
    return path


def forwarder(folder: Path, them: Sequence[Line]) -> Path:
    """A French forwarder's export from a spreadsheet: tabs, UTF-16, what is owed and what is given back apart."""

    def amount(cents: int) -> str:
        return f"{Decimal(abs(cents)) / 100:,.2f}".replace(",", "\u202f").replace(".", ",")

    def owed(cents: int) -> list[str]:
        return ["", amount(cents)] if cents < 0 else [amount(cents), ""]

    head = [
        ["TRANSITS DE LA COLLINE"],
        ["Relevé n°", STATEMENT],
        ["Date du relevé", f"{STATEMENT_ON:%d/%m/%Y}"],
        ["Client", SHOP],
        ["Montants en euros hors taxes"],
        [],
    ]
    heading = [
        "Date d'expédition",
        "N° de commande",
        "N° de suivi",
        "Zone",
        "Dimensions taxées L x l x h (cm)",
        "Poids taxé (kg)",
        "Libellé",
        "Débit",
        "Crédit",
    ]
    rows = [
        [
            f"{line.shipped_on:%d/%m/%Y}",
            line.order,
            line.tracking,
            line.zone,
            " x ".join(_centimetres(line)),
            _kilograms(line.weight_g).replace(".", ","),
            FRENCH[line.charge],
            *owed(line.amount_cents),
        ]
        for line in them
    ]
    debit = sum(line.amount_cents for line in them if line.amount_cents > 0)
    ends = [
        [*[""] * 6, "Totaux", amount(debit), amount(total(them) - debit)],
        [*[""] * 6, "Net à payer (débit - crédit)", amount(total(them)), ""],
    ]
    path = folder / f"releve-{STATEMENT}.txt"
    path.write_bytes(delimited([*head, heading, *rows, *ends], delimiter="\t").encode("utf-16"))
    return path


def national_post(folder: Path, them: Sequence[Line]) -> Path:
    """A Spanish post's workbook: headings on two floors, a parcel named once, its charges and its sum below it."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Detalle"
    bold, thin = Font(bold=True), Side(style="thin", color="888888")
    sheet["A1"] = "Servicio Postal del Levante"
    sheet["A2"] = "Detalle de envíos facturados"
    sheet["A3"], sheet["C3"] = "Factura n.º", STATEMENT
    sheet["A4"], sheet["C4"] = "Fecha de factura", f"{STATEMENT_ON:%d/%m/%Y}"
    sheet["A5"], sheet["C5"] = "Cliente", SHOP
    for name in ("A1", "A2", "C3"):
        sheet[name].font = bold
    upper = ["N.º de envío", "Su referencia de pedido", "Fecha de envío", "Zona", "Peso facturado (kg)"]
    upper += ["Medidas facturadas (cm)", "", "", "Concepto", "Importe (€)"]
    for place, words in enumerate(upper, 1):
        sheet.cell(7, place, words or None)
    for place, words in enumerate(("Largo", "Ancho", "Alto"), 6):
        sheet.cell(8, place, words)
    sheet.merge_cells("F7:H7")
    for letter in "ABCDEIJ":
        sheet.merge_cells(f"{letter}7:{letter}8")
    for cells in sheet["A7:J8"]:
        for cell in cells:
            cell.font, cell.border = bold, Border(bottom=thin)
            cell.alignment = Alignment(wrap_text=True, horizontal="center", vertical="center")
    for parcel in parcels(them):
        for place, line in enumerate(parcel):
            lead: list[object] = [
                line.tracking,
                line.order,
                line.shipped_on,
                int(line.zone),
                float(_kilograms(line.weight_g)),
                *(side // 10 for side in line.sides_mm),
            ]
            sheet.append([*([None] * 8 if place else lead), SPANISH[line.charge], _euros(line.amount_cents)])
        sheet.append([*[None] * 8, "Total envío", _euros(total(parcel))])
        sheet.cell(sheet.max_row, 9).font = sheet.cell(sheet.max_row, 10).font = Font(italic=True)
    sheet.append([])
    sheet.append([*[None] * 8, "TOTAL FACTURA", _euros(total(them))])
    sheet.cell(sheet.max_row, 9).font = sheet.cell(sheet.max_row, 10).font = bold
    sheet.append(["Operación exenta de IVA (servicio postal universal)."])
    for cells in sheet.iter_rows(min_row=9):
        cells[2].number_format = "d-mmm-yyyy"
        cells[4].number_format = "0.00"
        cells[9].number_format = '#,##0.00 "€"'
    _widths(sheet, (18, 14, 14, 7, 11, 8, 8, 8, 34, 15))
    path = folder / f"detalle_{STATEMENT}.xlsx"
    book.save(path)
    return path


WEIGHED = ("statement", "tracking", "charge", "amount_cents", "shipped_on", "order", "billed_weight_pg")

LAYOUTS: list[Layout] = [
    Layout(
        "third_postage_reseller",
        "Brightstamp Postage",
        postage_reseller,
        (*WEIGHED, "service", "zone", *SIZE),
    ),
    Layout(
        "third_parcel_post", "Nordweg Paketpost", parcel_post, (*WEIGHED, "zone", *SIZE), metric=True, numbers="postal"
    ),
    Layout(
        "third_fulfilment_house",
        "Harrow & Vale Fulfilment",
        fulfilment_house,
        (*WEIGHED, "service", *SIZE),
        metric=True,
    ),
    Layout("third_marketplace_mail", "Marktplein Noord", marketplace_mail, WEIGHED, metric=True, numbers="postal"),
    Layout("third_forwarder", "Transits de la Colline", forwarder, (*WEIGHED, "zone", *SIZE), metric=True),
    Layout(
        "third_national_post",
        "Servicio Postal del Levante",
        national_post,
        (*WEIGHED, "zone", *SIZE),
        metric=True,
        numbers="postal",
    ),
]
