"""Prints what the pages of a PDF hold, a line of JSON a page. Run by itself, in a process of its own.

A PDF from a stranger can keep its reader busy for hours or fill the memory (a page of a few kB that unpacks to millions
of rectangles). So it is read in a process that a watchdog ends when one page takes too long, and that may have only so
much memory. It imports nothing of ours, so that it starts quickly.
"""

from __future__ import annotations

import contextlib
import faulthandler
import json
import os
import sys
from pathlib import Path
from typing import Any

import pdfplumber
from pdfminer.pdfdocument import PDFPasswordIncorrect
from pdfplumber.utils.exceptions import PdfminerException

MOST_MEMORY = 2 * 2**30


def main(path: Path, most_pages: int, seconds_a_page: float) -> None:
    """Print the pages of the file at `path`, or the one word of what hinders it: password, damaged, pages."""
    _limit_memory()
    with Path(os.devnull).open("w") as nowhere:
        faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
        try:
            with pdfplumber.open(path) as pdf:
                _print_pages(pdf.pages, most_pages, seconds_a_page, nowhere)
        except PdfminerException as error:
            _say({"hindrance": "password" if _is_password(error) else "damaged"})
        faulthandler.cancel_dump_traceback_later()


def _print_pages(pages: list[Any], most_pages: int, seconds_a_page: float, nowhere: Any) -> None:
    if len(pages) > most_pages:
        _say({"hindrance": "pages"})
        return
    _say({"pages": len(pages)})
    for page in pages:
        faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
        _say(_held(page))
        page.close()


def _held(page: Any) -> dict[str, Any]:
    """The page's ruled tables as rows of cells, and its lines of text above the first of them."""
    try:
        found = page.find_tables()
        rows = [[cell or "" for cell in row] for table in found for row in table.extract()]
        left, top, right, bottom = page.bbox
        first = min((table.bbox[1] for table in found), default=bottom)
        text = page.crop((left, top, right, first)).extract_text() if first > top else ""
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the other pages are read
        return {"fault": type(error).__name__, "rows": [], "text": ""}
    return {"rows": rows, "text": text}


def _is_password(error: PdfminerException) -> bool:
    return any(isinstance(cause, PDFPasswordIncorrect) for cause in (*error.args, error.__context__))


def _limit_memory() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def _say(held: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(held) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))
