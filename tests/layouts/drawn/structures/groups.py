"""Rows that stand under another one: charges under their parcel's row, rows under a day or a service."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Column, Look
from tests.layouts.drawn.month import Event
from tests.layouts.drawn.page import Cell, Row, Sheet, Table, planted, under


def under_a_parcel(events: Sequence[Event], look: Look) -> Sheet:
    """A row with the parcel's figures, and its sum or nothing; below it a row a charge, with name and amount."""
    look = look.with_account_named()
    of_parcel = [*columns.of_parcel(look), *columns.of_kind(look)]
    chosen = [*of_parcel, columns.name(look), columns.amount(look)]
    width, summed = len(chosen), look.whether("sum on the parcel's row")
    rows = [columns.heading(chosen)]
    for event in events:
        row = columns.data(of_parcel, (event, None))
        there = look.style.money(event.cents) if summed else Cell()
        rows.append(Row("data", (*row.cells, Cell(), there), event))
        rows += [
            Row("data", under(width, _charge(look, event, place, width)), event, line.cents)
            for place, line in enumerate(event.lines)
        ]
    return Sheet((Table(tuple(rows), width - 1),), planted(events, look.fields))


def _charge(look: Look, event: Event, place: int, width: int) -> dict[int, Cell]:
    line = event.lines[place]
    return {width - 2: Cell(look.name(event, line)), width - 1: look.style.money(line.cents)}


def by_group(events: Sequence[Event], look: Look) -> Sheet:
    """Rows a charge under a row that says the day or the service, which no column says, and a sum below each group."""
    field = look.choice("group", ("shipped_on", "service"))
    fields = (*(one for one in look.fields if one != field), field)
    without = replace(look, fields=fields[:-1])
    chosen = look.arranged(
        columns.of_parcel(without), [*columns.of_kind(look), columns.name(look), columns.amount(look)]
    )
    ordered = sorted(events, key=_key(field))
    rows = [columns.heading(chosen)]
    for _, group in groupby(ordered, key=_key(field)):
        rows += _group(list(group), chosen, look, field)
    return Sheet((Table(tuple(rows), columns.amount_at(chosen)),), planted(ordered, fields))


def _key(field: str) -> Callable[[Event], str]:
    return lambda event: str(getattr(event.about, field)) if event.about else "~"


def _group(events: Sequence[Event], chosen: Sequence[Column], look: Look, field: str) -> Iterator[Row]:
    at = columns.amount_at(chosen)
    assert at is not None
    yield Row("group", under(len(chosen), {0: Cell(_said(events[0], look, field))}))
    yield from (columns.data(chosen, item) for item in columns.each_line(events))
    if look.whether("subtotals", 0.7):
        total = look.style.money(sum(event.cents for event in events))
        yield Row("subtotal", under(len(chosen), {1 if at == 0 else 0: Cell(look.words["subtotal"]), at: total}))


def _said(event: Event, look: Look, field: str) -> str:
    if event.about is None:
        return look.words["kind account"]
    value = look.style.day(event.about.shipped_on).text if field == "shipped_on" else look.service(event.about.service)
    key = "day" if field == "shipped_on" else "service"
    return f"{look.words[key]}: {value}" if look.whether("named group") else value
