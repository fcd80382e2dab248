"""One file → what it holds. The kind of file is told from its first bytes, never from its name."""

from __future__ import annotations

from pathlib import Path

from auditor.intake import csv_file, eml_file, pdf_file, xlsx_file
from auditor.intake.documents import Letter, Opened, Unreadable, refuse_over

START = 8192
ZIP, PDF = b"PK\x03\x04", b"%PDF"
PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\x00", b"MM\x00*")
OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
TEXT_CONTROLS = b"\t\n\r\x0b\x0c\x1a\x1b"
KNOWN = "Statements are read from CSV, .xlsx, PDF and e-mail files"
PICTURE = f"This is a picture, and pictures are not read. {KNOWN}."


def opened(name: str, path: Path, *, as_letter: bool = False) -> Opened:
    """Open a file, whatever it is; plain text is read as a letter where that is asked for, otherwise as a table.

    Raises:
        Unreadable: with the reason and what to do.
        OSError: it cannot be opened.
    """
    with path.open("rb") as file:
        start = file.read(START)
    if not start.strip():
        raise Unreadable("This file is empty. Export or download it again, or leave it out.")
    if PDF in start[:1024]:
        return pdf_file.read(name, path)
    refuse_over(csv_file.LARGEST, path.stat().st_size)
    content = path.read_bytes()
    if start.startswith(ZIP):
        return xlsx_file.read(name, content)
    _refuse_unknown(start)
    if eml_file.claims(start):
        return eml_file.read(name, content)
    if as_letter:
        return Opened((Letter(csv_file.decoded(content)[0]),))
    return csv_file.read(name, content)


def _refuse_unknown(start: bytes) -> None:
    if start.startswith(PICTURES):
        raise Unreadable(PICTURE)
    if start.startswith(OLD_OFFICE):
        raise Unreadable(
            "This is a workbook of the old kind (.xls) or one with a password. Save it as .xlsx or CSV, without a "
            "password, and give that."
        )
    if _is_binary(start):
        raise Unreadable(f"This is no kind of file that is known here. {KNOWN}; export it as one of these.")
    if start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in {b"<", b"{"}:
        raise Unreadable(f"This is a web page or a file for programs (HTML, XML, JSON). {KNOWN}; export it as CSV.")


def _is_binary(start: bytes) -> bool:
    """Text has next to no control characters, in any of the encodings read."""
    controls = sum(start.count(byte) for byte in range(ord(" ")) if byte not in TEXT_CONTROLS)
    return controls > len(start) // 50 and not csv_file.is_utf16(start)
