"""One file → what it holds. The kind of file is told from its first bytes, never from its name."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from auditor.core.schemas import Problem
from auditor.intake import csv_file, eml_file, html_file, pdf_file, picture_file, x12_file, xlsx_file, xml_invoice
from auditor.intake.documents import Damaged, Grid, Letter, Opened, Text, Unreadable, refuse_over, why

START = 8192
ZIP, PDF = b"PK\x03\x04", b"%PDF"
OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
PACKED = (b"\x1f\x8b", b"7z\xbc\xaf", b"Rar!", b"BZh")
TEXT_CONTROLS = b"\t\n\r\x0b\x0c\x1a\x1b"
KNOWN = "Statements are read from CSV, .xlsx, PDF and e-mail files"
READERS = (x12_file, xml_invoice, eml_file, html_file)
"""Kinds of text that are told by how they begin."""
DEEPEST = 3
"""So deep may e-mails lie attached to one another."""


def opened(name: str, path: Path, *, as_letter: bool = False, depth: int = 0) -> Opened:
    """Open a file, whatever it is, and what is attached to it; plain text is read as a letter where that is asked for.

    Raises:
        Unreadable: with the reason and what to do.
        OSError: it cannot be opened.
    """
    held = _opened(name, path, as_letter=as_letter)
    if not held.attached:
        return held
    inner = [_attachment(name, label, content, depth) for label, content in held.attached]
    return replace(
        held,
        documents=(*held.documents, *(document for one in inner for document in one.documents)),
        problems=(*held.problems, *(problem for one in inner for problem in one.problems)),
        attached=(),
    )


def _attachment(name: str, label: str, content: bytes, depth: int) -> Opened:
    """What an attachment holds, each part with the attachment's name; one that cannot be read is told of."""
    if depth >= DEEPEST:
        message = "This lies attached within attachments, deeper than is read. Save it as a file and give that."
        return Opened((), (Problem(name, label, message, unread=True),))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "attachment")
        path.write_bytes(content)
        try:
            held = opened(name, path, depth=depth + 1)
        except Exception as error:  # noqa: BLE001 - one attachment's fault leaves the e-mail and the others
            is_known = isinstance(error, Unreadable) and not isinstance(error, Damaged)
            return Opened((), (Problem(name, label, why(error), note=is_known, unread=not is_known),))
        documents = tuple(_within(document, label) for document in held.documents)
    return Opened(documents, tuple(replace(one, place=_joined(label, one.place)) for one in held.problems))


def _within(document: Grid | Letter | Text, label: str) -> Grid | Letter | Text:
    """The document with the attachment's name in its places."""
    if isinstance(document, Grid):
        return replace(document, places=[_joined(label, place) for place in document.places])
    part = _joined(label, document.part)
    if isinstance(document, Letter):
        return replace(document, part=part)
    grids = tuple(replace(grid, places=[_joined(label, place) for place in grid.places]) for grid in document.grids)
    return Text(grids, tuple(replace(letter, part=part) for letter in document.letters), part)


def _joined(label: str, place: str) -> str:
    return ", ".join(filter(None, (label, place)))


def _opened(name: str, path: Path, *, as_letter: bool) -> Opened:
    """Open a file by itself.

    Raises:
        Unreadable: with the reason and what to do.
        OSError: it cannot be opened.
    """
    with path.open("rb") as file:
        start = file.read(START)
    if not start.strip():
        raise Unreadable("This file is empty. Export or download it again, or leave it out.")
    if PDF in start[:1024]:
        return _pdf(name, path)
    if picture_file.is_heic(start):
        raise Unreadable(picture_file.HEIC)
    if start.startswith(picture_file.STARTS):
        return picture_file.read(name, path)
    refuse_over(csv_file.LARGEST, path.stat().st_size)
    if start.startswith(ZIP):
        return xlsx_file.read(name, path.read_bytes())
    for reader in READERS:
        if reader.claims(start):
            held: Opened = reader.read(name, path.read_bytes())
            return held
    _refuse_unknown(start)
    if as_letter:
        return Opened((Letter(csv_file.decoded(path.read_bytes())[0]),))
    return csv_file.read(name, path)


def _pdf(name: str, path: Path) -> Opened:
    """The invoice that a PDF carries as XML, otherwise what its pages hold."""
    carried = xml_invoice.in_pdf(name, path)
    if carried and carried.documents:
        return carried
    pages = pdf_file.read(name, path)
    return replace(pages, problems=(*carried.problems, *pages.problems)) if carried else pages


def _refuse_unknown(start: bytes) -> None:
    if start.startswith(OLD_OFFICE):
        raise Unreadable(
            "This is a workbook of the old kind (.xls) or one with a password. Save it as .xlsx or CSV, without a "
            "password, and give that."
        )
    if start.startswith(PACKED):
        raise Unreadable("This is a packed file (.gz, .7z, .rar or .bz2). Unpack it, and give the files in it.")
    if _is_binary(start):
        raise Unreadable(f"This is no kind of file that is known here. {KNOWN}; export it as one of these.")
    if start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in {b"<", b"{"}:
        raise Unreadable(f"This is a web page or a file for programs (HTML, XML, JSON). {KNOWN}; export it as CSV.")


def _is_binary(start: bytes) -> bool:
    """Text has next to no control characters, in any of the encodings read."""
    controls = sum(start.count(byte) for byte in range(ord(" ")) if byte not in TEXT_CONTROLS)
    return controls > len(start) // 50 and not csv_file.is_utf16(start)
