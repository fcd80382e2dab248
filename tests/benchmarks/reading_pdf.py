"""A statement of 300 pages to finished lines, against the bare words of its pages by the boxes of their characters.

The floor does nothing but ask pdfium for each character's box and join the characters that touch; issue 4 allows three
times that. Memory is measured for a short and a long statement, because it should not grow with the pages.

Run: python -m tests.benchmarks.reading_pdf
"""

from __future__ import annotations

import ctypes
import resource
import tempfile
from pathlib import Path

import pypdfium2
from pypdfium2 import raw
from reportlab.pdfgen.canvas import Canvas

from auditor import intake
from tests.benchmarks.timing import peak_mb, ratio
from tests.layouts.pdf_layouts import PLAIN_WORDS, money, size
from tests.layouts.table_truth import STATEMENT, STATEMENT_ON, Line, lines, total

PAGES, LINES_A_PAGE = 300, 45
PLACES = (30, 125, 180, 220, 240, 345, 375, 435, 478)
HEADINGS = ("Tracking number", "Ship date", "Service", "Zone", "Charge", "Weight lb", "Size in", "Order", "Amount")


def write(path: Path, them: list[Line]) -> None:
    """A statement in columns without rulings, with its total at the end."""
    canvas = Canvas(str(path), invariant=1)
    for start in range(0, len(them), LINES_A_PAGE):
        canvas.setFont("Helvetica", 9)
        canvas.drawString(30, 815, f"Larkrise Post, statement {STATEMENT}, statement date {STATEMENT_ON}")
        canvas.setFont("Helvetica", 7.5)
        draw(canvas, 795, HEADINGS)
        for nth, line in enumerate(them[start : start + LINES_A_PAGE]):
            cells = (line.tracking, str(line.shipped_on), line.service, line.zone, PLAIN_WORDS[line.charge])
            more = (str(line.weight_g), size(line), line.order, money(line.amount_cents))
            draw(canvas, 780 - 16 * nth, (*cells, *more))
        if start + LINES_A_PAGE >= len(them):
            draw(canvas, 40, ("Statement total", *[""] * 7, money(total(them))))
        canvas.showPage()
    canvas.save()


def draw(canvas: Canvas, y: float, cells: tuple[str, ...]) -> None:
    """A row at that height, its amount set to the right."""
    for x, text in zip(PLACES, cells[:-1], strict=False):
        canvas.drawString(x, y, text)
    canvas.drawRightString(560, y, cells[-1])


def bare_words(path: Path) -> int:
    """The number of words of a PDF, by the box of each character."""
    count = 0
    pdf = pypdfium2.PdfDocument(path)
    edges = [ctypes.c_double() for _ in range(4)]
    places = [ctypes.byref(edge) for edge in edges]
    for number in range(len(pdf)):
        page = pdf[number]
        text = page.get_textpage()
        right = -1e9
        for at, character in enumerate(text.get_text_range()):
            if character <= " ":
                right = -1e9
                continue
            raw.FPDFText_GetCharBox(text, at, *places)
            count += edges[0].value > right + 3
            right = edges[1].value
        text.close()
        page.close()
    pdf.close()
    return count


def main() -> None:
    """Print the times, their ratio and the memory of the reading processes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.pdf"
        them = lines(6_000, 11, metric=False)[: PAGES * LINES_A_PAGE]
        write(path, them)
        taken = intake.read([path])
        assert taken.lines["amount_cents"].to_list() == [line.amount_cents for line in them]
        assert taken.printed_totals["printed_total_cents"].to_list() == [total(them)]
        work, floor, times = ratio(lambda: intake.read([path]), lambda: bare_words(path), runs=3)
        children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"{PAGES} pages, {len(them):,} lines: {work:.2f} s, bare words {floor:.2f} s, ratio {times:.2f}")
        print(f"peak: {peak_mb():.0f} MB, the processes that read pages {children:.0f} MB")


if __name__ == "__main__":
    main()
