"""A page of the web, and the same in an e-mail."""

from __future__ import annotations

from email.message import EmailMessage
from html import escape
from pathlib import Path
from random import Random

from tests.layouts.drawn.page import Cell, Document, Row, Table

HEADS = {"heading": "th", "over": "th"}


def page(document: Document, folder: Path, chance: Random) -> Path:
    """A page with a table for each of the document's."""
    path = folder / "statement.html"
    path.write_text(html(document, chance), encoding="utf-8")
    return path


def email(document: Document, folder: Path, chance: Random) -> Path:
    """An e-mail with that page."""
    message = EmailMessage()
    message["From"], message["To"] = "billing@carrier.example", "shop@shop.example"
    message["Subject"], message["Date"] = document.title, "Mon, 05 Oct 2026 08:00:00 +0000"
    message.set_content(document.title)
    message.add_alternative(html(document, chance), subtype="html")
    message.set_boundary("=====drawn=====")
    path = folder / "statement.eml"
    path.write_bytes(message.as_bytes())
    return path


def html(document: Document, chance: Random) -> str:
    """The page as text."""
    headed = chance.random() < 0.8
    tables = "\n".join(_table(table, headed=headed) for table in document.tables)
    before, after = ("\n".join(_line(row) for row in rows) for rows in (document.before, document.after))
    head = f'<head><meta charset="utf-8"><title>{escape(document.title)}</title></head>'
    return f"<!doctype html>\n<html>{head}<body>\n{before}\n{tables}\n{after}\n</body></html>\n"


def _line(row: Row) -> str:
    return f"<p>{' '.join(escape(cell.text) for cell in row.cells)}</p>"


def _table(table: Table, *, headed: bool) -> str:
    title = f"<h2>{escape(table.title)}</h2>\n" if table.title else ""
    rows = "\n".join(_row(row, table.width, headed=headed) for row in table.rows)
    return f"{title}<table>\n{rows}\n</table>"


def _row(row: Row, width: int, *, headed: bool) -> str:
    tag = HEADS.get(row.role, "td") if headed else "td"
    if row.role == "over":
        return _over(row, tag)
    if row.role == "group" and len([cell for cell in row.cells if cell.text]) == 1:
        return f'<tr><{tag} colspan="{width}">{_text(row.cells[0])}</{tag}></tr>'
    return f"<tr>{''.join(f'<{tag}>{_text(cell)}</{tag}>' for cell in row.cells)}</tr>"


def _over(row: Row, tag: str) -> str:
    starts = [place for place, cell in enumerate(row.cells) if cell.text]
    ends = [*starts[1:], len(row.cells)]
    parts = (
        f'<{tag} colspan="{end - start}">{_text(row.cells[start])}</{tag}>'
        for start, end in zip(starts, ends, strict=True)
    )
    return f"<tr>{''.join(parts)}</tr>"


def _text(cell: Cell) -> str:
    return escape(cell.text).replace("\n", "<br>")
