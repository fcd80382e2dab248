"""What stands around the rows: titles, what says which statement it is, totals, words at the foot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from tests.layouts.drawn.decoys import with_decoys
from tests.layouts.drawn.look import Look
from tests.layouts.drawn.page import BLANK, Cell, Document, Row, Sheet, Table, line_row, under


def framed(sheet: Sheet, look: Look) -> Document:
    """The whole statement."""
    cents = sum(one.line.cents for one in sheet.planted)
    total = look.style.money(cents)
    tables = [_headed(with_decoys(table, look, total), look) for table in sheet.tables]
    if look.totals == "foot":
        tables = [_totalled(table, look) for table in tables]
    return Document(
        title=look.words["title"],
        before=tuple(_before(look, total)),
        tables=tuple(tables),
        after=tuple(_after(look, tables, total)),
        page_total=_page_total(look) if look.whether("page totals", 0.3) else None,
    )


def printed_total(look: Look, document: Document) -> bool:
    """Whether the statement's total is printed anywhere."""
    return look.totals in {"foot", "before"} or (look.totals == "row" and document.tables[0].regular)


def _page_total(look: Look) -> Callable[[int], tuple[Cell, Cell]]:
    return lambda cents: (Cell(look.words["page total"]), look.style.money(cents))


def _headed(table: Table, look: Look) -> Table:
    """With a line above the headings that says what groups of columns are about, now and then."""
    if not (table.regular and table.amount_at and look.whether("over", 0.12)):
        return table
    cells = {0: Cell(look.words["parcel group"]), table.amount_at: Cell(look.words["charge group"])}
    return replace(table, rows=(Row("over", under(table.width, cells)), *table.rows))


def _totalled(table: Table, look: Look) -> Table:
    """With its own sum below, where its amounts have a column and it has no such row."""
    at = table.amount_at
    if at is None or any(row.role == "total" for row in table.rows):
        return table
    cents = sum(row.cents for row in table.rows)
    cells = {1 if at == 0 else 0: Cell(look.words["total"]), at: look.style.money(cents)}
    return replace(table, rows=(*table.rows, Row("total", under(table.width, cells))))


def _before(look: Look, total: Cell) -> Iterator[Row]:
    if look.whether("title", 0.4) or look.totals == "before":
        yield line_row(look.words["title"])
    if look.whether("said before", 0.5):
        yield _said(look, "statement", Cell(look.statement))
        yield _said(look, "statement day", look.style.day(look.statement_on))
    if look.whether("account before", 0.25):
        yield _said(look, "account", Cell(str(look.drawn("account number").randint(100_000, 9_999_999))))
    if look.totals == "before":
        yield _said(look, "total", total)


def _said(look: Look, key: str, value: Cell) -> Row:
    """In two cells, or in one."""
    if look.whether("said in one", 0.4):
        return line_row(f"{look.words[key]}: {value.text}")
    return Row("line", (Cell(look.words[key]), value))


def _after(look: Look, tables: list[Table], total: Cell) -> Iterator[Row]:
    alone = len(tables) == 1 and any(row.role == "total" for row in tables[0].rows)
    if look.totals == "foot" and not alone:
        yield _said(look, "statement total", total)
    if look.whether("note", 0.25):
        yield Row("line", (BLANK,))
        yield line_row(look.words["note"])
