"""Prints the tables that pdfplumber finds on pages, a line of JSON a page. Run by itself, in a process.

Args: the file, "lines" or "text" (what parts the cells), and the pages' numbers, from 1 on.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 2 * 2**30


def main(path: Path, by: str, numbers: Sequence[int]) -> None:
    """Print each page's tables; a page that fails has none."""
    import pdfplumber  # asked for by this process alone

    limit_memory(MOST_MEMORY)
    settings = {"vertical_strategy": by, "horizontal_strategy": by}
    with pdfplumber.open(path) as pdf:
        for number in numbers:
            try:
                page = pdf.pages[number - 1]
                say({"page": number, "tables": [*_tables(page, settings)]})
                page.close()
            except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the others are read
                say({"page": number, "tables": [], "fault": type(error).__name__})


def _tables(page: Any, settings: dict[str, str]) -> Iterator[dict[str, Any]]:
    for table in page.find_tables(settings):
        texts = [[text or "" for text in row] for row in table.extract()]
        yield {"rows": texts, "boxes": [list(row.bbox) for row in table.rows]}


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], [int(number) for number in sys.argv[3:]])
