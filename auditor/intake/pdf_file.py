"""A PDF → grids for its tables, which may run over pages; one without tables is a letter."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from auditor.intake import layout, pdf_pages, vocabulary
from auditor.intake.documents import Letter, Opened, Unreadable, WithoutText, refuse_over
from auditor.intake.layout import Page
from auditor.intake.pdf_pages import HUNDREDTHS
from auditor.tables import Problem

LARGEST = 100 * 2**20
MOST_PAGES = 2_000
SECONDS_A_PAGE = 20.0
SECONDS = 1_200.0
PROCESSES = 2
MOST_STOPS = 3
"""Pages that may stop a process before the rest of its share is given up."""

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
    said, stopped, count = _pages(path)
    problems = [*_cut_off(name, path), *_faults(name, said, stopped, count)]
    grids, outside = layout.tables([_page(page) for page in said if "words" in page])
    text = "\n".join(line.text for line in outside)
    if not grids and not text.strip() and not problems:
        raise WithoutText(NO_TEXT)
    letters = (Letter(text),) if text.strip() and (not grids or _is_notice(text)) else ()
    return Opened((*grids, *letters), tuple(problems))


def _is_notice(text: str) -> bool:
    """Whether the text beside tables is a notice of its own, with a parcel's number behind its label."""
    labels = (line.partition(":") for line in text.splitlines())
    return any(
        value.strip() and (vocabulary.meaning(label, "notice") or ("",))[0] == "tracking" for label, _, value in labels
    )


def _page(said: dict[str, Any]) -> Page:
    boxes, rulings = (np.array(said[name], dtype=float).reshape(-1, 4) / HUNDREDTHS for name in ("boxes", "rulings"))
    return Page(said["page"], said["words"].split("\n") if said["words"] else [], boxes, rulings)


def _pages(path: Path) -> tuple[list[dict[str, Any]], list[int], int]:
    """What each page holds, the pages at which reading stopped, and how many there are.

    The pages are shared out to processes. Where one stops at a page, another goes on after it.
    """
    until = time.monotonic() + SECONDS
    with ThreadPoolExecutor(PROCESSES) as pool:
        shares = list(pool.map(lambda part: _share(path, part, until), range(PROCESSES)))
    said = [page for pages, _, _ in shares for page in pages]
    return said, [page for _, stopped, _ in shares for page in stopped], max(count for _, _, count in shares)


def _share(path: Path, part: int, until: float) -> tuple[list[dict[str, Any]], list[int], int]:
    said: list[dict[str, Any]] = []
    stopped: list[int] = []
    after = 0
    while True:
        head, pages = _printed(path, part, after, until)
        said += pages
        after = pages[-1]["page"] if pages else max(after, head["first"] - 1)
        if after >= head["last"] or len(stopped) >= MOST_STOPS or time.monotonic() > until:
            return said, [*stopped, *range(after + 1, head["last"] + 1)], int(head["pages"])
        after += 1
        stopped.append(after)


def _printed(path: Path, part: int, after: int, until: float) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What one process says: its share of the pages, and each page it could read."""
    numbers = map(str, (MOST_PAGES, SECONDS_A_PAGE, part, PROCESSES, after))
    command = [sys.executable, "-P", pdf_pages.__file__, str(path.resolve()), *numbers]
    try:
        done = subprocess.run(  # noqa: S603 - our own script; the path is an argument, not a part of a command line
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=max(until - time.monotonic(), 0),
            check=False,
        )
        printed = done.stdout
    except subprocess.TimeoutExpired as ended:
        printed = ended.stdout or b""
    said = [json.loads(line) for line in printed.splitlines(keepends=True) if line.endswith(b"\n")]
    head = said[0] if said else {"hindrance": "damaged"}
    if not head.get("pages"):
        raise Unreadable(HINDRANCES[head.get("hindrance", "damaged")])
    return head, said[1:]


def _cut_off(name: str, path: Path) -> Iterator[Problem]:
    """A PDF ends with a mark (ISO 32000-1, 7.5.5); without it the end is missing, and perhaps pages."""
    with path.open("rb") as file:
        file.seek(-min(2048, path.stat().st_size), 2)
        if b"%%EOF" not in file.read():
            message = "This PDF is cut off: its end is missing, and pages may be. Download it again and run again."
            yield Problem(name, "", message, unread=True)


def _faults(name: str, said: list[dict[str, Any]], stopped: list[int], count: int) -> Iterator[Problem]:
    for page in said:
        if "fault" in page:
            message = f"This page could not be read ({page['fault']}). Ask for the statement as CSV."
            yield Problem(name, f"page {page['page']}", message, unread=True)
    if stopped:
        first, *more = stopped
        what = "it was not read" if not more else f"it and {len(more)} other pages were not read"
        yield Problem(
            name,
            f"page {first}",
            f"This page takes more than {SECONDS_A_PAGE:g} seconds or too much memory to read, so {what} "
            f"({len(stopped)} of {count}). Ask for the statement as CSV.",
            unread=True,
        )
