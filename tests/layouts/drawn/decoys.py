"""Columns that say nothing of what is billed, or nearly the same: what a reader must not be taken in by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from itertools import accumulate

from tests.layouts.drawn.columns import figure
from tests.layouts.drawn.look import Look
from tests.layouts.drawn.page import BLANK, Cell, Row, Table

Maker = Callable[[Sequence[Row], Look], list[Cell]]


def with_decoys(table: Table, look: Look, total: Cell) -> Table:
    """The table with up to four such columns among its own, each in a place of its own; and the total on each row."""
    if not table.regular:
        return table
    chance = look.drawn("decoys")
    makers = {key: DECOYS[key] for key in chance.sample(sorted(DECOYS), chance.choice((0, 1, 1, 2, 3, 4)))}
    if look.whether("pounds and ounces", 0.15):
        makers |= {"pounds": _each(_pounds), "ounces": _each(_ounces)}
    if look.totals == "row":
        makers["statement total"] = lambda rows, _: [total] * len(rows)
    at = 0
    for key, maker in makers.items():
        at = at + 1 if key == "ounces" else chance.randint(0, table.width)
        table = _with(table, maker, key, at, look)
    return table


def _with(table: Table, maker: Maker, key: str, place: int, look: Look) -> Table:
    rows = [row for row in table.rows if row.role == "data"]
    cells = iter(maker(rows, look))
    heading = Cell("" if key == "blank" and look.whether("unnamed") else look.words.called.get(key, ""))

    def cell(row: Row) -> Cell:
        return next(cells) if row.role == "data" else heading if row.role == "heading" else BLANK

    made = tuple(replace(row, cells=(*row.cells[:place], cell(row), *row.cells[place:])) for row in table.rows)
    at = table.amount_at
    return replace(table, rows=made, amount_at=at if at is None or at < place else at + 1)


def _each(cell: Callable[[Row, Look], Cell]) -> Maker:
    return lambda rows, look: [cell(row, look) for row in rows]


def _account(rows: Sequence[Row], look: Look) -> list[Cell]:
    return [Cell(str(look.drawn("account number").randint(100_000, 9_999_999)))] * len(rows)


def _scale_weight(row: Row, look: Look) -> Cell:
    about = row.event.about if row.event else None
    if about is None:
        return BLANK
    return figure(look, Decimal(about.weight.numerator * 100 // about.weight.denominator) / 100)


def _pounds(row: Row, _look: Look) -> Cell:
    about = row.event.about if row.event else None
    return BLANK if about is None else Cell(str(int(about.weight)), int(about.weight), right=True)


def _ounces(row: Row, _look: Look) -> Cell:
    about = row.event.about if row.event else None
    if about is None:
        return BLANK
    ounces = int(about.weight % 1 * 16)
    return Cell(str(ounces), ounces, right=True)


def _balance(rows: Sequence[Row], look: Look) -> list[Cell]:
    start = look.drawn("balance").choice((0, 12_345, 50_000))
    return [look.style.money(cents) for cents in accumulate((row.cents for row in rows), initial=start)][1:]


def _internal(rows: Sequence[Row], look: Look) -> list[Cell]:
    """Numbers of the same make as the parcels' own."""
    chance = look.drawn("internal")
    about = next(row.event.about for row in rows if row.event and row.event.about)
    prefix = about.tracking.rstrip("0123456789")
    length = len(about.tracking) - len(prefix)
    return [Cell(prefix + str(chance.randint(10 ** (length - 1), 10**length - 1))) for _ in rows]


def _percent(rows: Sequence[Row], look: Look) -> list[Cell]:
    chance = look.drawn("percents")
    return [Cell(look.style.number(Decimal(chance.choice((100, 125, 150, 175, 200))) / 10) + "%") for _ in rows]


def _quantity(_row: Row, _look: Look) -> Cell:
    return Cell("1", 1, right=True)


def _tax_rate(_row: Row, look: Look) -> Cell:
    return figure(look, Decimal("0.00"))


def _reference(rows: Sequence[Row], look: Look) -> list[Cell]:
    """Another number of the shop's, the same on all rows of an event."""
    chance, prefix = look.drawn("reference"), look.choice("reference's prefix", ("PO", "K", ""))
    events = {id(row.event): f"{prefix}{chance.randint(10_000, 99_999)}" for row in rows}
    return [Cell(events[id(row.event)]) for row in rows]


def _postcode(row: Row, _look: Look) -> Cell:
    return Cell(row.event.about.postcode) if row.event and row.event.about else BLANK


def _billed_on(row: Row, look: Look) -> Cell:
    return look.style.day(row.event.billed_on + timedelta(days=1)) if row.event else BLANK


def _blank(_row: Row, _look: Look) -> Cell:
    return BLANK


def _statement(_row: Row, look: Look) -> Cell:
    return Cell(look.statement)


def _statement_day(_row: Row, look: Look) -> Cell:
    return look.style.day(look.statement_on)


DECOYS: dict[str, Maker] = {
    "account": _account,
    "scale weight": _each(_scale_weight),
    "balance": _balance,
    "internal": _internal,
    "percent": _percent,
    "quantity": _each(_quantity),
    "tax rate": _each(_tax_rate),
    "reference": _reference,
    "postcode": _each(_postcode),
    "billed on": _each(_billed_on),
    "blank": _each(_blank),
    "statement": _each(_statement),
    "statement day": _each(_statement_day),
}
