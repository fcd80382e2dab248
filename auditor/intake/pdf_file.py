"""A PDF → a grid for its ruled tables, which may run over pages; one without tables is a letter."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from auditor.intake import pdf_pages
from auditor.intake.documents import Grid, Letter, Opened, Unreadable, refuse_over
from auditor.tables import Problem

LARGEST = 100 * 2**20
MOST_PAGES = 2_000
SECONDS_A_PAGE = 20.0
SECONDS = 1_200.0

HINDRANCES = {
    "password": "This PDF is protected with a password. Open it with the password, print or save it as a PDF without "
    "one, and give that.",
    "damaged": "This PDF is damaged or cut off: no page of it could be opened. Download it again, or ask for the "
    "statement as CSV.",
    "pages": f"This PDF has more than {MOST_PAGES:,} pages, which is more than are read. Split it into smaller files.",
}
NO_TEXT = (
    "This PDF has no text in it: its pages are pictures, as from a scanner, and pictures are not read. Ask the carrier "
    "for the statement as CSV, or as the PDF it was printed from."
)


def read(name: str, path: Path) -> Opened:
    """Read the tables of a PDF, or its text where it has none.

    Raises:
        Unreadable: too large, protected, damaged or without any text.
    """
    refuse_over(LARGEST, path.stat().st_size)
    pages, count = _pages(path)
    problems = [*_cut_off(name, path), *_faults(name, pages, count)]
    grids = tuple(_grids(pages))
    text = "\n".join(page["text"] for page in pages)
    if not grids and not text.strip() and not problems:
        raise Unreadable(NO_TEXT)
    letters = (Letter(text),) if text.strip() else ()
    return Opened(grids or letters, tuple(problems))


def _pages(path: Path) -> tuple[list[dict[str, Any]], int]:
    """What each page holds, as far as they could be read, and how many there are."""
    command = [sys.executable, "-P", pdf_pages.__file__, str(path.resolve()), str(MOST_PAGES), str(SECONDS_A_PAGE)]
    try:
        done = subprocess.run(  # noqa: S603 - our own script; the path is an argument, not a part of a command line
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=SECONDS, check=False
        )
        printed = done.stdout
    except subprocess.TimeoutExpired as stopped:
        printed = stopped.stdout or b""
    said = [json.loads(line) for line in printed.splitlines(keepends=True) if line.endswith(b"\n")]
    head = said[0] if said else {"hindrance": "damaged"}
    if not head.get("pages"):
        raise Unreadable(HINDRANCES[head.get("hindrance", "damaged")])
    return said[1:], int(head["pages"])


def _cut_off(name: str, path: Path) -> Iterator[Problem]:
    """A PDF ends with a mark (ISO 32000-1, 7.5.5); without it the end is missing, and perhaps pages."""
    with path.open("rb") as file:
        file.seek(-min(2048, path.stat().st_size), 2)
        if b"%%EOF" not in file.read():
            message = "This PDF is cut off: its end is missing, and pages may be. Download it again and run again."
            yield Problem(name, "", message, unread=True)


def _faults(name: str, pages: list[dict[str, Any]], count: int) -> Iterator[Problem]:
    for number, page in enumerate(pages, start=1):
        if "fault" in page:
            message = f"This page could not be read ({page['fault']}). Ask for the statement as CSV."
            yield Problem(name, f"page {number}", message, unread=True)
    if len(pages) < count:
        yield Problem(
            name,
            f"page {len(pages) + 1}",
            f"This page takes more than {SECONDS_A_PAGE:g} seconds or too much memory to read, so it and the pages "
            f"after it were not read ({count - len(pages)} of {count}). Ask for the statement as CSV.",
            unread=True,
        )


def _grids(pages: list[dict[str, Any]]) -> Iterator[Grid]:
    """Rows of the same width, on whatever page, are one table that runs on."""
    by_width: dict[int, list[tuple[str, list[str]]]] = {}
    for number, page in enumerate(pages, start=1):
        for count, row in enumerate(page["rows"], start=1):
            cells = [" ".join(cell.split()) for cell in row]
            by_width.setdefault(len(row), []).append((f"page {number}, row {count}", cells))
    above = tuple(line for page in pages for line in page["text"].splitlines())
    for placed in by_width.values():
        yield Grid([cells for _, cells in placed], [place for place, _ in placed], above)
