"""Makers of small files, sound and broken; a broken one is named by its fault."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Sequence
from email.message import EmailMessage
from pathlib import Path

import openpyxl
from reportlab.lib import colors
from reportlab.lib.pagesizes import letter
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Table, TableStyle

SHIPMENTS = """\
Tracking number,Order,Ship date,Service,Zone,Postcode,Residential,Carton,Size,Weight,Label cost,Shipping paid,\
Packed size,Packed weight,Photo,Voided
NP1,Q-1,2026-03-04,Ground,5,04410,yes,stand tube,44 x 6 x 6 in,3 lb 4 oz,14.37,16.00,,,,
NP2,Q-2,2026-03-05,Ground,Zone 6,44101,no,guitar box,20 x 48 x 8 in,14 lb,24.10,30.00,48.1 x 20 x 8 in,14.2 lb,p2.jpg,
NP3,Q-3,2026-03-05,Parcel,3,44101,no,uke box,28 x 12 x 6 in,5 lb,9.10,12.00,,,,yes
"""
CARTONS = """\
Carton,Length (in),Width (in),Height (in),Unit cost,Empty weight (lb),Usual weight (lb),Usual trim (in)
stand tube,44,6,6,1.95,0.8,3,0
keyboard box,46,18,8,4.20,2.5,18,6
"""
RATES = """\
Service,Zone,Weight up to (lb),Price,Effective date
Ground,5,1,9.35,2026-01-05
Ground,5,2,"1,009.95",2026-01-05
"""
FEES = """\
Charge,Amount,Zone,Effective date
additional handling,29.50,5,2026-01-05
Pickup service,12.00,,
"""
FUEL = """\
Effective date,Percent,Service
2026-03-02,15.25,
2026-03-09,15.5,Ground
"""
STATEMENT = """\
Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Billed weight (lb),Billed length (in),\
Billed width (in),Billed height (in),Scale weight (lb),Order reference,Amount
NP-2026-03,2026-04-01,NP1,2026-03-04,Ground,5,Freight,12,44,6,6,,Q-1,12.34
NP-2026-03,2026-04-01,NP1,2026-03-04,Ground,5,Fuel surcharge,12,44,6,6,,Q-1,1.88
NP-2026-03,2026-04-01,NP2,2026-03-05,Ground,6,Additional handling adjustment,56,49,20,8,16.4,Q-2,29.50
NP-2026-03,2026-04-01,NP2,,,,Correction fee,,,,,,,1.25
NP-2026-03,2026-04-01,NP2,,,,Credit - freight,,,,,,,-3.00
NP-2026-03,2026-04-01,,,,,Pickup service,,,,,,,12.00
NP-2026-03,2026-04-01,,,,,Sales tax,,,,,,,0.50
Statement total,,,,,,,,,,,,,54.47
"""
NOTICE = """\
Dear shipper,

these parcels were measured again.

Tracking number: NP2
Declared size: 48 x 20 x 8 in
Measured size: 48.2 x 20 x 8 in
Declared weight: 14 lb
Measured weight: 16.4 lb
Adjustment: $29.50
Reason: longer than declared

Tracking number: NP1
Declared size: 44 x 6 x 6 in
Measured size: 6 x 44.5 x 6 in
"""
PDF_HEADINGS = ["Tracking", "Shipped", "Service", "Zone", "Description", "Weight lb", "Size in", "Reference", "Amount"]
PDF_TITLES = ("Larkrise Post", "Statement LP-2026-03", "Statement date 2026-04-02", "Account QI-2207")


def write(folder: Path, name: str, content: str | bytes) -> Path:
    """A file with that content."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def month(folder: Path) -> Path:
    """A folder with one sound CSV file of each kind."""
    folder.mkdir(exist_ok=True)
    for name, content in {
        "shipments.csv": SHIPMENTS,
        "cartons.csv": CARTONS,
        "rates.csv": RATES,
        "fees.csv": FEES,
        "fuel.csv": FUEL,
        "statement.csv": STATEMENT,
    }.items():
        write(folder, name, content)
    return folder


def email(folder: Path, name: str = "notice.eml", text: str = NOTICE, html: str | None = None) -> Path:
    """A notice as an e-mail of 2026-03-20, with an HTML alternative where given."""
    message = EmailMessage()
    message["From"] = "billing@norrhaven.example"
    message["To"] = "shop@quillmoor.example"
    message["Date"] = "Fri, 20 Mar 2026 23:15:00 -0500"
    message["Subject"] = "Your parcels were measured"
    if text:
        message.set_content(text)
    if html and text:
        message.add_alternative(html, subtype="html")
    elif html:
        message.set_content(html, subtype="html")
    return write(folder, name, message.as_bytes())


def pdf_rows(count: int) -> list[list[str]]:
    """Lines of a PDF statement of `count` parcels, without headings and total: a dollar each, one credit."""
    rows = [
        [f"LP{n}", "2026-03-07", "Parcel", "4", "Freight", "3", "28 x 12 x 6", f"Q-{n}", "1.00"] for n in range(count)
    ]
    return [*rows, ["LP0", "2026-03-07", "Parcel", "4", "Credit freight", "", "", "", "(0.40)"]]


def pdf(
    folder: Path,
    name: str = "statement.pdf",
    rows: Sequence[Sequence[str]] | None = None,
    *,
    total: str = "79.60",
    ruled: bool = True,
    encrypt: StandardEncryption | None = None,
) -> Path:
    """A ruled statement over several pages, with its total as the last row."""
    body = [list(row) for row in (pdf_rows(80) if rows is None else rows)]
    table = Table([PDF_HEADINGS, *body, ["Statement total", *[""] * 7, total]], repeatRows=1)
    if ruled:
        table.setStyle(TableStyle([("GRID", (0, 0), (-1, -1), 0.5, colors.black)]))
    style = getSampleStyleSheet()["Normal"]
    path = folder / name
    document = SimpleDocTemplate(str(path), pagesize=letter, encrypt=encrypt, invariant=True)
    document.build(
        [*(Paragraph(title, style) for title in PDF_TITLES), table], onLaterPages=_footer, onFirstPage=_footer
    )
    return path


def _footer(canvas: Canvas, _: object) -> None:
    canvas.drawString(250, 30, f"Page {canvas.getPageNumber()}")


def xlsx(folder: Path, name: str, sheets: dict[str, Sequence[Sequence[object]]]) -> Path:
    """A workbook of those sheets."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    path = folder / name
    book.save(path)
    return path


def csv_rows(text: str) -> list[list[str]]:
    """The rows of one of the sound CSV texts that have no quoted cells."""
    return [line.split(",") for line in text.splitlines()]


def pdf_without_text(folder: Path) -> Path:
    """A PDF of pictures only, as from a scanner."""
    path = folder / "scan.pdf"
    canvas = Canvas(str(path), invariant=True)
    canvas.rect(100, 100, 200, 300, fill=1)
    canvas.save()
    return path


def pdf_damaged(folder: Path) -> Path:
    """A PDF with nothing sound after its first line."""
    return write(folder, "damaged.pdf", b"%PDF-1.4\n" + bytes(range(256)) * 40)


def pdf_cut_off(folder: Path) -> Path:
    """A PDF of which the last third is missing."""
    content = pdf(folder, "whole.pdf").read_bytes()
    (folder / "whole.pdf").unlink()
    return write(folder, "cut.pdf", content[: len(content) * 2 // 3])


def pdf_encrypted(folder: Path) -> Path:
    """A PDF that opens with a password only."""
    return pdf(folder, "locked.pdf", encrypt=StandardEncryption("secret", canPrint=0))


def pdf_of_a_million_rectangles(folder: Path) -> Path:
    """A small PDF whose one page unpacks to a million rectangles."""
    content = zlib.compress(b"0 0 1 1 re S\n" * 1_000_000, 9)
    stream = b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(content), content)
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] /Contents 4 0 R >>",
        stream,
    ]
    out = io.BytesIO(b"%PDF-1.4\n")
    out.seek(0, 2)
    starts = []
    for number, body in enumerate(bodies, start=1):
        starts.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    table = out.tell()
    entries = b"".join(b"%010d 00000 n \n" % start for start in starts)
    out.write(b"xref\n0 5\n0000000000 65535 f \n" + entries)
    out.write(b"trailer << /Size 5 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % table)
    return write(folder, "rectangles.pdf", out.getvalue())


def xlsx_damaged(folder: Path) -> Path:
    """A workbook of which the second half is missing."""
    content = xlsx(folder, "whole.xlsx", {"Labels": csv_rows(SHIPMENTS)}).read_bytes()
    (folder / "whole.xlsx").unlink()
    return write(folder, "damaged.xlsx", content[: len(content) // 2])


def xlsx_with_broken_sheet(folder: Path) -> Path:
    """A sound archive whose sheet is not XML."""
    sound = xlsx(folder, "whole.xlsx", {"Labels": csv_rows(SHIPMENTS)})
    path = folder / "broken.xlsx"
    with zipfile.ZipFile(sound) as old, zipfile.ZipFile(path, "w") as new:
        for member in old.infolist():
            broken = member.filename.startswith("xl/worksheets/")
            new.writestr(member, b"<worksheet><row" if broken else old.read(member))
    sound.unlink()
    return path


def xlsx_bomb(folder: Path) -> Path:
    """A workbook of a few hundred kB that unpacks to 250 MB."""
    path = folder / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        with packed.open("xl/worksheets/sheet1.xml", "w") as sheet:
            for _ in range(250):
                sheet.write(b"0" * 2**20)
    return path


def zip_of_files(folder: Path) -> Path:
    """An archive that is no workbook."""
    path = folder / "month.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("shipments.csv", SHIPMENTS)
    return path


def picture(folder: Path) -> Path:
    """A PNG of one pixel."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        body = kind + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    header = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    chunks = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")
    return write(folder, "photo.png", b"\x89PNG\r\n\x1a\n" + chunks)
