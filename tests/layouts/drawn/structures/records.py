"""Records of several types, each with fields of its own."""

from __future__ import annotations

from collections.abc import Sequence

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Look
from tests.layouts.drawn.month import Event
from tests.layouts.drawn.page import Cell, Row, Sheet, Table, planted


def record_types(events: Sequence[Event], look: Look) -> Sheet:
    """A record of the parcel, then records of its charges; headings of each type above them, or none."""
    look = look.with_account_named()
    headed = look.whether("headings of records", 0.7)
    look = look if headed else look.without_headings()
    of_parcel = [*columns.of_parcel(look), *columns.of_kind(look)]
    of_charge = [columns.name(look), columns.amount(look)]
    if look.whether("number on charges"):
        of_charge = [columns.of_parcel(look)[0], *of_charge]
    head, charge = (Cell(look.words[key]) for key in ("record parcel", "record charge"))
    rows = []
    if headed:
        first = Cell(look.words["record"])
        rows = [Row("heading", (first, *columns.heading(these).cells)) for these in (of_parcel, of_charge)]
    for event in events:
        rows.append(Row("data", (head, *columns.data(of_parcel, (event, None)).cells), event))
        for line in event.lines:
            row = columns.data(of_charge, (event, line))
            rows.append(Row("data", (charge, *row.cells), event, line.cents))
    return Sheet((Table(tuple(rows), None, regular=False),), planted(events, look.fields))
