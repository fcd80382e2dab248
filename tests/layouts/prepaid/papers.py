"""Forms in which corrections of prepaid labels reach a seller: each makes a document of rows, and knows no other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from random import Random

from tests.layouts.drawn.page import Cell, Document, Row, Table, line_row
from tests.layouts.prepaid.look import Look, declared
from tests.layouts.prepaid.shop import Correction, Label, Shop

Made = tuple[Document, "tuple[Planted, ...]"]


@dataclass(frozen=True)
class Planted:
    """What a paper says of one movement: its kind, number, cents taken, and the names of the figures that it shows."""

    kind: str
    tracking: str | None
    cents: int
    about: Correction | None = None
    shows: frozenset[str] = frozenset()


def rows(heads: Sequence[str], body: Iterable[Sequence[str]]) -> Iterator[Row]:
    """Headings and the rows below them."""
    yield Row("heading", tuple(map(Cell, heads)))
    yield from (Row("data", tuple(map(Cell, cells))) for cells in body)


def kind_of(one: Correction) -> str:
    """The movement's kind."""
    return "returned" if one.cause == "returned" else "correction"


def planted(one: Correction, shows: Iterable[str]) -> Planted:
    """A correction as planted."""
    fee = one.fee if "fee" in shows else 0
    return Planted(kind_of(one), one.label.tracking, one.difference + fee, one, frozenset(shows))


def cells_of(one: Correction, look: Look) -> dict[str, str]:
    """Everything that may stand in a row about a correction, by key."""
    label = one.label
    paid, right = (one.right, label.cents) if one.cause == "returned" else (label.cents, one.right)
    return {
        "number": label.tracking,
        "order": label.order,
        "day": look.on(one.on),
        "reason": look.reason(one),
        "service": label.service,
        "entered size": look.size(declared(label)),
        "entered weight": look.weight(label.ounces),
        "measured size": look.size(one.tenths),
        "measured weight": look.weight(one.ounces),
        "paid": look.money(paid),
        "right": look.money(right),
        "difference": look.taken(one.difference),
        "fee": look.money(one.fee),
    }


def _keys(shop: Shop, look: Look, chance: Random) -> list[str]:
    """The columns of a list, in an order of its own."""
    pairs = [f"{whose} {one}" for whose in ("entered", "measured") for one in ("size", "weight")]
    figures = [key for key in pairs if key in look.shows]
    if chance.random() < 0.3:
        figures.sort(key=lambda key: key.split()[1])
    lead = ["number", "day", *(key for key in ("order", "service", "reason") if key in look.shows)]
    chance.shuffle(lead)
    money = [key for key in ("paid", "right", "difference") if key in look.shows]
    fee = ["fee"] if any(one.fee for one in shop.corrections) else []
    return [*lead, *figures, *money, *fee] if chance.random() < 0.7 else [*lead, *money, *fee, *figures]


def _framed(look: Look, table: Table, total: int | None, at: int) -> Document:
    if total is not None and look.total:
        cells = [Cell()] * table.width
        cells[0], cells[at] = Cell(look["total"]), Cell(look.taken(total))
        table = Table((*table.rows, Row("total", tuple(cells))))
    return Document(look["title"], (line_row(look["title"]),) if look.title else (), (table,), ())


def listed(shop: Shop, look: Look, chance: Random) -> Made:
    """A row a correction."""
    keys = _keys(shop, look, chance)
    body = [[cells_of(one, look)[key] for key in keys] for one in shop.corrections]
    table = Table(tuple(rows([look.heading(key) for key in keys], body)))
    total = sum(one.difference for one in shop.corrections)
    document = _framed(look, table, total, keys.index("difference"))
    return document, tuple(planted(one, keys) for one in shop.corrections)


def reasons(shop: Shop, look: Look, chance: Random) -> Made:
    """A number, a reason and an amount alone."""
    keys = ["number", "day", "reason", "difference"]
    chance.shuffle(keys)
    body = [[cells_of(one, look)[key] for key in keys] for one in shop.corrections]
    table = Table(tuple(rows([look.heading(key) for key in keys], body)))
    total = sum(one.difference for one in shop.corrections)
    return _framed(look, table, total, keys.index("difference")), tuple(planted(one, keys) for one in shop.corrections)


def _day_groups(shop: Shop) -> Iterator[tuple[date, list[Correction]]]:
    for day, them in groupby(shop.corrections, key=lambda one: one.on):
        yield day, list(them)


def by_day(shop: Shop, look: Look, chance: Random) -> Made:
    """Rows below a row with their day, and what each day comes to."""
    keys = [key for key in _keys(shop, look, chance) if key != "day"]
    at, sums = keys.index("difference"), chance.random() < 0.6
    made = [Row("heading", tuple(Cell(look.heading(key)) for key in keys))]
    for day, them in _day_groups(shop):
        made.append(Row("group", (Cell(look.on(day)), *[Cell()] * (len(keys) - 1))))
        made += [Row("data", tuple(Cell(cells_of(one, look)[key]) for key in keys)) for one in them]
        if sums:
            cells = [Cell()] * len(keys)
            cells[at] = Cell(look.taken(sum(one.difference for one in them)))
            made.append(Row("subtotal", tuple(cells)))
    total = sum(one.difference for one in shop.corrections)
    return _framed(look, Table(tuple(made)), total, at), tuple(planted(one, keys) for one in shop.corrections)


def before_after(shop: Shop, look: Look, chance: Random) -> Made:
    """Two rows a correction: as it was entered and paid, and as it was measured and would have been right."""
    keys = ["number", "day", "row", *(one for one in ("size", "weight") if f"entered {one}" in look.shows), "price"]
    keys += ["difference"] if chance.random() < 0.6 else []
    body = []
    for one in shop.corrections:
        cells = cells_of(one, look)
        for whose, price in (("entered", "paid"), ("measured", "right")):
            row = {"row": look["before" if whose == "entered" else "after"], "price": cells[price]}
            row |= {name: cells[f"{whose} {name}"] for name in ("size", "weight")}
            row["difference"] = cells["difference"] if whose == "measured" else ""
            body.append([{**cells, **row}[key] for key in keys])
    table = Table(tuple(rows([look.heading(key) for key in keys], body)))
    shows = {"paid", "right", "number"} | {key for key in look.shows if key.endswith(("size", "weight"))}
    at = len(keys) - 1
    total = sum(one.difference for one in shop.corrections) if keys[-1] == "difference" else None
    return _framed(look, table, total, at), tuple(planted(one, shows) for one in shop.corrections)


@dataclass(frozen=True)
class _Move:
    on: date
    kind: str
    cents: int
    label: Label | None = None
    about: Correction | None = None


def _moves(shop: Shop, chance: Random, left: int) -> list[_Move]:
    """All that moves a balance from `left` on; cents are what is taken from it."""
    moves = [_Move(label.bought_on, "label", label.cents, label) for label in shop.labels]
    voided = [label for label in shop.labels if label.voided]
    moves += [_Move(label.bought_on + timedelta(days=5), "refund", -label.cents, label) for label in voided]
    moves += [_Move(one.on, kind_of(one), one.difference + one.fee, one.label, one) for one in shop.corrections]
    moves.sort(key=lambda move: move.on)
    whole: list[_Move] = []
    for move in moves:
        if left < move.cents:
            amount = chance.choice((5000, 10_000, 20_000))
            while left + amount < move.cents:
                amount += 5000
            whole.append(_Move(move.on, "top-up", -amount))
            left += amount
        whole.append(move)
        left -= move.cents
    return whole


KIND_WORDS = {"label": "label", "correction": "correction", "returned": "back", "refund": "void", "top-up": "top-up"}


def balance(shop: Shop, look: Look, chance: Random) -> Made:
    """The history of a balance: all that was put in and taken out, with what was left each time."""
    first = left = chance.randint(2000, 9000)
    moves, opening, two = _moves(shop, chance, first), chance.random() < 0.6, chance.random() < 0.3
    keys = ["day", "kind", *(["reason"] if "reason" in look.shows else []), "number"]
    keys += ["debit", "credit"] if two else ["amount"]
    keys += ["balance"]
    body = []
    for move in moves:
        left -= move.cents
        cells = {"day": look.on(move.on), "kind": look[KIND_WORDS[move.kind]], "balance": look.money(left)}
        cells |= {"number": move.label.tracking if move.label else "", "amount": look.money(-move.cents)}
        cells |= {"debit": look.money(move.cents) if move.cents > 0 else ""}
        cells |= {"credit": look.money(-move.cents) if move.cents < 0 else ""}
        cells |= {"reason": look.reason(move.about) if move.about else ""}
        body.append([cells[key] for key in keys])
    start = ["" if key != "balance" else look.money(first) for key in keys]
    start[keys.index("kind")] = look["opening"]
    body = [start, *body] if opening else body
    if chance.random() < 0.4:
        body.reverse()
    table = Table(tuple(rows([look.heading(key) for key in keys], body)))
    document = Document(look["title"], (line_row(look["title"]),) if look.title else (), (table,), ())
    plants = [
        Planted(move.kind, move.label.tracking if move.label else None, move.cents, move.about, frozenset({"number"}))
        for move in moves
    ]
    return document, tuple(plants)


def mail(shop: Shop, look: Look, chance: Random) -> Made:
    """One correction, in lines of a label and a value."""
    one = chance.choice(shop.corrections)
    cells = cells_of(one, look)
    keys = ["number", *(key for key in cells if key in look.shows and key not in {"service", "order"})]
    lines = [line_row(f"{look.heading(key)}: {cells[key]}") for key in keys]
    before = (line_row(f"{look['title']}."), line_row(f"{look['day']}: {cells['day']}"))
    return Document(look["title"], before, (), tuple(lines)), (planted(one, keys),)


FORMS: Mapping[str, Callable[[Shop, Look, Random], Made]] = {
    "list": listed,
    "reasons": reasons,
    "balance": balance,
    "before and after": before_after,
    "by day": by_day,
    "mail": mail,
}
