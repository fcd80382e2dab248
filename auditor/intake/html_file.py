"""A web page, or the HTML of an e-mail → its tables as grids, and its text as a letter.

Tables within tables serve layout: only the innermost are read. Nothing is fetched, and no entity is resolved but the
signs of HTML itself.
"""

from __future__ import annotations

import re
from datetime import date

import lxml.etree
import lxml.html

from auditor.intake import covers
from auditor.intake.csv_file import decoded
from auditor.intake.documents import Grid, Letter, Opened, Text, Unreadable, refuse_over
from auditor.intake.letter_table import lines_of

LARGEST = 30 * 2**20
MOST_CELLS, MOST_SPAN = 2_000_000, 200
START = re.compile(
    rb"\s*(?:<\?xml[^>]*>\s*)?(?:<!--.*?-->\s*)*<(?:!doctype\s+html|html|head|body|table|div|p)[\s>]",
    re.IGNORECASE | re.DOTALL,
)
BLOCKS = ("br", "p", "div", "tr", "td", "th", "li", "dl", "dd", "h1", "h2", "h3", "h4", "h5", "h6", "table")
LONGEST_TITLE = 200
MARK = "\ufdd0"
"""Stands for a table in the text around it: a character that Unicode keeps out of all texts."""

NEVER_IN_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (2.2) forbids, and our mark's kin."""

Row = list[str]


def claims(start: bytes) -> bool:
    """Whether a file that begins so is a web page."""
    return bool(START.match(start.lstrip(b"\xef\xbb\xbf")))


def read(name: str, content: bytes) -> Opened:
    """Read a web page.

    Raises:
        Unreadable: it is too large, or shows nothing.
    """
    del name
    refuse_over(LARGEST, len(content))
    found = text_of(decoded(content)[0])
    if not found.grids and not any(letter.text.strip() for letter in found.letters):
        raise Unreadable("This web page shows no text and no table. Save it again, or leave it out.")
    return Opened((found,))


def text_of(html: str, written_on: date | None = None, title: str = "") -> Text:
    """The tables of HTML, with the text around them as what stands above, and all of its text as a letter.

    Args:
        html: the page.
        written_on: the day it was sent.
        title: what it is headed by, such as the subject of an e-mail; without one, the page's own title.

    Raises:
        Unreadable: its tables have more cells than are read.
    """
    if not html.strip():
        return Text((), (Letter("", written_on),))
    tree = _parsed(html)
    if tree is None:
        return Text((), (Letter("", written_on),))
    title = title or " ".join((tree.findtext(".//title") or "").split())[:LONGEST_TITLE]
    for element in list(tree.iter("script", "style", "head")):
        element.drop_tree()
    tables = [
        _taken_out(table) for table in list(tree.iter("table")) if next(table.iterdescendants("table"), None) is None
    ]
    text = _lines(tree)
    around = (*filter(None, (title,)), *(line for line in text.splitlines() if line and MARK not in line))
    small = {number: tuple(covers.said(rows)) for number, rows in enumerate(tables, start=1)}
    grids = tuple(
        Grid(
            rows,
            [f"table {number}, row {row}" for row in range(1, len(rows) + 1)],
            (*around, *(text for other, said in small.items() if other != number for text in said)),
        )
        for number, rows in enumerate(tables, start=1)
        if len(rows) > 1 and max(map(len, rows)) > 1
    )
    for rows in tables:
        text = text.replace(MARK, "\n".join(lines_of(rows, text)), 1)
    return Text(grids, (Letter(text, written_on),))


def _parsed(html: str) -> lxml.html.HtmlElement | None:
    """The page's tree, all of its texts such as XML can hold; None where there is no element in it.

    Raises:
        Unreadable: what lies deepest in it would be left out.
    """
    parser = lxml.html.HTMLParser(encoding="utf-8", no_network=True, huge_tree=True)
    try:
        tree = lxml.html.document_fromstring(NEVER_IN_XML.sub(" ", html).encode(), parser=parser)
    except lxml.etree.ParserError:
        return None
    if any("Excessive depth" in error.message for error in parser.error_log):
        raise Unreadable(
            "This page has elements within elements, thousands deep, so not all of it could be read. Open it in a "
            "browser, copy what it shows, and save that as text or CSV."
        )
    for element in tree.iter():  # once more, as signs may be written as numbers: &#12;
        if element.text and NEVER_IN_XML.search(element.text):
            element.text = NEVER_IN_XML.sub(" ", element.text)
        if element.tail and NEVER_IN_XML.search(element.tail):
            element.tail = NEVER_IN_XML.sub(" ", element.tail)
    return tree


def _taken_out(table: lxml.html.HtmlElement) -> list[Row]:
    """The rows of a table, in whose place a mark is left."""
    rows = _rows(table)
    tail = table.tail
    table.clear()
    table.tag, table.text, table.tail = "div", f"\n{MARK}\n", tail
    return rows


def _rows(table: lxml.html.HtmlElement) -> list[Row]:
    """Its rows of texts, blank ones left out. A cell over several columns or rows has its text in the first of them."""
    rows: list[Row] = []
    below: dict[int, int] = {}
    cells = 0
    for line in table.iter("tr"):
        row: Row = []
        for cell in line.iterchildren("td", "th"):
            _blanks_below(row, below)
            wide, high = _span(cell, "colspan"), _span(cell, "rowspan")
            below.update({len(row) + more: high - 1 for more in range(wide) if high > 1})
            row += [_cell(cell), *[""] * (wide - 1)]
        _blanks_below(row, below)
        cells += len(row)
        if cells > MOST_CELLS:
            raise Unreadable(f"This page has a table with more cells than are read ({MOST_CELLS:,}). Export it as CSV.")
        if any(row):
            rows.append(row)
    return rows


def _blanks_below(row: Row, below: dict[int, int]) -> None:
    """Add blanks where cells of rows above reach down."""
    while below.get(len(row), 0) > 0:
        below[len(row)] -= 1
        row.append("")


def _span(cell: lxml.html.HtmlElement, name: str) -> int:
    written = cell.get(name, "1").strip()
    return min(int(written), MOST_SPAN) if re.fullmatch(r"[1-9]\d{0,4}", written) else 1


LINE_END = "\u2028"
"""Stands in a cell for the end of a line that shows as one, until its blanks are plain."""


def _cell(cell: lxml.html.HtmlElement) -> str:
    for element in cell.iter("br", "p", "div", "li"):
        element.tail = f"{LINE_END}{element.tail or ''}"
    lines = (" ".join(line.split()) for line in str(cell.text_content()).split(LINE_END))
    return "\n".join(filter(None, lines))


def _lines(tree: lxml.html.HtmlElement) -> str:
    """The text, a line for each block."""
    for element in tree.iter("dt"):
        element.tail = ": "
    for element in tree.iter(*BLOCKS):
        element.tail = f"\n{element.tail or ''}"
        element.text = element.text if element.tag in {"br", "dd"} else f"\n{element.text or ''}"
    lines = (" ".join(line.split()) for line in str(tree.text_content()).splitlines())
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip()
