"""Where each text stands on paper, before any library draws them: pages of texts and rulings, in points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from reportlab.pdfbase.pdfmetrics import stringWidth

from tests.layouts.drawn.page import Cell, Document, Row, Table, under

MARGIN, GAP = 36.0, 9.0
PAPERS = ((595.0, 842.0), (842.0, 595.0), (1191.0, 842.0))
"""A4 upright and across, A3 across (ISO 216); what is wider gets a paper of its own."""


@dataclass(frozen=True)
class Text:
    """A text by its left end and base line."""

    x: float
    y: float
    text: str
    bold: bool = False


@dataclass
class Page:
    """Texts, and rulings as x0, y0, x1, y1."""

    texts: list[Text] = field(default_factory=list)
    rulings: list[tuple[float, float, float, float]] = field(default_factory=list)


@dataclass(frozen=True)
class Paper:
    """All pages of a size, in letters of a size."""

    width: float
    height: float
    size: float
    pages: list[Page]


@dataclass(frozen=True)
class Columns:
    """Left and right end of each column."""

    ends: tuple[tuple[float, float], ...]


def laid_out(document: Document, chance: Random) -> Paper:
    """The document on pages, with headings repeated where a table goes on, or not."""
    size, rulings = chance.choice((7.0, 8.0, 8.0, 9.0)), chance.choice(("none", "none", "rows", "grid"))
    repeated, wrapped = chance.random() < 0.85, chance.random() < 0.4
    if wrapped:
        document = replace(document, tables=tuple(_wrapped(table) for table in document.tables))
    laid = [_columns(table, size) for table in document.tables]
    needed = max(columns.ends[-1][1] for columns in laid) + MARGIN
    width, height = next((paper for paper in PAPERS if paper[0] >= needed), (needed, 842.0))
    pen = _Pen(height, size, rulings)
    for row in document.before:
        pen.line(row)
    for table, columns in zip(document.tables, laid, strict=True):
        _draw(table, columns, pen, document, repeated=repeated)
    for row in document.after:
        pen.line(row)
    for number, page in enumerate(pen.pages, 1):
        page.texts.append(Text(width - MARGIN - 20, height - 16, f"{number}/{len(pen.pages)}"))
    return Paper(width, height, size, pen.pages)


def _wrapped(table: Table) -> Table:
    """With headings of several words on several lines."""
    rows = (
        replace(row, cells=tuple(replace(cell, text=cell.text.replace(" ", "\n")) for cell in row.cells))
        if row.role == "heading"
        else row
        for row in table.rows
    )
    return replace(table, rows=tuple(rows))


def _columns(table: Table, size: float) -> Columns:
    widths = [0.0] * table.width
    for row in table.rows:
        if len([cell for cell in row.cells if cell.text]) < 2 and row.role in {"group", "line"}:
            continue
        for place, cell in enumerate(row.cells):
            bold = row.role != "data"
            widths[place] = max(widths[place], *(_width(line, size, bold=bold) for line in cell.text.split("\n")))
    if table.width == 2 and not table.regular:
        widths[0] = max(widths[0], 230.0)
    left, ends = MARGIN, []
    for width in widths:
        ends.append((left, left + width))
        left += width + GAP
    return Columns(tuple(ends))


def _width(text: str, size: float, *, bold: bool) -> float:
    return float(stringWidth(text, "Helvetica-Bold" if bold else "Helvetica", size))


class _Pen:
    """Where the next row goes."""

    def __init__(self, height: float, size: float, rulings: str) -> None:
        self.height, self.size, self.rulings = height, size, rulings
        self.pages = [Page()]
        self.top = MARGIN

    @property
    def leading(self) -> float:
        """From a line to the next."""
        return self.size * 1.3

    def room(self, lines: int) -> bool:
        """Whether so many lines fit on the page."""
        return self.top + lines * self.leading + 4 <= self.height - MARGIN

    def turn(self) -> None:
        """A new page."""
        self.pages.append(Page())
        self.top = MARGIN

    def line(self, row: Row) -> None:
        """Words that are no table: a label at the margin, its value beside it."""
        if not self.room(1):
            self.turn()
        x = MARGIN
        for cell in row.cells:
            if cell.text:
                self.pages[-1].texts.append(Text(x, self.top + self.size, cell.text))
            x += _width(cell.text, self.size, bold=False) + GAP * 2
        self.top += self.leading + 4

    def row(self, row: Row, columns: Columns) -> None:
        """A row of a table."""
        bold = row.role not in {"data", "line"}
        for cell, (left, right) in zip(row.cells, columns.ends, strict=False):
            for number, text in enumerate(cell.text.split("\n")):
                start = right - _width(text, self.size, bold=bold) if cell.right else left
                if text:
                    y = self.top + self.size + number * self.leading
                    self.pages[-1].texts.append(Text(start, y, text, bold))
        below = self.top + lines_of(row) * self.leading + 2
        self._rule(columns, self.top - 1, below - 1)
        self.top = below

    def _rule(self, columns: Columns, above: float, below: float) -> None:
        first, last = columns.ends[0][0] - GAP / 2, columns.ends[-1][1] + GAP / 2
        page = self.pages[-1]
        if self.rulings != "none":
            page.rulings += [(first, y, last, y) for y in (above, below)]
        if self.rulings == "grid":
            edges = [first, *(right + GAP / 2 for _, right in columns.ends)]
            page.rulings += [(x, above, x, below) for x in edges]


def lines_of(row: Row) -> int:
    """How many lines high a row is."""
    return max((cell.text.count("\n") + 1 for cell in row.cells), default=1)


def _draw(table: Table, columns: Columns, pen: _Pen, document: Document, *, repeated: bool) -> None:
    pen.top += pen.leading
    if table.title:
        pen.line(Row("line", (Cell(table.title),)))
    heads = list(_heads(table.rows))
    on_page = 0
    for place, row in enumerate(table.rows):
        if not pen.room(lines_of(row) + 2):
            _foot(table, on_page, columns, pen, document)
            pen.turn()
            on_page = 0
            for head in heads if repeated and place >= len(heads) else ():
                pen.row(head, columns)
        pen.row(row, columns)
        on_page += row.cents


def _foot(table: Table, cents: int, columns: Columns, pen: _Pen, document: Document) -> None:
    """The sum of a page below it, where the document has such."""
    at = table.amount_at
    if document.page_total is None or not at:
        return
    words, amount = document.page_total(cents)
    pen.row(Row("page total", under(table.width, {0: words, at: amount})), columns)


def _heads(rows: Sequence[Row]) -> Iterator[Row]:
    for row in rows:
        if row.role not in {"over", "heading"}:
            return
        yield row
