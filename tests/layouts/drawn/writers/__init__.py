"""Writers: each renders any document, and knows nothing of how it was structured."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random

from tests.layouts.drawn.page import Document
from tests.layouts.drawn.writers import pages_of_the_web, pdf, tables

Writer = Callable[[Document, Path, Random], Path]

WRITERS: Mapping[str, Writer] = {
    "csv": tables.csv_file,
    "xlsx": tables.workbook,
    "html": pages_of_the_web.page,
    "email": pages_of_the_web.email,
    "pdf by reportlab": pdf.by_reportlab,
    "pdf by fpdf2": pdf.by_fpdf2,
}
