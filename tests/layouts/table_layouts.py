"""Statements as tables: each layout is a function that writes the lines into a folder and says which cells it prints.

Headings, words for charges and arrangements are as carriers and their customers might write them, chosen before the
package's vocabulary was widened and not changed to suit it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from email.message import EmailMessage
from itertools import groupby
from pathlib import Path

import jinja2
import openpyxl

from tests.layouts.table_truth import CHARGES, FIELDS, STATEMENT, STATEMENT_ON, Line, comma, decimal, total

ALL = FIELDS
NO_SIZE = FIELDS[:9]


@dataclass(frozen=True)
class Layout:
    """One arrangement of a statement: who writes it, in which units, which cells it prints."""

    name: str
    writer: str
    write: Callable[[Path, Sequence[Line]], Path]
    fields: tuple[str, ...] = ALL
    metric: bool = False
    numbers: str = "own"


def parcels(them: Sequence[Line]) -> list[list[Line]]:
    """The lines parcel by parcel."""
    return [list(group) for _, group in groupby(them, key=lambda line: line.tracking)]


def delimited(rows: Sequence[Sequence[str]], delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    """The rows as delimited text."""
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, quoting=quoting).writerows(rows)  # type: ignore[arg-type]
    return out.getvalue()


GERMAN = {
    "freight": "Beförderungsentgelt",
    "fuel": "Treibstoffzuschlag",
    "residential": "Zustellung Privatadresse",
    "additional handling": "Zuschlag Sperrgut",
    "address correction": "Adresskorrektur",
}


def german(folder: Path, them: Sequence[Line]) -> Path:
    """Semicolons, decimal comma, points for thousands, days first, Windows-1252, a title and a total row."""
    head = [
        "Sendungsnummer",
        "Kundenreferenz",
        "Versandtag",
        "Produkt",
        "Zone",
        "Leistung",
        "Abrechnungsgewicht (kg)",
        "Länge cm",
        "Breite cm",
        "Höhe cm",
        "Betrag",
    ]
    rows = [
        [
            line.tracking,
            line.order,
            f"{line.shipped_on:%d.%m.%Y}",
            line.service,
            line.zone,
            GERMAN[line.charge],
            f"{line.weight_g / 1000:.2f}".replace(".", ","),
            *(f"{side / 10:.1f}".replace(".", ",") for side in line.sides_mm),
            comma(line.amount_cents),
        ]
        for line in them
    ]
    title = [["Larkrise Post"], [f"Rechnungsnummer: {STATEMENT}"], [f"Rechnungsdatum: {STATEMENT_ON:%d.%m.%Y}"], []]
    text = delimited([*title, head, *rows, ["Gesamtbetrag", *[""] * 9, comma(total(them))]], ";")
    path = folder / "rechnung.csv"
    path.write_bytes(text.encode("cp1252"))
    return path


BRITISH = {
    "freight": "Carriage",
    "fuel": "Fuel supplement",
    "residential": "Home delivery",
    "additional handling": "Extra handling",
    "address correction": "Address amended",
}


def tabs(folder: Path, them: Sequence[Line]) -> Path:
    """Tabs, a preamble of pairs, days first with slashes, a subtotal row for each service day's page, counts."""
    head = ["Consignment", "Despatched", "Svc", "Rate zone", "Your ref", "Particulars", "Chargeable wt lbs", "To pay"]
    rows: list[list[str]] = []
    for start in range(0, len(them), 25):
        page = them[start : start + 25]
        rows += [
            [
                line.tracking,
                f"{line.shipped_on:%d/%m/%Y}",
                line.service,
                line.zone,
                line.order,
                BRITISH[line.charge],
                str(line.weight_g),
                f"${decimal(line.amount_cents)}",
            ]
            for line in page
        ]
        rows.append(["Page total", *[""] * 6, f"${decimal(total(page))}"])
    preamble = [
        ["Norrhaven Parcel"],
        ["Account", "QI-2207"],
        ["Invoice no.", STATEMENT],
        ["Invoice date", f"{STATEMENT_ON:%d/%m/%Y}"],
        ["Number of consignments", str(len(parcels(them)))],
        [],
    ]
    path = folder / "statement.txt"
    text = delimited([*preamble, head, *rows, ["Invoice total", *[""] * 6, f"${decimal(total(them))}"]], "\t")
    path.write_text(text, encoding="utf-8")
    return path


def workbook(folder: Path, them: Sequence[Line]) -> Path:
    """A cover sheet with number and sum, and a sheet with a title and headings of two rows, the upper ones merged."""
    words = {**BRITISH, "freight": "Transportation", "address correction": "Address correction chg"}
    book = openpyxl.Workbook()
    cover, sheet = book.worksheets[0], book.create_sheet("Detail")
    cover.title = "Cover"
    for row in (
        ("Norrhaven Parcel",),
        ("Statement no", STATEMENT),
        ("Statement date", STATEMENT_ON),
        ("Lines", len(them)),
        ("Amount due", total(them) / 100),
    ):
        cover.append(row)
    sheet.append(["Charges by parcel"])
    sheet.append([])
    sheet.append(["Parcel", None, None, None, None, "Charge", None, "Charged as"])
    sheet.append(["Tracking no.", "Your order", "Shipped", "Service", "Zone", "Type", "Net amt", "Weight lb", *"LWH"])
    for span in ("A1:K1", "A3:E3", "F3:G3", "H3:K3"):
        sheet.merge_cells(span)
    for line in them:
        sheet.append(
            [
                line.tracking,
                line.order,
                line.shipped_on,
                line.service,
                int(line.zone),
                words[line.charge],
                line.amount_cents / 100,
                line.weight_g,
                *line.sides_mm,
            ]
        )
    path = folder / "statement.xlsx"
    book.save(path)
    return path


WIDE = {
    "freight": "Base carriage",
    "fuel": "Fuel",
    "residential": "Resi delivery",
    "additional handling": "Addl handling",
    "address correction": "Addr correction",
}


def wide(folder: Path, them: Sequence[Line]) -> Path:
    """One row a parcel, a column a charge and their sum; blank where nothing was charged."""
    head = [
        "Piece ID",
        "Sent on",
        "Product",
        "Zn",
        "Customer's reference",
        "Rated lb",
        "Dims (in)",
        *WIDE.values(),
        "Sum",
    ]
    rows = [["Bill number", STATEMENT], [], head]
    for group in parcels(them):
        first = group[0]
        amounts = {line.charge: decimal(line.amount_cents) for line in group}
        rows.append(
            [
                first.tracking,
                f"{first.shipped_on:%b %d, %Y}",
                first.service,
                first.zone,
                first.order,
                str(first.weight_g),
                "x".join(map(str, first.sides_mm)),
                *(amounts.get(charge, "") for charge in CHARGES),
                decimal(total(group)),
            ]
        )
    sums = [decimal(total([line for line in them if line.charge == charge])) for charge in CHARGES]
    rows.append(["Total", *[""] * 6, *sums, decimal(total(them))])
    path = folder / "parcels.csv"
    path.write_text(delimited(rows, quoting=csv.QUOTE_ALL), encoding="utf-8-sig")
    return path


def under(folder: Path, them: Sequence[Line]) -> Path:
    """A row for each parcel with its figures and its sum, and a row for each of its charges under it."""
    words = {**BRITISH, "freight": "Basic freight", "additional handling": "Additional handling charge"}
    head = ["Waybill", "Date sent", "Product", "Zone", "Reference", "Kgs billed", "Size cm", "Detail", "Value"]
    rows: list[list[str]] = [["Statement", STATEMENT], head]
    for group in parcels(them):
        first = group[0]
        size = " x ".join(f"{side / 10:g}" for side in first.sides_mm)
        rows.append(
            [
                first.tracking,
                first.shipped_on.isoformat(),
                first.service,
                first.zone,
                first.order,
                f"{first.weight_g / 1000:g}",
                size,
                "",
                decimal(total(group)),
            ]
        )
        rows += [[*[""] * 7, words[line.charge], decimal(line.amount_cents)] for line in group]
    rows.append(["Grand total", *[""] * 7, decimal(total(them))])
    path = folder / "waybills.csv"
    path.write_text(delimited(rows, "|"), encoding="utf-8")
    return path


FRENCH = {
    "freight": "Transport",
    "fuel": "Surcharge carburant",
    "residential": "Livraison à domicile",
    "additional handling": "Manutention spéciale",
    "address correction": "Correction d'adresse",
}
PAGE = jinja2.Environment(autoescape=True).from_string("""\
<html><head><style>td { padding: 2px }</style></head><body>
<table width="600"><tr><td><p>Bonjour,</p><p>Voici votre relev&eacute;. Facture n&deg; {{ number }} du {{ day }}.</p>
<table border="1">
<thead><tr><th>N° de suivi</th><th>Date d'expédition</th><th>Prestation</th><th>Zone</th><th>Réf. client</th>
<th>Libellé</th><th>Poids taxé<br>(kg)</th><th>Montant</th></tr></thead>
{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}
{% endfor %}<tr><td colspan="7"><b>Total à payer</b></td><td>{{ total }}</td></tr>
</table></td></tr></table><p>Larkrise Post</p></body></html>
""")


def html_email(folder: Path, them: Sequence[Line]) -> Path:
    """An e-mail in HTML only: the table within a table for looks, cells without end tags, decimal comma."""
    rows = [
        [
            line.tracking,
            f"{line.shipped_on:%d/%m/%Y}",
            line.service,
            line.zone,
            line.order,
            FRENCH[line.charge],
            f"{line.weight_g / 1000:.2f}".replace(".", ","),
            comma(line.amount_cents).replace(".", "\N{NO-BREAK SPACE}"),
        ]
        for line in them
    ]
    html = PAGE.render(number=STATEMENT, day=f"{STATEMENT_ON:%d/%m/%Y}", rows=rows, total=comma(total(them)))
    message = EmailMessage()
    message["From"] = "factures@larkrise.example"
    message["To"] = "shop@quillmoor.example"
    message["Date"] = "Thu, 02 Apr 2026 09:00:00 +0000"
    message["Subject"] = "Votre facture"
    message.set_content(html, subtype="html", cte="quoted-printable")
    path = folder / "facture.eml"
    path.write_bytes(message.as_bytes())
    return path


DUTCH = {
    "freight": "Vracht",
    "fuel": "Brandstoftoeslag",
    "residential": "Thuisbezorging",
    "additional handling": "Extra behandeling",
    "address correction": "Adrescorrectie",
}


def dutch(folder: Path, them: Sequence[Line]) -> Path:
    """A workbook with one row a parcel, a column a charge and no sums; numbers stored as text; a remark below."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["Factuurnummer", STATEMENT])
    sheet.append([])
    sheet.append(
        ["Zendingnummer", "Verzenddatum", "Dienst", "Zone", "Uw referentie", "Gefactureerd gewicht kg", *DUTCH.values()]
    )
    for group in parcels(them):
        first = group[0]
        amounts = {line.charge: comma(line.amount_cents) for line in group}
        sheet.append(
            [
                first.tracking,
                f"{first.shipped_on:%d-%m-%Y}",
                first.service,
                first.zone,
                first.order,
                f"{first.weight_g / 1000:.2f}".replace(".", ","),
                *(amounts.get(charge, "0,00") for charge in CHARGES),
            ]
        )
    sheet.append(["Totaal", *[""] * 5, comma(total(them))])
    path = folder / "factuur.xlsx"
    book.save(path)
    return path


SPANISH = {
    "freight": "Flete",
    "fuel": "Recargo por combustible",
    "residential": "Entrega residencial",
    "additional handling": "Manejo adicional",
    "address correction": "Corrección de dirección",
}


def spanish(folder: Path, them: Sequence[Line]) -> Path:
    """UTF-16 with tabs in quotes, postal numbers with check digits under a heading that says little, years first."""
    head = [
        "Guía",
        "Fecha de envío",
        "Servicio",
        "Zona",
        "Pedido",
        "Concepto",
        "Peso facturado (lb)",
        "Medidas (in)",
        "Importe",
    ]
    rows = [
        [
            line.tracking,
            line.shipped_on.isoformat(),
            line.service,
            f"Zona {line.zone}",
            line.order,
            SPANISH[line.charge],
            str(line.weight_g),
            " × ".join(map(str, line.sides_mm)),
            f"({decimal(-line.amount_cents)})" if line.amount_cents < 0 else decimal(line.amount_cents),
        ]
        for line in them
    ]
    body = [[f"Factura núm. {STATEMENT}"], head, *rows, ["Importe total", *[""] * 7, decimal(total(them))]]
    path = folder / "factura.csv"
    path.write_bytes(delimited(body, "\t", csv.QUOTE_ALL).encode("utf-16"))
    return path


def one_column(folder: Path, them: Sequence[Line]) -> Path:
    """Web page in which parcel numbers and the charges under them share one column, with a subtotal for each parcel."""
    cells = [("Parcel and charge", "Shipped", "Zone", "Weight (lb)", "Amount (USD)")]
    for group in parcels(them):
        first = group[0]
        cells.append((first.tracking, first.shipped_on.isoformat(), first.zone, str(first.weight_g), ""))
        cells += [(BRITISH[line.charge], "", "", "", decimal(line.amount_cents)) for line in group]
        cells.append((f"Subtotal {first.tracking}", "", "", "", decimal(total(group))))
    cells.append(("Statement total", "", "", "", decimal(total(them))))
    rows = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>\n" for row in cells)
    path = folder / "statement.xls"
    path.write_text(f"<!DOCTYPE html><html><body><h1>Statement {STATEMENT}</h1><table>{rows}</table></body></html>")
    return path


ITALIAN = {
    "freight": "Trasporto base",
    "fuel": "Supplemento carburante",
    "residential": "Consegna a privati",
    "additional handling": "Movimentazione speciale",
    "address correction": "Rettifica indirizzo",
}


def italian(folder: Path, them: Sequence[Line]) -> Path:
    """A workbook with net amount, tax and gross amount side by side, months by name, weights with their unit."""
    months = ("gen", "feb", "mar", "apr", "mag", "giu", "lug", "ago", "set", "ott", "nov", "dic")
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["Fattura n.", STATEMENT])
    sheet.append(["Data fattura", f"{STATEMENT_ON:%d/%m/%Y}"])
    sheet.append(
        [
            *("Lettera di vettura", "Data ritiro", "Servizio", "Zona", "Rif. mittente", "Voce", "Peso tassato"),
            *("Imponibile", "IVA", "Totale"),
        ]
    )
    for line in them:
        day = line.shipped_on
        amount = line.amount_cents
        sheet.append(
            [
                line.tracking,
                f"{day.day} {months[day.month - 1]} {day.year}",
                line.service,
                line.zone,
                line.order,
                ITALIAN[line.charge],
                f"{line.weight_g / 1000:.2f} kg".replace(".", ","),
                comma(amount),
                "0,00",
                comma(amount),
            ]
        )
    sheet.append(["Totale fattura", *[""] * 6, comma(total(them)), "0,00", comma(total(them))])
    path = folder / "fattura.xlsx"
    book.save(path)
    return path


CODES = {
    "freight": "FRT",
    "fuel": "FSC",
    "residential": "RES",
    "additional handling": "XHD",
    "address correction": "ADR",
}


def codes(folder: Path, them: Sequence[Line]) -> Path:
    """A file for programs: headings in abbreviations, days without marks, charges as three letters, no total."""
    head = ["PCL_NO", "SENT_DT", "SVC", "ZN", "ORD_REF", "CHG_CD", "BLD_WT_LB", "LEN_IN", "WID_IN", "HGT_IN"]
    rows = [
        [
            line.tracking,
            f"{line.shipped_on:%Y%m%d}",
            line.service,
            f"{int(line.zone):03d}",
            line.order,
            CODES[line.charge],
            f"{line.weight_g}.0",
            *map(str, line.sides_mm),
            STATEMENT,
            decimal(line.amount_cents),
        ]
        for line in them
    ]
    path = folder / "extract.txt"
    path.write_text(delimited([[*head, "STM_NO", "AMT"], *rows], "|"), encoding="utf-8")
    return path


LAYOUTS = (
    Layout("German CSV, decimal comma", "csv", german, metric=True),
    Layout("tabs, preamble, page totals", "csv", tabs, NO_SIZE),
    Layout("workbook, merged headings, cover sheet", "openpyxl", workbook),
    Layout("one row a parcel, column a charge", "csv", wide),
    Layout("charge rows under a parcel row", "csv", under, metric=True),
    Layout("French e-mail, nested HTML tables", "jinja2, email", html_email, NO_SIZE, metric=True),
    Layout("Dutch workbook, column a charge", "openpyxl", dutch, NO_SIZE, metric=True),
    Layout("Spanish, UTF-16, check digits", "csv", spanish, numbers="postal"),
    Layout(
        "web page, parcels and charges in one column",
        "HTML by hand",
        one_column,
        ("statement", "tracking", "charge", "amount_cents", "shipped_on", "zone", "billed_weight_pg"),
    ),
    Layout("Italian workbook, net, tax and gross", "openpyxl", italian, NO_SIZE, metric=True),
    Layout("extract in abbreviations, charges as codes", "csv", codes),
)
