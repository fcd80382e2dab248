"""A block a parcel, as pages have it: a line with its figures, a line a charge, perhaps its sum."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Look
from tests.layouts.drawn.month import Event
from tests.layouts.drawn.page import BLANK, Cell, Row, Sheet, Table, line_row, planted


def blocks(events: Sequence[Event], look: Look) -> Sheet:
    """Each event's figures in a line of words, or of words with their labels; then names and amounts."""
    rows = [row for event in events for row in _block(event, look)]
    return Sheet((Table(tuple(rows), 1, regular=False),), planted(events, look.fields))


def _block(event: Event, look: Look) -> Iterator[Row]:
    yield Row("group", (Cell(_told(event, look)),), event)
    if look.mark == "column":
        yield line_row(look.kind(event))
    for line in event.lines:
        yield Row("data", (Cell(look.name(event, line)), look.style.money(line.cents)), event, line.cents)
    if look.whether("sum of a block", 0.6):
        yield Row("subtotal", (Cell(look.words["sum"]), look.style.money(event.cents)))
    if look.whether("line between blocks", 0.4):
        yield Row("line", (BLANK,))


def _told(event: Event, look: Look) -> str:
    """The figures in one line; the account's own word where it is about no parcel."""
    if event.about is None:
        return look.words["kind account"]
    apart = look.choice("between", ("   ", " | ", ", ", " - ", "  "))
    labelled = look.whether("labelled", 0.5)
    look = look if labelled else look.without_headings()
    them = [(column.heading, column.cell(event, None).text) for column in columns.of_parcel(look)]
    return str(apart.join(f"{heading}: {text}" if labelled else text for heading, text in them if text))
