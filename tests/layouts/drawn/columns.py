"""Columns that many structures have: of a parcel, of a charge; and tables made of columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal

from tests.layouts.drawn.look import Column, Look
from tests.layouts.drawn.month import Event, Line, Shipment
from tests.layouts.drawn.page import BLANK, Cell, Row, Table

Item = tuple[Event, Line | None]


def of_parcel(look: Look) -> list[Column]:
    """The number and the figures that the look prints."""
    number = Column("number", look.words["number"], lambda event, _: look.number(event))
    return [number, *(column for field in look.fields for column in FIELD[field](look))]


def figures(look: Look) -> list[Column]:
    """The same without the number."""
    return of_parcel(look)[1:]


def of_kind(look: Look) -> list[Column]:
    """The kind of row, where the look marks corrections by it."""
    if look.mark != "column":
        return []
    return [Column("kind", look.words["kind"], lambda event, _: Cell(look.kind(event)))]


def name(look: Look) -> Column:
    """The charge's name."""
    return Column("name", look.words["name"], lambda event, line: Cell(look.name(event, line)) if line else BLANK)


def amount(look: Look, key: str = "amount") -> Column:
    """The amount of the line, or of all lines."""
    return Column("amount", look.words[key], lambda event, line: look.style.money((line or event).cents))


def _order(look: Look) -> Iterator[Column]:
    yield _told(look, "order", lambda parcel: Cell(parcel.order))


def _day(look: Look) -> Iterator[Column]:
    yield _told(look, "day", lambda parcel: look.style.day(parcel.shipped_on))


def _service(look: Look) -> Iterator[Column]:
    yield _told(look, "service", lambda parcel: Cell(look.service(parcel.service)))


def _zone(look: Look) -> Iterator[Column]:
    yield _told(
        look, "zone", lambda parcel: Cell(zone(look, parcel), parcel.zone if look.style.zones == "{}" else None)
    )


def _weight(look: Look) -> Iterator[Column]:
    unit = look.style.weight_unit
    yield Column("weight", look.headed("weight", unit), lambda event, _: weight(look, event))
    if look.style.units_at == "column":
        yield _told(look, "unit", lambda _: Cell(unit))


def _sides(look: Look) -> Iterator[Column]:
    unit = look.style.side_unit
    if look.style.size == "columns":
        for place, key in enumerate(("length", "width", "height")):
            yield Column(key, look.headed(key, unit), _side(look, place))
    else:
        yield Column("size", look.headed("size", unit), lambda event, _: size(look, event))
    if look.style.units_at == "column":
        yield _told(look, "unit", lambda _: Cell(unit))


def _side(look: Look, place: int) -> Callable[[Event, Line | None], Cell]:
    return lambda event, _: figure(look, look.style.side(event.sides[place])) if event.sides else BLANK


FIELD: dict[str, Callable[[Look], Iterator[Column]]] = {
    "order": _order,
    "shipped_on": _day,
    "service": _service,
    "zone": _zone,
    "weight": _weight,
    "sides": _sides,
}


def _told(look: Look, key: str, cell: Callable[[Shipment], Cell]) -> Column:
    """A column of what the parcel's record says."""
    return Column(key, look.words[key], lambda event, _: cell(event.about) if event.about else BLANK)


def zone(look: Look, parcel: Shipment) -> str:
    """'5', '05', 'Zone 5'."""
    return look.style.zones.replace("word", look.words["zone"]).format(parcel.zone)


def figure(look: Look, number: Decimal, unit: str = "") -> Cell:
    """A figure, in the cell with its unit where it has one."""
    text = look.style.number(number)
    return Cell(f"{text} {unit}") if unit else Cell(text, float(number), right=True)


def weight(look: Look, event: Event) -> Cell:
    """The billed weight."""
    unit = look.style.weight_unit if look.style.units_at == "cell" else ""
    return figure(look, look.style.weight(event.weight), unit) if event.weight else BLANK


def size(look: Look, event: Event) -> Cell:
    """The three sides in a cell."""
    if not event.sides:
        return BLANK
    form = look.style.size if look.style.size != "columns" else "{} x {} x {}"
    text = form.format(*(look.style.number(look.style.side(side)) for side in event.sides))
    return Cell(f"{text} {look.style.side_unit}" if look.style.units_at == "cell" else text)


def heading(columns: Sequence[Column]) -> Row:
    """The row of headings."""
    return Row("heading", tuple(Cell(column.heading) for column in columns))


def data(columns: Sequence[Column], item: Item) -> Row:
    """A row of one event, or of one of its lines."""
    event, line = item
    return Row("data", tuple(column.cell(event, line) for column in columns), event, (line or event).cents)


def table(columns: Sequence[Column], items: Iterable[Item], title: str = "") -> Table:
    """Headings and a row an item; totals stand under the last column of amounts."""
    rows = (heading(columns), *(data(columns, item) for item in items))
    return Table(rows, amount_at(columns), title=title)


def amount_at(columns: Sequence[Column]) -> int | None:
    """The column that totals stand under."""
    return next((place for place, column in enumerate(columns) if column.role == "amount"), None)


def each_line(events: Iterable[Event]) -> Iterator[Item]:
    """Every event with each of its lines."""
    return ((event, line) for event in events for line in event.lines)
