"""A row a charge, and what carriers do with the name and the amount of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Column, Look
from tests.layouts.drawn.month import LABEL, Event, Line
from tests.layouts.drawn.page import BLANK, Cell, Row, Sheet, planted, under


def row_a_charge(events: Sequence[Event], look: Look) -> Sheet:
    """Everything on every row."""
    return _sheet(events, look, [*columns.of_kind(look), columns.name(look), columns.amount(look)])


def number_on_first_row(events: Sequence[Event], look: Look) -> Sheet:
    """The parcel's figures on the first row of its charges only."""
    look = look.with_account_named()
    of_charge = [*columns.of_kind(look), columns.name(look), columns.amount(look)]
    chosen = look.arranged(columns.of_parcel(look), of_charge)
    kept = [column in of_charge for column in chosen]
    whole = columns.table(chosen, columns.each_line(events))
    return Sheet((replace(whole, rows=tuple(_first_only(whole.rows, kept))),), planted(events, look.fields))


def _first_only(rows: Sequence[Row], kept: Sequence[bool]) -> Iterator[Row]:
    before = None
    for row in rows:
        again = row.event is not None and row.event is before
        cells = tuple(cell if stays else BLANK for cell, stays in zip(row.cells, kept, strict=True))
        yield replace(row, cells=cells) if again else row
        before = row.event


def code_and_name(events: Sequence[Event], look: Look) -> Sheet:
    """A code of the charge beside its name."""
    code = Column("code", look.words["code"], lambda _, line: Cell(look.code(line)) if line else BLANK)
    return _sheet(events, look, [*columns.of_kind(look), code, columns.name(look), columns.amount(look)])


def debit_and_credit(events: Sequence[Event], look: Look) -> Sheet:
    """What is charged in one column, what is given back in another, both without a sign."""

    def debit(_: Event, line: Line | None) -> Cell:
        return look.style.money(line.cents) if line and line.cents >= 0 else BLANK

    def credit(_: Event, line: Line | None) -> Cell:
        return look.style.money(-line.cents) if line and line.cents < 0 else BLANK

    two = [Column("debit", look.words["debit"], debit), Column("credit", look.words["credit heading"], credit)]
    sheet = _sheet(events, look, [*columns.of_kind(look), columns.name(look), *two])
    return _with_both_sums(sheet, [column.heading for column in two], look) if look.totals == "foot" else sheet


def _with_both_sums(sheet: Sheet, headings: Sequence[str], look: Look) -> Sheet:
    """The sums of both columns below them; what is left of them is said elsewhere."""
    (whole,) = sheet.tables
    cents = [row.cents for row in whole.rows]
    sums = [sum(one for one in cents if one > 0), -sum(one for one in cents if one < 0)]
    places = [[cell.text for cell in whole.rows[0].cells].index(heading) for heading in headings]
    word = next(place for place in range(whole.width) if place not in places)
    cells = {word: Cell(look.words["subtotal"])} | dict(zip(places, map(look.style.money, sums), strict=True))
    row = Row("subtotal", under(whole.width, cells))
    return replace(sheet, tables=(replace(whole, rows=(*whole.rows, row)),))


def gross_discount_net(events: Sequence[Event], look: Look) -> Sheet:
    """The list price, what is taken off, and what is billed; corrections have nothing taken off."""
    percent = look.choice("discount", (10, 15, 20, 25, 40))
    sign = look.choice("discount's sign", (-1, 1))

    def off(event: Event, line: Line | None) -> int:
        taken = line is not None and event.kind == LABEL and line.charge == "freight"
        return line.cents * percent // (100 - percent) if taken and line else 0

    trio = [
        Column("gross", look.words["gross"], lambda e, line: look.style.money((line or e).cents + off(e, line))),
        Column("discount", look.words["discount"], lambda e, line: look.style.money(sign * off(e, line))),
        columns.amount(look, "net"),
    ]
    return _sheet(events, look, [*columns.of_kind(look), columns.name(look), *trio])


def _sheet(events: Sequence[Event], look: Look, of_charge: Sequence[Column]) -> Sheet:
    chosen = look.arranged(columns.of_parcel(look), of_charge)
    return Sheet((columns.table(chosen, columns.each_line(events)),), planted(events, look.fields))
