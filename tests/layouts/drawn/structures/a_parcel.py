"""A row an event of a parcel, with its charges in columns, in slots, or stacked in cells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Column, Look
from tests.layouts.drawn.month import CHARGES, Event, Line
from tests.layouts.drawn.page import BLANK, Cell, Row, Sheet, Table, planted


def column_a_charge(events: Sequence[Event], look: Look) -> Sheet:
    """A column a charge."""
    return _in_columns(events, look, [])


def column_a_charge_and_sum(events: Sequence[Event], look: Look) -> Sheet:
    """A column a charge, and the sum of the row."""
    return _in_columns(events, look, [columns.amount(look, "sum")])


def charge_columns(events: Sequence[Event], look: Look) -> list[Column]:
    """The charges that there are, a column each."""
    there = {line.charge for event in events for line in event.lines}
    zero = look.style.money(0) if look.whether("zeros") else BLANK
    return [Column("charge", look.words[charge], _of(charge, look, zero)) for charge in CHARGES if charge in there]


def _of(charge: str, look: Look, zero: Cell) -> Callable[[Event, Line | None], Cell]:
    def cell(event: Event, _: Line | None) -> Cell:
        found = [line.cents for line in event.lines if line.charge == charge]
        return look.style.money(sum(found)) if found else zero

    return cell


def _in_columns(events: Sequence[Event], look: Look, summed: list[Column]) -> Sheet:
    of_charges = charge_columns(events, look)
    of_charges = summed + of_charges if look.whether("sum first", 0.2) else of_charges + summed
    chosen = look.arranged([*columns.of_parcel(look), *columns.of_kind(look)], of_charges)
    made = columns.table(chosen, ((event, None) for event in events))
    if not summed and look.totals == "foot":
        made = replace(made, rows=(*made.rows, _sums(chosen, events, look)))
    return Sheet((made,), planted(events, look.fields))


def _sums(chosen: Sequence[Column], events: Sequence[Event], look: Look) -> Row:
    """The sum of each column of charges."""
    cells = [BLANK if column.role != "charge" else _sum(column.heading, events, look) for column in chosen]
    blank = next(place for place, column in enumerate(chosen) if column.role != "charge")
    cells[blank] = Cell(look.words["subtotal"])
    return Row("subtotal", tuple(cells))


def _sum(heading: str, events: Sequence[Event], look: Look) -> Cell:
    lines = [line for event in events for line in event.lines if look.words[line.charge] == heading]
    return look.style.money(sum(line.cents for line in lines))


def slots(events: Sequence[Event], look: Look) -> Sheet:
    """Name 1, amount 1, name 2, amount 2 and so on."""
    most = max(len(event.lines) for event in events)
    pairs = [column for place in range(most) for column in _slot(look, place)]
    summed = [columns.amount(look, "sum")] if look.whether("row sum") else []
    chosen = [*columns.of_parcel(look), *columns.of_kind(look), *pairs, *summed]
    return Sheet((columns.table(chosen, ((event, None) for event in events)),), planted(events, look.fields))


def _slot(look: Look, place: int) -> list[Column]:
    def name(event: Event, _: Line | None) -> Cell:
        return Cell(look.name(event, event.lines[place])) if place < len(event.lines) else BLANK

    def cents(event: Event, _: Line | None) -> Cell:
        return look.style.money(event.lines[place].cents) if place < len(event.lines) else BLANK

    number = f" {place + 1}"
    return [
        Column("name", look.words["name"] + number, name),
        Column("slot", look.words["amount"] + number, cents),
    ]


def stacked(events: Sequence[Event], look: Look) -> Sheet:
    """All names of an event in one cell, all amounts in another, line by line; or name and amount on each line."""
    together = look.whether("name and amount on a line", 0.25)

    def names(event: Event, _: Line | None) -> Cell:
        return Cell("\n".join(look.name(event, line) for line in event.lines))

    def amounts(event: Event, _: Line | None) -> Cell:
        return Cell("\n".join(look.style.money(line.cents).text for line in event.lines), right=True)

    def both(event: Event, _: Line | None) -> Cell:
        return Cell("\n".join(f"{look.name(event, line)} {look.style.money(line.cents).text}" for line in event.lines))

    two = [Column("name", look.words["name"], names), Column("stack", look.words["amount"], amounts)]
    one = [Column("name", look.words["charge group"], both)]
    summed = [columns.amount(look, "sum")] if look.whether("row sum") else []
    chosen = [*columns.of_parcel(look), *columns.of_kind(look), *(one if together else two), *summed]
    return Sheet((columns.table(chosen, ((event, None) for event in events)),), planted(events, look.fields))


def two_lines(events: Sequence[Event], look: Look) -> Sheet:
    """The parcel's figures on one line, its charges in columns on the line below, headings likewise."""
    look = look.with_account_named()
    first = [*columns.of_parcel(look), *columns.of_kind(look)]
    second = [*charge_columns(events, look), columns.amount(look, "sum")]
    indent = 1 if look.whether("indent") else 0
    rows = [_wide(columns.heading(first), len(second) + indent), _shifted(columns.heading(second), indent)]
    for event in events:
        above = replace(columns.data(first, (event, None)), cents=0)
        rows += [_wide(above, len(second) + indent), _shifted(columns.data(second, (event, None)), indent)]
    table = Table(tuple(rows), len(second) - 1 + indent, regular=False)
    return Sheet((table,), planted(events, look.fields))


def _wide(row: Row, width: int) -> Row:
    return replace(row, cells=row.cells + (BLANK,) * (width - len(row.cells)))


def _shifted(row: Row, by: int) -> Row:
    return replace(row, cells=(BLANK,) * by + row.cells)
